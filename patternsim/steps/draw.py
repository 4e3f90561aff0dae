"""Draw: longer and thinner, turned a quarter between passes."""

from __future__ import annotations

from typing import ClassVar, Literal

from patternsim.drawing import drawn
from patternsim.piece import Piece
from patternsim.step import Context, HotStep, Outcome, Part, clauses, number, register, slot


@register
class Draw(HotStep):
    """Draw out to a section; the length follows from the volume."""

    title: ClassVar[str] = "Draw out"

    kind: Literal["draw"] = "draw"
    width_mm: float = number(label="Width", unit="mm", above=0.0, high=1000.0, reason="finished, across")
    thickness_mm: float = number(
        label="Thickness", unit="mm", above=0.0, high=1000.0, reason="finished, through"
    )
    bite_mm: float | None = number(
        None, label="Bite", unit="mm", above=0.0, high=500.0,
        reason="length of bar under the die; left out, half the width, as with drawing dies",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the drawn pieces."""
        return drawn(
            pieces, context, step=self, width=self.width_mm, thickness=self.thickness_mm,
            bite=self.bite_mm,
        )  # fmt: skip

    def sentence(self) -> str:
        """Return the step as a sentence."""
        return f"Draw out to {self.width_mm:g} x {self.thickness_mm:g} mm, {self.heats_text()}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        size = ("draw to ", slot(self, "width_mm"), " x ", slot(self, "thickness_mm"))
        return clauses(size, self.heats_clause())
