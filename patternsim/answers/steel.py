"""The Steel answer: what the blade takes and what is left over."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from patternsim.knife.placement import PlacedBlade
from patternsim.work import Result

Range = tuple[float | None, float | None, float | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Steel:
    """The Steel answer; ranges are low, likely, high, and low and high are not worked out yet."""

    start_kg: float
    blade_kg: float
    spare_kg: Range
    spare_length_mm: Range
    spare_width_mm: float
    spare_thickness_mm: float


def start_kg(result: Result) -> float:
    """Return the mass of all stacks the job begins with, kg."""
    return sum(row.mass_kg for row in result.steps if row.step.__class__.__name__ == "Stack")


def steel_answer(result: Result, blade: PlacedBlade) -> Steel:
    """Return the Steel answer of a placed blade.

    The bar must hold the sound steel beyond the tip, the blade, its neck and tang; its width must
    hold twice the farthest the outline reaches from the tip's line, and the allowance on both edges.
    """
    piece, outline, grind = blade.piece, blade.outline, blade.grind
    length, width, thick = piece.size
    corners = outline.silhouette()
    needed = blade.spec.place.from_end_mm + float(np.ptp(corners[:, 0]))
    # The line the width is counted from runs through the tip (v = 0).
    off_middle = abs(blade.placement.tip_y)
    needed_width = 2 * (outline.far_mm + off_middle + blade.spec.allowance_mm)
    spare_length = length - needed
    volume = grind.volume_mm3(outline) + grind.tang_volume_mm3(outline)
    return Steel(
        start_kg=start_kg(result),
        blade_kg=volume * piece.density,
        spare_kg=(None, spare_length * width * thick * piece.density, None),
        spare_length_mm=(None, spare_length, None),
        spare_width_mm=width - needed_width,
        spare_thickness_mm=thick - grind.spine_mm,
    )
