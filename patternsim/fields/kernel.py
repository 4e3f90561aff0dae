"""The one loop that walks a field: compiled, without the interpreter lock, a band of points at a time.

Everything compiled lives in this file: a compiled function kept on disk goes stale unnoticed when a
function it calls in another file changes.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np

if "NUMBA_CACHE_DIR" not in os.environ and not os.access(Path(__file__).parent, os.W_OK):
    # A read-only installation: the compiler needs some other place for what it keeps.
    import platformdirs

    os.environ["NUMBA_CACHE_DIR"] = platformdirs.user_cache_dir("patternsim")

from numba import njit

AFFINE, PLANE, PICK, HALVE, CLIP, LEAF, TAPER, BEND, GAP = range(9)
OUTSIDE = -1
IN_GAP = -2
REACHED = -3
TILE = 128
"""Points walked together: their working set stays in the first-level cache."""
BORDER_MM = 0.05
"""How far beyond a border a point may fall by rounding and sampling and still belong to the piece."""


@njit(cache=True, nogil=True, fastmath={"contract", "reassoc", "nsz", "arcp"}, inline="always")
def _weights(t):  # type: ignore[no-untyped-def]  # the compiler infers the types
    u = np.float32(1.0) - t
    t2 = t * t
    u2 = u * u
    sixth = np.float32(1.0 / 6.0)
    two_thirds = np.float32(2.0 / 3.0)
    half = np.float32(0.5)
    two = np.float32(2.0)
    return (
        u2 * u * sixth,
        two_thirds - half * t2 * (two - t),
        two_thirds - half * u2 * (two - u),
        t2 * t * sixth,
    )


@njit(cache=True, nogil=True, fastmath={"contract", "reassoc", "nsz", "arcp"})
def _spline(coefs, base, row, ta, tb):  # type: ignore[no-untyped-def]
    """Two components at once: eight neighbouring floats a row, summed as eight lanes."""
    a0, a1, a2, a3 = _weights(ta)
    b0, b1, b2, b3 = _weights(tb)
    # Unsigned places: a signed one would be tested for counting from the end at every load.
    p = np.uintp(base)
    q = np.uintp(base + row)
    r = np.uintp(base + 2 * row)
    s = np.uintp(base + 3 * row)
    s0 = a0 * coefs[p] + a1 * coefs[q] + a2 * coefs[r] + a3 * coefs[s]
    s1 = (
        a0 * coefs[p + np.uintp(1)]
        + a1 * coefs[q + np.uintp(1)]
        + a2 * coefs[r + np.uintp(1)]
        + a3 * coefs[s + np.uintp(1)]
    )
    s2 = (
        a0 * coefs[p + np.uintp(2)]
        + a1 * coefs[q + np.uintp(2)]
        + a2 * coefs[r + np.uintp(2)]
        + a3 * coefs[s + np.uintp(2)]
    )
    s3 = (
        a0 * coefs[p + np.uintp(3)]
        + a1 * coefs[q + np.uintp(3)]
        + a2 * coefs[r + np.uintp(3)]
        + a3 * coefs[s + np.uintp(3)]
    )
    s4 = (
        a0 * coefs[p + np.uintp(4)]
        + a1 * coefs[q + np.uintp(4)]
        + a2 * coefs[r + np.uintp(4)]
        + a3 * coefs[s + np.uintp(4)]
    )
    s5 = (
        a0 * coefs[p + np.uintp(5)]
        + a1 * coefs[q + np.uintp(5)]
        + a2 * coefs[r + np.uintp(5)]
        + a3 * coefs[s + np.uintp(5)]
    )
    s6 = (
        a0 * coefs[p + np.uintp(6)]
        + a1 * coefs[q + np.uintp(6)]
        + a2 * coefs[r + np.uintp(6)]
        + a3 * coefs[s + np.uintp(6)]
    )
    s7 = (
        a0 * coefs[p + np.uintp(7)]
        + a1 * coefs[q + np.uintp(7)]
        + a2 * coefs[r + np.uintp(7)]
        + a3 * coefs[s + np.uintp(7)]
    )
    return b0 * s0 + b1 * s2 + b2 * s4 + b3 * s6, b0 * s1 + b1 * s3 + b2 * s5 + b3 * s7


@njit(cache=True, nogil=True)
def _find(floats, start, count, value):  # type: ignore[no-untyped-def]
    """Index of the interval of `count` ascending borders from `start` that holds `value`."""
    low = 0
    high = count - 1
    while high - low > 1:
        middle = (low + high) >> 1
        if floats[start + middle] <= value:
            low = middle
        else:
            high = middle
    return low


@njit(cache=True, nogil=True)
def _unbend(x, y, start, radius, angle):  # type: ignore[no-untyped-def]
    """Point of the straight bar for a point of the bent one; see `nodes.Bend`."""
    sign = 1.0 if angle >= 0.0 else -1.0
    turn = abs(angle)
    dx = x - start
    dy = sign * y
    if dx <= 0.0:
        return x, y
    theta = np.arctan2(dx, radius - dy)
    if theta <= turn:
        r = np.hypot(dx, radius - dy)
        return start + radius * theta, sign * (radius * radius - r * r) / (2.0 * radius)
    ex = dx - radius * np.sin(turn)
    ey = dy - radius * (1.0 - np.cos(turn))
    along = ex * np.cos(turn) + ey * np.sin(turn)
    across = -ex * np.sin(turn) + ey * np.cos(turn)
    # Beyond the arc the section keeps the offsets that the arc gave it.
    r = radius - across
    return start + radius * turn + along, sign * (radius * radius - r * r) / (2.0 * radius)


@njit(cache=True, nogil=True, inline="always")
def _send(lists, counts, node, who):  # type: ignore[no-untyped-def]
    count = counts[node]
    lists[node, count] = who
    counts[node] = count + 1


@njit(cache=True, nogil=True, error_model="numpy")
def _affine(who, m, x, y, z):  # type: ignore[no-untyped-def]
    for j in range(who.size):
        i = np.uintp(who[j])
        a = x[i]
        b = y[i]
        c = z[i]
        x[i] = m[0] * a + m[1] * b + m[2] * c + m[9]
        y[i] = m[3] * a + m[4] * b + m[5] * c + m[10]
        z[i] = m[6] * a + m[7] * b + m[8] * c + m[11]


@njit(cache=True, nogil=True, error_model="numpy")
def _plane(who, grid, shape, coefs, a, b):  # type: ignore[no-untyped-def]
    na = shape[0]
    nb = shape[1]
    for j in range(who.size):
        i = np.uintp(who[j])
        at_b = b[i]
        if grid[4] > 0.0:
            at_b = np.arcsinh(at_b * grid[4])
        ga = min(max((a[i] - grid[0]) * grid[1], 1.0), na - 2.0001)
        gb = min(max((at_b - grid[2]) * grid[3], 1.0), nb - 2.0001)
        ia = int(ga)
        ib = int(gb)
        base = shape[2] + ((ia - 1) * nb + ib - 1) * 2
        da, db = _spline(coefs, base, nb * 2, np.float32(ga - ia), np.float32(gb - ib))
        a[i] += da
        b[i] += db


@njit(cache=True, nogil=True)
def _pick(who, borders, kids, v, path, lists, counts):  # type: ignore[no-untyped-def]
    last = borders.size - 1
    for j in range(who.size):
        i = who[j]
        at = v[i]
        if borders[0] - BORDER_MM <= at <= borders[last] + BORDER_MM:
            k = _find(borders, 0, last + 1, at)
            path[i] = path[i] * 31 + k + 1
            _send(lists, counts, kids[k], i)


@njit(cache=True, nogil=True)
def _halve(who, plane, kids, x, y, z, path, lists, counts):  # type: ignore[no-untyped-def]
    for j in range(who.size):
        i = who[j]
        k = 1 if plane[0] * x[i] + plane[1] * y[i] + plane[2] * z[i] >= plane[3] else 0
        path[i] = path[i] * 31 + k + 1
        _send(lists, counts, kids[k], i)


@njit(cache=True, nogil=True)
def _clip(who, box, kid, x, y, z, lists, counts):  # type: ignore[no-untyped-def]
    for j in range(who.size):
        i = who[j]
        if box[0] <= x[i] <= box[3] and box[1] <= y[i] <= box[4] and box[2] <= z[i] <= box[5]:
            _send(lists, counts, kid, i)


@njit(cache=True, nogil=True, error_model="numpy")
def _leaf(who, size, edges, first, x, y, z, hits, depths):  # type: ignore[no-untyped-def]
    last = edges.size - 1
    for j in range(who.size):
        i = who[j]
        at = z[i]
        if (
            -BORDER_MM <= x[i] <= size[0] + BORDER_MM
            and abs(y[i]) <= size[1] + BORDER_MM
            and edges[0] - BORDER_MM <= at <= edges[last] + BORDER_MM
        ):
            k = _find(edges, 0, last + 1, at)
            part = (at - edges[k]) / (edges[k + 1] - edges[k])
            depths[i] = k + min(max(part, 0.0), 1.0)
            hits[i] = first + k


@njit(cache=True, nogil=True, error_model="numpy")
def _taper(who, per_mm, table, x, y, z):  # type: ignore[no-untyped-def]
    for j in range(who.size):
        i = who[j]
        at = min(max(x[i] * per_mm, 0.0), table.shape[0] - 1.0001)
        k = int(at)
        t = at - k
        across = table[k, 1] + t * (table[k + 1, 1] - table[k, 1])
        through = table[k, 2] + t * (table[k + 1, 2] - table[k, 2])
        lift = table[k, 3] + t * (table[k + 1, 3] - table[k, 3])
        reach = table[k, 0] + t * (table[k + 1, 0] - table[k, 0])
        # Beyond the table the ends go on straight, so that a point just past them stays outside.
        x[i] = reach + (x[i] - at / per_mm) * across * through
        y[i] = (y[i] - lift) / across
        z[i] = z[i] / through


@njit(cache=True, nogil=True)
def _bend(who, arc, x, y):  # type: ignore[no-untyped-def]
    for j in range(who.size):
        i = who[j]
        x[i], y[i] = _unbend(x[i], y[i], arc[0], arc[1], arc[2])


@njit(cache=True, nogil=True)
def _tile(  # type: ignore[no-untyped-def]
    program, stop, lists, counts, x, y, z, hits, depths, path
):
    """Walk one tile: link by link in an order that never leads back, all points of a link at once.

    Points of one link do not wait for one another, so the processor works on several at a time;
    point by point, each map would wait for the one before it: measured twice as slow.
    """
    kinds, ints, int_at, kids, kid_at, floats, float_at, coefs = program
    for node in range(kinds.size):
        count = counts[node]
        if count == 0:
            continue
        who = lists[node, :count]
        if node == stop:
            for j in range(count):
                hits[who[j]] = REACHED
            continue
        kind = kinds[node]
        own = floats[float_at[node] : float_at[node + 1]]
        whole = ints[int_at[node] : int_at[node + 1]]
        next_ = kids[kid_at[node] : kid_at[node + 1]]
        if kind == PICK:
            axis = whole[0]
            _pick(who, own, next_, x if axis == 0 else (y if axis == 1 else z), path, lists, counts)
            continue
        if kind == HALVE:
            _halve(who, own, next_, x, y, z, path, lists, counts)
            continue
        if kind == CLIP:
            _clip(who, own, next_[0], x, y, z, lists, counts)
            continue
        if kind == LEAF:
            _leaf(who, own[:2], own[2:], whole[0], x, y, z, hits, depths)
            continue
        if kind == GAP:
            for j in range(count):
                hits[who[j]] = IN_GAP
            continue
        if kind == AFFINE:
            _affine(who, own, x, y, z)
        elif kind == PLANE:
            plane = whole[3]
            _plane(who, own, whole, coefs, y if plane == 0 else x, y if plane == 1 else z)
        elif kind == TAPER:
            _taper(who, own[0], own[1:].reshape((-1, 4)), x, y, z)
        else:
            _bend(who, own, x, y)
        for j in range(count):
            _send(lists, counts, next_[0], who[j])


@njit(cache=True, nogil=True)
def walk_band(program, stop, points, hits, depths, paths):  # type: ignore[no-untyped-def]
    """Walk `points` back to their layers, in place.

    Parameters
    ----------
    program : tuple of arrays
        The laid-out field, see `program.Program.arrays`. Link 0 is where every walk starts; no link
        leads to one with a smaller number.
    stop : int
        Link to stop at (-1: go to the layers).
    points : (n, 3) float64, mm
        In: points after. Out: coordinates where the walk ended.
    hits : (n,) int32
        Out: layer number over all stacks, or OUTSIDE, IN_GAP, REACHED.
    depths : (n,) float64
        Out: position through the stack as a layer number with fraction.
    paths : (n,) int64
        Out: a number that names the way taken; equal where points lie in the same copy of a layer.
    """
    links = program[0].size
    lists = np.empty((links, TILE), dtype=np.int64)
    counts = np.empty(links, dtype=np.int64)
    x = np.empty(TILE)
    y = np.empty(TILE)
    z = np.empty(TILE)
    for start in range(0, points.shape[0], TILE):
        count = min(TILE, points.shape[0] - start)
        counts[:] = 0
        counts[0] = count
        for j in range(count):
            i = start + j
            lists[0, j] = j
            x[j] = points[i, 0]
            y[j] = points[i, 1]
            z[j] = points[i, 2]
            hits[i] = OUTSIDE
            depths[i] = 0.0
            paths[i] = 0
        part = slice(start, start + count)
        _tile(program, stop, lists, counts, x, y, z, hits[part], depths[part], paths[part])
        for j in range(count):
            i = start + j
            points[i, 0] = x[j]
            points[i, 1] = y[j]
            points[i, 2] = z[j]
