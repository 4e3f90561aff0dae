"""Re-lays of steel: turning pieces and laying them together. Nothing in a forge mirrors steel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from patternsim.errors import StepError
from patternsim.fields import Pick, Rigid, moved, scaled
from patternsim.layers import Layers, layers_together
from patternsim.piece import AXES, Mark, Piece, triple
from patternsim.section import Section
from patternsim.wording import told_mm

Rotation = tuple[tuple[int, int, int], tuple[int, int, int], tuple[int, int, int]]

FIT_MM = 0.5
"""Pieces laid together may differ by this much; more leaves a step that no press closes."""

TALL: Rotation = ((0, 0, -1), (0, 1, 0), (1, 0, 0))
"""Stack on end: x' = z, y' = y, z' = -x, so that the stacking direction becomes the length."""


def quarter_turns(axis: int, quarters: int) -> Rotation:
    """Return the rotation (before from after) of a turn by `quarters` x 90 degrees about an axis.

    Positive turns are right-handed about the axis; determinant +1 always.
    """
    angle = quarters * np.pi / 2
    c, s = round(float(np.cos(angle))), round(float(np.sin(angle)))
    i, j = (axis + 1) % 3, (axis + 2) % 3
    rows = [[0, 0, 0], [0, 0, 0], [0, 0, 0]]
    rows[axis][axis] = 1
    rows[i][i], rows[i][j] = c, s
    rows[j][i], rows[j][j] = -s, c
    return (
        (rows[0][0], rows[0][1], rows[0][2]),
        (rows[1][0], rows[1][1], rows[1][2]),
        (rows[2][0], rows[2][1], rows[2][2]),
    )


def relaid(piece: Piece, rotation: Rotation, *, what: str) -> Piece:
    """Return `piece` turned by `rotation` (before from after), its own frame fixed to the bench.

    Raises
    ------
    StepError
        If a ragged end would no longer be an end of the length, or the piece is bent or tapered.
    """
    if piece.shaped:
        raise StepError(
            f"{what}: the piece is no longer a straight bar (step {piece.shaped}); it cannot be turned "
            "squarely; move this step before that one"
        )
    if piece.open_cut:
        raise StepError(f"{what}: the split stands open; close and weld it first")
    turn = np.array(rotation)
    size_after = np.abs(turn.T) @ np.array(piece.size)
    if any(piece.lips) and turn[0, 0] == 0:
        raise StepError(f"{what}: the entry end is ragged by {told_mm(max(piece.lips))}; trim it first")
    shift = np.array([piece.size[0] / 2, 0.0, 0.0]) - turn @ [size_after[0] / 2, 0.0, 0.0]
    place = (float(shift[0]), float(shift[1]), float(shift[2]))
    return replace(
        piece,
        size=(float(size_after[0]), float(size_after[1]), float(size_after[2])),
        field=Rigid(rotation=rotation, shift=place).link(piece.field),
        layers=piece.layers.turned(turn),
        section=None if piece.section is None else piece.section.turned(turn, shift),
        lips=piece.lips[::-1] if turn[0, 0] < 0 else piece.lips,
        marks=tuple(_turned(mark, turn, shift) for mark in piece.marks),
    )


def _turned(mark: Mark, turn: np.ndarray, shift: np.ndarray) -> Mark:
    at = turn.T @ (np.array(mark.at) - shift)
    return replace(mark, at=(float(at[0]), float(at[1]), float(at[2])))


def gap_measures(block: Piece, axis: int) -> dict[str, float]:
    """Return how much of the section of a stack across `axis` is gap between its pieces.

    Returns
    -------
    dict
        gap_mm2 and gap_share, its share of the section; empty where there is none.
    """
    gap = 1.0 - block.volume_mm3 / block.outlined_mm3
    if gap <= 0.0:
        return {}
    section = block.outlined_mm3 / block.size[axis]
    return {"gap_mm2": gap * section, "gap_share": gap}


def laid_together(pieces: Sequence[Piece], *, axis: int, what: str, name: str) -> Piece:
    """Lay pieces against one another along `axis`, low end first; two or more are loose till welded.

    Raises
    ------
    StepError
        If a piece is open, bent or ragged, or sizes differ by more than `FIT_MM`.
    """
    first = pieces[0]
    for number, piece in enumerate(pieces, start=1):
        _refuse_unfit(piece, first, axis=axis, what=f"{what}, piece {number}")
    pieces = _evened(pieces, axis)
    lengths = [piece.size[axis] for piece in pieces]
    borders = np.concatenate([[0.0], np.cumsum(lengths)])
    if axis != 0:
        borders -= borders[-1] / 2
    nodes, marks = [], []
    for piece, low in zip(pieces, borders[:-1], strict=True):
        middle = low if axis == 0 else low + piece.size[axis] / 2
        by = [0.0, 0.0, 0.0]
        by[axis] = -float(middle)
        nodes.append(moved(piece.outlined(gap=True), by=(by[0], by[1], by[2])))
        marks += [replace(m, at=triple(np.subtract(m.at, by))) for m in piece.marks]
    size = list(pieces[0].size)
    size[axis] = float(sum(lengths))
    return replace(
        first,
        name=name,
        size=(size[0], size[1], size[2]),
        volume_mm3=sum(piece.volume_mm3 for piece in pieces),
        density=sum(p.mass_kg for p in pieces) / sum(p.volume_mm3 for p in pieces),
        field=Pick(axis=axis, borders=borders, pieces=tuple(nodes)),
        layers=_together([piece.layers for piece in pieces], axis, what),
        section=None,
        loose=len(pieces) > 1,
        # Each line once, however many pieces were sawn from the bar it runs through.
        cuts=tuple(dict.fromkeys(cut for piece in pieces for cut in piece.cuts)),
        marks=tuple(_seen(mark, size, what) for mark in marks),
    )


def _evened(pieces: Sequence[Piece], axis: int) -> Sequence[Piece]:
    """Bring pieces that fit within `FIT_MM` to one section, each keeping its volume.

    The first squeeze does so to real steel; without it their borders would stand over.
    """
    sizes = np.array([piece.size for piece in pieces])
    if np.ptp(np.delete(sizes, axis, axis=1), axis=0).max() < 1e-9:
        return pieces
    full = np.tile(sizes.mean(axis=0), (len(pieces), 1))
    full[:, axis] = 1.0
    full[:, axis] = sizes.prod(axis=1) / full.prod(axis=1)
    ratios = sizes / full
    return [
        replace(
            piece,
            size=triple(size),
            field=scaled(piece.field, ratios=triple(ratio)),
            section=_evened_section(piece, ratio),
            marks=tuple(replace(m, at=triple(np.divide(m.at, ratio))) for m in piece.marks),
        )
        for piece, size, ratio in zip(pieces, full, ratios, strict=True)
    ]


def _evened_section(piece: Piece, ratio: np.ndarray) -> Section | None:
    if piece.section is None:
        return None
    first, second = piece.section.axes
    return piece.section.scaled((float(1 / ratio[first]), float(1 / ratio[second])))


def _seen(mark: Mark, size: Sequence[float], step_id: str) -> Mark:
    """A nick on a face that is laid against another can no longer be seen: lost in `step_id`."""
    if mark.lost_in:
        return mark
    x, y, z = mark.at
    beneath = min(x, size[0] - x, size[1] / 2 - abs(y), size[2] / 2 - abs(z))
    return replace(mark, depth_mm=0.0, lost_in=step_id) if beneath > FIT_MM else mark


def _refuse_unfit(piece: Piece, first: Piece, *, axis: int, what: str) -> None:
    if piece.loose:
        raise StepError(f"{what}: loose strips; forge-weld them first")
    if piece.open_cut:
        raise StepError(f"{what}: the split stands open; close and weld it first")
    if piece.shaped:
        raise StepError(f"{what}: no longer a straight bar (step {piece.shaped})")
    if any(piece.lips):
        raise StepError(f"{what}: an end is ragged by {told_mm(max(piece.lips))}; trim it first")
    for k in range(3):
        off = abs(piece.size[k] - first.size[k])
        if k != axis and off > FIT_MM:
            raise StepError(
                f"{what}: its {AXES[k]} is {told_mm(piece.size[k])}, the first piece's "
                f"{told_mm(first.size[k])}; they may differ by {FIT_MM} mm; "
                "draw or grind them to one size first"
            )


def _together(layers: Sequence[Layers], axis: int, what: str) -> Layers:
    together = layers_together(layers, axis)
    if together is None:
        raise StepError(
            f"{what}: the layers of the pieces do not run the same way; layers cannot be counted "
            "as n x m; turn the pieces alike"
        )
    return together
