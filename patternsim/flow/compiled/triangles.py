"""Points made into triangles, compiled: Delaunay by insertion, with the rim's edges kept.

The first `rim` points are the outline in order, counter-clockwise: every two neighbours among them are
an edge that stays. Lawson (1977) for insertion and swaps, Sloan (Computers & Structures 47, 1993) for
the edges of the outline; both as in any text on triangulation, written from memory.

A triangle's neighbour k lies across the edge opposite its corner k.
"""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
# ruff: noqa: ANN001, ANN202, ANN201

from __future__ import annotations

import numpy as np

from patternsim.fields.compiler import njit

HELPERS = ((-30.0, -30.0), (30.0, -30.0), (0.0, 30.0))
"""A triangle round all points to begin with."""
ROUND = 1e-11
"""Points this near to a circle, relative, count as on it: otherwise round-off swaps for ever."""
SAME = 1e-22  # the square, in sizes of the whole, of how near two points are one
MOST_CROSSED = 1024  # by one edge of the outline, before it is put right


@njit(cache=True, nogil=True)
def _turn(p, a, b, c):
    """Twice the area of a triangle, positive when counter-clockwise."""
    return (p[b, 0] - p[a, 0]) * (p[c, 1] - p[a, 1]) - (p[b, 1] - p[a, 1]) * (p[c, 0] - p[a, 0])


@njit(cache=True, nogil=True)
def _within(p, a, b, c, d):
    """Whether d lies inside the circle through a, b, c."""
    ax, ay = p[a, 0] - p[d, 0], p[a, 1] - p[d, 1]
    bx, by = p[b, 0] - p[d, 0], p[b, 1] - p[d, 1]
    cx, cy = p[c, 0] - p[d, 0], p[c, 1] - p[d, 1]
    aa, bb, cc = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
    inside = aa * (bx * cy - cx * by) + bb * (cx * ay - ax * cy) + cc * (ax * by - bx * ay)
    return inside > ROUND * (aa + bb + cc) ** 2


@njit(cache=True, nogil=True)
def _kept(a, b, rim):
    """Whether two points are neighbours on the outline."""
    return a < rim and b < rim and ((a - b) % rim == 1 or (b - a) % rim == 1)


@njit(cache=True, nogil=True)
def _place(row, value):
    """Which of the three in a row a value is."""
    return 0 if row[0] == value else (1 if row[1] == value else 2)


@njit(cache=True, nogil=True)
def _swap(tri, nbr, home, t, k):
    """Turn the edge opposite corner k of triangle t about; both triangles then begin there."""
    u = nbr[t, k]
    p, a, b = tri[t, k], tri[t, (k + 1) % 3], tri[t, (k + 2) % 3]
    j = _place(nbr[u], t)
    q = tri[u, j]
    beside_a, beside_b = nbr[t, (k + 2) % 3], nbr[t, (k + 1) % 3]
    beyond_a, beyond_b = nbr[u, (j + 1) % 3], nbr[u, (j + 2) % 3]
    tri[t, 0], tri[t, 1], tri[t, 2] = p, a, q
    nbr[t, 0], nbr[t, 1], nbr[t, 2] = beyond_a, u, beside_a
    tri[u, 0], tri[u, 1], tri[u, 2] = p, q, b
    nbr[u, 0], nbr[u, 1], nbr[u, 2] = beyond_b, beside_b, t
    if beyond_a >= 0:
        nbr[beyond_a, _place(nbr[beyond_a], u)] = t
    if beside_b >= 0:
        nbr[beside_b, _place(nbr[beside_b], t)] = u
    home[p], home[a], home[q], home[b] = t, t, t, u


@njit(cache=True, nogil=True)
def _may_swap(p, tri, nbr, t, k):
    """Whether turning the edge opposite corner k about leaves two proper triangles."""
    u = nbr[t, k]
    q = tri[u, _place(nbr[u], t)]
    a, b = tri[t, (k + 1) % 3], tri[t, (k + 2) % 3]
    return _turn(p, tri[t, k], a, q) > 0.0 and _turn(p, tri[t, k], q, b) > 0.0


@njit(cache=True, nogil=True)
def _should_swap(p, tri, nbr, t, k):
    """Whether the corner across the edge lies in this triangle's circle, and the swap can be made."""
    u = nbr[t, k]
    q = tri[u, _place(nbr[u], t)]
    return _within(p, tri[t, 0], tri[t, 1], tri[t, 2], q) and _may_swap(p, tri, nbr, t, k)


@njit(cache=True, nogil=True)
def _holder(p, tri, nbr, count, start, new):
    """The triangle a new point lies in: walked to from `start`."""
    t = start
    for _ in range(count):
        k = 0
        while k < 3 and _turn(p, tri[t, (k + 1) % 3], tri[t, (k + 2) % 3], new) >= 0.0:
            k += 1
        if k == 3:
            return t
        t = nbr[t, k]
    # Round-off can lead a walk in circles between flat triangles: then look at every one.
    best, deepest = 0, -np.inf
    for t in range(count):
        depth = np.inf
        for k in range(3):
            depth = min(depth, _turn(p, tri[t, (k + 1) % 3], tri[t, (k + 2) % 3], new))
        if depth > deepest:
            best, deepest = t, depth
    return best


@njit(cache=True, nogil=True)
def _parted(tri, nbr, home, t, count, new):
    """Part triangle t in three about a new point; the two others are `count` and `count + 1`."""
    a, b, c = tri[t, 0], tri[t, 1], tri[t, 2]
    by_a, by_b = nbr[t, 0], nbr[t, 1]
    u, v = count, count + 1
    tri[u, 0], tri[u, 1], tri[u, 2] = b, c, new
    nbr[u, 0], nbr[u, 1], nbr[u, 2] = v, t, by_a
    tri[v, 0], tri[v, 1], tri[v, 2] = c, a, new
    nbr[v, 0], nbr[v, 1], nbr[v, 2] = t, u, by_b
    tri[t, 2] = new
    nbr[t, 0], nbr[t, 1] = u, v
    if by_a >= 0:
        nbr[by_a, _place(nbr[by_a], t)] = u
    if by_b >= 0:
        nbr[by_b, _place(nbr[by_b], t)] = v
    home[a], home[b], home[c], home[new] = t, t, u, t


@njit(cache=True, nogil=True)
def _inserted(p, tri, nbr, home, count, start, new, stack):
    """Insert a point and swap until every circle about it is empty; False when it lies on another."""
    t = _holder(p, tri, nbr, count, start, new)
    for k in range(3):
        v = tri[t, k]
        if (p[v, 0] - p[new, 0]) ** 2 + (p[v, 1] - p[new, 1]) ** 2 < SAME:
            return False
    _parted(tri, nbr, home, t, count, new)
    stack[0], stack[1], stack[2] = t, count, count + 1
    top = 3
    while top > 0:
        top -= 1
        t = stack[top]
        k = _place(tri[t], new)
        u = nbr[t, k]
        if u >= 0 and _should_swap(p, tri, nbr, t, k):
            _swap(tri, nbr, home, t, k)
            stack[top], stack[top + 1] = t, u
            top += 2
    return True


@njit(cache=True, nogil=True)
def _spoke(tri, nbr, home, a, b):
    """The triangle that runs from a to b in its order, -1 when there is none."""
    first = home[a]
    t = first
    while t >= 0:
        k = _place(tri[t], a)
        if tri[t, (k + 1) % 3] == b:
            return t
        t = nbr[t, (k + 1) % 3]
        if t == first:
            break
    return -1


@njit(cache=True, nogil=True)
def _crossed(p, tri, nbr, home, rim, a, b, queue):
    """Fill `queue` with the edges that cross the line from a to b; -1 when it cannot be drawn."""
    first = home[a]
    t = first
    while True:
        k = _place(tri[t], a)
        right, left = tri[t, (k + 1) % 3], tri[t, (k + 2) % 3]
        if _turn(p, a, b, right) < 0.0 and _turn(p, a, b, left) > 0.0:
            break
        t = nbr[t, (k + 1) % 3]
        if t == first or t < 0:
            return -1
    k = _place(tri[t], a)
    found = 0
    while found < MOST_CROSSED:
        if _kept(right, left, rim):
            return -1
        queue[found, 0], queue[found, 1] = right, left
        found += 1
        u = nbr[t, k]
        q = tri[u, _place(nbr[u], t)]
        if q == b:
            return found
        side = _turn(p, a, b, q)
        if side == 0.0:
            return -1
        t = u
        if side > 0.0:
            k = _place(tri[t], left)
            left = q
        else:
            k = _place(tri[t], right)
            right = q
    return -1


@njit(cache=True, nogil=True)
def _drawn(p, tri, nbr, home, rim, a, b, queue):
    """Swap until the line from a to b is an edge; False when it cannot be."""
    if _spoke(tri, nbr, home, a, b) >= 0:
        return True
    waiting = _crossed(p, tri, nbr, home, rim, a, b, queue)
    if waiting < 0:
        return False
    first = 0
    for _ in range(20 * waiting * waiting + 50):
        if waiting == 0:
            return _spoke(tri, nbr, home, a, b) >= 0
        u, v = queue[first, 0], queue[first, 1]
        first = (first + 1) % MOST_CROSSED
        waiting -= 1
        t = _spoke(tri, nbr, home, u, v)
        k = (_place(tri[t], u) + 2) % 3
        last = (first + waiting) % MOST_CROSSED
        if not _may_swap(p, tri, nbr, t, k):
            queue[last, 0], queue[last, 1] = u, v
            waiting += 1
            continue
        _swap(tri, nbr, home, t, k)
        c, d = tri[t, 0], tri[t, 2]
        if c not in (a, b) and d not in (a, b) and _turn(p, a, b, c) * _turn(p, a, b, d) < 0.0:
            queue[last, 0], queue[last, 1] = c, d
            waiting += 1
    return False


@njit(cache=True, nogil=True)
def _flooded(tri, nbr, count, rim, inside, stack):
    """Mark the triangles within the outline."""
    top = 0
    for t in range(count):
        for k in range(3):
            a, b = tri[t, k], tri[t, (k + 1) % 3]
            if a < rim and b < rim and (b - a) % rim == 1 and not inside[t]:
                inside[t] = True
                stack[top] = t
                top += 1
    while top > 0:
        top -= 1
        t = stack[top]
        for k in range(3):
            u = nbr[t, k]
            if u < 0 or inside[u] or _kept(tri[t, (k + 1) % 3], tri[t, (k + 2) % 3], rim):
                continue
            inside[u] = True
            stack[top] = u
            top += 1


@njit(cache=True, nogil=True)
def triangulated(p, rim):
    """Triangles, their neighbours, which lie inside, and -1 or the point of the outline that failed.

    Points lie about the origin and within 1 of it; the last three are HELPERS, to which the triangles
    outside run. Inner ones that lie on another stay without a triangle.
    """
    n = len(p) - 3
    tri, nbr = np.empty((2 * n + 1, 3), np.int64), np.empty((2 * n + 1, 3), np.int64)
    home, inside = np.zeros(n + 3, np.int64), np.zeros(2 * n + 1, np.bool_)
    tri[0, 0], tri[0, 1], tri[0, 2] = n, n + 1, n + 2
    nbr[0, 0], nbr[0, 1], nbr[0, 2] = -1, -1, -1
    stack = np.empty(6 * n + 16, np.int64)
    count = np.int64(1)  # not a literal: that would be compiled for apart
    for new in range(n):
        if _inserted(p, tri, nbr, home, count, count - 1, new, stack):
            count += 2
        elif new < rim:
            return tri, nbr, inside, new
    queue = np.empty((MOST_CROSSED, 2), np.int64)
    for a in range(rim):
        if not _drawn(p, tri, nbr, home, rim, a, (a + 1) % rim, queue):
            return tri, nbr, inside, a
    _flooded(tri, nbr, count, rim, inside, stack)
    return tri, nbr, inside, -1


# --- better shapes -----------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _shape(p, a, b, c):
    """How near to equal-sided a triangle is: 1 for an equal-sided one, negative when turned over."""
    ux, uy = p[b, 0] - p[a, 0], p[b, 1] - p[a, 1]
    vx, vy = p[c, 0] - p[b, 0], p[c, 1] - p[b, 1]
    wx, wy = p[a, 0] - p[c, 0], p[a, 1] - p[c, 1]
    squares = ux * ux + uy * uy + vx * vx + vy * vy + wx * wx + wy * wy
    return 3.4641016151377544 * (ux * vy - uy * vx) / squares


@njit(cache=True, nogil=True)
def _worst_about(p, tri, nbr, first, v):
    """The worst shape among the triangles about an inner point."""
    worst, t = 2.0, first
    while True:
        worst = min(worst, _shape(p, tri[t, 0], tri[t, 1], tri[t, 2]))
        t = nbr[t, (_place(tri[t], v) + 1) % 3]
        if t == first:
            return worst


@njit(cache=True, nogil=True)
def _evened(p, tri, nbr, rim, home, share):
    """Move every inner point towards the middle of its neighbours, unless a shape suffers badly."""
    for v in range(rim, len(p)):
        first = home[v]
        if first < 0:
            continue
        x = y = 0.0
        around, t = 0, first
        while True:
            k = _place(tri[t], v)
            x += p[tri[t, (k + 1) % 3], 0]
            y += p[tri[t, (k + 1) % 3], 1]
            around += 1
            t = nbr[t, (k + 1) % 3]
            if t == first:
                break
        was_x, was_y = p[v, 0], p[v, 1]
        before = _worst_about(p, tri, nbr, first, v)
        p[v, 0] += share * (x / around - was_x)
        p[v, 1] += share * (y / around - was_y)
        if _worst_about(p, tri, nbr, first, v) < min(0.4, before):
            p[v, 0], p[v, 1] = was_x, was_y


@njit(cache=True, nogil=True)
def _mended(p, tri, nbr, rim, home, poor):
    """Shift inner points whose worst triangle is poorer than `poor`, as long as that helps."""
    for v in range(rim, len(p)):
        first = home[v]
        if first < 0:
            continue
        worst = _worst_about(p, tri, nbr, first, v)
        if worst >= poor:
            continue
        k = _place(tri[first], v)
        reach = 0.3 * np.hypot(
            p[tri[first, (k + 1) % 3], 0] - p[v, 0], p[tri[first, (k + 1) % 3], 1] - p[v, 1]
        )
        for _ in range(5):
            was_x, was_y = p[v, 0], p[v, 1]
            best_x, best_y = was_x, was_y
            for d in range(8):
                p[v, 0] = was_x + reach * np.cos(0.7853981633974483 * d)
                p[v, 1] = was_y + reach * np.sin(0.7853981633974483 * d)
                other = _worst_about(p, tri, nbr, first, v)
                if other > worst:
                    worst, best_x, best_y = other, p[v, 0], p[v, 1]
            p[v, 0], p[v, 1] = best_x, best_y
            if best_x == was_x and best_y == was_y:
                reach *= 0.5


@njit(cache=True, nogil=True)
def _swapped(p, tri, nbr, rim, home):
    """Swap until every inner edge's circles are empty."""
    for _ in range(20):
        swaps = 0
        for t in range(len(tri)):
            for k in range(3):
                if nbr[t, k] < 0 or _kept(tri[t, (k + 1) % 3], tri[t, (k + 2) % 3], rim):
                    continue
                if _should_swap(p, tri, nbr, t, k):
                    _swap(tri, nbr, home, t, k)
                    swaps += 1
        if swaps == 0:
            return


@njit(cache=True, nogil=True)
def smoothed(p, tri, nbr, rim, sweeps, poor):
    """Even the inner points out, in place, and swap edges between; mend the poorest at the end."""
    home = np.full(len(p), -1, np.int64)
    for t in range(len(tri)):
        for k in range(3):
            home[tri[t, k]] = t
    for _ in range(sweeps):
        _evened(p, tri, nbr, rim, home, 0.7)
        _swapped(p, tri, nbr, rim, home)
    for _ in range(3):
        _mended(p, tri, nbr, rim, home, poor)
        _swapped(p, tri, nbr, rim, home)
