"""Sampling a smooth plane flow once, as a cubic B-spline of its displacement."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
PlaneFlow = Callable[[Floats], Floats]
"""Takes points after, (n, 2) mm, and returns the points before, (n, 2) mm."""

BEYOND = 3
"""Cells kept beyond the border, for points that rounding and the slack of borders put there."""
NEAR = 0.2
"""Spacing, in cells, of the samples beside the border that tell the slope there."""
SLOPE = np.array([-25.0, 48.0, -36.0, 16.0, -3.0]) / (12.0 * NEAR)
"""Weights of the slope at the first of five even samples (Abramowitz and Stegun, table 25.2)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """Cubic B-spline coefficients of a plane displacement.

    Attributes
    ----------
    origin : (float, float)
        Grid coordinate of the first knot (mm; for a graded second axis, asinh units).
    step : (float, float)
        Knot spacing in the same units.
    grading : float, mm
        0 for an even second axis, else the length l of its coordinate asinh(b / l): knots crowd
        towards b = 0.
    coefs : (na, nb, 2) float32
        Spline coefficients of before minus after, mm.
    """

    origin: tuple[float, float]
    step: tuple[float, float]
    grading: float
    coefs: NDArray[np.float32]

    def stretched(self, *, after: tuple[float, float], before: tuple[float, float]) -> Grid:
        """Return the same flow of a section stretched axis by axis: `after` of it, `before` of it.

        With X(x) the point before, the new one is before * X(x / after). A linear function has its own
        values at the knots as coefficients, so nothing is sampled anew.

        Raises
        ------
        ValueError
            If a graded axis would be stretched unlike before and after.
        """
        if self.grading and after[1] != before[1]:
            raise ValueError("a graded axis can only be stretched alike before and after")
        coefs = self.coefs * np.array(before, dtype=np.float32)
        for axis, (late, early) in enumerate(zip(after, before, strict=True)):
            if late != early:
                knots = self.origin[axis] + self.step[axis] * np.arange(self.coefs.shape[axis])
                shape = (-1, 1) if axis == 0 else (1, -1)
                coefs[..., axis] += ((early - late) * knots).reshape(shape).astype(np.float32)
        coefs.setflags(write=False)
        by = (after[0], 1.0 if self.grading else after[1])
        return Grid(
            origin=(self.origin[0] * by[0], self.origin[1] * by[1]),
            step=(self.step[0] * by[0], self.step[1] * by[1]),
            grading=self.grading * after[1],
            coefs=coefs,
        )

    def knot_coordinates(self, points: Floats) -> Floats:
        """Return where `points` (n, 2) mm lie, counted in knots: (n, 2)."""
        b = np.arcsinh(points[:, 1] / self.grading) if self.grading else points[:, 1]
        return np.stack(
            [
                (points[:, 0] - self.origin[0]) / self.step[0],
                (b - self.origin[1]) / self.step[1],
            ],
            axis=1,
        )


def sample_flow(
    flow: PlaneFlow,
    *,
    low: tuple[float, float],
    high: tuple[float, float],
    cells: tuple[int, int],
    grading: float = 0.0,
) -> Grid:
    """Sample `flow` on the rectangle from `low` to `high` (mm) with `cells` cells a side.

    Parameters
    ----------
    flow : callable
        Backward flow, (n, 2) mm after -> (n, 2) mm before; asked inside the rectangle only.
    grading : float, mm
        See `Grid.grading`; the second axis must then start at 0.
    """
    b_low, b_high = (np.arcsinh(v / grading) if grading else v for v in (low[1], high[1]))
    steps = ((high[0] - low[0]) / cells[0], (b_high - b_low) / cells[1])
    a = low[0] + steps[0] * _places(cells[0])
    b = b_low + steps[1] * _places(cells[1])
    if grading:
        b = grading * np.sinh(b)
    after = np.stack(np.meshgrid(a, b, indexing="ij"), axis=-1)
    moved = flow(after.reshape(-1, 2)).reshape(after.shape) - after
    coefs = _coefficients(moved)
    coefs = _coefficients(coefs.swapaxes(0, 1)).swapaxes(0, 1)
    packed = np.ascontiguousarray(coefs, dtype=np.float32)
    packed.setflags(write=False)
    origin = (float(low[0] - BEYOND * steps[0]), float(b_low - BEYOND * steps[1]))
    step = (float(steps[0]), float(steps[1]))
    return Grid(origin=origin, step=step, grading=float(grading), coefs=packed)


def _places(cells: int) -> Floats:
    """Return where to sample, counted in cells: at every knot, and beside both ends."""
    near = NEAR * np.arange(len(SLOPE))
    return np.concatenate([near, np.arange(1.0, cells), cells - near[::-1]])


def _coefficients(values: Floats) -> Floats:
    """Return the spline coefficients along the first axis from samples at `_places`.

    The slopes at the ends are those of the flow: a spline left to guess them keeps area to some
    hundredths only beside the border.
    """
    from patternsim.fields import spline  # heavy: not needed to list or check a job

    many = len(SLOPE)
    columns = np.ascontiguousarray(values).reshape(len(values), -1)
    first, last = SLOPE @ columns[:many], -SLOPE @ columns[::-1][:many]
    knots = np.concatenate([columns[:1], columns[many:-many], columns[-1:]])
    found: Floats = spline.coefficients(knots, first, last, BEYOND)
    return found.reshape(-1, *values.shape[1:])
