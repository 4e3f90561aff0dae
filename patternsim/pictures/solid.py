"""The true shape of a piece that is no plain box: outlines on its face, and the walls round them.

Outlines are followed round the steel itself: a grid finds where it ends, halving finds it exactly.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.etch.light import to_srgb
from patternsim.etch.sampling import sample_picture
from patternsim.etch.tones import steel_tones
from patternsim.fields import Program, lay_out, walk
from patternsim.pictures.plain import half_thickness
from patternsim.piece import Piece
from patternsim.shape.thinning import thinned

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
IsSteel = Callable[[Floats], Flags]

CELLS = 220
"""Cells along the longer side of a face, to look for the steel's border in."""
HALVINGS = 14
THIN_MM = 0.03
INSET_MM = 0.03
"""Walls are sampled so far inside the border."""
LEAST_CELLS = 12
"""Smaller patches of steel or holes have no outline of their own."""
_SIDES = (
    (0, 1, (0, 1), (1, 1)),
    (1, 0, (1, 1), (1, 0)),
    (0, -1, (1, 0), (0, 0)),
    (-1, 0, (0, 0), (0, 1)),
)
"""Neighbour of a cell (rows, columns), and the corners of the side towards it, steel on the left."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """A closed line round steel on the face.

    Attributes
    ----------
    points : (n, 2) float64, mm
        x and y, steel to the left; the last is the first again.
    wall : (h, w, 4) uint8
        The wall along it, evenly by its length, from the mark side down.
    """

    points: Floats
    wall: NDArray[np.uint8]


def is_box(piece: Piece) -> bool:
    """Tell whether a piece fills its box on the face: not bent, tapered, open, ragged or bulged."""
    bulged = piece.section is not None and piece.section.plane == "xy"
    return not (bulged or piece.shaped or any(piece.lips) or piece.limits is not None)


def outlines(piece: Piece, *, pixels_per_mm: float) -> tuple[Outline, ...]:
    """Return the closed lines round the steel of a piece, half way through its thickness."""
    low, high = (np.array(corner) for corner in piece.box())
    program = lay_out(piece.solid())
    level = float(low[2] + high[2]) / 2

    def is_steel(points: Floats) -> Flags:
        return walk(program, np.column_stack([points, np.full(len(points), level)])).inside

    step = float((high - low)[:2].max()) / CELLS
    # A row of cells without steel all round, and no cell on the border itself.
    x, y = (np.arange(low[k] - 1.37 * step, high[k] + 2.0 * step, step) for k in (0, 1))
    grid = np.stack(np.meshgrid(x, y), axis=-1)
    inside = is_steel(grid.reshape(-1, 2)).reshape(grid.shape[:2])
    inside[[0, -1]] = inside[:, [0, -1]] = False
    found = []
    for ring in _rings(inside):
        cells = np.array(ring)
        line = _border(grid[cells[:, 0], cells[:, 1]], grid[cells[:, 2], cells[:, 3]], is_steel)
        closed = np.concatenate([line, line[:1]])
        if _area(closed) > LEAST_CELLS * step**2:
            points = closed[thinned(closed, THIN_MM)]
            found.append(Outline(points=points, wall=_wall(piece, program, points, pixels_per_mm)))
    return tuple(found)


def _border(steel: Floats, none: Floats, is_steel: IsSteel) -> Floats:
    """Return where the steel ends between points in it and points beside it."""
    for _ in range(HALVINGS):
        middle = (steel + none) / 2
        inside = is_steel(middle)[:, None]
        steel, none = np.where(inside, middle, steel), np.where(inside, none, middle)
    return steel


def _area(closed: Floats) -> float:
    x, y = closed.T
    return float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum()) / 2


def _rings(inside: Flags) -> list[list[tuple[int, int, int, int]]]:
    """Return rings of (row, column) of steel cells and of the cells without steel beside them."""
    ways: dict[tuple[int, int], list[tuple[tuple[int, int], tuple[int, int, int, int]]]] = {}
    for down, right, first, last in _SIDES:
        beside = np.roll(inside, (-down, -right), axis=(0, 1))
        for row, column in zip(*(one.tolist() for one in np.nonzero(inside & ~beside)), strict=True):
            start = (row + first[0], column + first[1])
            end = (row + last[0], column + last[1])
            ways.setdefault(start, []).append((end, (row, column, row + down, column + right)))
    rings = []
    while ways:
        at = next(iter(ways))
        ring: list[tuple[int, int, int, int]] = []
        while at in ways:
            # Where cells meet in a corner only, the line stays with the cell it goes round.
            choices = ways[at]
            own = [k for k, (_, cells) in enumerate(choices) if ring and cells[:2] == ring[-1][:2]]
            end, cells = choices.pop(own[0] if own else 0)
            if not choices:
                del ways[at]
            ring.append(cells)
            at = end
        rings.append(ring)
    return rings


def _wall(piece: Piece, program: Program, points: Floats, pixels_per_mm: float) -> NDArray[np.uint8]:
    """Return the wall along a closed line, evenly by length, from the mark side down."""
    steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    reached = np.concatenate([[0.0], np.cumsum(lengths)])
    along, half = half_thickness(piece)
    wide = max(2, round(float(reached[-1]) * pixels_per_mm))
    high = max(2, round(2.0 * float(half.max()) * pixels_per_mm))
    inwards = np.stack([-steps[:, 1], steps[:, 0]], axis=1) / np.maximum(lengths, 1e-9)[:, None]

    def to_piece(columns: Floats, rows: Floats) -> Floats:
        at = columns / wide * reached[-1]
        k = np.clip(np.searchsorted(reached, at, side="right") - 1, 0, len(steps) - 1)
        part = ((at - reached[k]) / np.maximum(lengths[k], 1e-9))[:, None]
        place = points[k] + part * steps[k] + INSET_MM * inwards[k]
        through = np.interp(place[:, 0], along, half) - INSET_MM
        return np.column_stack([place, (1.0 - 2.0 * rows / high) * through])

    seen = sample_picture(
        program, steel_tones(program), to_piece, np.ones((high, wide), dtype=bool), fine=2
    )
    wall = np.empty((high, wide, 4), dtype=np.uint8)
    tone = to_srgb(seen.light / np.maximum(seen.cover, 1e-6)) * 255.0
    wall[..., :3] = np.round(tone)[..., None]
    wall[..., 3] = np.round(np.clip(seen.cover, 0.0, 1.0) * 255.0)
    return wall
