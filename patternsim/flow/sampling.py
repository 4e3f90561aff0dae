"""A solved flow sampled once on an even or graded grid, quick to walk; its error is measured.

Samples come from the chain wherever there is steel, and a little beyond by its straight continuation;
farther out they are filled in smoothly, so that the spline has nothing to overshoot at.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from patternsim.fields import Grid, sample_flow

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

CELLS_SHORT = 96
"""Cells across the short side: at least 80 keep the map good on thin bars."""
CELLS_MOST = 480
MEASURED = 4000
"""Points at which the error is measured."""
BEYOND = 1.5
"""Cells around the steel that are continued rather than filled in."""


class Backward(Protocol):
    """A backward map: a chain, or several in a row."""

    def back(self, points: Floats) -> Floats:
        """Return where points (n, 2) were before, also a little outside the steel."""

    def inside(self, points: Floats) -> Bools:
        """Return which points (n, 2) lie in the steel."""

    def outline(self) -> Floats:
        """Return the outline as a fine polygon (k, 2)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sampled:
    """A sampled flow.

    Attributes
    ----------
    grid : Grid
        Displacement, before minus after. Its first axis is the section's x, or y where `turned`.
    turned : bool
    error : (median, p99, most)
        Distance from the chain at points of the steel, as long as lengths of the section.
    """

    grid: Grid
    turned: bool
    error: tuple[float, float, float]

    def back(self, points: Floats) -> Floats:
        """Return where the steel at `points` (n, 2) was before, by the samples."""
        given = points[:, ::-1] if self.turned else points
        at = self.grid.knot_coordinates(given).T
        moved = np.stack(
            [
                map_coordinates(self.grid.coefs[..., axis].astype(float), at, order=3, prefilter=False)
                for axis in (0, 1)
            ],
            axis=1,
        )
        out: Floats = points + (moved[:, ::-1] if self.turned else moved)
        return out


def sampled(
    chain: Backward, *, short: int = CELLS_SHORT, grading: float = 0.0, shaft: float = 0.0, seed: int = 1
) -> Sampled:
    """Sample a chain over the box of its section.

    Parameters
    ----------
    short : int
        Cells across the short side.
    grading : float
        0 for an even grid; else the length within which knots crowd towards x = 0, the cut. The first
        axis is then the section's y.
    shaft : float
        Distance from the cut within which errors do not count: nothing is predicted there.
    """
    turned = grading > 0.0
    outline = chain.outline()
    low, high = outline.min(axis=0), outline.max(axis=0)
    if turned:
        low, high = low[::-1].copy(), high[::-1].copy()
        low[1] = 0.0

    def flow(points: Floats) -> Floats:
        given = points[:, ::-1] if turned else points
        back = _filled(chain, given, points)
        return back[:, ::-1] if turned else back

    extent = high - low
    cell = float(extent.min()) / short
    cells = tuple(int(np.clip(round(float(size) / cell), short, CELLS_MOST)) for size in extent)
    grid = sample_flow(
        flow,
        low=(float(low[0]), float(low[1])),
        high=(float(high[0]), float(high[1])),
        cells=(cells[0], cells[1]),
        grading=grading,
    )
    found = Sampled(grid=grid, turned=turned, error=(0.0, 0.0, 0.0))
    return Sampled(grid=grid, turned=turned, error=_error(found, chain, outline, shaft, seed))


def _error(
    found: Sampled, chain: Backward, outline: Floats, shaft: float, seed: int
) -> tuple[float, float, float]:
    random = np.random.default_rng(seed)
    points = random.uniform(outline.min(axis=0), outline.max(axis=0), (MEASURED, 2))
    if found.turned:
        points[:, 0] = np.abs(points[:, 0])
        points = points[points[:, 0] > shaft]
    points = points[chain.inside(points)]
    off = np.linalg.norm(found.back(points) - chain.back(points), axis=1)
    middle, most = np.percentile(off, [50, 99])
    return float(middle), float(most), float(off.max())


def _filled(chain: Backward, given: Floats, asked: Floats) -> Floats:
    """Return the flow at the places of a tensor grid, filled in smoothly where there is no steel."""
    first, second = np.unique(asked[:, 0]), np.unique(asked[:, 1])
    shape = (len(first), len(second))
    if len(given) != shape[0] * shape[1]:
        return chain.back(given)
    known = _near_steel(chain, given, first, second, shape)
    moved = np.zeros((len(given), 2))
    moved[known] = chain.back(given[known]) - given[known]
    if not known.all():
        _smooth(moved.reshape(*shape, 2), known.reshape(shape), first, second)
    return given + moved


def _near_steel(
    chain: Backward, given: Floats, first: Floats, second: Floats, shape: tuple[int, int]
) -> Bools:
    """Return which places lie in the steel or within a cell or so of it."""
    inside = chain.inside(given).reshape(shape)
    grown = inside.copy()
    for _ in range(round(BEYOND)):
        wide = grown.copy()
        wide[1:] |= grown[:-1]
        wide[:-1] |= grown[1:]
        wide[:, 1:] |= grown[:, :-1]
        wide[:, :-1] |= grown[:, 1:]
        grown = wide
    return grown.ravel()


def _smooth(moved: Floats, known: Bools, first: Floats, second: Floats) -> None:
    """Fill unknown places with the harmonic function of the known ones, in place."""
    shape = known.shape
    number = np.full(shape, -1)
    number[~known] = np.arange(int((~known).sum()))
    rows, columns, weights = [], [], []
    size = int((~known).sum())
    right, total = np.zeros((size, 2)), np.zeros(size)
    for axis, places, others in ((0, first, second), (1, second, first)):
        gap = np.diff(places)
        # What flows through a side of a knot's cell: its width over the way to the next knot.
        wide = np.gradient(others)
        for side in (0, 1):
            here = [slice(None), slice(None)]
            there = [slice(None), slice(None)]
            here[axis], there[axis] = slice(1, None), slice(None, -1)
            if side:
                here, there = there, here
            weight = (1.0 / gap)[:, None] * wide if axis == 0 else wide[:, None] / gap
            own, other = number[tuple(here)], number[tuple(there)]
            unknown = own >= 0
            np.add.at(total, own[unknown], weight[unknown])
            both = unknown & (other >= 0)
            rows.append(own[both])
            columns.append(other[both])
            weights.append(-weight[both])
            edge = unknown & (other < 0)
            np.add.at(right, own[edge], weight[edge][:, None] * moved[tuple(there)][edge])
    index = np.arange(size)
    matrix = coo_matrix(
        (
            np.concatenate([*weights, total]),
            (np.concatenate([*rows, index]), np.concatenate([*columns, index])),
        ),
        shape=(size, size),
    ).tocsc()
    moved[~known] = spsolve(matrix, right).reshape(size, 2)
