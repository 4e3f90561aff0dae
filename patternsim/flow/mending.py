"""Borders put right before they are meshed: traces of folds that the elements cannot carry."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.boundary import CORNER_DEG, bends

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

SLIVER = 0.15
"""Width over the finest element of a slit that counts as shut: its faces would only curl."""
LAP, LAP_POINTS = 4.0, 16
"""Longest way round a lap that is bridged, over the finest element, and in points of the border."""
OFF_CENTRE = 0.15
"""How far the middle of an edge may lie from its middle, over its chord; at 0.25 it folds."""
DENT = 0.06
"""Depth over the finest element of a dent that is ironed out: a trace of steel folded onto a tool."""


def mend(border: Floats, finest: float, fixed: Bools | None = None) -> None:
    """Bridge laps and iron out dents of a closed quadratic border (2k, 2), in place.

    Points keep their places in the order, so that what lies on the old border can still be carried over.
    Left alone such places curl on the scale of a few points and spoil the mesh.

    Parameters
    ----------
    finest : float
        Finest element.
    fixed : (2k,) bool or None
        Points that must not move.
    """
    fixed = np.zeros(len(border), dtype=bool) if fixed is None else fixed
    _centre(border, fixed)
    _close_laps(border, fixed, SLIVER * finest, LAP * finest)
    _iron(border, fixed, finest, DENT * finest)


def _close_laps(border: Floats, fixed: Bools, narrow: float, long: float) -> None:
    """Bridge every slit with a mouth under `narrow` and a way round under `long`, the longest first."""
    for _ in range(len(border)):
        lap = _longest_lap(border, fixed, narrow, long)
        if lap is None:
            return
        start, many = lap
        inner = (start + np.arange(1, many)) % len(border)
        share = np.arange(1, many)[:, None] / many
        end = border[(start + many) % len(border)]
        border[inner] = border[start] + share * (end - border[start])


def _centre(border: Floats, fixed: Bools) -> None:
    """Bring middles of edges that lie near an end of their edge back: such an edge folds over itself."""
    start, end = border[0::2], np.roll(border[0::2], -1, axis=0)
    chord = end - start
    length = np.maximum((chord**2).sum(axis=1), 1e-300)
    along = ((border[1::2] - start) * chord).sum(axis=1) / length
    held = np.clip(along, 0.5 - OFF_CENTRE, 0.5 + OFF_CENTRE)
    move = np.where(fixed[1::2], 0.0, held - along)
    border[1::2] += move[:, None] * chord


def _longest_lap(border: Floats, fixed: Bools, narrow: float, long: float) -> tuple[int, int] | None:
    """Return where a slit begins and how many points its way round has."""
    count = len(border)
    step = np.linalg.norm(np.roll(border, -1, axis=0) - border, axis=1)
    steps = np.concatenate([[0.0], np.cumsum(np.concatenate([step, step]))])
    held = np.concatenate([[0], np.cumsum(np.concatenate([fixed, fixed]))])
    index = np.arange(count)
    for many in range(min(LAP_POINTS, count // 3) - 1, 1, -1):
        way = steps[index + many] - steps[index]
        mouth = np.linalg.norm(np.roll(border, -many, axis=0) - border, axis=1)
        free = held[index + many] - held[index + 1] == 0
        found = np.nonzero((mouth < narrow) & (way > 3.0 * mouth) & (way < long) & free)[0]
        if len(found):
            return int(found[0]), many
    return None


def _iron(border: Floats, fixed: NDArray[np.bool_], reach: float, shallow: float) -> None:
    """Straighten the border about sharp corners that are no more than dents less deep than `shallow`."""
    count = len(border)
    sharp = 2 * np.nonzero(np.abs(bends(border)) > CORNER_DEG)[0]
    for corner in sharp:
        low, high = corner, corner
        for side in (-1, 1):
            way, at = 0.0, corner
            while way < reach and abs(at - corner) < count // 4:
                way += float(np.hypot(*(border[(at + side) % count] - border[at % count])))
                at += side
            low, high = (at, high) if side < 0 else (low, at)
        inner = np.arange(low + 1, high) % count
        start, end = border[low % count], border[high % count]
        chord = end - start
        length = float(np.hypot(*chord))
        if length < reach or fixed[inner].any():
            continue
        off = border[inner] - start
        if np.abs(off[:, 0] * chord[1] - off[:, 1] * chord[0]).max() < shallow * length:
            # By length, not evenly: on a border as it was sawn or ground an edge may be twenty elements
            # long, and its neighbours must not be drawn along it.
            around = np.concatenate([[start], border[inner], [end]])
            steps = np.cumsum(np.linalg.norm(np.diff(around, axis=0), axis=1))
            border[inner] = start + (steps[:-1] / steps[-1])[:, None] * chord
