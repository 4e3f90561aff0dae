"""Flatten: pressed through the thickness only, never turned."""

from __future__ import annotations

from typing import ClassVar, Literal

from patternsim.drawing import pressed_flat
from patternsim.piece import Piece
from patternsim.step import Context, HotStep, Outcome, Part, clauses, number, register, slot


@register
class Flatten(HotStep):
    """Press flat to a thickness; the width spreads with the bite, or is held by edge blows."""

    title: ClassVar[str] = "Draw flat"

    kind: Literal["flatten"] = "flatten"
    thickness_mm: float = number(
        label="Thickness", unit="mm", above=0.0, high=1000.0, reason="finished, through"
    )
    width_mm: float | None = number(
        None, label="Width", unit="mm", above=0.0, high=1000.0,
        reason="held by edge blows; left out, it follows from the bite",
    )  # fmt: skip
    bite_mm: float = number(
        20.0, label="Bite", unit="mm", above=0.0, high=500.0,
        reason="length of bar under the die; sets how much goes into width",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the flattened pieces."""
        return pressed_flat(
            pieces, context, step=self, height=self.thickness_mm, width=self.width_mm,
            bite=self.bite_mm,
        )  # fmt: skip

    def sentence(self) -> str:
        """Return the step as a sentence."""
        wide = f" thick and {self.width_mm:g} mm wide" if self.width_mm else ""
        return f"Draw flat to {self.thickness_mm:g} mm{wide}, {self.heats_text()}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        held: tuple[Part, ...] = ("bite ", slot(self, "bite_mm"))
        if self.width_mm is not None:
            held = (slot(self, "width_mm"), " wide")
        return clauses(
            ("draw flat to ", slot(self, "thickness_mm"), " thick"), held, self.heats_clause()
        )
