"""Square-up: a bar brought to a square section by passes turned a quarter."""

from __future__ import annotations

from typing import ClassVar, Literal

from patternsim.drawing import drawn
from patternsim.piece import Piece
from patternsim.step import Context, HotStep, Outcome, Part, clauses, number, register, slot


@register
class SquareUp(HotStep):
    """Square up to one size both ways; the length follows from the volume."""

    title: ClassVar[str] = "Square up"

    kind: Literal["square-up"] = "square-up"
    side_mm: float = number(
        label="Side", unit="mm", above=0.0, high=1000.0, reason="finished, both ways"
    )
    bite_mm: float | None = number(
        None, label="Bite", unit="mm", above=0.0, high=500.0,
        reason="length of bar under the die; left out, half the width",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the squared pieces."""
        return drawn(
            pieces, context, step=self, width=self.side_mm, thickness=self.side_mm,
            bite=self.bite_mm,
        )  # fmt: skip

    def sentence(self) -> str:
        """Return the step as a sentence."""
        return f"Square up to {self.side_mm:g} mm, {self.heats_text()}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        return clauses(("square up to ", slot(self, "side_mm")), self.heats_clause())
