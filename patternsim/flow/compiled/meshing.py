"""Points of a mesh and its curved triangles, compiled.

Where points go: rows of equal-sided triangles, in cells that are halved until they are as fine as asked
for. What is asked for never grows from the outline inwards faster than GROWTH, so that short edges of
the outline meet small triangles.
"""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
# ruff: noqa: ANN001, ANN202, ANN201

from __future__ import annotations

import numpy as np

from patternsim.fields.compiler import njit

GROWTH = 0.35
"""How much longer edges may get a length further on."""
ROW = 0.8660254037844386
"""Height of an equal-sided triangle of side 1."""
OPPOSED = -0.5
"""Two places of an outline face one another when their normals' product is below this."""
ACROSS = 2.0
"""Longest edge over the thickness of the steel there."""
TURN = 1.05
"""Most an edge of the outline may turn, radians."""


# --- along the outline -------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _limited_by_turn(points, lengths, corner, owner, edges, size, least):
    """Shorten edges where the outline turns sharply but has no corner."""
    n = len(points)
    for i in range(n):
        if corner[i]:
            continue
        a, b = (i - 1) % n, (i + 1) % n
        ux, uy = points[i, 0] - points[a, 0], points[i, 1] - points[a, 1]
        vx, vy = points[b, 0] - points[i, 0], points[b, 1] - points[i, 1]
        turn = abs(np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy))
        # A bend between two old edges stands for the turn of a quarter of each.
        if owner[a] != owner[i]:
            along = 0.25 * (edges[owner[a]] + edges[owner[i]])
        else:
            along = 0.5 * (lengths[a] + lengths[i])
        if turn * size[i] > TURN * along:
            size[i] = min(size[i], max(least, TURN * along / turn))


@njit(cache=True, nogil=True)
def _limited_by_thickness(points, lengths, size, least, apart):
    """Shorten edges where the steel is thin: at most ACROSS times the way to the other side.

    Looked at every `apart` along the outline.
    """
    n = len(points)
    probe, along = np.empty(n + 1, np.int64), np.empty(n)
    count, total = 0, 0.0
    for i in range(n):
        if total >= count * apart:
            probe[count], along[count] = i, total
            count += 1
        total += lengths[i]
    probe[count] = n
    normal = np.empty((count, 2))
    for i in range(count):
        a, b = points[probe[i] - 1], points[(probe[i] + 1) % n]
        x, y = b[0] - a[0], b[1] - a[1]
        long = max(np.hypot(x, y), 1e-300)
        normal[i, 0], normal[i, 1] = -y / long, x / long
    for i in range(count):
        own = size[probe[i]]
        x, y, nx, ny = points[probe[i], 0], points[probe[i], 1], normal[i, 0], normal[i, 1]
        nearest = own / ACROSS
        for j in range(count):
            if nx * normal[j, 0] + ny * normal[j, 1] > OPPOSED:
                continue
            dx, dy = points[probe[j], 0] - x, points[probe[j], 1] - y
            square = dx * dx + dy * dy
            deep = dx * nx + dy * ny
            if square >= nearest * nearest or deep <= 0.0 or 2.0 * deep * deep < square:
                continue
            between = abs(along[i] - along[j])
            if min(between, total - between) > 2.5 * own:
                nearest = np.sqrt(square)
        wanted = max(least, ACROSS * nearest)
        for k in range(probe[i], probe[i + 1]):
            size[k] = min(size[k], wanted)


@njit(cache=True, nogil=True)
def _limited_by_corners(lengths, corner, size):
    """Shorten edges between corners that lie nearer than an edge."""
    n = len(lengths)
    for start in range(n):
        if not corner[start]:
            continue
        k, long = start, 0.0
        while True:
            long += lengths[k]
            k = (k + 1) % n
            if corner[k] or long > size[start]:
                break
        if long < size[start]:
            k = start
            while True:
                size[k] = min(size[k], long)
                k = (k + 1) % n
                if corner[k]:
                    break


@njit(cache=True, nogil=True)
def edge_lengths(points, corner, owner, edges, size, least, apart):
    """Limit the lengths of edges asked for along a closed line, in place; its parts' lengths.

    The line is in short parts, `owner` the old edge each is of, `edges` the lengths of those. Whether
    the steel is thin is looked at every `apart`.
    """
    n = len(points)
    lengths = np.empty(n)
    for i in range(n):
        b = (i + 1) % n
        lengths[i] = np.hypot(points[b, 0] - points[i, 0], points[b, 1] - points[i, 1])
    _limited_by_turn(points, lengths, corner, owner, edges, size, least)
    _limited_by_thickness(points, lengths, size, least, apart)
    _limited_by_corners(lengths, corner, size)
    for i in range(2 * n):
        a, b = i % n, (i + 1) % n
        size[b] = min(size[b], size[a] + GROWTH * lengths[a])
    for i in range(2 * n, 0, -1):
        a, b = (i - 1) % n, i % n
        size[a] = min(size[a], size[b] + GROWTH * lengths[a])
    return lengths


# --- inside ------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def probed(at, rim, edges, size):
    """Limit sizes wanted at points by the outline's edges near them; how far in the points lie.

    `rim` is the outline, straight from point to point, `edges` the lengths of edges wanted there.
    Returns the distances to it, negative outside.
    """
    n = len(rim)
    far = np.empty(len(at))
    for i in range(len(at)):
        x, y = at[i, 0], at[i, 1]
        nearest, within, limit = np.inf, False, size[i]
        ax, ay = rim[n - 1, 0], rim[n - 1, 1]
        for j in range(n):
            bx, by = rim[j, 0], rim[j, 1]
            dx, dy, px, py = bx - ax, by - ay, x - ax, y - ay
            long = dx * dx + dy * dy
            t = min(max((px * dx + py * dy) / long, 0.0), 1.0) if long > 0.0 else 0.0
            square = (px - t * dx) ** 2 + (py - t * dy) ** 2
            nearest = min(nearest, square)
            if edges[j] < limit and square * GROWTH * GROWTH < (limit - edges[j]) ** 2:
                limit = edges[j] + GROWTH * np.sqrt(square)
            if (
                (ay > y) != (by > y) and px * dy < py * dx
                if dy > 0.0
                else (ay > y) != (by > y) and (px * dy > py * dx)
            ):
                within = not within
            ax, ay = bx, by
        size[i] = limit
        far[i] = np.sqrt(nearest) if within else -np.sqrt(nearest)
    return far


@njit(cache=True, nogil=True)
def rows_in_cells(cells, cell, low_x, low_y, across, up):
    """Points of rows `up` apart, `across` apart in each, that lie in square cells given by corners.

    Returns room for points, and how many there are.
    """
    found = np.empty((len(cells) * int(cell / across + 2.0) * int(cell / up + 2.0), 2))
    count = 0
    for i in range(len(cells)):
        x0, y0 = cells[i, 0], cells[i, 1]
        j = int(np.ceil((y0 - low_y) / up))
        while low_y + j * up < y0 + cell:
            left = low_x + (0.5 * across if j % 2 else 0.0)
            k = int(np.ceil((x0 - left) / across))
            while left + k * across < x0 + cell:
                found[count, 0], found[count, 1] = left + k * across, low_y + j * up
                count += 1
                k += 1
            j += 1
    return found, count


@njit(cache=True, nogil=True)
def spaced(points, size, room):
    """Which of the points stay when each, in turn, needs `room` times its size to those before."""
    stays = np.zeros(len(points), np.bool_)
    kept, sizes, count = np.empty((len(points), 2)), np.empty(len(points)), 0
    for i in range(len(points)):
        x, y, free = points[i, 0], points[i, 1], True
        for j in range(count - 1, -1, -1):
            gap = room * min(size[i], sizes[j])
            if (x - kept[j, 0]) ** 2 + (y - kept[j, 1]) ** 2 < gap * gap:
                free = False
                break
        if free:
            kept[count, 0], kept[count, 1], sizes[count] = x, y, size[i]
            count += 1
            stays[i] = True
    return stays


# --- curved triangles --------------------------------------------------------------------


@njit(cache=True, nogil=True)
def curved(points, triangles, beside, rim_mids):
    """Add the points half-way along edges.

    Returns room for nodes, triangles of six, loop, and how many corners and nodes there are.
    Points without a triangle drop out; the first len(rim_mids) are the outline.
    """
    rim = len(rim_mids)
    number = np.full(len(points), -1, np.int32)
    for i in range(rim):
        number[i] = i
    for t in range(len(triangles)):
        for k in range(3):
            number[triangles[t, k]] = 0
    corners = 0
    for i in range(len(points)):
        if number[i] >= 0:
            number[i] = corners
            corners += 1
    m = len(triangles)
    nodes, six = np.empty((corners + 3 * m, 2)), np.empty((m, 6), np.int32)
    loop = np.empty(2 * rim, np.int32)
    for i in range(len(points)):
        if number[i] >= 0:
            nodes[number[i], 0], nodes[number[i], 1] = points[i, 0], points[i, 1]
    count = corners
    for t in range(m):
        for k in range(3):
            six[t, k] = number[triangles[t, k]]
    for t in range(m):
        for k in range(3):  # the edge from corner k to the next lies opposite the one after
            u = beside[t, (k + 2) % 3]
            if 0 <= u < t:
                j = 0 if beside[u, 0] == t else (1 if beside[u, 1] == t else 2)
                six[t, 3 + k] = six[u, 3 + (j + 1) % 3]
                continue
            a, b = six[t, k], six[t, (k + 1) % 3]
            if u < 0:
                nodes[count, 0], nodes[count, 1] = rim_mids[a, 0], rim_mids[a, 1]
                loop[2 * a], loop[2 * a + 1] = a, count
            else:
                nodes[count, 0] = 0.5 * (nodes[a, 0] + nodes[b, 0])
                nodes[count, 1] = 0.5 * (nodes[a, 1] + nodes[b, 1])
            six[t, 3 + k] = count
            count += 1
    return nodes, six, loop, corners, count


@njit(cache=True, nogil=True)
def _stretch(nodes, six, x, y):
    """The determinant of a curved triangle's map at local (x, y)."""
    z = 1.0 - x - y
    a = b = c = d = 0.0
    for k in range(6):
        if k == 0:
            by_x, by_y = 1.0 - 4.0 * z, 1.0 - 4.0 * z
        elif k == 1:
            by_x, by_y = 4.0 * x - 1.0, 0.0
        elif k == 2:
            by_x, by_y = 0.0, 4.0 * y - 1.0
        elif k == 3:
            by_x, by_y = 4.0 * (z - x), -4.0 * x
        elif k == 4:
            by_x, by_y = 4.0 * y, 4.0 * x
        else:
            by_x, by_y = -4.0 * y, 4.0 * (z - y)
        px, py = nodes[six[k], 0], nodes[six[k], 1]
        a += by_x * px
        b += by_y * px
        c += by_x * py
        d += by_y * py
    return a * d - b * c


@njit(cache=True, nogil=True)
def shapes(nodes, triangles):
    """Of every triangle: the shape of its corners, and its smallest determinant over theirs."""
    shape, stretch = np.empty(len(triangles)), np.empty(len(triangles))
    for t in range(len(triangles)):
        six = triangles[t]
        ax, ay = nodes[six[0], 0], nodes[six[0], 1]
        ux, uy = nodes[six[1], 0] - ax, nodes[six[1], 1] - ay
        vx, vy = nodes[six[2], 0] - ax, nodes[six[2], 1] - ay
        twice = ux * vy - uy * vx
        wx, wy = ux - vx, uy - vy
        squares = ux * ux + uy * uy + vx * vx + vy * vy + wx * wx + wy * wy
        shape[t] = 3.4641016151377544 * twice / squares
        least = _stretch(nodes, six, 0.0, 0.0)
        least = min(least, _stretch(nodes, six, 1.0, 0.0), _stretch(nodes, six, 0.0, 1.0))
        least = min(least, _stretch(nodes, six, 0.5, 0.0), _stretch(nodes, six, 0.5, 0.5))
        least = min(least, _stretch(nodes, six, 0.0, 0.5), _stretch(nodes, six, 1 / 3, 1 / 3))
        stretch[t] = least / twice if twice > 0.0 else -1.0
    return shape, stretch


@njit(cache=True, nogil=True)
def bent_along(nodes, triangles, loop, poor):
    """Bend inner edges along with the outline's where a triangle's determinant is poor, in place.

    A third of the outline's bend is given on to the other two edges of the triangle. Returns how many
    were bent.
    """
    outer = np.zeros(len(nodes), np.bool_)
    for i in loop:
        outer[i] = True
    _, stretch = shapes(nodes, triangles)
    bends = 0
    for t in range(len(triangles)):
        if stretch[t] >= poor:
            continue
        six = triangles[t]
        for k in range(3):
            if not outer[six[3 + k]]:
                continue
            a, m, b = six[k], six[3 + k], six[(k + 1) % 3]
            x = nodes[m, 0] - 0.5 * (nodes[a, 0] + nodes[b, 0])
            y = nodes[m, 1] - 0.5 * (nodes[a, 1] + nodes[b, 1])
            for j in range(3):
                if j != k and not outer[six[3 + j]]:
                    nodes[six[3 + j], 0] += 0.35 * x
                    nodes[six[3 + j], 1] += 0.35 * y
                    bends += 1
    return bends
