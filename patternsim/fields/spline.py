"""Coefficients of cubic splines through samples, compiled, many columns side by side.

It calls nothing compiled elsewhere: a kept function would go stale unnoticed when another file changes.
"""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
# ruff: noqa: ANN001, ANN201

from __future__ import annotations

import numpy as np

from patternsim.fields.compiler import njit

POLE = -0.2679491924311227
"""sqrt(3) - 2: the one pole of the cubic spline's filter (Unser, IEEE Signal Processing Magazine 16
(1999) 22)."""


@njit(cache=True, nogil=True, error_model="numpy")
def coefficients(knots, first, last, beyond):
    """Return the coefficients of splines with given slopes at their ends.

    The filter mirrors at the ends, where the slope is nought then: a parabola takes the slopes up, and
    the filter sees what is left.

    Parameters
    ----------
    knots : (n, m) float64
        Samples of m functions at n even places.
    first, last : (m,) float64
        Their slopes at the first and the last place, a step.
    beyond : int
        Coefficients wanted beyond each end; fewer than n.

    Returns
    -------
    (n + 2 beyond, m) float64
    """
    n, m = knots.shape
    turn = (last - first) / (n - 1)
    out = np.empty((n + 2 * beyond, m))
    for k in range(n):
        for j in range(m):
            out[beyond + k, j] = 6.0 * (knots[k, j] - k * first[j] - k * k / 2.0 * turn[j])
    inner = out[beyond : beyond + n]
    # The mirrored row summed up to its first sample.
    start = np.zeros(m)
    for k in range(2 * n - 2):
        weight = POLE**k
        if abs(weight) < 1e-30:
            break
        row = k if k < n else 2 * n - 2 - k
        for j in range(m):
            start[j] += weight * inner[row, j]
    whole = 1.0 - POLE ** (2 * n - 2)
    for j in range(m):
        inner[0, j] = start[j] / whole
    for k in range(1, n):
        for j in range(m):
            inner[k, j] += POLE * inner[k - 1, j]
    for j in range(m):
        inner[n - 1, j] = POLE / (POLE * POLE - 1.0) * (inner[n - 1, j] + POLE * inner[n - 2, j])
    for k in range(n - 2, -1, -1):
        for j in range(m):
            inner[k, j] = POLE * (inner[k + 1, j] - inner[k, j])
    for k in range(1, beyond + 1):
        for j in range(m):
            out[beyond - k, j] = inner[k, j]
            out[beyond + n - 1 + k, j] = inner[n - 1 - k, j]
    # The coefficients of a parabola: its values less a sixth of its second difference.
    for k in range(n + 2 * beyond):
        at = float(k - beyond)
        for j in range(m):
            out[k, j] += at * first[j] + (at * at / 2.0 - 1.0 / 6.0) * turn[j]
    return out
