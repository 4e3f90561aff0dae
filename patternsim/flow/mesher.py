"""An outline filled with triangles of the sizes asked for."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from patternsim.errors import FlowError
from patternsim.flow.boundary import CORNER_DEG, Bools, Cut, bends, resampled, split_at
from patternsim.flow.compiled import meshing, triangles
from patternsim.flow.mesh import Ints, Mesh
from patternsim.flow.sizing import (
    AnySize,
    Floats,
    Rule,
    Size,
    as_size,
    capped,
    coarser_middle,
    graded,
)

__all__ = ["Size", "capped", "coarser_middle", "graded", "meshed", "remeshed"]

FACTORS = (1.0, 0.92, 1.08, 0.84, 1.17, 0.75, 0.66, 0.55, 0.45)
"""Densities tried, over the one asked for."""
ENOUGH = 3
"""When so many densities gave a fair mesh but none a good one, it lies in the outline."""
HALVINGS = 4
GOOD_SHAPE, GOOD_STRETCH = 0.3, 0.25
"""A mesh this good is taken at once."""
FAIR_SHAPE, FAIR_STRETCH = 0.02, 0.05
"""A mesh worse than this is none."""
OF_SHARPEST = 0.8
"""How near the shape has to come to that of the outline's sharpest corner, which nothing can better."""
POLYGON_CORNER_DEG = 12.0
"""Corners of an outline as given, before any flow: smaller bends are taken to stand for a round."""
LEAST_CORNER_DEG, LONG_EDGE = 1.0, 0.3
"""But not between edges this long, over the size asked for."""

SWEEPS = 5
POOR_SHAPE = 0.6
FINEST_ROWS = 32
"""How much finer than asked for the rows get beside short edges."""
FROM_RIM = 0.55
"""Nearest a point comes to the outline, in edges."""
BETWEEN = 0.72
"""Nearest points of different sizes come to one another, in edges."""


def meshed(
    curve: Floats, size: AnySize | Rule, *, least: float | None = None, keep: Bools | None = None
) -> Mesh:
    """A mesh of what a curve encloses, whichever way round it runs.

    Thin steel and tight bends get edges shorter than asked for, but none shorter than `least` for that.
    Corners in `keep` (k,) stay where they are, however little the outline turns there.
    """
    _check(curve)
    if _runs_clockwise(curve):
        curve = np.roll(curve[::-1], 1, axis=0)
        keep = None if keep is None else np.roll(keep[::-1], 1)
    plain = _plain_corners(curve, as_size(size, curve))
    mesh, _ = _filled(curve, size, POLYGON_CORNER_DEG, plain if keep is None else plain | keep, least)
    return mesh


def remeshed(
    mesh: Mesh,
    size: AnySize | Rule,
    *,
    keep: Bools | None = None,
    least: float | None = None,
    outline: Floats | None = None,
) -> tuple[Mesh, Cut]:
    """A new mesh of the same section, and where its outline's points lie on the old outline.

    `outline` (2k, 2): the old outline with some of its points put right, if it was.
    """
    curve = mesh.outline() if outline is None else outline
    return _filled(curve, size, CORNER_DEG, keep, least)


def _plain_corners(curve: Floats, rule: Size) -> Bools:
    """(k,) corners that bend little, but between edges so long that they stand for no round."""
    start = curve[0::2]
    after = np.hypot(*(np.roll(start, -1, axis=0) - start).T)
    shorter = np.minimum(after, np.roll(after, 1))
    plain: Bools = (np.abs(bends(curve)) > LEAST_CORNER_DEG) & (shorter > LONG_EDGE * rule(start))
    return plain


def _filled(
    curve: Floats, size: AnySize | Rule, corner_deg: float, keep: Bools | None, least: float | None
) -> tuple[Mesh, Cut]:
    """The first good mesh of several densities, else the best."""
    rule = as_size(size, curve)
    attainable = OF_SHARPEST * _sharpest_shape(curve)
    good, fair = min(GOOD_SHAPE, attainable), min(FAIR_SHAPE, attainable)
    best: tuple[Mesh, Cut] | None = None
    best_score = -np.inf
    fault, fairs = "", 0
    for factor in FACTORS:
        cut = resampled(curve, rule.times(factor), corner_deg=corner_deg, keep=keep, least=least)
        made = _with_halvings(curve, cut, rule.times(factor))
        if isinstance(made, str):
            fault = fault or made
            continue
        shape, stretch = made[0].quality()
        if shape >= good and stretch >= GOOD_STRETCH:
            return made
        score = min(shape / good, stretch / GOOD_STRETCH)
        if shape > fair and stretch > FAIR_STRETCH:
            fairs += 1
            if score > best_score:
                best, best_score = made, score
            if fairs == ENOUGH:
                break
    if best is None:
        raise FlowError(
            fault or "The section cannot be parted into sound triangles anywhere near as asked."
        )
    return best


def _sharpest_shape(curve: Floats) -> float:
    """The shape of a triangle with two equal sides in the sharpest corner of a curve."""
    angle = np.radians(np.clip(180.0 - bends(curve).max(), 0.0, 60.0))
    return float(np.sqrt(3.0) * np.sin(angle) / (2.0 - np.cos(angle)))


def _with_halvings(curve: Floats, cut: Cut, rule: Size) -> tuple[Mesh, Cut] | str:
    """A mesh on a cut, edges halved where they cross others or bend too much; or what failed."""
    fault = ""
    for attempt in range(HALVINGS + 1):
        made = _built(cut.curve, rule)
        if isinstance(made, Mesh):
            which = _overbent(made)
            if attempt == HALVINGS or not which.any():
                return made, cut
        else:
            which = np.zeros(len(cut.curve) // 2, dtype=np.bool_)
            which[[made - 1, made]] = True
            x, y = cut.curve[2 * made]
            fault = f"The outline touches or crosses itself at {x:.4g}, {y:.4g}."
        if attempt < HALVINGS:
            cut = split_at(curve, cut, which)
    return fault


def _runs_clockwise(curve: Floats) -> bool:
    """Whether a curve runs clockwise."""
    x, y = (curve - curve[0]).T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) < 0.0


def _check(curve: Floats) -> None:
    """Refuse what no mesh can be made of."""
    if len(curve) < 6 or not np.isfinite(curve).all():
        raise FlowError("The outline has too few points, or one that is not a number.")
    if np.ptp(curve, axis=0).min() <= 0.0:
        raise FlowError("The outline is flat.")


def _built(curve: Floats, rule: Size) -> Mesh | int:
    """A mesh with exactly this outline, or the number of the edge of it that cannot be kept."""
    rim = len(curve) // 2
    corners = curve[0::2]
    points = np.concatenate([corners, _inner_points(curve, rule)])
    # The compiled part takes points about the origin and within 1.
    middle = 0.5 * (corners.min(axis=0) + corners.max(axis=0))
    scale = float(np.ptp(corners, axis=0).max())
    unit = (points - middle) / scale
    found, beside, inside, failed = triangles.triangulated(
        np.concatenate([unit, triangles.HELPERS]), rim
    )
    if failed >= 0:
        return int(failed)
    found, beside = _only(found, beside, inside)
    if found.max(initial=0) >= len(points):
        return 0
    triangles.smoothed(unit, found, beside, rim, SWEEPS, POOR_SHAPE)
    points[rim:] = middle + scale * unit[rim:]
    room, six, loop, vertices, count = meshing.curved(
        points, found, beside, np.ascontiguousarray(curve[1::2])
    )
    nodes = room[:count].copy()
    mesh = Mesh(nodes, six, int(vertices), loop)
    if mesh.quality()[1] < GOOD_STRETCH:
        meshing.bent_along(nodes, six, loop, GOOD_STRETCH)
    return mesh


def _only(found: Ints, beside: Ints, inside: Bools) -> tuple[Ints, Ints]:
    """The triangles inside alone, renumbered; -1 stands for nothing beside."""
    number = np.append(np.cumsum(inside) - 1, -1)
    number[np.flatnonzero(~inside)] = -1
    return found[inside], number[beside[inside]]


def _overbent(mesh: Mesh) -> NDArray[np.bool_]:
    """(k,) edges of the outline that bend their triangle too much."""
    _, stretch = meshing.shapes(mesh.nodes, mesh.triangles)
    bad = np.isin(mesh.loop[1::2], mesh.triangles[stretch < GOOD_STRETCH, 3:])
    curve = mesh.outline()
    start, end = curve[0::2], np.roll(curve[0::2], -1, axis=0)
    rise = np.hypot(*(curve[1::2] - 0.5 * (start + end)).T)
    which: NDArray[np.bool_] = bad & (rise > 0.02 * np.hypot(*(end - start).T))
    return which


def _inner_points(curve: Floats, rule: Size) -> Floats:
    """Points of rows of equal-sided triangles within the curve, at the sizes asked for."""
    corners = curve[0::2]
    lengths = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    # Between an edge and the next the lengths pass over, so that a point on it takes both.
    edges = np.ascontiguousarray(np.repeat(lengths, 2))
    edges[0::2] = np.sqrt(lengths * np.roll(lengths, 1))
    low, high = curve.min(axis=0), curve.max(axis=0)
    points, sizes = _rows(curve, edges, rule, low, high)
    if len(points) == 0:
        return points
    stays = meshing.spaced(points, sizes, BETWEEN)
    inner: Floats = points[stays]
    return inner


def _rows(curve: Floats, edges: Floats, rule: Size, low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Points of the rows of all sizes, the finest first, and the sizes wanted there."""
    curve = np.ascontiguousarray(curve)
    # A side parted into a whole number of edges must not call for a finer row, nor corners that all but
    # touch for rows without end.
    edges = np.maximum(1.02 * edges, rule.finest / FINEST_ROWS)
    across, up = _fitted(high - low, rule.coarsest)
    cell = rule.coarsest
    counts = np.maximum(np.ceil((high - low) / cell).astype(np.int64), 1)
    corner = np.stack(np.meshgrid(np.arange(counts[0]), np.arange(counts[1]), indexing="ij"), -1)
    cells = low + cell * corner.reshape(-1, 2)
    points, sizes = [], []
    halvings = 0
    while len(cells):
        middles = cells + 0.5 * cell
        wanted = rule(middles)
        far = meshing.probed(middles, curve, edges, wanted)
        cells, wanted = cells[far > -0.75 * cell], wanted[far > -0.75 * cell]
        for step in (1.0, 0.5**0.5):
            spacing = 0.5**halvings * step
            near = np.abs(np.log2(wanted / (spacing * rule.coarsest))) < 0.25 + 0.45
            rows, count = meshing.rows_in_cells(
                cells[near], cell, low[0], low[1], across * spacing, up * spacing
            )
            some = rows[:count]
            size = rule(some)
            far = meshing.probed(some, curve, edges, size)
            ratio = size / (spacing * rule.coarsest)
            band = (ratio <= 1.2) & ((ratio > 0.84) | ((halvings == 0) & (step == 1.0)))
            good = band & (far > FROM_RIM * size)
            points.append(some[good])
            sizes.append(size[good])
        # Within a cell the size differs by at most the growth over its half diagonal.
        finer = cells[wanted < (0.6 + 0.36) * cell]
        cell *= 0.5
        halvings += 1
        cells = np.concatenate([finer + np.array([cell * i, cell * j]) for i in (0, 1) for j in (0, 1)])
    return np.concatenate(points[::-1]), np.concatenate(sizes[::-1])


def _fitted(extent: Floats, size: float) -> tuple[float, float]:
    """Distances across and up between rows, fitted to whole numbers of them."""
    across = extent[0] / max(round(extent[0] / size), 1)
    up = extent[1] / max(round(extent[1] / (meshing.ROW * size)), 1)
    return float(across), float(up)
