"""Neck and tang as they are drawn: plain steel, ground across, its corners broken; not the pattern."""

from __future__ import annotations

from itertools import pairwise
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from patternsim.etch.finish import bevel_light, fall_of_light, satin
from patternsim.etch.sampling import pixel_centres
from patternsim.shape.outline import Outline

Floats = NDArray[np.float64]

CORNER_MM, CORNER_SLOPE = 2.2, 0.45
"""Width of the broken corners and their slope at the border; by eye."""
CROWN_MM, CROWN_SLOPE = 9.0, 0.12
"""The flats fall off a little towards the border, as belts leave them; by eye."""
BELT = 1.8
"""The lines of the belt across the tang, of the satin lines along the blade; by eye."""
AT_ONCE = 100_000
"""Points so many at a time are held against all sides of the tang."""


class View(Protocol):
    """What is asked of a view."""

    @property
    def pixels_per_mm(self) -> float:
        """Pixels a millimetre."""

    @property
    def axes(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Change of (u, v) a millimetre to the right, and a millimetre down."""

    def blade(self, columns: Floats, rows: Floats) -> tuple[Floats, Floats]:
        """Return u and v (mm) of picture points."""


def tang_light(outline: Outline, view: View, wanted: NDArray[np.bool_]) -> Floats:
    """Return the factor of light on neck and tang, over that of a flat plain face.

    Parameters
    ----------
    outline : Outline
    view : View
    wanted : (h, w) bool
        Pixels of neck and tang.

    Returns
    -------
    (h, w) float64, 1 where nothing is wanted
    """
    factor = np.ones(wanted.shape)
    rows, columns = np.nonzero(wanted)
    if not rows.size:
        return factor
    u, v = view.blade(pixel_centres(columns), pixel_centres(rows))
    away, inward_u, inward_v = _from_border(outline.tang_polygon()[:-1], u, v)
    slope = CORNER_SLOPE * np.clip(1.0 - away / CORNER_MM, 0.0, 1.0)
    slope += CROWN_SLOPE * np.clip(1.0 - away / CROWN_MM, 0.0, 1.0) ** 2
    right, down = view.axes
    rise = [slope * (axis[0] * inward_u + axis[1] * inward_v) for axis in (right, down)]
    light = bevel_light(*rise)
    heel = np.zeros(1)
    low, high = float(outline.edge_at(heel)[0]), float(outline.spine_at(heel)[0])
    light *= fall_of_light(np.clip((v - low) / max(high - low, 1e-6), 0.0, 1.0))
    belt = 1.0 + BELT * (satin(v, u, 1.0 / view.pixels_per_mm) - 1.0)
    factor[rows, columns] = light * belt
    return factor


def _from_border(line: Floats, u: Floats, v: Floats) -> tuple[Floats, Floats, Floats]:
    """Return how far points lie from an open line (k, 2), and the way from it to them."""
    made = [
        _nearest(line, u[first : first + AT_ONCE], v[first : first + AT_ONCE])
        for first in range(0, len(u), AT_ONCE)
    ]
    away, to_u, to_v = (np.concatenate(part) for part in zip(*made, strict=True))
    return away, to_u, to_v


def _nearest(line: Floats, u: Floats, v: Floats) -> tuple[Floats, Floats, Floats]:
    best = np.full(len(u), np.inf)
    to_u, to_v = np.zeros(len(u)), np.zeros(len(u))
    for (u0, v0), (u1, v1) in pairwise(line):
        du, dv = u1 - u0, v1 - v0
        part = np.clip(((u - u0) * du + (v - v0) * dv) / max(du * du + dv * dv, 1e-12), 0.0, 1.0)
        off_u, off_v = u - u0 - part * du, v - v0 - part * dv
        away = np.hypot(off_u, off_v)
        nearer = away < best
        best = np.where(nearer, away, best)
        length = np.maximum(away, 1e-9)
        to_u, to_v = np.where(nearer, off_u / length, to_u), np.where(nearer, off_v / length, to_v)
    return best, to_u, to_v
