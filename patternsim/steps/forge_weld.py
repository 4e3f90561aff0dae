"""Forge-weld: a stack set and pressed at welding heat, across its joints."""

from __future__ import annotations

import math
from typing import ClassVar, Literal

from patternsim.errors import StepError
from patternsim.forming import Losses, refuse_unworkable, scaled_off, squeezed
from patternsim.piece import Piece, Triple
from patternsim.press import Pass, spread_width
from patternsim.step import Context, HotStep, Outcome, choice, number, register


@register
class ForgeWeld(HotStep):
    """Weld a stack by pressing it down; through its thickness, or end on where it stands tall."""

    title: ClassVar[str] = "Forge weld"

    kind: Literal["forge-weld"] = "forge-weld"
    along: Literal["thickness", "length"] = choice(
        "thickness", label="Pressed along", reason="thickness; length for a tall stack, end on"
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
            raise StepError(f"{self.id}: give either height_mm or down_pct, not both or neither")
        done, losses, source = [], Losses(), "exact"
        for piece in pieces:
            refuse_unworkable(piece, self.id, loose_ok=True)
            one, lost, source = self._weld(piece, context)
            done.append(one)
            losses += Losses(scale=lost)
        return Outcome(pieces=tuple(done), losses=losses, source=source)

    def _height(self, now: float) -> float:
        height = self.height_mm if self.height_mm else now * (1.0 - (self.down_pct or 0.0) / 100.0)
        if height >= now:
            raise StepError(
                f"{self.id}: pressing to {height:.1f} mm does nothing; the stack is {now:.1f} mm high"
            )
        return height

    def _weld(self, piece: Piece, context: Context) -> tuple[Piece, float, str]:
        skin = context.shop.skin_weld_mm
        axis = 2 if self.along == "thickness" else 0
        height = self._height(piece.size[axis])
        off = 2 * skin * self.heats
        y, x_or_z = piece.size[1] - off, piece.size[axis] - off
        if axis == 2:
            width = self.width_mm or spread_width(y, height=x_or_z, to=height, bite=self.bite_mm)
            target: tuple[float | None, float | None, float | None] = (None, width, height)
        else:
            # End on, both sides grow alike.
            width = self.width_mm or y * math.sqrt(x_or_z / height)
            target = (height, width, None)
        clean, full, lost = scaled_off(
            piece, target, heats=self.heats, skin=skin, step_id=self.id, what=self.id
        )
        squeeze = math.log(clean.size[axis] / height)
        friction, level = context.shop.friction_dies, context.level
        if axis == 2:
            one = _pass(clean.size, full, 1, 2, turned=False, squeeze=squeeze)
            done, source, _ = squeezed(
                clean, full, plane="yz", passes=[one], friction=friction, level=level
            )
            return done, lost, source
        for plane, side in (("xy", 1), ("xz", 2)):
            one = _pass(clean.size, full, side, 0, turned=True, squeeze=squeeze)
            clean, source, _ = squeezed(
                clean, full, plane=plane, passes=[one], friction=friction, level=level
            )
        return clean, lost, source

    def sentence(self) -> str:
        """Return the step as a sentence."""
        how = f"to {self.height_mm:g} mm" if self.height_mm else f"{self.down_pct:g} % down"
        end = ", end on" if self.along == "length" else ""
        return f"Forge weld{end}, {how}, {self.heats} heats"


def _pass(size: Triple, full: Triple, across: int, along: int, *, turned: bool, squeeze: float) -> Pass:
    share = math.log(full[across] / size[across]) / squeeze if squeeze else 0.0
    return Pass(
        across=size[across],
        along=size[along],
        height=full[along],
        sideways=max(share, 0.0),
        turned=turned,
    )
