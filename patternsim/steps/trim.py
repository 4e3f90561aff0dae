"""Trim: ends and edges sawn or ground off, each by itself."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

from patternsim.errors import StepError
from patternsim.forming import Losses, trimmed
from patternsim.piece import Piece
from patternsim.step import Context, Outcome, Part, Step, clauses, number, register, slot


@register
class Trim(Step):
    """Crop ends and edges; what is taken off is scrap."""

    title: ClassVar[str] = "Crop"

    kind: Literal["trim"] = "trim"
    near_mm: float = number(
        0.0, label="Near end", unit="mm", low=0.0, high=1000.0, reason="off the near end"
    )
    far_mm: float = number(
        0.0, label="Far end", unit="mm", low=0.0, high=1000.0, reason="off the far end"
    )
    low_edge_mm: float = number(
        0.0, label="Low edge", unit="mm", low=0.0, high=500.0, reason="off the low edge"
    )
    high_edge_mm: float = number(
        0.0, label="High edge", unit="mm", low=0.0, high=500.0, reason="off the high edge"
    )

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the trimmed pieces."""
        done, losses, left = [], Losses(), 0.0
        for piece in pieces:
            if piece.loose or piece.open_cut:
                raise StepError(f"{self.id}: weld the piece first; loose steel cannot be cropped true")
            if piece.shaped:
                raise StepError(
                    f"{self.id}: the piece is no longer straight (step {piece.shaped}); trim before"
                )
            one, lost = trimmed(
                piece,
                low=(self.near_mm, self.low_edge_mm, 0.0),
                high=(self.far_mm, self.high_edge_mm, 0.0),
                step_id=self.id,
                what=self.id,
                recount=True,
            )
            crop = self.near_mm if piece.lips[0] else self.far_mm
            if any(piece.lips) and crop > 0.0:
                notch = max(piece.notch_mm - crop, 0.0)
                one, left = replace(one, notch_mm=notch), max(left, notch)
            done.append(one)
            losses += Losses(crop=lost)
        return Outcome(pieces=tuple(done), losses=losses, measures={"notch_left_mm": left})

    def sentence(self) -> str:
        """Return the step as a sentence."""
        parts = [
            f"{value:g} mm off the {name}"
            for name, value in (
                ("near end", self.near_mm),
                ("far end", self.far_mm),
                ("low edge", self.low_edge_mm),
                ("high edge", self.high_edge_mm),
            )
            if value
        ]
        return "Crop " + (", ".join(parts) or "nothing")

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        names = {
            "near_mm": " near",
            "far_mm": " far",
            "low_edge_mm": " low edge",
            "high_edge_mm": " high edge",
        }
        taken = [name for name in names if getattr(self, name)] or ["near_mm", "far_mm"]
        first, *rest = ((slot(self, name), names[name]) for name in taken)
        return clauses(("crop ", *first), *rest)
