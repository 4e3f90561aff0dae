"""Grind clean: faces, edges or ends taken down to bright metal; loose strips, strip by strip."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

import numpy as np

from patternsim.errors import StepError
from patternsim.fields import Leaf
from patternsim.forming import Losses, trimmed
from patternsim.piece import Piece
from patternsim.steels import find_steel
from patternsim.step import (
    CARD_STRIPS,
    Context,
    Outcome,
    Part,
    Step,
    choice,
    clauses,
    number,
    register,
    slot,
)
from patternsim.wording import told_mm


@register
class GrindClean(Step):
    """Grind so much off each face."""

    title: ClassVar[str] = "Grind clean"

    kind: Literal["grind-clean"] = "grind-clean"
    faces_mm: float = number(
        0.0, label="Faces", unit="mm", low=0.0, high=100.0,
        reason="off mark side and off side each; scale and thin weld must go before a weld",
    )  # fmt: skip
    edges_mm: float = number(
        0.0, label="Edges", unit="mm", low=0.0, high=100.0, reason="off both edges each"
    )
    ends_mm: float = number(
        0.0, label="Ends", unit="mm", low=0.0, high=100.0, reason="off both ends each"
    )
    strips_to_mm: tuple[float, ...] = choice(
        (), label="Strips to", reason="finished thickness of each strip of the repeat, loose stacks"
    )

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the clean pieces."""
        done, losses = [], Losses()
        off = (self.ends_mm, self.edges_mm, self.faces_mm)
        for piece in pieces:
            if piece.open_cut:
                raise StepError(
                    f"{self.id}: the split stands open; the cut faces are ground in the step that "
                    "closes and welds it"
                )
            if piece.shaped:
                raise StepError(
                    f"{self.id}: the piece is no longer a straight bar (step {piece.shaped}); grind it "
                    "before that step"
                )
            start = piece.volume_mm3
            one = self._strips(piece) if self.strips_to_mm else piece
            one, _ = trimmed(one, low=off, high=off, step_id=self.id, what=self.id)
            done.append(one)
            losses += Losses(ground=start - one.volume_mm3)
        return Outcome(pieces=tuple(done), losses=losses)

    def _strips(self, piece: Piece) -> Piece:
        leaf = piece.field
        if not (piece.loose and isinstance(leaf, Leaf)):
            raise StepError(
                f"{self.id}: strips can be ground one by one only as they come from the stack step, "
                "before anything else is done to them"
            )
        now = np.diff(leaf.edges)
        to = np.array([self.strips_to_mm[k % len(self.strips_to_mm)] for k in range(len(now))])
        if len(now) % len(self.strips_to_mm):
            raise StepError(
                f"{self.id}: {len(self.strips_to_mm)} thicknesses are given for {len(now)} strips; the "
                "row of thicknesses must repeat evenly over the stack"
            )
        if np.any(to <= 0.0) or np.any(to > now):
            worst = int(np.argmax(np.where(to <= 0.0, np.inf, to - now)))
            raise StepError(
                f"{self.id}: strip {worst + 1} is {told_mm(now[worst])} thick; it cannot be ground to "
                f"{told_mm(to[worst])}"
            )
        ground = Leaf(
            leaf.name, thicknesses=to, steels=leaf.steels, length=leaf.length, width=leaf.width
        )

        def _through(z: float) -> float:
            return float(np.interp(z, leaf.edges, ground.edges))

        height = float(to.sum())
        # Strips of unlike density thin unequally: the mean density shifts with them.
        density = np.array([find_steel(name).density for name in leaf.steels])
        return replace(
            piece,
            size=(piece.size[0], piece.size[1], height),
            volume_mm3=piece.size[0] * piece.size[1] * height,
            density=float((to * density).sum() / height),
            field=ground,
            marks=tuple(
                mark if mark.lost_in else replace(mark, at=(*mark.at[:2], _through(mark.at[2])))
                for mark in piece.marks
            ),
        )

    def sentence(self) -> str:
        """Return the step as a sentence."""
        parts = []
        if self.strips_to_mm:
            parts.append("strips to " + " / ".join(f"{v:g}" for v in self.strips_to_mm))
        for name, value in (
            ("faces", self.faces_mm), ("edges", self.edges_mm), ("ends", self.ends_mm)
        ):  # fmt: skip
            if value:
                parts.append(f"{name} {value:g} mm each")
        return "Grind clean: " + (", ".join(parts) or "nothing")

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        rows: list[tuple[Part, ...]] = []
        if self.strips_to_mm:
            strips: list[Part] = ["strips to "]
            between = " and " if len(self.strips_to_mm) == 2 else ", "
            for k in range(min(len(self.strips_to_mm), CARD_STRIPS)):
                strips += [between] * (k > 0) + [slot(self, f"strips_to_mm.{k}")]
            rows.append((*strips, " ..." if len(self.strips_to_mm) > CARD_STRIPS else ""))
        names = ("faces", "edges", "ends")
        taken = [name for name in names if getattr(self, f"{name}_mm")]
        if not (rows or taken):
            taken = ["faces"]
        rows += [(f"{name} ", slot(self, f"{name}_mm")) for name in taken]
        first, *rest = rows
        return clauses(("grind ", *first), *rest)
