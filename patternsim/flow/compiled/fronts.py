"""Which unknowns are eliminated together, and what each such front hands on, compiled.

Places are gathered into fronts, a tree of them: a front eliminates its own unknowns and hands what is
left of its matrix on to the one above. The sets come from walks up the tree of elimination (Liu, SIAM J.
Matrix Anal. Appl. 11, 1990). A front is merged with the one above wherever that is judged the quicker,
though zeros are then worked out (Ashcraft and Grimes, ACM Trans. Math. Softw. 15, 1989).
Calls nothing compiled elsewhere.
"""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators, disable-error-code="call-arg"
# ruff: noqa: ANN001, ANN201, ANN202

from __future__ import annotations

import numpy as np

from patternsim.fields.compiler import njit

PER_FRONT, PER_COLUMN, PER_ENTRY, PER_PRODUCT = 400.0, 20.0, 1.0, 0.15
"""What a front takes: by itself, a column eliminated, an entry moved, a product; ns."""


# --- the tree ------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _tree(sequence, links, others, weights):
    """Return the place above each one, both as places in the sequence, and the unknowns it hands on."""
    n = len(sequence)
    rank = np.empty(n, np.int64)
    for k in range(n):
        rank[sequence[k]] = k
    above, handed, seen = np.full(n, -1), np.zeros(n, np.int64), np.empty(n, np.int64)
    for k in range(n):
        seen[k] = k
        a = sequence[k]
        for q in range(links[a], links[a + 1]):
            i = rank[others[q]]
            while i < k and seen[i] != k:
                seen[i] = k
                handed[i] += weights[a]
                if above[i] < 0:
                    above[i] = k
                i = above[i]
    return rank, above, handed


@njit(cache=True, nogil=True)
def _work(own, handed):
    """Judge what a front takes that eliminates `own` unknowns and hands on `handed`, ns."""
    front = own + handed
    products = own * handed * (handed + 1.0) / 2.0 + own * own * (handed / 2.0 + own / 6.0)
    entries = handed * (handed + 1.0) / 2.0
    return PER_FRONT + PER_COLUMN * own + PER_ENTRY * (entries + own * front) + PER_PRODUCT * products


@njit(cache=True, nogil=True)
def _merged(above, handed, own):
    """Return for each place the last one of its front; `own`, told there, becomes all its front's."""
    n = len(above)
    below = np.zeros(n, np.int64)
    for k in range(n):
        if above[k] >= 0:
            below[above[k]] += 1
    last = np.arange(n)
    for k in range(n):
        p = above[k]
        if p >= 0 and below[p] == 1 and handed[k] == handed[p] + own[p]:
            last[k] = p  # all of it is handed to the next: no zeros come in
    for k in range(n - 1, -1, -1):
        last[k] = last[last[k]]
    for k in range(n):
        if last[k] != k:
            own[last[k]] += own[k]
    lowest, beside = np.full(n, -1), np.full(n, -1)
    for p in range(n):
        if last[p] != p:
            continue
        c = lowest[p]
        while c >= 0:
            apart = _work(own[c], handed[c]) + _work(own[p], handed[p])
            if _work(own[c] + own[p], handed[p]) <= apart:
                last[c] = p
                own[p] += own[c]
            c = beside[c]
        if above[p] >= 0:
            up = last[above[p]]
            beside[p], lowest[up] = lowest[up], p
    for k in range(n - 1, -1, -1):
        last[k] = last[last[k]]
    return last


@njit(cache=True, nogil=True)
def _numbered(last, above):
    """Return each place's front and the front above each; a front comes after all below it.

    Fronts below one another follow closely, so that what is handed on can be kept on two stacks.
    """
    n = len(last)
    lowest, beside, roots = np.full(n, -1), np.full(n, -1), -1
    for k in range(n - 1, -1, -1):
        if last[k] == k:
            if above[k] < 0:
                beside[k], roots = roots, k
            else:
                up = last[above[k]]
                beside[k], lowest[up] = lowest[up], k
    number, up = np.full(n, -1), np.full(n, -1)
    way, depth, count = np.empty(n + 1, np.int64), 0, 0
    while roots >= 0:
        way[0], depth = roots, 1
        while depth > 0:
            k = way[depth - 1]
            if lowest[k] >= 0:
                way[depth], lowest[k] = lowest[k], beside[lowest[k]]
                depth += 1
            else:
                number[k] = count
                count += 1
                depth -= 1
        roots = beside[roots]
    fronts = np.empty(n, np.int64)
    for k in range(n):
        fronts[k] = number[last[k]]
        if last[k] == k and above[k] >= 0:
            up[number[k]] = number[last[above[k]]]
    return fronts, up[:count].copy()


@njit(cache=True, nogil=True)
def fronts(sequence, links, others, starts):
    """Return each place's front, the front above each, and how many unknowns it eliminates and hands on.

    Places are told by their rank in the sequence, which is returned too.
    """
    n = len(sequence)
    weights = starts[1:] - starts[:-1]
    rank, above, handed = _tree(sequence, links, others, weights)
    own = weights[sequence]
    last = _merged(above, handed, own)
    of, up = _numbered(last, above)
    sizes = np.zeros((len(up), 2), np.int64)
    for k in range(n):
        if last[k] == k:
            sizes[of[k], 0], sizes[of[k], 1] = own[k], handed[k]
    return rank, of, up, sizes


# --- what goes where -----------------------------------------------------------------------


@njit(cache=True, nogil=True)
def placed(sequence, of, starts, unknowns, late, sizes):
    """Return the unknowns in the order of elimination, front by front, the late ones last in each."""
    count = len(sizes)
    first = np.zeros(count + 1, np.int64)
    for s in range(count):
        first[s + 1] = first[s] + sizes[s, 0]
    turn = np.empty(len(unknowns), np.int64)
    filled = first[:-1].copy()
    for second in (False, True):
        for k in range(len(sequence)):
            a = sequence[k]
            for t in range(starts[a], starts[a + 1]):
                if late[unknowns[t]] == second:
                    turn[filled[of[k]]] = unknowns[t]
                    filled[of[k]] += 1
    return first, turn


@njit(cache=True, nogil=True)
def handed_on(first, turn, at, rank, of, up, sizes, links, others):
    """Return what each front hands on: starts, and the unknowns by their turn, ascending.

    `at` is the place of each unknown.
    """
    count = len(sizes)
    starts = np.zeros(count + 1, np.int64)
    for s in range(count):
        starts[s + 1] = starts[s] + sizes[s, 1]
    below, filled = np.empty(starts[count], np.int64), starts[:-1].copy()
    seen = np.full(count, -1)
    for s in range(count):
        for k in range(first[s], first[s + 1]):
            a = at[turn[k]]
            seen[s] = k
            for q in range(links[a], links[a + 1]):
                c = of[rank[others[q]]]
                while c < s and seen[c] != k:
                    seen[c] = k
                    below[filled[c]] = k
                    filled[c] += 1
                    c = up[c]
    return starts, below


@njit(cache=True, nogil=True)
def shifted(first, up, starts, below):
    """Return where in the front above what is handed on comes, and how much is eliminated there.

    What is eliminated there is counted from its first, what that hands on too from the first of these.
    """
    there, taken = np.empty(len(below), np.uint32), np.zeros(len(up), np.int64)
    for s in range(len(up)):
        p = up[s]
        if p < 0:
            continue
        t = starts[p]
        for q in range(starts[s], starts[s + 1]):
            k = below[q]
            if k < first[p + 1]:
                there[q] = k - first[p]
                taken[s] += 1
            else:
                while below[t] != k:
                    t += 1
                there[q] = t - starts[p]
    return there, taken


@njit(cache=True, nogil=True)
def room(up, sizes):
    """Return where each front's columns start and how long they are; where what it hands on is kept.

    Columns are filled up to eights: what is eliminated at the front, what is handed on at the back.
    What is handed on lies on one of two stacks, taken by turns on the way up the tree.
    """
    count = len(up)
    columns, lengths = np.zeros(count + 1, np.int64), np.zeros(count, np.int64)
    stacked, stack = np.zeros(count, np.int64), np.zeros(count, np.int8)
    for s in range(count - 1, -1, -1):
        if up[s] >= 0:
            stack[s] = 1 - stack[up[s]]
    height, most = np.zeros(2, np.int64), np.zeros(2, np.int64)
    base = np.full(count, -1)
    for s in range(count):
        own, left = (sizes[s, 0] + 7) // 8 * 8, (sizes[s, 1] + 7) // 8 * 8
        lengths[s] = own + left
        columns[s + 1] = columns[s] + lengths[s] * sizes[s, 0]
        if base[s] >= 0:
            height[1 - stack[s]] = base[s]
        which = stack[s]
        stacked[s] = height[which]
        if up[s] >= 0 and base[up[s]] < 0:
            base[up[s]] = height[which]
        height[which] += left * left
        most[which] = max(most[which], height[which])
    return columns, lengths, stacked, stack, most


@njit(cache=True, nogil=True)
def entered(pointers, rows, first, turn, starts, below, columns, lengths):
    """Return the entries of the matrix that are read and where each goes; and those on the diagonal."""
    n, count = len(turn), len(first) - 1
    when = np.empty(n, np.int64)
    for k in range(n):
        when[turn[k]] = k
    read, to, m = np.empty(len(rows), np.int64), np.empty(len(rows), np.int64), 0
    diagonal, local = np.full(n, -1), np.empty(n, np.int64)
    for s in range(count):
        own = first[s + 1] - first[s]
        pad = (own + 7) // 8 * 8 - own
        for q in range(starts[s], starts[s + 1]):
            local[below[q]] = pad + own + q - starts[s]
        for k in range(first[s], first[s + 1]):
            local[k] = pad + k - first[s]
        for k in range(first[s], first[s + 1]):
            j = turn[k]
            base = columns[s] + (k - first[s]) * lengths[s]
            for q in range(pointers[j], pointers[j + 1]):
                i = when[rows[q]]
                if i >= k:
                    read[m], to[m] = q, base + local[i]
                    m += 1
                    if i == k:
                        diagonal[k] = q
    return read[:m].copy(), to[:m].copy(), diagonal
