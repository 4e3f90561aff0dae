"""Forge-weld: a stack set and pressed at welding heat, across its joints."""

from __future__ import annotations

from typing import ClassVar, Literal

from patternsim.drawing import flattened, pressed_on_end
from patternsim.errors import StepError
from patternsim.forming import refuse_unworkable
from patternsim.piece import Piece
from patternsim.step import Context, HotStep, Outcome, Part, choice, clauses, number, register, slot
from patternsim.tally import Tally


@register
class ForgeWeld(HotStep):
    """Weld a stack by pressing it down; through its thickness, or on end where it stands tall."""

    title: ClassVar[str] = "Forge weld"

    kind: Literal["forge-weld"] = "forge-weld"
    along: Literal["thickness", "length"] = choice(
        "thickness", label="Pressed through", reason="the thickness; the length for a tall stack, on end"
    )
    height_mm: float | None = number(
        None, label="Press to", unit="mm", above=0.0, high=1000.0,
        reason="finished size along the stroke; or give how much down",
    )  # fmt: skip
    down_pct: float | None = number(
        None, label="Down", unit="%", above=0.0, high=80.0,
        reason="share of the height the stack has now; or give the height",
    )  # fmt: skip
    width_mm: float | None = number(
        None, label="Width", unit="mm", above=0.0, high=1000.0,
        reason="held by pressing the edges; left out, it follows from the bite",
    )  # fmt: skip
    bite_mm: float = number(
        25.0, label="Bite", unit="mm", above=0.0, high=500.0,
        reason="length of bar under the die; sets how much goes into width",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the welded pieces."""
        if (self.height_mm is None) == (self.down_pct is None):
            both = "both are given" if self.height_mm else "neither is given"
            raise StepError(f"{self.id}: say either height_mm or down_pct; {both}")
        tally = Tally(self, context, bite=self.bite_mm)
        for piece in pieces:
            refuse_unworkable(piece, self.id, loose_ok=True)
            self._weld(piece, context, tally)
        return tally.outcome()

    def _weld(self, piece: Piece, context: Context, tally: Tally) -> None:
        skin = context.shop.skin_weld_mm
        if self.along == "thickness":
            done = flattened(
                piece, context, what=self.id, heats=self.heats, skin=skin,
                height=self._height(piece.size[2]), width=self.width_mm, bite=self.bite_mm,
                like=tally.like_press(),
            )  # fmt: skip
            tally.add(piece, *done)
        else:
            done = pressed_on_end(
                piece, context, what=self.id, heats=self.heats, skin=skin,
                length=self._height(piece.size[0]), width=self.width_mm, like=tally.like_press(),
            )  # fmt: skip
            tally.add_on_end(piece, *done)

    def _height(self, now: float) -> float:
        return self.height_mm if self.height_mm else now * (1.0 - (self.down_pct or 0.0) / 100.0)

    def sentence(self) -> str:
        """Return the step as a sentence."""
        how = ", how far is not said"
        if self.height_mm is not None:
            how = f" to {self.height_mm:g} mm"
        elif self.down_pct is not None:
            how = f", {self.down_pct:g} % down"
        end = " on end" if self.along == "length" else ""
        return f"Forge weld{end}{how}, {self.heats_text()}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        how: tuple[Part, ...] = ("forge weld on end" if self.along == "length" else "forge weld",)
        if self.height_mm is not None:
            how += (" to ", slot(self, "height_mm"))
        elif self.down_pct is not None:
            how += (" ", slot(self, "down_pct"), " % down")
        return clauses(how, self.heats_clause())
