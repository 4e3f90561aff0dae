"""The outline of a piece that is the same along one axis: what a press left of its straight sides.

A closed quadratic curve, as the flow knows it: every other point a corner of an edge, the one between
on the edge's middle. Counter-clockwise over the two axes of its plane.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from patternsim.fields import PLANES

Floats = NDArray[np.float64]
Pair = tuple[float, float]

FINE = 6
"""Straight stretches a curved edge is told in; more where it bends does not show at 300 dpi."""
STRAIGHT = 1e-9
"""Sag of an edge, over its length, below which it is told as one stretch."""
FULL = 1e-4
"""Share of a box that may be wanting and still count as none: a scratch in each corner."""
AXIS_OF = {"yz": 0, "xz": 1, "xy": 2}
"""The axis along which the solid is the same, by plane."""
PLANE_OF = {axis: plane for plane, axis in AXIS_OF.items()}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Section:
    """An outline in its plane.

    Attributes
    ----------
    plane : str
        'yz', 'xy' or 'xz'; the solid is the same along the third axis.
    curve : (2k, 2) float64, mm
        In the frame of the piece.
    """

    plane: str
    curve: Floats
    _told: list[Floats] = field(default_factory=list, init=False, repr=False)

    @property
    def axes(self) -> tuple[int, int]:
        """The two axes of the plane."""
        return PLANES[self.plane]

    @property
    def along(self) -> int:
        """The axis along which the solid is the same."""
        return AXIS_OF[self.plane]

    def polygon(self) -> Floats:
        """Return the outline in straight stretches, (n, 2) mm; nobody may change it."""
        if not self._told:  # asked for again and again
            self._told.append(flattened(self.curve))
        return self._told[0]

    @property
    def area(self) -> float:
        """Area within the outline, mm2."""
        return area_of(self.polygon())

    def box(self) -> tuple[Pair, Pair]:
        """Return the low and the high corner of the outline, mm."""
        points = self.polygon()
        (a, b), (c, d) = points.min(axis=0), points.max(axis=0)
        return (float(a), float(b)), (float(c), float(d))

    def moved(self, by: Pair) -> Section:
        """Return the outline moved by `by` mm."""
        return replace(self, curve=self.curve + np.array(by))

    def scaled(self, by: Pair) -> Section:
        """Return the outline stretched about the origin, axis by axis."""
        return replace(self, curve=self.curve * np.array(by))

    def turned(self, turn: Floats, shift: Floats) -> Section:
        """Return the outline of the piece re-laid by before = turn @ after + shift."""
        along = int(np.flatnonzero(np.abs(turn.T[:, self.along]) > 0.5)[0])
        plane = PLANE_OF[along]
        full = np.zeros((len(self.curve), 3))
        full[:, self.axes] = self.curve - np.asarray(shift)[list(self.axes)]
        after = (full @ turn)[:, PLANES[plane]]
        if area_of(after) < 0.0:
            after = np.roll(after[::-1], -1, axis=0)
        return Section(plane=plane, curve=np.ascontiguousarray(after))

    def into(self, points: Floats, by: float) -> Floats:
        """Return points (n, 3) of the piece, those outside the outline moved onto it, `by` mm inside."""
        out = points.copy()
        polygon = grown(self.polygon(), -by)
        there = np.roll(polygon, -1, axis=0)
        for row in range(len(points)):
            at = points[row, list(self.axes)]
            above = polygon[:, 1] > at[1]
            crosses = above != np.roll(above, -1)
            first, second = polygon[crosses], there[crosses]
            share = (at[1] - first[:, 1]) / (second[:, 1] - first[:, 1])
            if int((first[:, 0] + share * (second[:, 0] - first[:, 0]) > at[0]).sum()) % 2:
                continue
            edges = there - polygon
            share = ((at - polygon) * edges).sum(axis=1) / np.maximum((edges**2).sum(axis=1), 1e-300)
            near = polygon + np.clip(share, 0.0, 1.0)[:, None] * edges
            out[row, list(self.axes)] = near[np.linalg.norm(near - at, axis=1).argmin()]
        return out

    def skinned(self, off: Pair) -> Section:
        """Return the outline with a skin of `off` mm along each axis taken off.

        Points go inwards along their normal; where the skin is thicker than a dent is wide the outline
        would cross itself, which a skin of scale never is.
        """
        points = self.curve
        along = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
        along = along / np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-300)
        outwards = np.stack([along[:, 1], -along[:, 0]], axis=1)
        corner = _corners(points)
        outwards[corner] = _mitres(points)[corner]
        return replace(self, curve=points - outwards * np.array(off))

    def within(self, low: Pair, high: Pair) -> Section | None:
        """Return what is left between `low` and `high`; None where that is the whole of the box."""
        points = self.polygon()
        for axis in (0, 1):
            points = cut_along(points, axis, low[axis], keep_above=True)
            points = cut_along(points, axis, high[axis], keep_above=False)
        box = (high[0] - low[0]) * (high[1] - low[1])
        if len(points) >= 3 and area_of(points) >= (1.0 - FULL) * box:
            return None
        return Section(plane=self.plane, curve=as_curve(points))

    def missing(self, low: Pair, high: Pair) -> float:
        """Return how much of the box from `low` to `high` is no steel, mm2."""
        left = self.within(low, high)
        box = (high[0] - low[0]) * (high[1] - low[1])
        return 0.0 if left is None else box - left.area


def rectangle(plane: str, low: Pair, high: Pair) -> Section:
    """Return the outline of a box."""
    corners = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    return Section(plane=plane, curve=as_curve(corners))


def as_curve(corners: Floats) -> Floats:
    """Return the closed quadratic curve (2n, 2) with straight edges between `corners` (n, 2)."""
    middles = (corners + np.roll(corners, -1, axis=0)) / 2.0
    return np.stack([corners, middles], axis=1).reshape(-1, 2)


def flattened(curve: Floats) -> Floats:
    """Return a closed quadratic curve in straight stretches, counter-clockwise, (n, 2)."""
    first, middle, last = curve[0::2], curve[1::2], np.roll(curve[0::2], -1, axis=0)
    sag = np.linalg.norm(middle - (first + last) / 2.0, axis=1)
    bent = sag > STRAIGHT * np.linalg.norm(last - first, axis=1)
    t = (np.arange(FINE) / FINE)[None, :, None]
    points = (
        first[:, None] * (1 - t) * (1 - 2 * t)
        + middle[:, None] * 4 * t * (1 - t)
        + last[:, None] * t * (2 * t - 1)
    )
    told = np.repeat(bent[:, None], FINE, axis=1)
    told[:, 0] = True
    out: Floats = points[told]
    return out


def area_of(points: Floats) -> float:
    """Return the area of a polygon, positive if counter-clockwise."""
    x, y = points[:, 0] - points[0, 0], points[:, 1] - points[0, 1]
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def grown(points: Floats, by: float) -> Floats:
    """Return a polygon grown by a hair: what lies on its border must not drop out."""
    return points + by * _mitres(points)


def _mitres(points: Floats) -> Floats:
    """Return for each point the way outwards that moves both its edges by 1."""
    edges = np.roll(points, -1, axis=0) - points
    edges = edges / np.maximum(np.linalg.norm(edges, axis=1, keepdims=True), 1e-300)
    normals = np.stack([edges[:, 1], -edges[:, 0]], axis=1)
    before = np.roll(normals, 1, axis=0)
    both = normals + before
    out: Floats = both / np.maximum((both * normals).sum(axis=1, keepdims=True), 0.25)
    return out


def _corners(points: Floats) -> NDArray[np.bool_]:
    edges = np.roll(points, -1, axis=0) - points
    edges = edges / np.maximum(np.linalg.norm(edges, axis=1, keepdims=True), 1e-300)
    turn = (edges * np.roll(edges, 1, axis=0)).sum(axis=1)
    return np.asarray(turn < np.cos(np.radians(35.0)))


def cut_along(points: Floats, axis: int, at: float, *, keep_above: bool) -> Floats:
    """Cut a polygon along an axis, closed along the cut (Sutherland and Hodgman 1974)."""
    if len(points) < 3:
        return points[:0]
    side = points[:, axis] - at if keep_above else at - points[:, axis]
    keep = side >= 0.0
    if keep.all():
        return points
    if not keep.any():
        return points[:0]
    there, beside = np.roll(points, -1, axis=0), np.roll(side, -1)
    crosses = keep != np.roll(keep, -1)
    share = np.divide(side, side - beside, out=np.zeros(len(side)), where=crosses)
    crossings = points + share[:, None] * (there - points)
    crossings[:, axis] = at
    out: Floats = np.stack([points, crossings], axis=1)[np.stack([keep, crosses], axis=1)]
    return out
