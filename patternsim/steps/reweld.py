"""Close and weld: the halves of a split pressed together on the cut."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

import numpy as np

from patternsim.errors import FlowError, StepError
from patternsim.fields import Affine, Halve, moved
from patternsim.forming import Losses, descaled, scaled_off, stretched
from patternsim.halves import pressed_shut
from patternsim.piece import Piece, Triple
from patternsim.press import Level
from patternsim.step import Context, HotStep, Outcome, Part, clauses, number, register, slot
from patternsim.tally import Tally, carbon_of
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
        tally, ground_off = Tally(self, context), 0.0
        for piece in pieces:
            if not piece.open_cut:
                raise StepError(f"{self.id}: there is no open split to close")
            if piece.parted is None:
                ready, ground = self._ground(piece) if self.grind_faces_mm else (piece, 0.0)
                done, scale = self._stretched(ready, context)
                tally.source = "quick"
            else:
                shut = self._shut(piece, context, tally)
                ready, ground = self._ground(shut) if self.grind_faces_mm else (shut, 0.0)
                done, scale = descaled(
                    ready, heats=self.heats, skin=context.shop.skin_weld_mm, step_id=self.id
                )
            tally.done.append(done)
            tally.scale += scale
            ground_off += ground
        outcome = tally.outcome()
        return replace(outcome, losses=outcome.losses + Losses(ground=ground_off))

    def _stretched(self, ready: Piece, context: Context) -> tuple[Piece, float]:
        """Close one piece by the even stretch; return it and the scale lost, mm3."""
        skin = context.shop.skin_weld_mm
        off = 2 * skin * self.heats
        width, thick = self.close_to * (ready.size[1] - off), ready.size[2] - off
        clean, full, scale = scaled_off(
            ready, (None, width, thick),
            heats=self.heats, skin=skin, step_id=self.id, what=self.id,
        )  # fmt: skip
        return replace(stretched(clean, full, clean.field), open_cut=False), scale

    def _shut(self, piece: Piece, context: Context, tally: Tally) -> Piece:
        """Press one piece shut by the flow, wider by the scale that comes off it afterwards."""
        from patternsim.press.parting import shut  # heavy: closed forms need no flow

        if piece.parted is None:
            raise ValueError("this split was not worked out")
        block, wedge = piece.parted.block, piece.parted.wedge
        known = tally.like()
        if context.level is Level.QUICK and isinstance(known, tuple):
            was, halves = known
            tally.remember(known, stands_in=True)
            tally.source = context.level.value
            return pressed_shut(piece, halves.stretched(was, wedge))
        off = 2 * context.shop.skin_weld_mm * self.heats
        to = (self.close_to * (wedge.width - off) + off) / wedge.width
        try:
            halves = shut(wedge, min(to, 1.0), context.level, context.progress)
        except FlowError as fault:
            raise StepError(
                f"{self.id}: the flow of the steel gives out here ({fault}); the web under the nose may "
                "tear: leave more uncut, or close less"
            ) from fault
        tally.remember((wedge, halves))
        tally.source = context.level.value
        tally.damage = max(halves.low.damage, halves.high.damage)
        tally.load((halves.low.load, halves.high.load), block.size[2], carbon_of(block))
        return pressed_shut(piece, halves)

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
        section = piece.section
        if section is not None:
            y = section.curve[:, 1]
            middle = old.at - float(piece.field.shift[1]) if isinstance(piece.field, Affine) else old.at
            together = np.where(y > middle, np.maximum(y - off, middle), np.minimum(y + off, middle))
            section = replace(section, curve=np.stack([section.curve[:, 0], together], axis=1))
        ready = replace(
            piece,
            section=section,
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
