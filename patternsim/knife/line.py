"""The centre line: where the halves of a split meet, followed on any surface."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from patternsim.fields import lay_out, walk
from patternsim.piece import CutLine, Piece

Floats = NDArray[np.float64]
Place = Callable[[Floats, Floats], Floats]
"""(station (n,), across (n,)) -> (n, 3) mm in the piece."""

SEARCH = 65
"""Points looked at across each station before the crossing is closed in on."""
HALVINGS = 40


def cut_distance(piece: Piece, points: Floats, cut: CutLine) -> Floats:
    """Return the signed distance of points to the cut, in the block it was made in, mm.

    Parameters
    ----------
    piece : Piece
    points : (n, 3) float64, mm
    cut : CutLine
        One of the piece's.

    Returns
    -------
    (n,) float64
        NaN outside the steel and beyond the nose, where there is no cut.
    """
    steel = cut.before.child
    program = lay_out(piece.solid(), keep=(cut.halve, steel))
    hits = walk(program, points, stop=cut.halve)
    # A point may reach the cut and still lie in the notch of the wedge: the block's limits are beyond.
    there = walk(program, points, stop=steel).inside
    distance = hits.points @ cut.halve.normal - cut.halve.at
    behind = hits.points[:, 0] >= cut.nose_x if cut.down else hits.points[:, 0] <= cut.nose_x
    return np.where(hits.inside & there & behind, distance, np.nan)


def line_across(piece: Piece, place: Place, stations: Floats, *, low: float, high: float) -> Floats:
    """Return where the centre line crosses each station.

    Parameters
    ----------
    piece : Piece
        With at least one cut; the latest is followed.
    place : callable
        Leads from station and place across it to the piece.
    stations : (n,) float64
    low, high : float, mm
        Search between these places across.

    Returns
    -------
    (n,) float64, mm
        NaN where no centre line crosses.
    """
    cut = piece.cuts[-1]
    across = np.linspace(low, high, SEARCH)
    s, y = np.meshgrid(stations, across, indexing="ij")
    value = cut_distance(piece, place(s.ravel(), y.ravel()), cut).reshape(s.shape)
    changes = np.sign(value[:, :-1]) * np.sign(value[:, 1:]) <= 0
    found = changes.any(axis=1)
    first = changes.argmax(axis=1)
    a, b = across[first], across[np.minimum(first + 1, SEARCH - 1)]
    sign_a = np.sign(value[np.arange(len(stations)), first])
    for _ in range(HALVINGS):
        middle = (a + b) / 2
        same = np.sign(cut_distance(piece, place(stations, middle), cut)) == sign_a
        a, b = np.where(same, middle, a), np.where(same, b, middle)
    return np.where(found, (a + b) / 2, np.nan)
