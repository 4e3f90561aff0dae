"""In which order to eliminate, compiled: places are cut into halves, with few places between them.

Nested dissection (George, SIAM J. Numer. Anal. 10, 1973) by straight cuts through the places. The places
parting two halves are the fewest that touch all links across the cut: a least cover of the links between
the two sides, found from a largest matching (König 1931; any text on graphs).
Calls nothing compiled elsewhere.
"""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators, disable-error-code="call-arg"
# ruff: noqa: ANN001, ANN201, ANN202

from __future__ import annotations

import numpy as np

from patternsim.fields.compiler import njit

HERE, THERE, BETWEEN = 1, 2, 3
"""Where a place is, at a cut; 0 while it is in no cut."""
CUTS = (0.5, 0.4, 0.6)
"""Where cuts are tried: the share of places before them."""


# --- places and their links ----------------------------------------------------------------


@njit(cache=True, nogil=True)
def gathered(places):
    """Return the number of the place of each unknown, and the first unknown of each place."""
    n = len(places)
    size = 16
    while size < 2 * n:
        size *= 2
    table = np.full(size, -1)
    at, first, count = np.empty(n, np.int64), np.empty(n, np.int64), 0
    for i in range(n):
        x, y = places[i, 0] + 0.0, places[i, 1] + 0.0  # minus nought is nought
        slot = hash((x, y)) & (size - 1)
        while True:
            k = table[slot]
            if k < 0:
                table[slot] = i
                at[i] = count
                first[count] = i
                count += 1
                break
            if places[k, 0] == x and places[k, 1] == y:
                at[i] = at[k]
                break
            slot = (slot + 1) & (size - 1)
    return at, first[:count].copy()


@njit(cache=True, nogil=True)
def linked(pointers, rows, at, count):
    """Return the unknowns of each place and the places linked to it: two pairs of starts and items."""
    n = len(at)
    starts = np.zeros(count + 1, np.int64)
    for i in range(n):
        starts[at[i] + 1] += 1
    for a in range(count):
        starts[a + 1] += starts[a]
    unknowns, filled = np.empty(n, np.int64), starts[:-1].copy()
    for i in range(n):
        unknowns[filled[at[i]]] = i
        filled[at[i]] += 1
    links, others, m = np.zeros(count + 1, np.int64), np.empty(len(rows), np.int64), 0
    seen = np.full(count, -1)
    for a in range(count):
        seen[a] = a
        for t in range(starts[a], starts[a + 1]):
            i = unknowns[t]
            for q in range(pointers[i], pointers[i + 1]):
                b = at[rows[q]]
                if seen[b] != a:
                    seen[b] = a
                    others[m] = b
                    m += 1
        links[a + 1] = m
    return starts, unknowns, links, others[:m].copy()


# --- one cut -------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _part(order, middle, key):
    """Bring the places of least key before `middle`; of equal keys the lower number is the less."""
    a, b = 0, len(order) - 1
    while a < b:
        pivot = order[(a + b) // 2]
        level = key[pivot]
        i, j = a, b
        while i <= j:
            while key[order[i]] < level or (key[order[i]] == level and order[i] < pivot):
                i += 1
            while key[order[j]] > level or (key[order[j]] == level and order[j] > pivot):
                j -= 1
            if i <= j:
                order[i], order[j] = order[j], order[i]
                i += 1
                j -= 1
        if middle <= j:
            b = j
        elif middle >= i:
            a = i
        else:
            break


@njit(cache=True, nogil=True)
def _augmented(start, links, others, side, match, seen, mark, path, turn):
    """Match `start` too if a path of links in and out of the matching allows it."""
    top = 0
    path[0], turn[0] = start, links[start]
    while top >= 0:
        a = path[top]
        if turn[top] == links[a + 1]:
            top -= 1
            continue
        b = others[turn[top]]
        turn[top] += 1
        if side[b] != THERE or seen[b] == mark:
            continue
        seen[b] = mark
        if match[b] >= 0:
            top += 1
            path[top], turn[top] = match[b], links[match[b]]
            continue
        while top >= 0:
            a = path[top]
            match[a], match[b], b = b, a, match[a]
            top -= 1


@njit(cache=True, nogil=True)
def _cover(rim, links, others, side, between, match, seen, path, turn):
    """Mark `between` a least number of places that touch all links from `rim` across the cut.

    `rim` holds the places of one side with a link to the other. `match` is -1 and `seen` 0 for all.
    """
    for a in rim:
        for q in range(links[a], links[a + 1]):
            b = others[q]
            if side[b] == THERE and match[b] < 0:
                match[a], match[b] = b, a
                break
    mark = 1
    for a in rim:
        if match[a] < 0:
            mark += 1
            _augmented(a, links, others, side, match, seen, mark, path, turn)
    # Whatever is reached from unmatched places needs its far ends; of the rest the near ends do.
    mark += 1
    top = 0
    for a in rim:
        if match[a] < 0:
            path[top] = a
            top += 1
            seen[a] = mark
    while top > 0:
        top -= 1
        a = path[top]
        for q in range(links[a], links[a + 1]):
            b = others[q]
            if side[b] == THERE and seen[b] != mark:
                seen[b] = mark
                between[b] = True
                if seen[match[b]] != mark:
                    seen[match[b]] = mark
                    path[top] = match[b]
                    top += 1
    for a in rim:
        between[a] = seen[a] != mark
    for a in rim:
        for q in range(links[a], links[a + 1]):
            b = others[q]
            if side[b] == THERE:
                match[b] = -1
                seen[b] = 0
        match[a] = -1
        seen[a] = 0


# --- all cuts ------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _parted(part, middle, links, others, side, between, match, seen, path, turn):
    """Cut a part at `middle`: tell the side of each place, and mark those between."""
    for k in range(len(part)):
        side[part[k]] = HERE if k < middle else THERE
    rim, count = np.empty(middle, np.int64), 0
    for k in range(middle):
        a = part[k]
        for q in range(links[a], links[a + 1]):
            if side[others[q]] == THERE:
                rim[count] = a
                count += 1
                break
    _cover(rim[:count], links, others, side, between, match, seen, path, turn)


@njit(cache=True, nogil=True)
def _uneven(part, side, between):
    """Judge a cut: the more places between its halves, and the less even these, the worse."""
    here = there = 0
    for a in part:
        if not between[a]:
            here += side[a] == HERE
            there += side[a] == THERE
    return (len(part) - here - there) * (1.0 + abs(here - there) / len(part))


@njit(cache=True, nogil=True)
def _keyed(part, spots, key):
    """Set the key of each place to where it lies along the longer way of a part."""
    x_least, x_most, y_least, y_most = np.inf, -np.inf, np.inf, -np.inf
    for a in part:
        x_least, x_most = min(x_least, spots[a, 0]), max(x_most, spots[a, 0])
        y_least, y_most = min(y_least, spots[a, 1]), max(y_most, spots[a, 1])
    axis = 0 if x_most - x_least >= y_most - y_least else 1
    for a in part:
        key[a] = spots[a, axis]


@njit(cache=True, nogil=True)
def dissected(spots, links, others, smallest, small):
    """Return the order in which to eliminate the places at `spots`.

    Parts of `smallest` are not cut, those of `small` in the middle only, others where it is best.
    """
    n = len(spots)
    order, held, key = np.arange(n), np.empty(n, np.int64), np.empty(n)
    side, best, between = np.zeros(n, np.int8), np.empty(n, np.int8), np.zeros(n, np.bool_)
    match, seen = np.full(n, -1), np.zeros(n, np.int64)
    path, turn = np.empty(n + 1, np.int64), np.empty(n + 1, np.int64)
    lows, highs, parts = np.empty(n + 1, np.int64), np.empty(n + 1, np.int64), 1
    lows[0], highs[0] = 0, n
    while parts > 0:
        parts -= 1
        low, high = lows[parts], highs[parts]
        if high - low <= smallest:
            continue
        part, least = order[low:high], np.inf
        _keyed(part, spots, key)
        for share in CUTS:
            if share != 0.5 and high - low <= small:
                continue
            middle = int(share * (high - low))
            _part(part, middle, key)
            _parted(part, middle, links, others, side, between, match, seen, path, turn)
            cost = _uneven(part, side, between)
            for a in part:
                if cost < least:
                    best[a] = BETWEEN if between[a] else side[a]
                side[a], between[a] = 0, False
            least = min(least, cost)
        # The first half, the second, and last what is between them.
        here = there = rest = 0
        for k in range(high - low):
            a = part[k]
            if best[a] == HERE:
                part[here] = a
                here += 1
            elif best[a] == THERE:
                held[there] = a
                there += 1
            else:
                rest += 1
                held[n - rest] = a
        for k in range(there):
            part[here + k] = held[k]
        for k in range(rest):
            part[here + there + k] = held[n - 1 - k]
        lows[parts], highs[parts] = low, low + here
        lows[parts + 1], highs[parts + 1] = low + here, low + here + there
        parts += 2
    return order


# --- what has to wait ----------------------------------------------------------------------


@njit(cache=True, nogil=True)
def held_back(at, late, sequence, links, others, share):
    """Return the places and the sequence with late unknowns parted from their place if they must wait.

    A late unknown waits until this share of the places linked to its own, and its own, are eliminated.
    """
    count = len(sequence)
    rank, after = np.empty(count, np.int64), np.full(len(at), -1)
    for k in range(count):
        rank[sequence[k]] = k
    ranks, waiting = np.empty(count, np.int64), np.zeros(count + 1, np.int64)
    extra = 0
    for i in range(len(at)):
        a = at[i]
        low, high = links[a], links[a + 1]
        if not late[i] or high == low:
            continue
        for q in range(low, high):
            k, slot = rank[others[q]], q - low
            while slot > 0 and ranks[slot - 1] > k:
                ranks[slot] = ranks[slot - 1]
                slot -= 1
            ranks[slot] = k
        k = ranks[int(np.ceil(share * (high - low))) - 1]
        if k > rank[a]:
            after[i] = k
            waiting[k + 1] += 1
            extra += 1
    for k in range(count):
        waiting[k + 1] += waiting[k]
    parted, longer = at.copy(), np.empty(count + extra, np.int64)
    filled = waiting[:-1].copy()
    for k in range(count):
        longer[k + waiting[k]] = sequence[k]
    extra = count
    for i in range(len(at)):
        k = after[i]
        if k >= 0:
            parted[i] = extra
            filled[k] += 1
            longer[k + filled[k]] = extra
            extra += 1
    return parted, longer
