"""Closed outlines made of parabolas, and the places of new points on them.

A curve is (2k, 2): corner, point on the edge, corner, point on the edge, ...; edge i runs from corner i
through the point after it to corner i + 1, by its parameter 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.compiled import meshing
from patternsim.flow.sizing import AnySize, Floats, Rule, as_size

Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

PARTS = 8
"""Straight parts an edge is taken as, at least, when lengths along it are measured."""
MOST_PARTS = 1024
MOST_LOOKED_AT = 400
"""Places of an outline at which the thickness behind it is looked at."""
CORNER_DEG = 35.0


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """A curve whose points all lie on an older one."""

    curve: Floats
    edge: Ints
    """(2k,) the old edge each point lies on."""
    at: Floats
    """(2k,) and where on it, 0 to 1."""


def polygon_curve(corners: Floats) -> Floats:
    """A polygon as a curve."""
    corners = np.asarray(corners, dtype=np.float64)
    curve = np.empty((2 * len(corners), 2))
    curve[0::2] = corners
    curve[1::2] = 0.5 * (corners + np.roll(corners, -1, axis=0))
    return curve


def points_at(curve: Floats, edge: Ints, at: Floats) -> Floats:
    """The points of a curve at parameters of its edges."""
    t = at[:, None]
    start = curve[0::2][edge]
    end = curve[0::2][(edge + 1) % (len(curve) // 2)]
    # Written about the start: at 0 and on straight edges nothing is lost.
    return start + t * ((end - start) + 4 * (1 - t) * (curve[1::2][edge] - 0.5 * (start + end)))


def fine(curve: Floats, parts: int = PARTS) -> Floats:
    """The curve as a polygon, so many parts to an edge."""
    edges = len(curve) // 2
    steps = np.tile(np.arange(parts) / parts, edges)
    return points_at(curve, np.repeat(np.arange(edges), parts), steps)


def bends(curve: Floats) -> Floats:
    """(k,) how far the curve turns at its corners, degrees, to the left positive."""
    start, middle = curve[0::2], curve[1::2]
    end = np.roll(start, -1, axis=0)
    leaving = 4 * middle - 3 * start - end
    arriving = np.roll(start - 4 * middle + 3 * end, 1, axis=0)
    across = arriving[:, 0] * leaving[:, 1] - arriving[:, 1] * leaving[:, 0]
    turned: Floats = np.degrees(np.arctan2(across, np.sum(arriving * leaving, axis=1)))
    return turned


def resampled(
    curve: Floats,
    size: AnySize | Rule,
    *,
    corner_deg: float = CORNER_DEG,
    keep: Bools | None = None,
    least: float | None = None,
) -> Cut:
    """The curve parted anew into edges of the size asked for; corners stay.

    Edges get shorter than asked for where the curve turns within an edge or the steel is thin, but for
    that not shorter than `least` (a quarter of the finest asked for, when not told).
    """
    rule = as_size(size, curve)
    least = 0.25 * rule.finest if least is None else least
    corner = _corners(curve, corner_deg, keep, 0.25 * least)
    first = int(np.argmax(corner))
    turned = np.roll(curve, -2 * first, axis=0)
    owner, at, edges = _parts(turned, rule.finest)
    line = points_at(turned, owner, at)
    marked = np.zeros(len(line), dtype=np.bool_)
    marked[at == 0.0] = np.roll(corner, -first)
    wanted = np.array(rule(line), dtype=np.float64)
    apart = max(0.5 * rule.finest, float(edges.sum()) / MOST_LOOKED_AT)
    lengths = meshing.edge_lengths(line, marked, owner, edges, wanted, least, apart)
    total = np.concatenate([[0.0], np.cumsum(lengths)])
    # Edges per length is taken from the mean of both ends of each part.
    count = np.concatenate([[0.0], np.cumsum(2 * lengths / (wanted + np.roll(wanted, -1)))])
    stations = _stations(np.flatnonzero(marked), count, total)
    return _cut_at(curve, first + np.interp(stations, total, np.append(owner + at, len(edges))))


def split_at(old_curve: Floats, cut: Cut, which: Bools) -> Cut:
    """The cut with the edges marked in `which` halved on the old curve."""
    edges = len(old_curve) // 2
    parameter = cut.edge + cut.at
    # Unrolled, so that half-way is half-way also past the curve's start.
    parameter = np.concatenate([parameter, parameter[:1]])
    parameter[1:] += edges * np.cumsum(np.diff(parameter) < 0.0)
    start, middle, end = parameter[:-2:2], parameter[1:-1:2], parameter[2::2]
    finer = []
    for i, halved in enumerate(which):
        finer += [start[i], middle[i]]
        if halved:
            finer[-1:] = [0.5 * (start[i] + middle[i]), middle[i], 0.5 * (middle[i] + end[i])]
    return _cut_at(old_curve, np.array(finer))


def _parts(curve: Floats, finest: float) -> tuple[Ints, Floats, Floats]:
    """Every edge parted finely enough to measure by: edge and parameter of each part, edges' lengths."""
    start, middle = curve[0::2], curve[1::2]
    end = np.roll(start, -1, axis=0)
    lengths = np.hypot(*(middle - start).T) + np.hypot(*(end - middle).T)
    parts = np.clip(np.ceil(2 * lengths / finest), PARTS, MOST_PARTS).astype(np.int64)
    edge = np.repeat(np.arange(len(parts)), parts)
    within = np.arange(len(edge)) - np.repeat(np.cumsum(parts) - parts, parts)
    return edge, within / parts[edge], lengths


def _corners(curve: Floats, corner_deg: float, keep: Bools | None, least: float) -> Bools:
    """Which corners stay: those that must, and those that turn enough and are not on one another."""
    sharp = np.abs(bends(curve))
    must = np.zeros(len(sharp), dtype=np.bool_) if keep is None else np.asarray(keep, dtype=np.bool_)
    corner = must | (sharp > corner_deg)
    places = np.flatnonzero(corner)
    start = curve[0::2]
    for here, following in zip(places, np.roll(places, -1), strict=True):
        # Neighbouring corners only: a far one may come near across a slit and still be needed.
        near = len(places) > 3 and np.hypot(*(start[here] - start[following])) < least
        if near and corner[here] and corner[following]:
            lesser = (
                here if (must[following], sharp[following]) > (must[here], sharp[here]) else following
            )
            corner[lesser] = bool(must[lesser])
    if not corner.any():
        corner[0] = True
    return corner


def _stations(corners: Ints, count: Floats, total: Floats) -> Floats:
    """Distances along the line of the new corners, and half-way by length the points on the edges."""
    ends = np.append(corners, len(total) - 1)
    least = {1: 4, 2: 2}.get(len(corners), 1)
    stations = []
    for a, b in pairwise(ends):
        parts = max(least, round(float(count[b] - count[a])))
        inner = np.linspace(count[a], count[b], parts + 1)[1:-1]
        stations.append(np.concatenate([[total[a]], np.interp(inner, count, total)]))
    at = np.append(np.concatenate(stations), total[-1])
    both = np.empty(2 * len(at) - 2)
    both[0::2] = at[:-1]
    both[1::2] = 0.5 * (at[:-1] + at[1:])
    return both


def _cut_at(curve: Floats, parameter: Floats) -> Cut:
    """The cut at places given as edge number plus parameter, of one turn or more."""
    edges = len(curve) // 2
    parameter = np.mod(parameter, edges)
    edge = np.minimum(parameter.astype(np.int64), edges - 1)
    at = parameter - edge
    return Cut(points_at(curve, edge, at), edge, at)
