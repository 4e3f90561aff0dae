"""The flows of presses and wedges, compiled: points followed back along them, tile by tile.

Everything compiled here stays in this file: a compiled function kept on disk goes stale unnoticed when a
function it calls in another file changes. Heavy: only working a press out imports it.

All flows follow a stream function, u = d psi/d b, v = -d psi/d a, and so keep area exactly, up to the
error of the time steps: classical fourth-order Runge-Kutta (Kutta 1901; any numerical text).
"""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators, disable-error-code="call-arg"
# ruff: noqa: ANN001, ANN201, ANN202

from __future__ import annotations

import numpy as np

from patternsim.fields.compiler import intrinsic, ir, njit, types

TILE = 256
"""Points followed together: their sums run over several at once, and stay in the first-level cache."""
MODES = 5
"""Parts that the drag of a wedge is made of."""
BEYOND = 1.2
"""How far from the cut the modes of a split are curves, over the width of the half."""
FAST = {"contract"}
"""Products and sums may be done at once; nothing else is allowed to change a digit."""
PER_LN2 = 1.4426950408889634
LN2_HIGH, LN2_LOW = 6.93147180369123816490e-01, 1.90821492927058770002e-10
"""ln 2 in two parts (Cody and Waite, Software Manual for the Elementary Functions, 1980)."""
ROUNDER = 6755399441055744.0
"""1.5 times 2^52: added to a number, its whole part ends up in the lowest bits."""


@intrinsic
def _power(typing, rounded):
    """2 to the whole number in the lowest bits of `rounded`."""

    def generate(context, builder, signature, args):
        whole = ir.IntType(64)
        bits = builder.bitcast(args[0], whole)
        raised = builder.add(builder.shl(bits, whole(52)), whole(0x3FF << 52))
        return builder.bitcast(raised, ir.DoubleType())

    return types.float64(types.float64), generate


@njit(cache=True, nogil=True, inline="always")
def _exp(x):
    """The exponential, of -700 to 700, in a form that runs over several points at once.

    The library's is called point by point. By its series after taking out powers of two.
    """
    x = min(max(x, -700.0), 700.0)
    rounded = x * PER_LN2 + ROUNDER
    n = rounded - ROUNDER
    r = (x - n * LN2_HIGH) - n * LN2_LOW
    p = 1.0 / 6227020800.0
    p = p * r + 1.0 / 479001600.0
    p = p * r + 1.0 / 39916800.0
    p = p * r + 1.0 / 3628800.0
    p = p * r + 1.0 / 362880.0
    p = p * r + 1.0 / 40320.0
    p = p * r + 1.0 / 5040.0
    p = p * r + 1.0 / 720.0
    p = p * r + 1.0 / 120.0
    p = p * r + 1.0 / 24.0
    p = p * r + 1.0 / 6.0
    p = p * r + 0.5
    p = p * r + 1.0
    p = p * r + 1.0
    return p * _power(rounded)


# --- presses -----------------------------------------------------------------------------


@njit(cache=True, nogil=True, inline="always")
def swirl_velocity(a, b):
    """Velocity of psi = a (1 - a^2) b (1 - b^2) on the square -1..1 (tangent to its sides).

    What friction on the dies adds to an even squeeze: the middle runs ahead, the faces lag. a is across
    the stroke, b along it; both in half-sizes of the bar.
    """
    aa, bb = a * a, b * b
    return (a - a * aa) * (1.0 - 3.0 * bb), -(1.0 - 3.0 * aa) * (b - b * bb)


@njit(cache=True, nogil=True, inline="always")
def fold_velocity(a, b, w):
    """Velocity of a corner fold with the nine weights `w`, on the square -1..1.

    psi = e (a b (f S + w4) + f T), with e = (1 - a^2)(1 - b^2), nought on the sides, f = a^2 - b^2,
    S = w0 + w1 r + w2 r^2 + w3 m, T = w5 + w6 r + w7 r^2 + w8 m, r = a^2 + b^2, m = a^2 b^2. The first
    four press all corners in alike; the last four shear one diagonal against the other, as the pair of
    corners crushed second does.
    """
    aa, bb, ab = a * a, b * b, a * b
    r, m, f = aa + bb, aa * bb, aa - bb
    edge = (1.0 - aa) * (1.0 - bb)
    alike = w[0] + r * (w[1] + r * w[2]) + m * w[3]
    sheared = w[5] + r * (w[6] + r * w[7]) + m * w[8]
    inner = f * alike + w[4]
    whole = ab * inner + f * sheared
    # Half the slopes by a over a, and by b over b; f falls with b.
    alike_a, sheared_a = w[1] + 2.0 * r * w[2] + bb * w[3], w[6] + 2.0 * r * w[7] + bb * w[8]
    alike_b, sheared_b = w[1] + 2.0 * r * w[2] + aa * w[3], w[6] + 2.0 * r * w[7] + aa * w[8]
    by_a = b * inner + 2.0 * a * (ab * (alike + f * alike_a) + sheared + f * sheared_a)
    by_b = a * inner + 2.0 * b * (ab * (f * alike_b - alike) - sheared + f * sheared_b)
    u = edge * by_b - 2.0 * b * (1.0 - aa) * whole
    v = edge * by_a - 2.0 * a * (1.0 - bb) * whole
    return u, -v


@njit(cache=True, nogil=True, error_model="numpy", fastmath=FAST)
def swirled(points, start, end, steps):
    """Return where points (n, 2) of the square -1..1 are at time `end` of the swirl.

    Parameters
    ----------
    points : (n, 2) float64
    start, end : float
        Times; backwards where end < start.
    steps : int
        Equal time steps.
    """
    out = np.empty_like(points)
    h = (end - start) / steps
    half, sixth = h / 2.0, h / 6.0
    a, b = np.empty(TILE), np.empty(TILE)
    for first in range(0, points.shape[0], TILE):
        count = min(TILE, points.shape[0] - first)
        for j in range(count):
            a[j], b[j] = points[first + j, 0], points[first + j, 1]
        for _ in range(steps):
            for j in range(count):
                x, y = a[j], b[j]
                u1, v1 = swirl_velocity(x, y)
                u2, v2 = swirl_velocity(x + half * u1, y + half * v1)
                u3, v3 = swirl_velocity(x + half * u2, y + half * v2)
                u4, v4 = swirl_velocity(x + h * u3, y + h * v3)
                a[j] = x + sixth * (u1 + 2.0 * u2 + 2.0 * u3 + u4)
                b[j] = y + sixth * (v1 + 2.0 * v2 + 2.0 * v3 + v4)
        for j in range(count):
            out[first + j, 0], out[first + j, 1] = a[j], b[j]
    return out


@njit(cache=True, nogil=True, error_model="numpy", fastmath=FAST)
def folded(points, weights, start, end, steps):
    """Return where points (n, 2) of the square -1..1 are at time `end` of a corner fold.

    Parameters
    ----------
    points : (n, 2) float64
    weights : tuple of 9 floats
        See `fold_velocity`.
    start, end : float
        Times; backwards where end < start.
    steps : int
        Equal time steps.
    """
    out = np.empty_like(points)
    h = (end - start) / steps
    half, sixth = h / 2.0, h / 6.0
    a, b = np.empty(TILE), np.empty(TILE)
    for first in range(0, points.shape[0], TILE):
        count = min(TILE, points.shape[0] - first)
        for j in range(count):
            a[j], b[j] = points[first + j, 0], points[first + j, 1]
        for _ in range(steps):
            for j in range(count):
                x, y = a[j], b[j]
                u1, v1 = fold_velocity(x, y, weights)
                u2, v2 = fold_velocity(x + half * u1, y + half * v1, weights)
                u3, v3 = fold_velocity(x + half * u2, y + half * v2, weights)
                u4, v4 = fold_velocity(x + h * u3, y + h * v3, weights)
                a[j] = x + sixth * (u1 + 2.0 * u2 + 2.0 * u3 + u4)
                b[j] = y + sixth * (v1 + 2.0 * v2 + 2.0 * v3 + v4)
        for j in range(count):
            out[first + j, 0], out[first + j, 1] = a[j], b[j]
    return out


# --- wedges ------------------------------------------------------------------------------


@njit(cache=True, nogil=True, error_model="numpy", fastmath=FAST)
def _shares(count, s, half, table, share, slope):
    """Drag of every mode at the depths `s`, and its slope a mm; level beyond the ends."""
    low, per_mm, last = half[4], half[5], table.shape[0] - 1
    for j in range(count):
        x = (s[j] - low) * per_mm
        within = min(max(x, 0.0), last + 1.0)
        k = min(int(within), last)
        t = within - k
        rising = per_mm if within == x else 0.0
        for mode in range(MODES):
            a, b, c, d = table[k, 0, mode], table[k, 1, mode], table[k, 2, mode], table[k, 3, mode]
            share[mode, j] = ((a * t + b) * t + c) * t + d
            slope[mode, j] = ((3.0 * a * t + 2.0 * b) * t + c) * rising


@njit(cache=True, nogil=True, error_model="numpy", fastmath=FAST)
def _drag_velocity(count, s, d, half, share, slope, u, v):
    """Velocity of the drag at depths `s` and distances `d`, the sum of five modes.

    psi = sum of g_k(s) f_k(d, o), with o the half's width there and q = d / o. Every f_k is nought at
    d = 0 and d = o; its slopes by d are, less their mean: exp(-d / l), the same made flat at the cut by
    a part of the length c l, (1 - q)^2, (1 - q^2)^2, and -q^4.
    """
    start, growth, decay, core = half[0], half[1], half[2], half[3]
    for j in range(count):
        outer = start + growth * s[j]
        q = d[j] / outer
        # Well beyond the half the modes go on along straight lines: samples there must not run away.
        p = min(q, BEYOND)
        pp, left, more = p * p, 1.0 - p, q - p
        near, near_core = _exp(-d[j] / decay), _exp(-d[j] / (core * decay))
        far, far_core = _exp(-outer / decay), _exp(-outer / (core * decay))
        # Beside the cut: f = S(d) - q S(o), S the integral of the slope.
        g = share[0, j]
        whole = decay * (1.0 - far)
        along = g * (near - whole / outer)
        away = slope[0, j] * (decay * (1.0 - near) - q * whole)
        away += g * growth * (q * (whole / outer - far))
        # The same, flat at the cut.
        g = share[1, j]
        round_near = (near - core * near_core) / (1.0 - core)
        round_far = (far - core * far_core) / (1.0 - core)
        whole = decay * (1.0 - far - core * core * (1.0 - far_core)) / (1.0 - core)
        part = decay * (1.0 - near - core * core * (1.0 - near_core)) / (1.0 - core)
        along += g * (round_near - whole / outer)
        away += slope[1, j] * (part - q * whole)
        away += g * growth * (q * (whole / outer - round_far))
        # Over the whole half: f = o P(q), and its slope by o is P - q P'.
        rate = left * left - 1.0 / 3.0
        part = (1.0 - left * left * left - p) / 3.0 + more * rate
        along += share[2, j] * rate
        away += slope[2, j] * outer * part + share[2, j] * growth * (part - q * rate)
        rate = (1.0 - pp) * (1.0 - pp) - 8.0 / 15.0
        part = p * (7.0 / 15.0 - pp * (2.0 / 3.0 - pp / 5.0)) + more * rate
        along += share[3, j] * rate
        away += slope[3, j] * outer * part + share[3, j] * growth * (part - q * rate)
        rate = 0.2 - pp * pp
        part = 0.2 * p * (1.0 - pp * pp) + more * rate
        along += share[4, j] * rate
        away += slope[4, j] * outer * part + share[4, j] * growth * (part - q * rate)
        u[j], v[j] = along, -away


@njit(cache=True, nogil=True, error_model="numpy", fastmath=FAST)
def dragged(points, half, table, start, end, steps):
    """Return where points (n, 2) beside a cut are at time `end` of the drag of a wedge.

    Parameters
    ----------
    points : (n, 2) float64, mm
        Depth below the entry and distance from the cut.
    half : tuple of 6 floats
        Width of the half at the entry (mm) and its growth with depth, length in which the drag beside
        the cut falls by e (mm), the core's share of it, depth of the first knot (mm), knots a mm.
    table : (m, 4, MODES) float64
        Cubics of the modes' drags over depth, mm, highest power first, over knots counted from each.
    start, end : float
        Times; backwards where end < start.
    steps : int
        Equal time steps.
    """
    out = np.empty_like(points)
    h = (end - start) / steps
    s, d = np.empty(TILE), np.empty(TILE)
    at_s, at_d = np.empty(TILE), np.empty(TILE)
    u, v = np.empty(TILE), np.empty(TILE)
    sum_u, sum_v = np.empty(TILE), np.empty(TILE)
    share, slope = np.empty((MODES, TILE)), np.empty((MODES, TILE))
    for first in range(0, points.shape[0], TILE):
        count = min(TILE, points.shape[0] - first)
        for j in range(count):
            s[j], d[j] = points[first + j, 0], points[first + j, 1]
        for _ in range(steps):
            for j in range(count):
                at_s[j], at_d[j] = s[j], d[j]
                sum_u[j] = sum_v[j] = 0.0
            for stage in range(4):
                _shares(count, at_s, half, table, share, slope)
                _drag_velocity(count, at_s, at_d, half, share, slope, u, v)
                weight = 1.0 if stage in (0, 3) else 2.0
                reach = h if stage == 2 else h / 2.0
                for j in range(count):
                    sum_u[j] += weight * u[j]
                    sum_v[j] += weight * v[j]
                    at_s[j] = s[j] + reach * u[j]
                    at_d[j] = d[j] + reach * v[j]
            for j in range(count):
                s[j] += h / 6.0 * sum_u[j]
                d[j] += h / 6.0 * sum_v[j]
        for j in range(count):
            out[first + j, 0], out[first + j, 1] = s[j], d[j]
    return out
