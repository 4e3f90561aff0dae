"""A sparse symmetric matrix parted into L D L', front by front, and equations solved with it, compiled.

Multifrontal elimination (Duff and Reid, ACM Trans. Math. Softw. 9, 1983), each front dense, with nothing
exchanged on the way. Columns are stored one after another; each starts and ends on whole eights, the
unknowns eliminated at the end of the first eights and those handed on at the start of the others, so
that all sums run over eights. Above the diagonal the columns of L hold noughts; what lies there in a
matrix handed on means nothing.
Calls nothing compiled elsewhere.
"""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators, disable-error-code="call-arg"
# ruff: noqa: ANN001, ANN201, ANN202

from __future__ import annotations

import numpy as np

from patternsim.fields.compiler import intrinsic, ir, njit, types

FUSED = ("contract",)
FAST = {*FUSED}
"""Products and sums may be done at once; nothing else is allowed to change a digit."""
SUMS = {"contract", "reassoc"}
"""And here sums along a column may be taken in parts: always the same parts."""
LEAST = 1e-14
"""A pivot smaller than this share of the diagonal it came from is nothing but rounding."""


INDEX, SHORT, EIGHT = ir.IntType(64), ir.IntType(32), ir.VectorType(ir.DoubleType(), 8)


# --- the innermost sum ---------------------------------------------------------------------


def _each(builder, scalar):
    """Write eight times the same number."""
    one = builder.insert_element(ir.Constant(EIGHT, ir.Undefined), scalar, SHORT(0))
    return builder.shuffle_vector(one, one, ir.Constant(ir.VectorType(SHORT, 8), [0] * 8))


def _eight(builder, array, place):
    """Write where eight numbers of an array begin."""
    return builder.bitcast(builder.gep(array, [place]), EIGHT.as_pointer())


def _products(builder, left, row, right, column, step, count):
    """Write the sum over `count` columns of 8 rows of `left` by 4 numbers of `right`, in registers."""
    start, nought = builder.block, ir.Constant(EIGHT, [0.0] * 8)
    loop, end = builder.append_basic_block("sum"), builder.append_basic_block("summed")
    builder.cbranch(builder.icmp_signed(">", count, INDEX(0)), loop, end)
    builder.position_at_end(loop)
    k, offset = builder.phi(INDEX), builder.phi(INDEX)
    sums = [builder.phi(EIGHT) for _ in range(4)]
    rows = builder.load(_eight(builder, left, builder.add(row, offset)), align=8)
    numbers = builder.gep(right, [builder.add(column, offset)])
    after = []
    for j in range(4):
        number = _each(builder, builder.load(builder.gep(numbers, [INDEX(j)])))
        product = builder.fmul(rows, number, flags=FUSED)
        after.append(builder.fadd(sums[j], product, flags=FUSED))
    k_after, offset_after = builder.add(k, INDEX(1)), builder.add(offset, step)
    following = [k_after, offset_after, *after]
    for phi, then in zip((k, offset, *sums), following, strict=True):
        phi.add_incoming(nought if phi in sums else INDEX(0), start)
        phi.add_incoming(then, loop)
    builder.cbranch(builder.icmp_signed("<", k_after, count), loop, end)
    builder.position_at_end(end)
    totals = [builder.phi(EIGHT) for _ in range(4)]
    for total, one in zip(totals, after, strict=True):
        total.add_incoming(nought, start)
        total.add_incoming(one, loop)
    return totals


def _eights(fresh):
    """Return the innermost sum: 8 rows of 4 columns of `out`, less the products of `count` columns.

    The rows are those of `left` from `row`, the columns the rows of `right` from `column`; in both,
    columns are `step` long. `fresh`: nothing was in `out` before.
    """

    @intrinsic
    def less(typing, out, at, length, left, row, right, column, step, count):
        whole, array = types.int64, types.Array(types.float64, 1, "C")
        found = types.void(array, whole, whole, array, whole, array, whole, whole, whole)

        def generate(context, builder, signature, args):
            _, at, length, _, row, _, column, step, count = args
            out, left, right = (
                context.make_array(signature.args[k])(context, builder, args[k]).data for k in (0, 3, 5)
            )
            totals = _products(builder, left, row, right, column, step, count)
            for j in range(4):
                goal = _eight(builder, out, builder.add(at, builder.mul(length, INDEX(j))))
                before = ir.Constant(EIGHT, [0.0] * 8) if fresh else builder.load(goal, align=8)
                builder.store(builder.fsub(before, totals[j], flags=FUSED), goal, align=8)
            return context.get_dummy_value()

        return found, generate

    return less


_less = _eights(fresh=False)
_minus = _eights(fresh=True)


# --- one front -----------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _none(pivot, own):
    """Whether a pivot is none: nought, mere rounding of the diagonal it came from, or not a number."""
    return not LEAST * abs(own) < abs(pivot) < np.inf


@njit(cache=True, nogil=True)
def _columns(panel, at, length, rows):
    """Return `rows` rows of four columns, so that loops over them run over several at once."""
    b, c, d = at + length, at + 2 * length, at + 3 * length
    return panel[at : at + rows], panel[b : b + rows], panel[c : c + rows], panel[d : d + rows]


@njit(cache=True, nogil=True, fastmath=FAST, error_model="numpy")
def _single(panel, at, length, pad, j, kept, pivots, own):
    """Eliminate column `j`, one of the first of a front; return how many were."""
    low, t = (pad + j) // 8 * 8, j * length
    column, scaled = panel[at + t + low : at + t + length], kept[t + low : t + length]
    for k in range(j):
        other, share = panel[at + k * length + low : at + (k + 1) * length], kept[k * length + pad + j]
        for i in range(len(column)):
            column[i] -= other[i] * share
    pivot = column[pad + j - low]
    if _none(pivot, own[j]):
        return 0
    pivots[j] = pivot
    inverse = 1.0 / pivot
    for i in range(len(column)):
        scaled[i] = column[i]
        column[i] *= inverse
    for i in range(pad + j - low):
        column[i] = 0.0
    return 1


@njit(cache=True, nogil=True, fastmath=FAST, error_model="numpy")
def _four(panel, at, length, pad, j, kept, pivots, own):
    """Eliminate columns `j` to `j + 3` of a front at once; return how many could be."""
    low, t = (pad + j) // 8 * 8, j * length
    head, rows = pad + j - low, length - low
    a, b, c, d = _columns(panel, at + t + low, length, rows)
    # The four by four at their head first: multipliers l, pivots p.
    p0 = a[head]
    l10, l20, l30 = a[head + 1] / p0, a[head + 2] / p0, a[head + 3] / p0
    p1 = b[head + 1] - a[head + 1] * l10
    b2 = b[head + 2] - a[head + 2] * l10
    b3 = b[head + 3] - a[head + 3] * l10
    l21, l31 = b2 / p1, b3 / p1
    p2 = c[head + 2] - a[head + 2] * l20 - b2 * l21
    c3 = c[head + 3] - a[head + 3] * l20 - b3 * l21
    l32 = c3 / p2
    p3 = d[head + 3] - a[head + 3] * l30 - b3 * l31 - c3 * l32
    pivots[j], pivots[j + 1], pivots[j + 2], pivots[j + 3] = p0, p1, p2, p3
    for k in range(4):
        if _none(pivots[j + k], own[j + k]):
            return k
    q0, q1, q2, q3 = 1.0 / p0, 1.0 / p1, 1.0 / p2, 1.0 / p3
    e, f, g, h = _columns(kept, t + low, length, rows)
    for i in range(len(a)):
        v = a[i]
        w = b[i] - v * l10
        x = c[i] - v * l20 - w * l21
        y = d[i] - v * l30 - w * l31 - x * l32
        e[i], f[i], g[i], h[i] = v, w, x, y
        a[i], b[i], c[i], d[i] = v * q0, w * q1, x * q2, y * q3
    for i in range(head):
        a[i] = b[i] = c[i] = d[i] = 0.0
    b[head] = c[head] = d[head] = c[head + 1] = d[head + 1] = d[head + 2] = 0.0
    return 4


@njit(cache=True, nogil=True, fastmath=FAST)
def _eliminated(panel, at, length, count, kept, pivots, own):
    """Eliminate the columns of a front; return how many could be.

    `kept` becomes the columns times their pivots.
    """
    pad = (count + 7) // 8 * 8 - count
    j = 0
    while j < count % 4:
        if _single(panel, at, length, pad, j, kept, pivots, own) == 0:
            return j
        j += 1
    while j < count:
        here = at + j * length
        for i in range((pad + j) // 8 * 8, length, 8):
            _less(panel, here + i, length, panel, at + i, kept, pad + j, length, j)
        done = _four(panel, at, length, pad, j, kept, pivots, own)
        j += done
        if done < 4:
            return j
    return count


@njit(cache=True, nogil=True, fastmath=FAST)
def _left(panel, at, length, count, kept, out, place):
    """Fill what a front hands on with less the products of its columns."""
    skipped = (count + 7) // 8 * 8
    size = length - skipped
    for j in range(0, size, 4):
        for i in range(j // 8 * 8, size, 8):
            _minus(
                out, place + j * size + i, size,
                panel, at + skipped + i, kept, skipped + j, length, count,
            )  # fmt: skip


@njit(cache=True, nogil=True)
def _taken(given, goes, taken, panel, at, length, own):
    """Add to the columns of a front, its `own`, what one below hands on to them."""
    size, wide = len(goes), (len(goes) + 7) // 8 * 8
    skipped = (own + 7) // 8 * 8
    for j in range(taken):
        column = given[j * wide : (j + 1) * wide]
        end = at + goes[j] * length + skipped
        eliminated, left = panel[end - own : end], panel[end : end + length - skipped]
        for i in range(j, taken):
            eliminated[goes[i]] += column[i]
        for i in range(taken, size):
            left[goes[i]] += column[i]


@njit(cache=True, nogil=True)
def _passed(given, goes, taken, out, length):
    """Add what one below hands on past a front to what that hands on itself."""
    size, wide = len(goes), (len(goes) + 7) // 8 * 8
    for j in range(taken, size):
        column = given[j * wide : (j + 1) * wide]
        left = out[goes[j] * length : (goes[j] + 1) * length]
        for i in range(j, size):
            left[goes[i]] += column[i]


# --- all fronts ----------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def factored(
    values, read, to, diagonal, first, up, starts, there, taken, columns, lengths, stacked, stack, most
):
    """Return L, front by front, and D; and how many unknowns could be eliminated, all if all is well."""
    count, n = len(up), len(diagonal)
    panel, pivots, own = np.zeros(columns[count]), np.empty(n), np.zeros(n)
    for q in range(len(read)):
        panel[to[q]] = values[read[q]]
    for k in range(n):
        if diagonal[k] >= 0:
            own[k] = values[diagonal[k]]
    stacks = (np.empty(most[0]), np.empty(most[1]))
    widest = 0
    for s in range(count):
        widest = max(widest, columns[s + 1] - columns[s])
    kept = np.empty(widest)
    lowest, beside = np.full(count, -1), np.full(count, -1)
    for s in range(count):
        width, length, at = first[s + 1] - first[s], lengths[s], columns[s]
        padded = (width + 7) // 8 * 8
        size, place = length - padded, stacked[s]
        out, given = stacks[stack[s]], stacks[1 - stack[s]]
        c = lowest[s]
        while c >= 0:
            goes = there[starts[c] : starts[c + 1]]
            _taken(given[stacked[c] :], goes, taken[c], panel, at, length, width)
            c = beside[c]
        done = _eliminated(
            panel, at, length, width, kept, pivots[first[s] : first[s + 1]], own[first[s] : first[s + 1]]
        )
        if done < width:
            return panel, pivots, first[s] + done
        if size == 0:
            continue
        _left(panel, at, length, width, kept, out, place)
        c = lowest[s]
        while c >= 0:
            goes = there[starts[c] : starts[c + 1]]
            _passed(given[stacked[c] :], goes, taken[c], out[place:], size)
            c = beside[c]
        beside[s], lowest[up[s]] = lowest[up[s]], s
    return panel, pivots, n


# --- equations -----------------------------------------------------------------------------


@njit(cache=True, nogil=True, fastmath=FAST)
def _down(panel, at, length, pad, width, held):
    """Solve with the L of one front: each row of `held` holds what is known of it, then the answers."""
    few = width % 4
    for j in range(few):
        column = panel[at + j * length + pad + j + 1 : at + (j + 1) * length]
        for k in range(len(held)):
            value, one = held[k, pad + j], held[k, pad + j + 1 : length]
            for i in range(len(column)):
                one[i] -= column[i] * value
    for j in range(few, width, 4):
        low = (pad + j) // 8 * 8
        head = pad + j - low
        a, b, c, d = _columns(panel, at + j * length + low, length, length - low)
        for k in range(len(held)):
            one = held[k, low:length]
            v = one[head]
            w = one[head + 1] - a[head + 1] * v
            x = one[head + 2] - a[head + 2] * v - b[head + 2] * w
            y = one[head + 3] - a[head + 3] * v - b[head + 3] * w - c[head + 3] * x
            for i in range(len(a)):
                one[i] -= a[i] * v + b[i] * w + c[i] * x + d[i] * y
            one[head], one[head + 1], one[head + 2], one[head + 3] = v, w, x, y


@njit(cache=True, nogil=True, fastmath=SUMS)
def _up(panel, at, length, pad, width, known, low, held):
    """Solve with the transpose of one front's L for what is `known` from `low` on.

    Each row of `held` holds the answers handed down and noughts before; then the front's own too.
    """
    few = width % 4
    for j in range(width - 4, few - 1, -4):
        start, t = (pad + j) // 8 * 8, low + j
        head = pad + j - start
        a, b, c, d = _columns(panel, at + j * length + start, length, length - start)
        for k in range(len(held)):
            one = held[k, start:length]
            v = w = x = y = 0.0
            for i in range(len(a)):
                v += a[i] * one[i]
                w += b[i] * one[i]
                x += c[i] * one[i]
                y += d[i] * one[i]
            y = known[k, t + 3] - y
            x = known[k, t + 2] - x - c[head + 3] * y
            w = known[k, t + 1] - w - b[head + 2] * x - b[head + 3] * y
            v = known[k, t] - v - a[head + 1] * w - a[head + 2] * x - a[head + 3] * y
            one[head], one[head + 1], one[head + 2], one[head + 3] = v, w, x, y
    for j in range(few - 1, -1, -1):
        column = panel[at + j * length + pad + j + 1 : at + (j + 1) * length]
        for k in range(len(held)):
            total, one = 0.0, held[k, pad + j + 1 : length]
            for i in range(len(column)):
                total += column[i] * one[i]
            held[k, pad + j] = known[k, low + j] - total


@njit(cache=True, nogil=True, fastmath=FAST, error_model="numpy")
def solved(panel, pivots, right, turn, first, starts, below, columns, lengths):
    """Return the answers to the rows of `right`."""
    rows, n, count, longest = len(right), len(turn), len(lengths), 0
    for s in range(count):
        longest = max(longest, lengths[s])
    y, held, answers = np.empty((rows, n)), np.empty((rows, longest)), np.empty((rows, n))
    for c in range(rows):
        for k in range(n):
            y[c, k] = right[c, turn[k]]
    for s in range(count):
        low, high, length = first[s], first[s + 1], lengths[s]
        end = (high - low + 7) // 8 * 8
        pad = end - (high - low)
        for c in range(rows):
            for i in range(length):
                held[c, i] = 0.0
            for k in range(low, high):
                held[c, pad + k - low] = y[c, k]
        _down(panel, columns[s], length, pad, high - low, held)
        for c in range(rows):
            for k in range(low, high):
                y[c, k] = held[c, pad + k - low]
            for q in range(starts[s], starts[s + 1]):
                y[c, below[q]] += held[c, end + q - starts[s]]
    for c in range(rows):
        for k in range(n):
            y[c, k] /= pivots[k]
    for s in range(count - 1, -1, -1):
        low, high, length = first[s], first[s + 1], lengths[s]
        end = (high - low + 7) // 8 * 8
        pad = end - (high - low)
        for c in range(rows):
            for i in range(length):
                held[c, i] = 0.0
            for q in range(starts[s], starts[s + 1]):
                held[c, end + q - starts[s]] = y[c, below[q]]
        _up(panel, columns[s], length, pad, high - low, y, low, held)
        for c in range(rows):
            for k in range(low, high):
                y[c, k] = held[c, pad + k - low]
    for c in range(rows):
        for k in range(n):
            answers[c, turn[k]] = y[c, k]
    return answers
