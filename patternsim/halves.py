"""The halves of a split as the flow leaves them: standing open, and pressed shut.

A half lies in a frame of its own: height above the floor the wedge comes down to, distance from the cut.
A cut that leans is worked in a frame skewed with it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from patternsim.fields import Affine, Clip, Domain, Halve, Node, PlaneMap, moved
from patternsim.piece import HAIR_MM, CutLine, Parted, Piece, Triple
from patternsim.section import Section, area_of, as_curve, cut_along, grown, rectangle
from patternsim.wedge import Wedge

if TYPE_CHECKING:
    from patternsim.press.parting import Half, Halves

Floats = NDArray[np.float64]

ON_CUT = 0.004
"""Points of a shut half this near to the cut lie on it, over the width of the block."""
EYE_MM = 0.03
"""A hole beside the cut narrower than twice this is rounding, not an eye."""
FAR_MM = 1e6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plane:
    """A cut: normal @ p = at, the wedge running `down` towards x = 0 or up towards `length`."""

    normal: Floats
    at: float
    down: bool
    length: float

    def into(self, sign: float) -> tuple[Floats, Floats]:
        """Return what leads from the block to (height, distance, z) of a half: matrix and shift."""
        along, start = (1.0, 0.0) if self.down else (-1.0, self.length)
        matrix = np.array([[along, 0.0, 0.0], sign * self.normal, [0.0, 0.0, 1.0]])
        return matrix, np.array([start, -sign * self.at, 0.0])

    def to_block(self, sign: float, points: Floats) -> Floats:
        """Return (x, y) in the block, at z = 0, of points (distance, height) of a half."""
        matrix, shift = self.into(sign)
        full = np.stack([points[:, 1], points[:, 0], np.zeros(len(points))], axis=1)
        block: Floats = ((full - shift) @ np.linalg.inv(matrix).T)[:, :2]
        return block


def half_outlines(piece: Piece, cut: Plane) -> tuple[Floats, Floats]:
    """Return the outlines of both halves before the split, over (distance, height), as curves."""
    length, width, _ = piece.size
    outline = piece.section
    if outline is None or outline.plane != "xy":
        outline = rectangle("xy", (0.0, -width / 2), (length, width / 2))
    points = outline.polygon()
    found = []
    for sign in (-1.0, 1.0):
        matrix, shift = cut.into(sign)
        full = np.concatenate([points, np.zeros((len(points), 1))], axis=1) @ matrix.T + shift
        half = cut_along(full[:, [1, 0]], 0, 0.0, keep_above=True)
        found.append(as_curve(half if area_of(half) > 0.0 else half[::-1]))
    return found[0], found[1]


def standing_open(piece: Piece, cut: Plane, halves: Halves, wedge: Wedge) -> Piece:
    """Return the split block with its halves as the wedge left them."""
    inner = Clip(piece.outlined(), low=(-HAIR_MM, -FAR_MM, -FAR_MM), high=(
        piece.size[0] + HAIR_MM, FAR_MM, FAR_MM))  # fmt: skip
    nodes = [_open_node(inner, cut, sign, half, curve) for sign, half, curve in _sides(halves, wedge)]
    halve = Halve(normal=cut.normal, at=cut.at, low=nodes[0], high=nodes[1])
    spread = np.concatenate([cut.to_block(s, half.outline) for s, half, _ in _sides(halves, wedge)])
    first, last = spread.min(axis=0), spread.max(axis=0)
    thick = piece.size[2] / 2
    low: Triple = (float(first[0]), float(first[1]), -thick)
    high: Triple = (float(last[0]), float(last[1]), thick)
    web = halves.low.web
    line = CutLine(
        halve=halve, before=inner, nose_x=web if cut.down else cut.length - web, down=cut.down
    )
    return replace(
        piece,
        field=halve,
        section=None,
        limits=(*low, *high),
        open_cut=True,
        cuts=(*piece.cuts, line),
        marks=piece.carried(halve, lambda before: before, within=(low, high)),
        parted=Parted(block=piece, wedge=wedge),
    )


def pressed_shut(piece: Piece, halves: Halves) -> Piece:
    """Return an open split with its halves pressed shut; `halves` are worked out."""
    parted, open_cut = piece.parted, piece.cuts[-1]
    if parted is None:
        raise ValueError("this split was not worked out")
    block, wedge = parted.block, parted.wedge
    cut = Plane(
        normal=open_cut.halve.normal, at=open_cut.halve.at, down=open_cut.down, length=block.size[0]
    )
    nodes = [
        _shut_node(open_cut.before, cut, sign, half, curve, wedge.width)
        for sign, half, curve in _sides(halves, wedge)
    ]
    halve = Halve(normal=cut.normal, at=cut.at, low=nodes[0], high=nodes[1])
    paths = [_outer_path(half.outline, wedge.width) for _, half, _ in _sides(halves, wedge)]
    outline = np.concatenate([cut.to_block(-1.0, paths[0])[::-1], cut.to_block(1.0, paths[1])[1:-1]])
    if area_of(outline) < 0.0:
        outline = outline[::-1]
    (x0, y0), (x1, y1) = outline.min(axis=0), outline.max(axis=0)
    nominal = area_of(outline) / float(y1 - y0)
    lip = float(x1 - x0) - nominal
    notch_at = min(float(path[-1, 1]) for path in paths)
    floor = min(float(path[:, 1].min()) for path in paths)
    origin = (float(x0) if cut.down else float(x1) - nominal, float(y0 + y1) / 2, 0.0)
    web = 0.0 if wedge.leave <= 0.0 else halves.low.web
    line = CutLine(
        halve=halve,
        before=open_cut.before,
        nose_x=web if cut.down else cut.length - web,
        down=cut.down,
    )
    size = (nominal, float(y1 - y0), block.size[2])
    lips = (0.0, lip) if cut.down else (lip, 0.0)
    field = moved(halve, by=origin)
    box = ((-lips[0], -size[1] / 2, -size[2] / 2), (size[0] + lips[1], size[1] / 2, size[2] / 2))
    return replace(
        block,
        name=piece.name,
        size=size,
        field=field,
        section=Section(plane="xy", curve=as_curve(outline - np.array(origin[:2]))),
        lips=lips,
        notch_mm=max(nominal - (notch_at - floor), 0.0),
        cuts=(*piece.cuts[:-1], line),
        marks=block.carried(field, lambda before: before, within=box),
        open_cut=False,
        parted=None,
        limits=None,
    )


def _sides(halves: Halves, wedge: Wedge) -> tuple[tuple[float, Half, Floats], ...]:
    return (-1.0, halves.low, wedge.low), (1.0, halves.high, wedge.high)


def _limits(curve: Floats) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the limits of a half before the split, along its distance and its height."""
    return (0.0, float(curve[:, 0].max())), (float(curve[:, 1].min()), float(curve[:, 1].max()))


def _open_node(inner: Node, cut: Plane, sign: float, half: Half, curve: Floats) -> Node:
    matrix, shift = cut.into(sign)
    swap = np.array([[0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    matrix, shift = swap @ matrix, swap @ shift
    back = np.linalg.inv(matrix)
    distance, height = _limits(curve)
    flow = PlaneMap(
        Affine(inner, matrix=back, shift=-back @ shift),
        plane="xy",
        grid=half.grid,
        within=(distance, height),
    )
    there = Domain(flow, plane="xy", polygon=grown(half.outline, HAIR_MM))
    return Affine(there, matrix=matrix, shift=shift)


def _shut_node(inner: Node, cut: Plane, sign: float, half: Half, curve: Floats, width: float) -> Node:
    matrix, shift = cut.into(sign)
    back = np.linalg.inv(matrix)
    distance, height = _limits(curve)
    flow = PlaneMap(
        Affine(inner, matrix=back, shift=-back @ shift),
        plane="xy",
        grid=half.grid,
        within=(height, distance),
    )
    # What the nose left open beside the cut stays a hole; the outside is the outline's business: of a
    # cut that leans through the thickness the halves are not equally wide at both faces.
    polygon = _without_outside(half.outline, width)[::-1, ::-1]
    there = Domain(flow, plane="xy", polygon=grown(polygon, EYE_MM), gap=True)
    return Affine(there, matrix=matrix, shift=shift)


def _without_outside(outline: Floats, width: float) -> Floats:
    """Return a shut half's outline along the cut alone, closed far outside."""
    first, last = _ends_on_cut(outline, width)
    count = (first - last) % len(outline)
    along = outline[(last + np.arange(count + 1)) % len(outline)]
    (low, high), far = (along[-1, 1], along[0, 1]), 10.0 * width
    beyond = np.array([[0.0, low - far], [far, low - far], [far, high + far], [0.0, high + far]])
    return np.concatenate([along, beyond])


def _outer_path(outline: Floats, width: float) -> Floats:
    """Return a shut half's outline from the cut at the floor round to the cut at the notch."""
    first, last = _ends_on_cut(outline, width)
    count = (last - first) % len(outline)
    path: Floats = outline[(first + np.arange(count + 1)) % len(outline)].copy()
    path[[0, -1], 0] = 0.0
    path[:, 0] = np.maximum(path[:, 0], 0.0)
    return path


def _ends_on_cut(outline: Floats, width: float) -> tuple[int, int]:
    """Return which points of a shut half's outline meet the cut: at the floor and at the notch."""
    near = np.flatnonzero(outline[:, 0] < ON_CUT * width)
    return int(near[outline[near, 1].argmin()]), int(near[outline[near, 1].argmax()])
