"""Whether places lie within a closed curve of parabolas, compiled."""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
# ruff: noqa: ANN001, ANN202, ANN201

from __future__ import annotations

import numpy as np

from patternsim.fields.compiler import njit


@njit(cache=True, nogil=True)
def _passes(x, y, xs, ys, low, high):
    """Whether a ray to the right crosses one rising or falling part of a parabola."""
    at_low = ys[0] + low * (ys[1] + low * ys[2])
    at_high = ys[0] + high * (ys[1] + high * ys[2])
    if (at_low > y) == (at_high > y):
        return False
    # Both ends lie on different sides of the ray: halving is sure, and few places come this far.
    rising = at_high > at_low
    for _ in range(52):
        middle = 0.5 * (low + high)
        if (ys[0] + middle * (ys[1] + middle * ys[2]) > y) == rising:
            high = middle
        else:
            low = middle
    return xs[0] + low * (xs[1] + low * xs[2]) > x


@njit(cache=True, nogil=True)
def within(points, curve):
    """Whether places lie within a closed curve of parabolas, by crossings of a ray to the right."""
    n, edges = len(points), len(curve) // 2
    out = np.zeros(n, np.bool_)
    xs, ys = np.empty(3), np.empty(3)
    for j in range(edges):
        a, m, b = curve[2 * j], curve[2 * j + 1], curve[(2 * j + 2) % (2 * edges)]
        xs[0], xs[1], xs[2] = (
            a[0],
            4 * (m[0] - a[0]) - (b[0] - a[0]),
            2 * (b[0] - a[0]) - 4 * (m[0] - a[0]),
        )
        ys[0], ys[1], ys[2] = (
            a[1],
            4 * (m[1] - a[1]) - (b[1] - a[1]),
            2 * (b[1] - a[1]) - 4 * (m[1] - a[1]),
        )
        peak = -ys[1] / (2.0 * ys[2]) if ys[2] != 0.0 else -1.0
        if not 0.0 < peak < 1.0:
            peak = 1.0
        bend_x, bend_y = 2 * m[0] - 0.5 * (a[0] + b[0]), 2 * m[1] - 0.5 * (a[1] + b[1])
        low, high = min(a[1], b[1], bend_y), max(a[1], b[1], bend_y)
        left, right = min(a[0], b[0], bend_x), max(a[0], b[0], bend_x)
        for i in range(n):
            x, y = points[i, 0], points[i, 1]
            if y < low or y > high or x > right:
                continue
            if x < left:
                # Only whether the ends lie on different sides counts.
                if (a[1] > y) != (b[1] > y):
                    out[i] = not out[i]
                continue
            if _passes(x, y, xs, ys, 0.0, peak):
                out[i] = not out[i]
            if peak < 1.0 and _passes(x, y, xs, ys, peak, 1.0):
                out[i] = not out[i]
    return out
