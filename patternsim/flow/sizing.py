"""How long the edges of triangles should be, place by place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Rule = Callable[[Floats], Floats]

GROWTH = 0.35
"""How much longer edges may get a length further on; the mesher keeps to the same."""


@dataclass(frozen=True, slots=True)
class Size:
    """A rule for the length of edges: places (n, 2) in, lengths (n,) out; and its limits."""

    of: Rule
    coarsest: float
    finest: float

    def __call__(self, places: Floats) -> Floats:
        """The lengths at places, within the limits."""
        return np.clip(self.of(places), self.finest, self.coarsest)

    def times(self, factor: float) -> Size:
        """The same rule with all lengths scaled."""
        rule = self.of
        return Size(lambda places: factor * rule(places), factor * self.coarsest, factor * self.finest)


AnySize = float | Size


def as_size(size: AnySize | Rule, curve: Floats) -> Size:
    """A length, a rule, or a bare function whose limits are looked up along a curve, as a rule."""
    if isinstance(size, Size):
        return size
    if callable(size):
        along = size(curve)
        return Size(size, float(along.max()), float(along.min()))
    length = float(size)
    return Size(lambda places: np.full(len(places), length), length, length)


def graded(
    point: tuple[float, float],
    coarsest: float,
    finest: float,
    *,
    radius: float = 0.0,
    growth: float = GROWTH,
) -> Size:
    """Fine within `radius` of a point, growing with the distance from there."""
    x, y = point

    def rule(places: Floats) -> Floats:
        away = np.hypot(places[:, 0] - x, places[:, 1] - y) - radius
        return finest + growth * np.maximum(away, 0.0)

    return Size(rule, coarsest, finest)


def coarser_middle(
    low: float, high: float, size: float, coarsest: float, *, reach: float, axis: int = 0
) -> Size:
    """For a flat bar from `low` to `high` along an axis: `size` within `reach` of its ends."""

    def rule(places: Floats) -> Floats:
        along = places[:, axis]
        from_end = np.minimum(along - low, high - along) - reach
        return size + GROWTH * np.maximum(from_end, 0.0)

    return Size(rule, coarsest, size)


def capped(size: AnySize | Rule, outline: Floats, most_nodes: int) -> Size:
    """The rule coarsened as a whole until about `most_nodes` points do for the outline."""
    rule = as_size(size, outline)
    inner, rim = _amounts(rule, outline)
    # A mesh of m triangles with k edges on its outline has 2 m + k + 1 points in all.
    factor = (rim + np.sqrt(rim * rim + 4 * inner * (most_nodes - 1))) / (2 * (most_nodes - 1))
    return rule.times(float(factor)) if factor > 1.0 else rule


def _amounts(rule: Size, outline: Floats, across: int = 48) -> tuple[float, float]:
    """Twice the triangles the area takes, and the edges its outline takes, at the rule's lengths."""
    start = outline[0::2]
    ends = np.roll(start, -1, axis=0)
    lengths = np.hypot(*(ends - start).T)
    rim = float(np.sum(lengths / rule(outline[1::2])))
    low, high = outline.min(axis=0), outline.max(axis=0)
    steps = (np.arange(across) + 0.5) / across
    x, y = (low + (high - low) * steps[:, None]).T
    places = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    cell = float(np.prod((high - low) / across))
    inside = _within(outline, places)
    triangles = np.sum(cell / (0.4330127018922193 * rule(places[inside]) ** 2))
    return 2.0 * float(triangles), rim


def _within(polygon: Floats, places: Floats) -> NDArray[np.bool_]:
    """Whether places lie within a polygon, by crossings of a ray."""
    start, end = polygon, np.roll(polygon, -1, axis=0)
    y = places[:, 1, None]
    spans = (start[:, 1] > y) != (end[:, 1] > y)
    rise = end[:, 1] - start[:, 1]
    rise = np.where(rise == 0.0, 1.0, rise)
    x = start[:, 0] + (y - start[:, 1]) * (end[:, 0] - start[:, 0]) / rise
    crossed: NDArray[np.bool_] = np.sum(spans & (places[:, 0, None] < x), axis=1) % 2 == 1
    return crossed
