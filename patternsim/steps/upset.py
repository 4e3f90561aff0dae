"""Upset: pressed end on, shorter and thicker."""

from __future__ import annotations

import math
from typing import ClassVar, Literal

from patternsim.errors import StepError
from patternsim.forming import Losses, refuse_unworkable, scaled_off, squeezed
from patternsim.piece import Piece
from patternsim.press import Pass
from patternsim.step import Context, HotStep, Outcome, number, register


@register
class Upset(HotStep):
    """Upset to a length; width and thickness grow alike."""

    title: ClassVar[str] = "Upset"

    kind: Literal["upset"] = "upset"
    length_mm: float = number(
        label="Length", unit="mm", above=0.0, high=5000.0, reason="finished, end to end"
    )

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the upset pieces."""
        done, losses, source = [], Losses(), "exact"
        skin = context.shop.skin_forge_mm
        for piece in pieces:
            refuse_unworkable(piece, self.id)
            off = 2 * skin * self.heats
            length = piece.size[0] - off
            if self.length_mm >= length:
                raise StepError(
                    f"{self.id}: upsetting to {self.length_mm:.1f} mm does nothing; clean of scale "
                    f"the piece is {length:.1f} mm long"
                )
            width = (piece.size[1] - off) * math.sqrt(length / self.length_mm)
            clean, full, lost = scaled_off(
                piece, (self.length_mm, width, None),
                heats=self.heats, skin=skin, step_id=self.id, what=self.id,
            )  # fmt: skip
            start = clean.size
            for plane, side in (("xy", 1), ("xz", 2)):
                one = Pass(across=start[side], along=start[0], height=full[0], sideways=0.5, turned=True)
                clean, source, _ = squeezed(
                    clean, full, plane=plane, passes=[one],
                    friction=context.shop.friction_dies, level=context.level,
                )  # fmt: skip
            done.append(clean)
            losses += Losses(scale=lost)
        return Outcome(pieces=tuple(done), losses=losses, source=source)

    def sentence(self) -> str:
        """Return the step as a sentence."""
        return f"Upset to {self.length_mm:g} mm long, {self.heats} heats"
