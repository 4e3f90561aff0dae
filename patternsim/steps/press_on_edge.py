"""Press on edge: the bar laid over a quarter, so that the press bows its layers."""

from __future__ import annotations

from typing import ClassVar, Literal

from patternsim.drawing import pressed_flat
from patternsim.piece import Piece
from patternsim.relay import quarter_turns, relaid
from patternsim.step import Context, HotStep, Outcome, Part, choice, clauses, number, register, slot


@register
class PressOnEdge(HotStep):
    """Lay the bar on edge and press: layers standing along the stroke bow like brackets."""

    title: ClassVar[str] = "Lay on edge and press"

    kind: Literal["press-on-edge"] = "press-on-edge"
    height_mm: float = number(
        label="Press to", unit="mm", above=0.0, high=1000.0, reason="die gap at the end"
    )
    width_mm: float | None = number(
        None, label="Width", unit="mm", above=0.0, high=1000.0,
        reason="left out, it follows from the bite",
    )  # fmt: skip
    bite_mm: float = number(
        40.0, label="Bite", unit="mm", above=0.0, high=500.0,
        reason="length of bar under the die; long bites spread, and spreading bows the layers",
    )  # fmt: skip
    lay_over: bool = choice(
        True, label="Lay over a quarter first", reason="off where the layers stand on edge already"
    )

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the pressed pieces."""
        turn = quarter_turns(0, 1)
        laid = tuple(relaid(p, turn, what=self.id) if self.lay_over else p for p in pieces)
        return pressed_flat(
            laid, context, step=self, height=self.height_mm, width=self.width_mm,
            bite=self.bite_mm,
        )  # fmt: skip

    def sentence(self) -> str:
        """Return the step as a sentence."""
        lay = "Lay on edge and press" if self.lay_over else "Press on edge"
        return f"{lay} to {self.height_mm:g} mm, bite {self.bite_mm:g} mm, {self.heats_text()}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        lay = "lay on edge, press to " if self.lay_over else "press on edge to "
        return clauses(
            (lay, slot(self, "height_mm")), ("bite ", slot(self, "bite_mm")), self.heats_clause()
        )
