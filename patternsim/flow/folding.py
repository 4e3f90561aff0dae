"""Sections solved on a half or a quarter: places folded onto it, and out again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

NEAR = 1e-7
"""Places this near to a line of mirroring, in sizes of the section, lie on it."""


@dataclass(frozen=True, slots=True, eq=False)
class Fold:
    """Up to two lines the section is mirrored on: x = line[0] and y = line[1], not a number for none."""

    line: Floats
    side: Floats
    """+1 or -1: on which side of each line the part lies that was solved."""
    near: float

    @classmethod
    def of(cls, nodes: Floats, mirror_x: float | None, mirror_y: float | None) -> Fold:
        """The lines, and from the points of the part that was solved the sides of it."""
        line = np.array([np.nan if at is None else at for at in (mirror_x, mirror_y)])
        side = np.where(nodes.mean(axis=0) < line, -1.0, 1.0)
        return cls(line, side, NEAR * float(np.ptp(nodes, axis=0).max()))

    def lines(self) -> tuple[float, float]:
        """The lines as numbers, not a number for none."""
        return float(self.line[0]), float(self.line[1])

    def folded(self, points: Floats) -> tuple[Floats, Floats]:
        """Places brought to the side that was solved, and (n, 2) -1 where that mirrored them, else 1."""
        # A comparison with not-a-number is never true: without a line nothing is mirrored.
        sides = np.where((points - self.line) * self.side < 0.0, -1.0, 1.0)
        return self.unfolded(points, sides), sides

    def unfolded(self, points: Floats, sides: Floats) -> Floats:
        """Places mirrored where `sides` is -1."""
        return np.where(sides < 0.0, 2 * self.line - points, points)

    def off_the_lines(self, folded: Floats) -> Floats:
        """Folded places, those on a line a hair inside: a line is no edge of the whole section."""
        in_from = (folded - self.line) * self.side
        return np.where(in_from < self.near, self.line + self.side * self.near, folded)


def unfolded_outline(outline: Floats, fold: Fold) -> Floats:
    """The outline (k, 2) of the part that was solved, mirrored to the whole.

    Where the mirrored parts touch in several places, the outer outline; where in none, that of the part.
    """
    for axis in (0, 1):
        if not np.isnan(fold.line[axis]):
            outline = _mirrored(outline, axis, float(fold.line[axis]), fold.near)
    return np.ascontiguousarray(outline)


def _mirrored(outline: Floats, axis: int, line: float, near: float) -> Floats:
    """An outline and its mirror image on one line, as one outline."""
    on = np.abs(outline[:, axis] - line) <= near
    along = on & np.roll(on, -1)  # the edges that lie on the line and vanish
    if not along.any():
        return outline
    first = int(np.argmax(along)) + 1
    outline, along = np.roll(outline, -first, axis=0), np.roll(along, -first)
    best, largest = outline, -np.inf
    for run in np.split(np.arange(len(outline)), np.flatnonzero(along) + 1):
        if len(run) < 2:
            continue
        half = outline[run].copy()
        half[[0, -1], axis] = line
        image = half[-2:0:-1].copy()
        image[:, axis] = 2 * line - image[:, axis]
        whole = np.concatenate([half, image])
        area = _area(whole)
        if area > largest:
            best, largest = whole, area
    return best


def _area(polygon: Floats) -> float:
    """The area of a polygon, negative when it runs clockwise."""
    x, y = (polygon - polygon[0]).T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
