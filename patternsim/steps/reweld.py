"""Close and weld: the halves of a split pressed together on the cut."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

import numpy as np

from patternsim.errors import StepError
from patternsim.fields import Halve, moved
from patternsim.forming import Losses, scaled_off, stretched
from patternsim.piece import Piece, Triple
from patternsim.press import refuse_unoffered
from patternsim.step import Context, HotStep, Outcome, Part, clauses, number, register, slot
from patternsim.wording import told_mm


@register
class Reweld(HotStep):
    """Close the halves at once, or grind the cut faces first, and weld them."""

    title: ClassVar[str] = "Close and weld"

    kind: Literal["reweld"] = "reweld"
    close_to: float = number(
        0.95, label="Closed to", unit="", low=0.5, high=1.0,
        reason="width over that of the open block, clean of scale; what is over goes into length",
    )  # fmt: skip
    grind_faces_mm: float = number(
        0.0, label="Ground off each cut face", unit="mm", low=0.0, high=20.0,
        reason="0: closed in the same heat; grinding takes the dragged skin off",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the welded blocks."""
        refuse_unoffered(context.level)
        done, losses = [], Losses()
        for piece in pieces:
            if not piece.open_cut:
                raise StepError(f"{self.id}: there is no open split to close")
            ready, ground = self._ground(piece) if self.grind_faces_mm else (piece, 0.0)
            skin = context.shop.skin_weld_mm
            off = 2 * skin * self.heats
            width, thick = self.close_to * (ready.size[1] - off), ready.size[2] - off
            clean, full, scale = scaled_off(
                ready, (None, width, thick),
                heats=self.heats, skin=skin, step_id=self.id, what=self.id,
            )  # fmt: skip
            done.append(replace(stretched(clean, full, clean.field), open_cut=False))
            losses += Losses(scale=scale, ground=ground)
        return Outcome(pieces=tuple(done), losses=losses, source="quick")

    def _ground(self, piece: Piece) -> tuple[Piece, float]:
        """Take the cut faces down; the halves move together by as much."""
        cut = piece.cuts[-1]
        web = cut.nose_x if cut.down else piece.size[0] - cut.nose_x
        if web > 1e-6:
            raise StepError(
                f"{self.id}: the cut faces cannot be ground with {told_mm(web)} left uncut; split "
                "right through (left uncut: 0), or close at once (nothing ground off the cut faces)"
            )
        off = self.grind_faces_mm
        left = piece.size[1] - 2 * off
        if left < 0.5 * piece.size[1]:
            raise StepError(
                f"{self.id}: grinding {told_mm(off)} off each cut face leaves {told_mm(left)} of "
                f"{told_mm(piece.size[1])}; grind less off"
            )
        old = cut.halve
        halve = Halve(
            normal=old.normal,
            at=old.at,
            low=moved(piece.field, by=(0.0, -off, 0.0)),
            high=moved(piece.field, by=(0.0, off, 0.0)),
        )
        volume = piece.volume_mm3 * left / piece.size[1]
        marks = tuple(
            mark if mark.lost_in else replace(mark, at=_with_its_half(mark.at, old, off))
            for mark in piece.marks
        )
        ready = replace(
            piece,
            size=(piece.size[0], left, piece.size[2]),
            volume_mm3=volume,
            field=halve,
            marks=marks,
            cuts=(*piece.cuts[:-1], replace(cut, halve=halve)),
        )
        return ready, piece.volume_mm3 - volume

    def sentence(self) -> str:
        """Return the step as a sentence."""
        how = "Close at once"
        if self.grind_faces_mm:
            how = f"Grind {self.grind_faces_mm:g} mm off each cut face, close"
        return f"{how} to {100 * self.close_to:g} % of the width and weld, {self.heats_text()}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        grind: tuple[Part, ...] = ()
        if self.grind_faces_mm:
            grind = ("grind ", slot(self, "grind_faces_mm"), " off each cut face")
        close = ("close to ", slot(self, "close_to"), " of the width")
        return clauses(grind, close, ("weld",), self.heats_clause())


def _with_its_half(at: Triple, cut: Halve, off: float) -> Triple:
    """Return where a point comes to lie when both halves are moved together by `off` mm."""
    high = float(cut.normal @ np.array(at)) >= cut.at
    return (at[0], at[1] - off if high else at[1] + off, at[2])
