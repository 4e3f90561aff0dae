"""Which unknowns meet in which element, compiled: the pattern of the equations of a mesh."""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
# ruff: noqa: ANN001, ANN201, ANN202

from __future__ import annotations

import numpy as np

from patternsim.fields.compiler import njit


@njit(cache=True, nogil=True)
def neighbours(triangles, nodes):
    """Return (pointers (n + 1,), items): the nodes that share an element with each node, in order."""
    heads = np.zeros(nodes + 1, np.int64)
    for e in range(triangles.shape[0]):
        for i in range(6):
            heads[triangles[e, i] + 1] += 1
    for n in range(nodes):
        heads[n + 1] += heads[n]
    around = np.empty(heads[nodes], np.int64)
    filled = heads[:-1].copy()
    for e in range(triangles.shape[0]):
        for i in range(6):
            n = triangles[e, i]
            around[filled[n]] = e
            filled[n] += 1
    pointers = np.zeros(nodes + 1, np.int64)
    items = np.empty(36 * triangles.shape[0], np.int64)
    seen = np.full(nodes, -1, np.int64)
    count = 0
    for n in range(nodes):
        start = count
        for k in range(heads[n], heads[n + 1]):
            for j in range(6):
                other = triangles[around[k], j]
                if seen[other] != n:
                    seen[other] = n
                    items[count] = other
                    count += 1
        items[start:count].sort()
        pointers[n + 1] = count
    return pointers, items[:count].copy()


@njit(cache=True, nogil=True)
def unknown_pattern(pointers, items, vertices):
    """Return (pointers, rows) by columns of the pattern of unknowns: u, v of each node, then pressures.

    Vertices come first among the nodes; each has one pressure.
    """
    nodes = len(pointers) - 1
    size = 2 * nodes + vertices
    heads = np.zeros(size + 1, np.int32)
    total = 0
    for n in range(nodes):
        corners = 0
        for k in range(pointers[n], pointers[n + 1]):
            corners += items[k] < vertices
        total += 2 * (2 * (pointers[n + 1] - pointers[n]) + corners)
        if n < vertices:
            total += 2 * (pointers[n + 1] - pointers[n]) + corners
    rows = np.empty(total, np.int32)
    count = 0
    for column in range(size):
        n = column // 2 if column < 2 * nodes else column - 2 * nodes
        for k in range(pointers[n], pointers[n + 1]):
            rows[count] = 2 * items[k]
            rows[count + 1] = 2 * items[k] + 1
            count += 2
        for k in range(pointers[n], pointers[n + 1]):
            if items[k] < vertices:
                rows[count] = 2 * nodes + items[k]
                count += 1
        heads[column + 1] = count
    return heads, rows


@njit(cache=True, nogil=True)
def _place(heads, rows, row, column):
    low, high = heads[column], heads[column + 1] - 1
    while low < high:
        middle = (low + high) // 2
        if rows[middle] < row:
            low = middle + 1
        else:
            high = middle
    return low


@njit(cache=True, nogil=True)
def element_places(triangles, nodes, vertices, pointers, items, heads):
    """Return where the entries of each element's matrix go among the values: (m, 15, 15) int32.

    `pointers` and `items` are the neighbours of the nodes, `heads` the columns of the pattern.
    """
    rank = np.empty(len(items), np.int32)
    for n in range(nodes):
        corners = 0
        for k in range(pointers[n], pointers[n + 1]):
            rank[k] = corners
            corners += items[k] < vertices
    out = np.empty((triangles.shape[0], 15, 15), np.int32)
    for e in range(triangles.shape[0]):
        for j in range(6):
            n = triangles[e, j]
            start, count = pointers[n], pointers[n + 1] - pointers[n]
            for i in range(6):
                low, high = start, start + count - 1
                row = triangles[e, i]
                while low < high:
                    middle = (low + high) // 2
                    if items[middle] < row:
                        low = middle + 1
                    else:
                        high = middle
                for c in range(2):
                    column = heads[2 * n + c]
                    out[e, 2 * i, 2 * j + c] = column + 2 * (low - start)
                    out[e, 2 * i + 1, 2 * j + c] = column + 2 * (low - start) + 1
                    if i < 3:
                        out[e, 12 + i, 2 * j + c] = column + 2 * count + rank[low]
                if j < 3:
                    column = heads[2 * nodes + n]
                    out[e, 2 * i, 12 + j] = column + 2 * (low - start)
                    out[e, 2 * i + 1, 12 + j] = column + 2 * (low - start) + 1
                    if i < 3:
                        out[e, 12 + i, 12 + j] = column + 2 * count + rank[low]
    return out


@njit(cache=True, nogil=True)
def block_places(nodes, size, heads, rows):
    """Return where the entries uu, vu, uv, vv of nodes go (n, 4), and the diagonals (size,)."""
    blocks = np.empty((nodes, 4), np.int32)
    diagonal = np.empty(size, np.int32)
    for n in range(nodes):
        blocks[n, 0] = _place(heads, rows, 2 * n, 2 * n)
        blocks[n, 1] = _place(heads, rows, 2 * n + 1, 2 * n)
        blocks[n, 2] = _place(heads, rows, 2 * n, 2 * n + 1)
        blocks[n, 3] = _place(heads, rows, 2 * n + 1, 2 * n + 1)
    for k in range(size):
        diagonal[k] = _place(heads, rows, k, k)
    return blocks, diagonal
