"""Which passes lead from one section to another, and what a pass takes hold of."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from patternsim.press.spread import spread_exponent
from patternsim.section import area_of, cut_along, flattened

Floats = NDArray[np.float64]

DEEPEST = 0.14
"""Largest squeeze of one pass, ln: about what is taken before a bar is turned; common practice, no
source."""


def beyond(curve: Floats, to: float) -> float:
    """Return the share of a section that lies beyond dies closed to the gap `to` about its middle."""
    points = flattened(curve)
    middle = (points[:, 1].min() + points[:, 1].max()) / 2
    left = cut_along(points, 1, middle - to / 2, keep_above=True)
    left = cut_along(left, 1, middle + to / 2, keep_above=False)
    return 1.0 - area_of(left) / area_of(points)


def contact(curve: Floats, to: float) -> float:
    """Return how wide a section is where dies closed to the gap `to` would cut it."""
    points = flattened(curve)
    middle = (points[:, 1].min() + points[:, 1].max()) / 2
    left = cut_along(points, 1, middle - to / 2, keep_above=True)
    left = cut_along(left, 1, middle + to / 2, keep_above=False)
    near = np.abs(np.abs(left[:, 1] - middle) - to / 2) < 1e-9
    return float(np.ptp(left[near, 0])) if near.any() else float(np.ptp(points[:, 0]))


def _one_way(
    axis: int, pressed: tuple[float, float], other: tuple[float, float]
) -> list[tuple[int, float, float | None]]:
    """Return passes along one axis only; in between, the sides that bulge are kept flat."""
    down = math.log(pressed[0] / pressed[1])
    if down <= 0.0:
        return []
    share = min(max(math.log(other[1] / other[0]) / down, 0.0), 1.0)
    rounds = max(1, math.ceil(down / (2.0 * DEEPEST)))
    found: list[tuple[int, float, float | None]] = []
    for k in range(1, rounds + 1):
        found.append((axis, pressed[0] * math.exp(-down * k / rounds), share))
        if k < rounds:
            found.append((1 - axis, other[0] * math.exp(share * down * k / rounds), None))
    return found


def passes(
    before: tuple[float, float], after: tuple[float, float], bite: float
) -> list[tuple[int, float, float | None]]:
    """Return the passes of a draw: axis, die gap and, where the sizes ask for it, the share sideways.

    Sizes in ln obey down_z = a_z - S a_y and down_y = a_y - S a_z, a the squeeze of each direction and
    S the spread. A direction that would need widening by itself is not pressed; the other then spreads
    as much as the sizes ask for.
    """
    (y, z), spread = before, spread_exponent(bite / before[0])
    down_y, down_z = math.log(y / after[0]), math.log(z / after[1])
    squeeze_z = (down_z + spread * down_y) / (1 - spread**2)
    squeeze_y = (down_y + spread * down_z) / (1 - spread**2)
    if squeeze_y <= 0.0:
        return _one_way(1, (z, after[1]), (y, after[0]))
    if squeeze_z <= 0.0:
        return _one_way(0, (y, after[0]), (z, after[1]))
    rounds = max(1, math.ceil(max(squeeze_y, squeeze_z) / DEEPEST))
    squeeze_y, squeeze_z = squeeze_y / rounds, squeeze_z / rounds
    found: list[tuple[int, float, float | None]] = []
    for _ in range(rounds):
        found.append((1, z * math.exp(-squeeze_z), None))
        y, z = y * math.exp(spread * squeeze_z), z * math.exp(-squeeze_z)
        found.append((0, y * math.exp(-squeeze_y), None))
        y, z = y * math.exp(-squeeze_y), z * math.exp(spread * squeeze_y)
    return found
