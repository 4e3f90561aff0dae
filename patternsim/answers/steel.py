"""The Steel answer: what the blade takes and what is left over."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from patternsim.job import kind_of
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
    spare_width_mm: float | None
    spare_thickness_mm: float


def start_kg(result: Result) -> float:
    """Return the mass of all stacks the job begins with, kg."""
    return sum(row.mass_kg for row in result.steps if kind_of(row.step) == "stack")


def steel_answer(result: Result, blade: PlacedBlade) -> Steel:
    """Return the Steel answer of a placed blade.

    The bar must hold the sound steel beyond the tip, the blade, its neck and tang. What a bent bar
    holds is not worked out.
    """
    piece, outline, grind = blade.piece, blade.outline, blade.grind
    length, width, thick = piece.size
    corners = outline.silhouette()
    needed = blade.spec.place.from_end_mm + float(np.ptp(corners[:, 0]))
    spare_length = None if piece.limits is not None else length - needed
    spare_kg = None if spare_length is None else spare_length * width * thick * piece.density
    volume = grind.volume_mm3(outline) + grind.tang_volume_mm3(outline)
    return Steel(
        start_kg=start_kg(result),
        blade_kg=volume * piece.density,
        spare_kg=(None, spare_kg, None),
        spare_length_mm=(None, spare_length, None),
        spare_width_mm=_spare_width(blade),
        spare_thickness_mm=thick - grind.spine_mm,
    )


def _spare_width(blade: PlacedBlade) -> float | None:
    """Return the width over: about the centre line of a feather, else of the blade by itself, mm."""
    piece = blade.piece
    if piece.limits is not None:
        return None
    body = blade.outline.polygon()
    y = blade.placement.to_piece(body[:, 0], body[:, 1], np.zeros(len(body)))[:, 1]
    taken = 2.0 * float(np.abs(y).max()) if piece.cuts else float(np.ptp(y))
    return piece.size[1] - taken - 2.0 * blade.spec.allowance_mm


def nearest_edge(blade: PlacedBlade) -> float | None:
    """Return how near the outline comes to an edge of the bar, mm; None on a bent bar."""
    if blade.piece.limits is not None:
        return None
    body = blade.outline.polygon()
    y = blade.placement.to_piece(body[:, 0], body[:, 1], np.zeros(len(body)))[:, 1]
    return blade.piece.size[1] / 2 - float(np.abs(y).max())
