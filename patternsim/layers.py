"""Layers as a smith counts them: n x m."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layers:
    """Layers of a piece.

    Attributes
    ----------
    axis : int
        Axis the layers are stacked along (0 length, 1 width, 2 thickness).
    along : int
        Layers met on the way along that axis.
    across : int
        Rows of layers beside one another.
    across_axis : int
        Axis the rows lie along; -1 while there is one row.
    total : int
        All layers; along times across where every row has as many.
    distinct : int
        As `along`, with neighbours of one steel counted once.
    ends : (str, str)
        Steels at the low and the high end of the axis; empty where it was sawn off among the layers.
    """

    axis: int
    along: int
    across: int
    across_axis: int
    total: int
    distinct: int
    ends: tuple[str, str]

    def text(self) -> str:
        """Return '48', '48 x 2' once rows stand beside one another, '30 in all' if they differ."""
        if self.along * self.across != self.total:
            return f"{self.total} in all"
        return f"{self.along} x {self.across}" if self.across > 1 else str(self.along)

    def kept(self, low: Triple, high: Triple, size: Triple) -> Layers:
        """Return the layers left when `low` and `high` (mm) are sawn off a piece of `size` (mm).

        Counts follow the share that is left, once more than one layer has gone.
        """
        result, even = self, self.along * self.across == self.total
        off = low[self.axis] + high[self.axis]
        layer = size[self.axis] / self.along
        if off > layer:
            share = 1.0 - off / size[self.axis]
            ends = (
                "" if low[self.axis] > layer / 2 else self.ends[0],
                "" if high[self.axis] > layer / 2 else self.ends[1],
            )
            result = replace(
                result,
                along=max(1, round(self.along * share)),
                distinct=max(1, round(self.distinct * share)),
                total=max(1, round(self.total * share)),
                ends=ends,
            )
        side = self.across_axis
        if side >= 0 and low[side] + high[side] > 0.0:
            share = 1.0 - (low[side] + high[side]) / size[side]
            result = replace(
                result,
                across=max(1, round(self.across * share)),
                total=max(1, round(result.total * share)),
            )
        return replace(result, total=result.along * result.across) if even else result

    def turned(self, turn: NDArray[np.int64]) -> Layers:
        """Return the layers of a piece turned by a rotation (before from after), (3, 3)."""
        axis = int(np.flatnonzero(turn[self.axis])[0])
        ends = self.ends if turn[self.axis, axis] > 0 else self.ends[::-1]
        side = self.across_axis
        if side >= 0:
            side = int(np.flatnonzero(turn[side])[0])
        return replace(self, axis=axis, across_axis=side, ends=(ends[0], ends[1]))


def layers_together(layers: Sequence[Layers], axis: int) -> Layers | None:
    """Return the layers of pieces laid together along `axis`; None where they run different ways.

    N = k n where unlike faces touch; where like faces touch, two layers are one to the eye, and
    `distinct` counts them once.
    """
    first = layers[0]
    if len(layers) == 1:
        return first
    if any(other.axis != first.axis for other in layers):
        return None
    if axis == first.axis:
        merged = sum(a.ends[1] == b.ends[0] != "" for a, b in itertools.pairwise(layers))
        return replace(
            max(layers, key=lambda one: one.across),
            along=sum(one.along for one in layers),
            total=sum(one.total for one in layers),
            distinct=sum(one.distinct for one in layers) - merged,
            ends=(first.ends[0], layers[-1].ends[1]),
        )
    if axis == 0:  # end to end nothing lies beside anything: the count of one section stays
        return max(layers, key=lambda one: one.total)
    return replace(
        max(layers, key=lambda one: one.along),
        across=sum(one.across for one in layers),
        across_axis=axis,
        total=sum(one.total for one in layers),
    )
