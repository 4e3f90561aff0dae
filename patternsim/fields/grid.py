"""Sampling a smooth plane flow once, as a cubic B-spline of its displacement."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
PlaneFlow = Callable[[Floats], Floats]
"""Takes points after, (n, 2) mm, and returns the points before, (n, 2) mm."""

PAD = 6
"""Cells sampled beyond the border. The spline filter mirrors at the edge of the grid; its error dies
by 0.27 a cell, so that six cells leave 4e-4 of it at the border of the steel."""


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
    # Beyond the border the displacement goes on as its own odd image: smooth, and never far off.
    wide = np.pad(moved, ((PAD, PAD), (PAD, PAD), (0, 0)), mode="reflect", reflect_type="odd")
    coefs = np.stack([spline_filter(wide[..., k], order=3) for k in (0, 1)], axis=-1)
    packed = np.ascontiguousarray(coefs, dtype=np.float32)
    packed.setflags(write=False)
    origin = (float(low[0] - PAD * steps[0]), float(b_low - PAD * steps[1]))
    step = (float(steps[0]), float(steps[1]))
    return Grid(origin=origin, step=step, grading=float(grading), coefs=packed)
