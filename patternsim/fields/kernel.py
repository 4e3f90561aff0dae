"""The one loop that walks a field: compiled, without the interpreter lock, a band of points at a time.

All it calls lives in this file: a compiled function kept on disk goes stale unnoticed when a function it
calls in another file changes.

Points that wait at a link lie side by side in a row of their own, so that the sums of most links run
over several points at once. A link passes its whole row on where it can: nothing is copied then.
"""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, disable-error-code="call-arg,var-annotated"

from __future__ import annotations

import math

import numpy as np

from patternsim.fields.compiler import intrinsic, ir, njit, types

# As in `codes`: what is compiled must stand here.
AFFINE, PLANE, PICK, HALVE, CLIP, LEAF, TAPER, BEND, GAP, DOMAIN = range(10)
OUTSIDE = -1
IN_GAP = -2
REACHED = -3
TILE = 512
"""Points walked together, at most: their working set stays in the first-level cache."""
BORDER_MM = 0.05
"""How far beyond a border a point may fall by rounding and sampling and still belong to the piece."""
WAY = 1_000_003
"""Base in which ways are numbered, round the clock beyond 64 bits: more than any restack has pieces."""

SPLINE = (
    (1 / 6, 4 / 6, 1 / 6, 0.0),
    (-3 / 6, 0.0, 3 / 6, 0.0),
    (3 / 6, -6 / 6, 3 / 6, 0.0),
    (-1 / 6, 3 / 6, -3 / 6, 1 / 6),
)
"""Weights of four knots of a cubic B-spline as polynomials of the place between the middle two: row k
is for its power k (de Boor, A Practical Guide to Splines, 1978; any text on them)."""


FLAGS = ("contract", "reassoc", "nsz")
SINGLE, EIGHT, LANE = ir.FloatType(), ir.VectorType(ir.FloatType(), 8), ir.IntType(32)


def _shuffled(builder, value, lanes):
    mask = ir.Constant(ir.VectorType(LANE, len(lanes)), list(lanes))
    return builder.shuffle_vector(value, value, mask)


def _weights(builder, place, knots):
    """Weights of the `knots` named, all at once, by Horner's rule."""
    kind = ir.VectorType(SINGLE, len(knots))
    t = builder.insert_element(ir.Constant(kind, ir.Undefined), place, LANE(0))
    t = _shuffled(builder, t, [0] * len(knots))
    total = ir.Constant(kind, [SPLINE[3][k] for k in knots])
    for row in SPLINE[2::-1]:
        term = ir.Constant(kind, [row[k] for k in knots])
        total = builder.fadd(builder.fmul(total, t, flags=FLAGS), term, flags=FLAGS)
    return total


@intrinsic
def _spline(typing, coefs, base, row, along, across):
    """Both components at a place: 4 rows of 4 pairs of `coefs` from `base`, `row` floats apart.

    Written out as vectors of eight floats: numba leaves out the pass of the compiler that would find
    them, and number by number the same sums take three times as long.
    """

    def generate(context, builder, signature, args):
        data = context.make_array(signature.args[0])(context, builder, args[0]).data
        rows = _weights(builder, args[3], range(4))
        at, total = args[1], None
        for k in range(4):
            place = builder.bitcast(builder.gep(data, [at]), EIGHT.as_pointer())
            weight = _shuffled(builder, rows, [k] * 8)
            part = builder.fmul(builder.load(place, align=4), weight, flags=FLAGS)
            total = part if total is None else builder.fadd(total, part, flags=FLAGS)
            at = builder.add(at, args[2])
        pairs = _weights(builder, args[4], (0, 0, 1, 1, 2, 2, 3, 3))
        total = builder.fmul(total, pairs, flags=FLAGS)
        for half in (4, 2):
            low = _shuffled(builder, total, range(half))
            high = _shuffled(builder, total, range(half, 2 * half))
            total = builder.fadd(low, high, flags=FLAGS)
        both = [builder.extract_element(total, LANE(k)) for k in (0, 1)]
        return context.make_tuple(builder, signature.return_type, both)

    return types.UniTuple(types.float32, 2)(coefs, base, row, along, across), generate


@njit(cache=True, nogil=True, inline="always")
def _find(floats, start, count, value, guess):
    """Index of the interval of `count` ascending borders from `start` that holds `value`."""
    if floats[start + guess] <= value < floats[start + guess + 1]:
        return guess  # most points lie where the one before lay
    low, high = 0, count - 1
    while high - low > 1:
        middle = (low + high) >> 1
        if floats[start + middle] <= value:
            low = middle
        else:
            high = middle
    return low


@njit(cache=True, nogil=True)
def _on_line(floats, row, step, d):
    """Point, heading and curvature of a bend's middle line `d` mm on from a row of its table."""
    change = (floats[row + 7] - floats[row + 3]) / step
    heading = floats[row + 2] + d * (floats[row + 3] + d / 2 * change)
    half = floats[row + 2] + d / 2 * (floats[row + 3] + d / 4 * change)
    x, y = floats[row] + d * np.cos(half), floats[row + 1] + d * np.sin(half)
    return x, y, heading, floats[row + 3] + d * change


@njit(cache=True, nogil=True)
def _unbend(x, y, floats, f, size):
    """Point of the straight bar for a point of the bent one; see `nodes.Bend`."""
    step = floats[f]
    low, high = 0, size // 4 - 1
    while high - low > 1:  # the row whose normal the point lies ahead of, and the next not
        middle = (low + high) >> 1
        row = f + 1 + 4 * middle
        c, s = np.cos(floats[row + 2]), np.sin(floats[row + 2])
        if (x - floats[row]) * c + (y - floats[row + 1]) * s > 0.0:
            low = middle
        else:
            high = middle
    row = f + 1 + 4 * low
    d, bend, off = 0.0, 0.0, 0.0
    for _ in range(4):
        d = min(max(d, 0.0), step)
        px, py, heading, bend = _on_line(floats, row, step, d)
        c, s = np.cos(heading), np.sin(heading)
        off = -(x - px) * s + (y - py) * c
        # Beyond the table this is the whole way on, straight: there the curvature is nought.
        d += ((x - px) * c + (y - py) * s) / (1.0 - bend * off)
    return low * step + d, off - bend * off * off / 2


@njit(cache=True, nogil=True, error_model="numpy")
def _affine(count, m, k, x, y, z):
    xx, xy, xz = m[k], m[k + 1], m[k + 2]
    yx, yy, yz = m[k + 3], m[k + 4], m[k + 5]
    zx, zy, zz = m[k + 6], m[k + 7], m[k + 8]
    dx, dy, dz = m[k + 9], m[k + 10], m[k + 11]
    for j in range(count):
        a, b, c = x[j], y[j], z[j]
        x[j] = xx * a + xy * b + xz * c + dx
        y[j] = yx * a + yy * b + yz * c + dy
        z[j] = zx * a + zy * b + zz * c + dz


@njit(cache=True, nogil=True, error_model="numpy")
def _knots(count, grid, k, na, nb, a, b, spot, part_a, part_b):
    """Knot before each point, and how far the point lies beyond it."""
    low_a, per_a, low_b, per_b = grid[k], grid[k + 1], grid[k + 2], grid[k + 3]
    most_a, most_b, row = na - 2.0001, nb - 2.0001, float(nb)
    for j in range(count):
        ga = (a[j] - low_a) * per_a
        gb = (b[j] - low_b) * per_b
        # Written so that what is not a number ends on the first knot, not out of the array.
        ga = ga if ga > 1.0 else 1.0
        gb = gb if gb > 1.0 else 1.0
        ga = ga if ga < most_a else most_a
        gb = gb if gb < most_b else most_b
        ia, ib = np.floor(ga), np.floor(gb)
        spot[j] = np.int32((ia - 1.0) * row + (ib - 1.0))
        part_a[j] = np.float32(ga - ia)
        part_b[j] = np.float32(gb - ib)


@njit(cache=True, nogil=True, error_model="numpy")
def _plane(count, floats, f, ints, i, coefs, a, b, room):
    graded, spot, part_a, part_b = room
    na, nb = ints[i], ints[i + 1]
    per = floats[f + 4]
    if per > 0.0:
        for j in range(count):
            # The inverse of sinh by its logarithm: a third of the time of the library's.
            v = abs(b[j] * per)
            graded[j] = math.copysign(math.log(v + math.sqrt(v * v + 1.0)), b[j])
        _knots(count, floats, f, na, nb, a, graded, spot, part_a, part_b)
    else:
        _knots(count, floats, f, na, nb, a, b, spot, part_a, part_b)
    base = np.uintp(ints[i + 2])
    row = np.uintp(2 * nb)
    for j in range(count):
        # Unsigned places: a signed one would be tested for counting from the end at every load.
        k = np.uintp(j)
        at = base + np.uintp(2) * np.uintp(spot[k])
        da, db = _spline(coefs, at, row, part_a[k], part_b[k])
        a[k] += da
        b[k] += db
    low_a, high_a, low_b, high_b = floats[f + 5], floats[f + 6], floats[f + 7], floats[f + 8]
    for j in range(count):
        a[j] = min(max(a[j], low_a), high_a)
        b[j] = min(max(b[j], low_b), high_b)


@njit(cache=True, nogil=True, error_model="numpy")
def _taper(count, floats, f, size, x, y, z):
    per_mm = floats[f]
    most = size // 4 - 1.0001
    for j in range(count):
        at = x[j] * per_mm
        at = at if at > 0.0 else 0.0
        at = at if at < most else most
        k = int(at)
        t = at - k
        k = f + 1 + 4 * k
        reach = floats[k] + t * (floats[k + 4] - floats[k])
        across = floats[k + 1] + t * (floats[k + 5] - floats[k + 1])
        through = floats[k + 2] + t * (floats[k + 6] - floats[k + 2])
        lift = floats[k + 3] + t * (floats[k + 7] - floats[k + 3])
        # Beyond the table the ends go on straight, so that a point just past them stays outside.
        x[j] = reach + (x[j] - at / per_mm) * across * through
        y[j] = (y[j] - lift) / across
        z[j] = z[j] / through


@njit(cache=True, nogil=True)
def _bend(count, floats, f, size, x, y):
    for j in range(count):
        x[j], y[j] = _unbend(x[j], y[j], floats, f, size)


@njit(cache=True, nogil=True)
def _pick(count, borders, f, size, v, who, ways, path):
    """Number of the piece each point lies in, -1 outside."""
    low, high = borders[f] - BORDER_MM, borders[f + size - 1] + BORDER_MM
    k = 0
    for j in range(count):
        if low <= v[j] <= high:
            k = _find(borders, f, size, v[j], k)
            ways[j] = k
            path[who[j]] = path[who[j]] * WAY + k
        else:
            ways[j] = -1


@njit(cache=True, nogil=True)
def _halve(count, plane, f, x, y, z, who, ways, path):
    for j in range(count):
        side = plane[f] * x[j] + plane[f + 1] * y[j] + plane[f + 2] * z[j]
        ways[j] = 1 if side >= plane[f + 3] else 0
        path[who[j]] = path[who[j]] * WAY + ways[j]


@njit(cache=True, nogil=True)
def _clip(count, box, f, x, y, z, ways):
    for j in range(count):
        inside = box[f] <= x[j] <= box[f + 3] and box[f + 1] <= y[j] <= box[f + 4]
        ways[j] = 0 if inside and box[f + 2] <= z[j] <= box[f + 5] else -1


@njit(cache=True, nogil=True)
def _domain(count, floats, f, ints, i, a, b, who, ways, hits):
    """Whether each point lies within an outline: by its crossings with the edges of its row."""
    low, per, rows, beyond = floats[f], floats[f + 1], ints[i + 2], ints[i + 3]
    a_low, a_high, b_low, b_high = floats[f + 2], floats[f + 3], floats[f + 4], floats[f + 5]
    for j in range(count):
        # Most points lie in a box that lies within the outline.
        if a_low <= a[j] <= a_high and b_low <= b[j] <= b_high:
            ways[j] = 0
            continue
        ways[j] = -1
        row = (b[j] - low) * per
        if 0.0 <= row < rows:
            first = i + 4 + int(row)
            odd = False
            for e in range(ints[first], ints[first + 1]):
                k = f + 6 + 4 * e
                a0, b0, a1, b1 = floats[k], floats[k + 1], floats[k + 2], floats[k + 3]
                if (b0 <= b[j]) != (b1 <= b[j]):
                    odd ^= a[j] < a0 + (b[j] - b0) * (a1 - a0) / (b1 - b0)
            if odd:
                ways[j] = 0
        if ways[j] < 0:
            hits[who[j]] = beyond


@njit(cache=True, nogil=True, error_model="numpy")
def _leaf(count, floats, f, size, first, x, y, z, who, hits, depths):
    length, half = floats[f] + BORDER_MM, floats[f + 1] + BORDER_MM
    edges, k = f + 2, 0
    low, high = floats[edges] - BORDER_MM, floats[edges + size - 1] + BORDER_MM
    for j in range(count):
        if -BORDER_MM <= x[j] <= length and abs(y[j]) <= half and low <= z[j] <= high:
            k = _find(floats, edges, size, z[j], k)
            under = floats[edges + k]
            part = (z[j] - under) / (floats[edges + k + 1] - under)
            depths[who[j]] = k + min(max(part, 0.0), 1.0)
            hits[who[j]] = first + k


@njit(cache=True, nogil=True)
def _end(count, row, who, points):
    """Write down where the walk of all points of a row ended."""
    for j in range(count):
        for axis in range(3):
            points[who[j], axis] = row[axis, j]


@njit(cache=True, nogil=True)
def _pass_on(node, kid, rows, counts, at, who):
    """Send all points of a link on to the same next one."""
    own, next_ = rows[node], rows[kid]
    count, there = counts[node], counts[kid]
    if there == 0:
        rows[node], rows[kid] = next_, own
    else:
        for j in range(count):  # one by one: slices of two axes take seconds to compile
            who[next_, there + j] = who[own, j]
            for axis in range(3):
                at[next_, axis, there + j] = at[own, axis, j]
    counts[kid] = there + count


@njit(cache=True, nogil=True)
def _part(node, kids, first, ways, rows, counts, at, who, points):
    """Send each point of a link its own way; one that has none has ended."""
    count = counts[node]
    same = True
    for j in range(1, count):
        same &= ways[j] == ways[0]
    if same and ways[0] >= 0:
        _pass_on(node, kids[first + ways[0]], rows, counts, at, who)
        return
    own = rows[node]
    for j in range(count):
        i = who[own, j]
        if ways[j] < 0:
            for axis in range(3):
                points[i, axis] = at[own, axis, j]
            continue
        kid = kids[first + ways[j]]
        row, k = rows[kid], counts[kid]
        for axis in range(3):
            at[row, axis, k] = at[own, axis, j]
        who[row, k] = i
        counts[kid] = k + 1


@njit(cache=True, nogil=True)
def _tile(program, stop, waiting, room, points, hits, depths, paths):
    """Walk one tile: link by link in an order that never leads back, all points of a link at once.

    Points of one link do not wait for one another, so that the processor works on several at a time.
    """
    kinds, ints, int_at, kids, kid_at, floats, float_at, coefs = program
    at, whose, rows, counts, ways = waiting
    for node in range(kinds.size):
        count = counts[node]
        if count == 0:
            continue
        row, who = at[rows[node]], whose[rows[node]]
        x, y, z = row[0], row[1], row[2]
        kind = kinds[node]
        f, i, first = float_at[node], int_at[node], kid_at[node]
        size = float_at[node + 1] - f
        if node == stop or kind == GAP:
            for j in range(count):
                hits[who[j]] = REACHED if node == stop else IN_GAP
            _end(count, row, who, points)
        elif kind == LEAF:
            _leaf(count, floats, f, size - 2, ints[i], x, y, z, who, hits, depths)
            _end(count, row, who, points)
        elif kind == PICK:
            _pick(count, floats, f, size, row[ints[i]], who, ways, paths)
            _part(node, kids, first, ways, rows, counts, at, whose, points)
        elif kind == HALVE:
            _halve(count, floats, f, x, y, z, who, ways, paths)
            _part(node, kids, first, ways, rows, counts, at, whose, points)
        elif kind == CLIP:
            _clip(count, floats, f, x, y, z, ways)
            _part(node, kids, first, ways, rows, counts, at, whose, points)
        elif kind == DOMAIN:
            a, b = row[ints[i]], row[ints[i + 1]]
            _domain(count, floats, f, ints, i, a, b, who, ways, hits)
            _part(node, kids, first, ways, rows, counts, at, whose, points)
        else:
            if kind == AFFINE:
                _affine(count, floats, f, x, y, z)
            elif kind == PLANE:
                _plane(count, floats, f, ints, i, coefs, row[ints[i + 3]], row[ints[i + 4]], room)
            elif kind == TAPER:
                _taper(count, floats, f, size - 1, x, y, z)
            else:
                _bend(count, floats, f, size - 1, x, y)
            _pass_on(node, kids[first], rows, counts, at, whose)


@njit(cache=True, nogil=True)
def walk_band(program, stop, points, hits, depths, paths):
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
    # Room for a few points only, where only a few are asked: fresh memory takes longer than they do.
    tile = max(1, min(TILE, points.shape[0]))
    at = np.empty((links, 3, tile))
    whose = np.empty((links, tile), dtype=np.int32)
    rows = np.arange(links)
    counts = np.zeros(links, dtype=np.int64)
    waiting = (at, whose, rows, counts, np.empty(tile, dtype=np.int32))
    parts = np.empty((2, tile), dtype=np.float32)
    room = (np.empty(tile), np.empty(tile, dtype=np.int32), parts[0], parts[1])
    hits[:] = OUTSIDE
    depths[:] = 0.0
    paths[:] = 1
    for start in range(0, points.shape[0], tile):
        count = min(tile, points.shape[0] - start)
        counts[:] = 0
        counts[0] = count
        for j in range(count):
            whose[rows[0], j] = j
            for axis in range(3):
                at[rows[0], axis, j] = points[start + j, axis]
        part = slice(start, start + count)
        _tile(program, stop, waiting, room, points[part], hits[part], depths[part], paths[part])
