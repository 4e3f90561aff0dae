"""Laying a field out flat, so that one compiled loop can walk it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import singledispatch
from typing import Any

import numpy as np
from numpy.typing import NDArray

from patternsim.fields import codes
from patternsim.fields.nodes import (
    PLANES,
    Affine,
    Bend,
    Clip,
    Domain,
    Floats,
    Gap,
    Halve,
    Leaf,
    Node,
    Pick,
    PlaneMap,
    Taper,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Program:
    """A field as flat arrays.

    Attributes
    ----------
    arrays : tuple of arrays
        Kinds of the links (n,); whole numbers and where each link's begin (n + 1,); the links they
        lead to and where; real numbers and where; spline coefficients of all grids. Link 0 is the
        root; no link leads to one with a smaller number.
    steels : tuple of str
        Steel of every layer, over all stacks: what a hit is an index into.
    numbers : dict
        Link number by the identity of its node.
    """

    arrays: tuple[NDArray[Any], ...]
    steels: tuple[str, ...]
    stack_starts: tuple[int, ...]
    thicknesses: Floats
    numbers: dict[int, int]
    kept: tuple[Node, ...]


FAR = 1e30
BOX_ROWS, BOX_SHRINKS = 24, 8
"""Rows on which the box within an outline is looked for; times it is made smaller until it fits."""

Laid = tuple[int, list[int], list[int], list[float]]
"""Kind of a link, its whole numbers, the links it leads to, its real numbers."""
_END: Laid = (codes.GAP, [], [], [])


class _Builder:
    """Gathers the numbers of every link once, however many ways lead to it."""

    def __init__(self, keep: frozenset[int], stop: Node | None) -> None:
        self.keep = keep
        self.stop = stop
        self.laid: list[Laid] = []
        self.coefs: list[NDArray[np.float32]] = []
        self.coef_count = 0
        self.steels: list[str] = []
        self.stack_starts: list[int] = []
        self.thicknesses: list[float] = []
        self.numbers: dict[int, int] = {}
        self.grids: dict[int, int] = {}
        self.nodes: list[Node] = []

    def add(self, node: Node) -> int:
        """Return the number of `node`, laying out first what is new beneath it: children come first.

        Without recursion, since a long job is a deeper chain than the interpreter may descend.
        """
        waiting = [node]
        while waiting:
            top = waiting[-1]
            new = [kid for kid in self.next_links(top) if id(kid) not in self.numbers]
            if id(top) in self.numbers:
                waiting.pop()
            elif new:
                waiting.extend(reversed(new))
            else:
                waiting.pop()
                laid = _END if top is self.stop else _lay(top, self)
                self.numbers[id(top)] = len(self.laid)
                self.nodes.append(top)
                self.laid.append(laid)
        return self.numbers[id(node)]

    def next_links(self, node: Node) -> tuple[Node, ...]:
        """Return the links that `node` leads to once turns and shifts in a row are one."""
        if node is self.stop:
            return ()
        return (self.merged(node)[2],) if isinstance(node, Affine) else node.children()

    def merged(self, node: Affine) -> tuple[Floats, Floats, Node]:
        """Return matrix, shift and next link of `node` with the turns and shifts that follow it.

        What may be asked for by name stays apart.
        """
        matrix, shift, child = node.matrix, node.shift, node.child
        while isinstance(child, Affine) and id(child) not in self.keep:
            shift = child.matrix @ shift + child.shift
            matrix = child.matrix @ matrix
            child = child.child
        return matrix, shift, child

    def grid_at(self, coefs: NDArray[np.float32]) -> int:
        """Return where `coefs` begin in the common array; a grid used twice is stored once."""
        known = self.grids.get(id(coefs))
        if known is None:
            known = self.coef_count
            self.grids[id(coefs)] = known
            self.coefs.append(coefs.ravel())
            self.coef_count += coefs.size
        return known


@singledispatch
def _lay(node: Node, builder: _Builder) -> Laid:
    raise TypeError(f"no layout for a link of type {type(node).__name__}")


@_lay.register
def _(node: Affine, builder: _Builder) -> Laid:
    matrix, shift, child = builder.merged(node)
    return codes.AFFINE, [], [builder.add(child)], [*matrix.ravel().tolist(), *shift.tolist()]


@_lay.register
def _(node: PlaneMap, builder: _Builder) -> Laid:
    grid = node.grid
    na, nb = grid.coefs.shape[:2]
    floats = [
        grid.origin[0],
        1.0 / grid.step[0],
        grid.origin[1],
        1.0 / grid.step[1],
        1.0 / grid.grading if grid.grading else 0.0,
        *node.within[0],
        *node.within[1],
    ]
    ints = [na, nb, builder.grid_at(grid.coefs), *PLANES[node.plane]]
    return codes.PLANE, ints, [builder.add(node.child)], floats


@_lay.register
def _(node: Pick, builder: _Builder) -> Laid:
    kids = [builder.add(piece) for piece in node.pieces]
    return codes.PICK, [node.axis], kids, node.borders.tolist()


@_lay.register
def _(node: Halve, builder: _Builder) -> Laid:
    kids = [builder.add(node.low), builder.add(node.high)]
    return codes.HALVE, [], kids, [*node.normal.tolist(), node.at]


@_lay.register
def _(node: Clip, builder: _Builder) -> Laid:
    return codes.CLIP, [], [builder.add(node.child)], [*node.low.tolist(), *node.high.tolist()]


@_lay.register
def _(node: Domain, builder: _Builder) -> Laid:
    if node.laid is None:  # asked of the same outline again and again
        node.laid = (_in_rows(node.polygon), _box_within(node.polygon))
    (low, per, starts, edges), box = node.laid
    beyond = codes.IN_GAP if node.gap else codes.OUTSIDE
    ints = [*PLANES[node.plane], len(starts) - 1, beyond, *starts]
    floats = [low, per, *box, *edges.ravel().tolist()]
    return codes.DOMAIN, ints, [builder.add(node.child)], floats


def _box_within(polygon: Floats) -> tuple[float, float, float, float]:
    """Return a large box no edge of a polygon comes into: (a low, a high, b low, b high); empty if none.

    Looked for on even rows, whose steel reaches from one crossing to the other; edges are what decides.
    """
    ends = np.roll(polygon, -1, axis=0)
    low, high = polygon.min(axis=0), polygon.max(axis=0)
    rows = low[1] + (np.arange(BOX_ROWS) + 0.5) / BOX_ROWS * (high[1] - low[1])
    crossing = (polygon[:, 1] <= rows[:, None]) != (ends[:, 1] <= rows[:, None])
    run = np.where(crossing, ends[:, 1] - polygon[:, 1], 1.0)
    at = polygon[:, 0] + (rows[:, None] - polygon[:, 1]) / run * (ends[:, 0] - polygon[:, 0])
    one = crossing.sum(axis=1) == 2
    left = np.where(one, np.where(crossing, at, np.inf).min(axis=1), FAR)
    right = np.where(one, np.where(crossing, at, -np.inf).max(axis=1), -FAR)
    best, found = 0.0, (1.0, 0.0, 1.0, 0.0)
    for first in range(BOX_ROWS):
        widths = np.minimum.accumulate(right[first:]) - np.maximum.accumulate(left[first:])
        areas = widths * (rows[first:] - rows[first])
        last = int(areas.argmax())
        if areas[last] > best:
            a0, a1 = (
                float(left[first : first + last + 1].max()),
                float(right[first : first + last + 1].min()),
            )
            best, found = float(areas[last]), (a0, a1, float(rows[first]), float(rows[first + last]))
    for _ in range(BOX_SHRINKS):
        a0, a1, b0, b1 = found
        beside = np.maximum(polygon[:, 0], ends[:, 0]) <= a0
        beside |= np.minimum(polygon[:, 0], ends[:, 0]) >= a1
        beside |= np.maximum(polygon[:, 1], ends[:, 1]) <= b0
        beside |= np.minimum(polygon[:, 1], ends[:, 1]) >= b1
        if beside.all():
            return found
        da, db = 0.02 * (a1 - a0), 0.02 * (b1 - b0)
        found = (a0 + da, a1 - da, b0 + db, b1 - db)
    return 1.0, 0.0, 1.0, 0.0


def _in_rows(polygon: Floats) -> tuple[float, float, list[int], Floats]:
    """Sort the edges of a polygon into even rows: few are to be looked at for a point.

    Returns
    -------
    (low, per mm, starts, edges)
        Row of a point: (b - low) * per. Edges (a0, b0, a1, b1) of row r: starts[r] to starts[r + 1].
    """
    edges = np.concatenate([polygon, np.roll(polygon, -1, axis=0)], axis=1)
    rows = max(len(polygon), 8)
    low, high = float(polygon[:, 1].min()), float(polygon[:, 1].max())
    per = rows / (high - low)
    first = np.clip((np.minimum(edges[:, 1], edges[:, 3]) - low) * per - 1e-9, 0, rows - 1).astype(int)
    last = np.clip((np.maximum(edges[:, 1], edges[:, 3]) - low) * per + 1e-9, 0, rows - 1).astype(int)
    # An edge once for every row it reaches through, row by row.
    many = last - first + 1
    edge = np.repeat(np.arange(len(edges)), many)
    row = first[edge] + np.arange(len(edge)) - np.repeat(np.cumsum(many) - many, many)
    order = np.argsort(row, kind="stable")
    starts = np.searchsorted(row[order], np.arange(rows + 1)).tolist()
    chosen = edges[edge[order]]
    return low, per, starts, chosen


@_lay.register
def _(node: Leaf, builder: _Builder) -> Laid:
    first = len(builder.steels)
    builder.stack_starts.append(first)
    builder.steels.extend(node.steels)
    builder.thicknesses.extend(np.diff(node.edges).tolist())
    return codes.LEAF, [first], [], [node.length, node.width / 2, *node.edges.tolist()]


@_lay.register
def _(node: Taper, builder: _Builder) -> Laid:
    floats = [1.0 / node.step, *node.table.ravel().tolist()]
    return codes.TAPER, [], [builder.add(node.child)], floats


@_lay.register
def _(node: Bend, builder: _Builder) -> Laid:
    floats = [node.step, *node.table.ravel().tolist()]
    return codes.BEND, [], [builder.add(node.child)], floats


@_lay.register
def _(node: Gap, builder: _Builder) -> Laid:
    return codes.GAP, [], [], []


def _joined(parts: list[list[Any]], dtype: type) -> tuple[NDArray[Any], NDArray[np.int64]]:
    """All parts one after another (never empty), and where each begins, with the end."""
    starts = np.cumsum([0, *(len(part) for part in parts)]).astype(np.int64)
    values = [value for part in parts for value in part] or [0]
    return np.array(values, dtype=dtype), starts


def lay_out(root: Node, *, keep: tuple[Node, ...] = (), stop: Node | None = None) -> Program:
    """Lay out the field that starts at `root`.

    Parameters
    ----------
    root : Node
        Where every walk starts.
    keep : tuple of Node
        Links a walk may be asked to stop at; they are not merged with their neighbours.
    stop : Node, optional
        Link every walk will be asked to stop at: nothing beyond it is laid out.
    """
    kept = keep if stop is None else (*keep, stop)
    builder = _Builder(frozenset(id(node) for node in kept), stop)
    builder.add(root)
    # Children were laid first; counted from the other end no link leads back.
    last = len(builder.laid) - 1
    laid = builder.laid[::-1]
    ints, int_at = _joined([part[1] for part in laid], np.int64)
    kids, kid_at = _joined([[last - kid for kid in part[2]] for part in laid], np.int64)
    floats, float_at = _joined([part[3] for part in laid], np.float64)
    coefs = np.concatenate(builder.coefs or [np.zeros(1, dtype=np.float32)])
    kinds = np.array([part[0] for part in laid], dtype=np.int64)
    return Program(
        arrays=(kinds, ints, int_at, kids, kid_at, floats, float_at, coefs),
        steels=tuple(builder.steels),
        stack_starts=tuple(builder.stack_starts),
        thicknesses=np.array(builder.thicknesses, dtype=np.float64),
        numbers={key: last - number for key, number in builder.numbers.items()},
        kept=tuple(builder.nodes),
    )
