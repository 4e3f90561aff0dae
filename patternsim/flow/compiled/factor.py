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


@njit(cache=True, nogil=True, fastmath=FAST, error_model="numpy")
def _single(panel, at, length, pad, j, kept, pivots, own):
    """Eliminate column `j`, one of the first of a front; return how many were."""
    low, here = (pad + j) // 8 * 8, at + j * length
    for k in range(j):
        there, share = at + k * length, kept[k * length + pad + j]
        for i in range(low, length):
            panel[here + i] -= panel[there + i] * share
    pivot = panel[here + pad + j]
    if _none(pivot, own[j]):
        return 0
    pivots[j] = pivot
    inverse = 1.0 / pivot
    for i in range(low, length):
        kept[j * length + i] = panel[here + i]
        panel[here + i] *= inverse
    for i in range(low, pad + j):
        panel[here + i] = 0.0
    return 1


@njit(cache=True, nogil=True, fastmath=FAST, error_model="numpy")
def _four(panel, at, length, pad, j, kept, pivots, own):
    """Eliminate columns `j` to `j + 3` of a front at once; return how many could be."""
    low, head, t = (pad + j) // 8 * 8, pad + j, j * length
    a, b, c, d = at + t, at + t + length, at + t + 2 * length, at + t + 3 * length
    # The four by four at their head first: multipliers l, pivots p.
    p0 = panel[a + head]
    l10, l20, l30 = panel[a + head + 1] / p0, panel[a + head + 2] / p0, panel[a + head + 3] / p0
    p1 = panel[b + head + 1] - panel[a + head + 1] * l10
    b2 = panel[b + head + 2] - panel[a + head + 2] * l10
    b3 = panel[b + head + 3] - panel[a + head + 3] * l10
    l21, l31 = b2 / p1, b3 / p1
    p2 = panel[c + head + 2] - panel[a + head + 2] * l20 - b2 * l21
    c3 = panel[c + head + 3] - panel[a + head + 3] * l20 - b3 * l21
    l32 = c3 / p2
    p3 = panel[d + head + 3] - panel[a + head + 3] * l30 - b3 * l31 - c3 * l32
    pivots[j], pivots[j + 1], pivots[j + 2], pivots[j + 3] = p0, p1, p2, p3
    for k in range(4):
        if _none(pivots[j + k], own[j + k]):
            return k
    q0, q1, q2, q3 = 1.0 / p0, 1.0 / p1, 1.0 / p2, 1.0 / p3
    for i in range(low, length):
        v = panel[a + i]
        w = panel[b + i] - v * l10
        x = panel[c + i] - v * l20 - w * l21
        y = panel[d + i] - v * l30 - w * l31 - x * l32
        kept[t + i] = v
        kept[t + length + i] = w
        kept[t + 2 * length + i] = x
        kept[t + 3 * length + i] = y
        panel[a + i] = v * q0
        panel[b + i] = w * q1
        panel[c + i] = x * q2
        panel[d + i] = y * q3
    for k in range(4):
        for i in range(low, head + k):
            panel[a + k * length + i] = 0.0
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
def _taken(given, place, size, goes, taken, panel, at, length, pad):
    """Add to the columns of a front what one below hands on to them."""
    wide = (size + 7) // 8 * 8
    for j in range(taken):
        base = at + goes[j] * length + pad
        column = place + j * wide
        for i in range(j, size):
            panel[base + goes[i]] += given[column + i]


@njit(cache=True, nogil=True)
def _passed(given, place, size, goes, taken, out, to, length, own):
    """Add what one below hands on past a front to what that hands on itself."""
    wide = (size + 7) // 8 * 8
    for j in range(taken, size):
        base = to + (goes[j] - own) * length - own
        column = place + j * wide
        for i in range(j, size):
            out[base + goes[i]] += given[column + i]


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
            low, high = starts[c], starts[c + 1]
            _taken(
                given,
                stacked[c],
                high - low,
                there[low:high],
                taken[c],
                panel,
                at,
                length,
                padded - width,
            )
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
            low, high = starts[c], starts[c + 1]
            _passed(given, stacked[c], high - low, there[low:high], taken[c], out, place, size, width)
            c = beside[c]
        beside[s], lowest[up[s]] = lowest[up[s]], s
    return panel, pivots, n


# --- equations -----------------------------------------------------------------------------


@njit(cache=True, nogil=True, fastmath=FAST)
def _down(panel, at, length, pad, width, held):
    """Solve with the L of one front: `held` holds what is known of it, and in the end the answers."""
    few = width % 4
    for j in range(few):
        here, value = at + j * length, held[pad + j]
        for i in range(pad + j + 1, length):
            held[i] -= panel[here + i] * value
    for j in range(few, width, 4):
        a, head = at + j * length, pad + j
        b, c, d = a + length, a + 2 * length, a + 3 * length
        v = held[head]
        w = held[head + 1] - panel[a + head + 1] * v
        x = held[head + 2] - panel[a + head + 2] * v - panel[b + head + 2] * w
        y = held[head + 3] - panel[a + head + 3] * v - panel[b + head + 3] * w - panel[c + head + 3] * x
        for i in range(head // 8 * 8, length):
            held[i] -= panel[a + i] * v + panel[b + i] * w + panel[c + i] * x + panel[d + i] * y
        held[head], held[head + 1], held[head + 2], held[head + 3] = v, w, x, y


@njit(cache=True, nogil=True, fastmath=SUMS)
def _up(panel, at, length, pad, width, known, held):
    """Solve with the transpose of one front's L for `known`.

    `held` holds the answers handed down to it and noughts before, and in the end its own answers too.
    """
    few = width % 4
    for j in range(width - 4, few - 1, -4):
        a, head = at + j * length, pad + j
        b, c, d = a + length, a + 2 * length, a + 3 * length
        v = w = x = y = 0.0
        for i in range(head // 8 * 8, length):
            v += panel[a + i] * held[i]
            w += panel[b + i] * held[i]
            x += panel[c + i] * held[i]
            y += panel[d + i] * held[i]
        y = known[j + 3] - y
        x = known[j + 2] - x - panel[c + head + 3] * y
        w = known[j + 1] - w - panel[b + head + 2] * x - panel[b + head + 3] * y
        v = known[j] - v - panel[a + head + 1] * w - panel[a + head + 2] * x - panel[a + head + 3] * y
        held[head], held[head + 1], held[head + 2], held[head + 3] = v, w, x, y
    for j in range(few - 1, -1, -1):
        here, total = at + j * length, known[j]
        for i in range(pad + j + 1, length):
            total -= panel[here + i] * held[i]
        held[pad + j] = total


@njit(cache=True, nogil=True, fastmath=FAST, error_model="numpy")
def solved(panel, pivots, right, turn, first, starts, below, columns, lengths):
    """Return the answers to the rows of `right`."""
    n, count = len(turn), len(lengths)
    answers, y = np.empty((len(right), n)), np.empty(n)
    longest = 0
    for s in range(count):
        longest = max(longest, lengths[s])
    held = np.empty(longest)
    for c in range(len(right)):
        for k in range(n):
            y[k] = right[c, turn[k]]
        for s in range(count):
            low, high, at, length = first[s], first[s + 1], columns[s], lengths[s]
            end = (high - low + 7) // 8 * 8
            pad = end - (high - low)
            for i in range(length):
                held[i] = 0.0
            for k in range(low, high):
                held[pad + k - low] = y[k]
            _down(panel, at, length, pad, high - low, held)
            for k in range(low, high):
                y[k] = held[pad + k - low]
            for q in range(starts[s], starts[s + 1]):
                y[below[q]] += held[end + q - starts[s]]
        for k in range(n):
            y[k] /= pivots[k]
        for s in range(count - 1, -1, -1):
            low, high, at, length = first[s], first[s + 1], columns[s], lengths[s]
            end = (high - low + 7) // 8 * 8
            for i in range(length):
                held[i] = 0.0
            for q in range(starts[s], starts[s + 1]):
                held[end + q - starts[s]] = y[below[q]]
            pad = end - (high - low)
            _up(panel, at, length, pad, high - low, y[low:high], held)
            for k in range(low, high):
                y[k] = held[pad + k - low]
        for k in range(n):
            answers[c, turn[k]] = y[k]
    return answers
