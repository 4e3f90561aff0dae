"""Which triangle a place lies in, and carrying places through triangles, compiled.

A curved triangle is kept as its two quadratic polynomials: x (and y) = c0 + c1 r + c2 s + c3 r r +
c4 r s + c5 s s, with r and s the local coordinates, 0 at corner a. A plan is all that finding needs, as
one tuple: polynomials, boxes, frame of the cells, number of cells, heads and items of their lists, and
the triangle and side behind every edge of the outline.
"""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
# ruff: noqa: ANN001, ANN202, ANN201

from __future__ import annotations

import numpy as np

from patternsim.fields.compiler import njit

SURE = -1e-9
"""Local coordinate from which a place counts as found at once."""
INSIDE = -1e-6
"""Local coordinate down to which a place lies inside."""
HOPELESS = -0.7
"""Local coordinate after one step of Newton's, below which a triangle is left for later."""
STEPS = 14
ENDED = 1e-8
"""A step of Newton's this short leaves an error of about its square."""
FARTHEST = 1.0
"""How far past its triangle a place outside may lie, in local coordinates."""
OVER = -0.1
"""How far past its triangle a place is carried on."""


# --- plans -------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def polynomials(nodes, triangles):
    """(m, 12): the polynomials of x, then of y."""
    out = np.empty((len(triangles), 12))
    for t in range(len(triangles)):
        six = triangles[t]
        for k in range(2):
            a, b, c = nodes[six[0], k], nodes[six[1], k], nodes[six[2], k]
            ab, bc, ca = nodes[six[3], k], nodes[six[4], k], nodes[six[5], k]
            # Written as differences: far from the origin nothing is lost.
            out[t, 6 * k] = a
            out[t, 6 * k + 1] = 4 * (ab - a) - (b - a)
            out[t, 6 * k + 2] = 4 * (ca - a) - (c - a)
            out[t, 6 * k + 3] = 2 * (b - a) - 4 * (ab - a)
            out[t, 6 * k + 4] = 4 * ((bc - a) - (ab - a) - (ca - a))
            out[t, 6 * k + 5] = 2 * (c - a) - 4 * (ca - a)
    return out


@njit(cache=True, nogil=True)
def boxes_of(nodes, triangles):
    """(m, 4): low x, low y, high x, high y of every curved triangle.

    Taken over the points whose tangents meet (Bezier's): no parabola leaves their hull.
    """
    out = np.empty((len(triangles), 4))
    for t in range(len(triangles)):
        for k in range(2):
            low, high = np.inf, -np.inf
            for j in range(3):
                a, b = nodes[triangles[t, j], k], nodes[triangles[t, (j + 1) % 3], k]
                middle = 2.0 * nodes[triangles[t, 3 + j], k] - 0.5 * (a + b)
                low, high = min(low, a, middle), max(high, a, middle)
            out[t, k], out[t, 2 + k] = low, high
    return out


@njit(cache=True, nogil=True)
def listed(boxes, frame, counts):
    """Which boxes reach into each of the cells: heads and items of their lists.

    The frame is the low corner of the cells and how many there are to a length.
    """
    m, per = len(boxes), frame[2]
    span = np.empty((m, 4), np.int64)
    heads = np.zeros(counts[0] * counts[1] + 1, np.int64)
    for t in range(m):
        for k in range(4):
            span[t, k] = min(int((boxes[t, k] - frame[k % 2]) * per), counts[k % 2] - 1)
        for i in range(span[t, 0], span[t, 2] + 1):
            for j in range(span[t, 1], span[t, 3] + 1):
                heads[i * counts[1] + j + 1] += 1
    for c in range(len(heads) - 1):
        heads[c + 1] += heads[c]
    items, filled = np.empty(heads[len(heads) - 1], np.int64), np.zeros(len(heads), np.int64)
    for t in range(m):
        for i in range(span[t, 0], span[t, 2] + 1):
            for j in range(span[t, 1], span[t, 3] + 1):
                c = i * counts[1] + j
                items[heads[c] + filled[c]] = t
                filled[c] += 1
    return heads, items


@njit(cache=True, nogil=True)
def behind_outline(triangles, loop, nodes):
    """(k, 2): the triangle and the side of it behind every edge of the outline."""
    edge = np.full(nodes, -1, np.int64)
    out = np.empty((len(loop) // 2, 2), np.int64)
    for i in range(len(out)):
        edge[loop[2 * i + 1]] = i
    for t in range(len(triangles)):
        for k in range(3):
            i = edge[triangles[t, 3 + k]]
            if i >= 0:
                out[i, 0], out[i, 1] = t, k
    return out


# --- finding -----------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _value(c, k, r, s):
    return c[k] + r * (c[k + 1] + r * c[k + 3] + s * c[k + 4]) + s * (c[k + 2] + s * c[k + 5])


@njit(cache=True, nogil=True)
def _slopes(c, r, s):
    """dx/dr, dx/ds, dy/dr, dy/ds."""
    return (
        c[1] + 2.0 * r * c[3] + s * c[4],
        c[2] + r * c[4] + 2.0 * s * c[5],
        c[7] + 2.0 * r * c[9] + s * c[10],
        c[8] + r * c[10] + 2.0 * s * c[11],
    )


@njit(cache=True, nogil=True)
def _solved(c, x, y, r, s, hopeless):
    """Local coordinates of a place by Newton's method, and whether it came to an end."""
    for step in range(STEPS):
        a, b, d, e = _slopes(c, r, s)
        stretch = a * e - b * d
        if stretch == 0.0:
            return r, s, False
        over_x, over_y = x - _value(c, 0, r, s), y - _value(c, 6, r, s)
        by_r = (e * over_x - b * over_y) / stretch
        by_s = (a * over_y - d * over_x) / stretch
        r += by_r
        s += by_s
        if abs(by_r) + abs(by_s) < ENDED:
            return r, s, True
        if step == 0 and min(r, s, 1.0 - r - s) < hopeless:
            return r, s, False
        if abs(r) + abs(s) > 8.0:
            return r, s, False
    return r, s, False


@njit(cache=True, nogil=True)
def _in_cell(plan, x, y, hopeless):
    """The triangle of the place's cell that holds it best: triangle, r, s, smallest coordinate."""
    shapes, boxes, frame, counts, heads, items, _ = plan
    best, best_r, best_s, depth = -1, 0.0, 0.0, -np.inf
    i, j = int((x - frame[0]) * frame[2]), int((y - frame[1]) * frame[2])
    if x < frame[0] or y < frame[1] or i >= counts[0] or j >= counts[1]:
        return best, best_r, best_s, depth
    cell = i * counts[1] + j
    for k in range(heads[cell], heads[cell + 1]):
        t = items[k]
        if x < boxes[t, 0] or y < boxes[t, 1] or x > boxes[t, 2] or y > boxes[t, 3]:
            continue
        r, s, ended = _solved(shapes[t], x, y, 1 / 3, 1 / 3, hopeless)
        inner = min(r, s, 1.0 - r - s)
        if ended and inner > depth:
            best, best_r, best_s, depth = t, r, s, inner
            if depth >= SURE:
                break
    return best, best_r, best_s, depth


@njit(cache=True, nogil=True)
def _on_side(k, t):
    """Local coordinates of the place t along side k."""
    if k == 0:
        return t, 0.0
    if k == 1:
        return 1.0 - t, t
    return 0.0, 1.0 - t


@njit(cache=True, nogil=True)
def _nearest_on_side(c, k, x, y):
    """Where along side k of a triangle the place nearest to (x, y) lies, and the distance squared."""
    best, square = 0.0, np.inf
    for i in range(5):
        r, s = _on_side(k, 0.25 * i)
        away = (_value(c, 0, r, s) - x) ** 2 + (_value(c, 6, r, s) - y) ** 2
        if away < square:
            best, square = 0.25 * i, away
    # The parabola about its start: p0 + t p1 + t t p2.
    r0, s0 = _on_side(k, 0.0)
    r1, s1 = _on_side(k, 1.0)
    rm, sm = _on_side(k, 0.5)
    x0, y0 = _value(c, 0, r0, s0), _value(c, 6, r0, s0)
    x2 = 2.0 * (_value(c, 0, r1, s1) + x0 - 2.0 * _value(c, 0, rm, sm))
    y2 = 2.0 * (_value(c, 6, r1, s1) + y0 - 2.0 * _value(c, 6, rm, sm))
    x1, y1 = _value(c, 0, r1, s1) - x0 - x2, _value(c, 6, r1, s1) - y0 - y2
    t = best
    for _ in range(6):
        px, py = x0 + t * (x1 + t * x2) - x, y0 + t * (y1 + t * y2) - y
        dx, dy = x1 + 2.0 * t * x2, y1 + 2.0 * t * y2
        down = px * dx + py * dy
        curve = dx * dx + dy * dy + 2.0 * (px * x2 + py * y2)
        if curve <= 0.0:
            curve = dx * dx + dy * dy
        if curve == 0.0:
            break
        t = min(max(t - down / curve, 0.0), 1.0)
    px, py = x0 + t * (x1 + t * x2) - x, y0 + t * (y1 + t * y2) - y
    if px * px + py * py <= square:
        return t, px * px + py * py
    return best, square


@njit(cache=True, nogil=True)
def _nearest_on_outline(plan, x, y):
    """The edge of the outline nearest to a place, and where along it."""
    shapes, boxes, _, _, _, _, behind = plan
    edge, along, nearest = -1, 0.0, np.inf
    for i in range(len(behind)):
        t, k = behind[i, 0], behind[i, 1]
        dx = max(boxes[t, 0] - x, 0.0, x - boxes[t, 2])
        dy = max(boxes[t, 1] - y, 0.0, y - boxes[t, 3])
        if dx * dx + dy * dy >= nearest:
            continue
        at, square = _nearest_on_side(shapes[t], k, x, y)
        if square < nearest:
            edge, along, nearest = i, at, square
    return edge, along


@njit(cache=True, nogil=True)
def _found(plan, x, y, before):
    """Triangle, r, s of a place, and whether it lies inside; `before` is a triangle to try first."""
    shapes, boxes, _, _, _, _, behind = plan
    t = before
    if x >= boxes[t, 0] and y >= boxes[t, 1] and x <= boxes[t, 2] and y <= boxes[t, 3]:
        r, s, ended = _solved(shapes[t], x, y, 1 / 3, 1 / 3, HOPELESS)
        if ended and min(r, s, 1.0 - r - s) >= SURE:
            return t, r, s, True
    t, r, s, depth = _in_cell(plan, x, y, HOPELESS)
    if depth < INSIDE:
        t, r, s, depth = _in_cell(plan, x, y, -np.inf)
    if depth >= INSIDE:
        return t, r, s, True
    edge, along = _nearest_on_outline(plan, x, y)
    t = behind[edge, 0]
    on_r, on_s = _on_side(behind[edge, 1], along)
    r, s, ended = _solved(shapes[t], x, y, on_r, on_s, -np.inf)
    if not ended or min(r, s, 1.0 - r - s) < -FARTHEST:
        r, s = on_r, on_s
    return t, r, s, False


@njit(cache=True, nogil=True)
def found(points, plan):
    """Of every place: its triangle, its local coordinates, whether it lies inside."""
    n = len(points)
    element, local, inside = np.empty(n, np.int32), np.empty((n, 2)), np.empty(n, np.bool_)
    t = np.int64(0)
    for i in range(n):
        t, local[i, 0], local[i, 1], inside[i] = _found(plan, points[i, 0], points[i, 1], t)
        element[i] = t
    return element, local, inside


@njit(cache=True, nogil=True)
def nearest(points, plan):
    """Of every place: the nearest place of the outline, and the length of the edge that is on."""
    shapes, _, _, _, _, _, behind = plan
    on, edge = np.empty((len(points), 2)), np.empty(len(points))
    for i in range(len(points)):
        k, along = _nearest_on_outline(plan, points[i, 0], points[i, 1])
        c, side = shapes[behind[k, 0]], behind[k, 1]
        r, s = _on_side(side, along)
        on[i, 0], on[i, 1] = _value(c, 0, r, s), _value(c, 6, r, s)
        r, s = _on_side(side, 0.0)
        x, y = _value(c, 0, r, s), _value(c, 6, r, s)
        r, s = _on_side(side, 1.0)
        edge[i] = np.hypot(_value(c, 0, r, s) - x, _value(c, 6, r, s) - y)
    return on, edge


# --- carrying ----------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def blend(values, triangles, element, local):
    """Values (n, c) at points of triangles, blended quadratically at places inside them."""
    out = np.empty((len(element), values.shape[1]))
    for i in range(len(element)):
        r, s = local[i, 0], local[i, 1]
        z = 1.0 - r - s
        six = triangles[element[i]]
        for k in range(values.shape[1]):
            out[i, k] = (
                z * (2.0 * z - 1.0) * values[six[0], k]
                + r * (2.0 * r - 1.0) * values[six[1], k]
                + s * (2.0 * s - 1.0) * values[six[2], k]
                + 4.0
                * (z * r * values[six[3], k] + r * s * values[six[4], k] + s * z * values[six[5], k])
            )
    return out


@njit(cache=True, nogil=True)
def carried(points, slopes, plan, starts):
    """Carry places, in place, from the triangles of a plan to the same ones as they were at the start.

    With `slopes` (n, 2, 2) those are multiplied by the map's own; (0, 2, 2) leaves them.
    """
    shapes = plan[0]
    t = np.int64(0)
    for i in range(len(points)):
        t, r, s, inside = _found(plan, points[i, 0], points[i, 1], t)
        if not inside:
            z = max(1.0 - r - s, OVER)
            r, s = max(r, OVER), max(s, OVER)
            total = r + s + z
            r, s = r / total, s / total
        c = starts[t]
        points[i, 0], points[i, 1] = _value(c, 0, r, s), _value(c, 6, r, s)
        if len(slopes) == 0:
            continue
        a, b, d, e = _slopes(shapes[t], r, s)
        fa, fb, fd, fe = _slopes(c, r, s)
        stretch = a * e - b * d
        xx, xy = (fa * e - fb * d) / stretch, (fb * a - fa * b) / stretch
        yx, yy = (fd * e - fe * d) / stretch, (fe * a - fd * b) / stretch
        for k in range(2):
            u, v = slopes[i, 0, k], slopes[i, 1, k]
            slopes[i, 0, k], slopes[i, 1, k] = xx * u + xy * v, yx * u + yy * v
