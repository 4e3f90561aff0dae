"""Sampling a smooth plane flow once, as a cubic B-spline of its displacement."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
PlaneFlow = Callable[[Floats], Floats]
"""Takes points after, (n, 2) mm, and returns the points before, (n, 2) mm."""

PAD = 12
"""Cells the displacement is continued by at every end before the spline is fitted. The fit mirrors at
the end of what it is given; its error dies by 0.27 a cell: 1e-7 of it is left at the border."""
KEPT = 3
"""Cells kept beyond the border, for points that rounding and the slack of borders put there."""
ENDS = 6
"""Samples at an end that say how the displacement goes on beyond it."""


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
    from scipy.ndimage import spline_filter  # heavy: not needed to list or check a job

    b_low, b_high = (np.arcsinh(v / grading) if grading else v for v in (low[1], high[1]))
    steps = ((high[0] - low[0]) / cells[0], (b_high - b_low) / cells[1])
    a = low[0] + steps[0] * np.arange(cells[0] + 1)
    b = b_low + steps[1] * np.arange(cells[1] + 1)
    if grading:
        b = grading * np.sinh(b)
    after = np.stack(np.meshgrid(a, b, indexing="ij"), axis=-1)
    moved = flow(after.reshape(-1, 2)).reshape(after.shape) - after
    wide = np.moveaxis(_continued(np.moveaxis(_continued(moved), 1, 0)), 1, 0)
    coefs = np.stack([spline_filter(wide[..., k], order=3) for k in (0, 1)], axis=-1)
    coefs = coefs[PAD - KEPT : KEPT - PAD, PAD - KEPT : KEPT - PAD]
    packed = np.ascontiguousarray(coefs, dtype=np.float32)
    packed.setflags(write=False)
    origin = (float(low[0] - KEPT * steps[0]), float(b_low - KEPT * steps[1]))
    step = (float(steps[0]), float(steps[1]))
    return Grid(origin=origin, step=step, grading=float(grading), coefs=packed)


def _continued(values: Floats) -> Floats:
    """Return `values` with `PAD` rows more at either end of the first axis.

    They go on as the polynomial through the nearest `ENDS` rows. An odd image would go on with the
    wrong curvature, and the determinant beside the border would be wrong by some hundredths.
    """
    count = min(ENDS, len(values))
    beyond = np.vander(-1.0 - np.arange(PAD), count) @ np.linalg.inv(np.vander(np.arange(count), count))
    low = np.tensordot(beyond, values[:count], axes=1)
    high = np.tensordot(beyond, values[::-1][:count], axes=1)
    return np.concatenate([low[::-1], values, high])
