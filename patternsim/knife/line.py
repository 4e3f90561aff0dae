"""The centre line: where the halves of a split meet, followed on any surface."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from patternsim.fields import lay_out, walk
from patternsim.piece import CutLine, Piece

Floats = NDArray[np.float64]
Place = Callable[[Floats, Floats], Floats]
"""(station (n,), across (n,)) -> (n, 3) mm in the piece."""

Distance = Callable[[Floats], Floats]
"""(n, 3) mm in the piece -> (n,) signed distance to the cut, mm."""

SEARCH = 65
"""Points looked at across each station before the crossing is closed in on."""
CLOSE_MM = 1e-10
"""A crossing is closed in on to this."""
KEPT = 8
"""Fields kept laid out: while a blade is laid by hand the same piece is asked again and again."""
ROUNDS = 60
"""More than halving alone would take, a few of which are spent for good measure."""


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
    return _asked(piece, cut)(points)


@lru_cache(maxsize=KEPT)
def _asked(piece: Piece, cut: CutLine) -> Distance:
    """Return `cut_distance` for one piece and cut, its field laid out once for all questions."""
    steel = cut.before.child
    to_cut, to_block = lay_out(piece.solid(), stop=cut.halve), lay_out(cut.halve, stop=steel)

    def distance(points: Floats) -> Floats:
        hits = walk(to_cut, points, stop=cut.halve)
        # A point may reach the cut and still lie in the notch of the wedge: the block's limits are
        # beyond.
        there = walk(to_block, hits.points, stop=steel).inside
        away = hits.points @ cut.halve.normal - cut.halve.at
        behind = hits.points[:, 0] >= cut.nose_x if cut.down else hits.points[:, 0] <= cut.nose_x
        return np.where(hits.inside & there & behind, away, np.nan)

    return distance


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
    ask = _asked(piece, piece.cuts[-1])
    across = np.linspace(low, high, SEARCH)
    s, y = np.meshgrid(stations, across, indexing="ij")
    value = ask(place(s.ravel(), y.ravel())).reshape(s.shape)
    changes = np.sign(value[:, :-1]) * np.sign(value[:, 1:]) <= 0
    line = np.full(len(stations), np.nan)
    (found,) = np.nonzero(changes.any(axis=1))
    if found.size:
        first = changes[found].argmax(axis=1)
        there = stations[found]
        line[found] = _closed_in(
            lambda at: ask(place(there, at)),
            (across[first], across[first + 1]),
            (value[found, first], value[found, first + 1]),
        )
    return line


def _closed_in(
    ask: Callable[[Floats], Floats], ends: tuple[Floats, Floats], values: tuple[Floats, Floats]
) -> Floats:
    """Return where `ask` changes its sign between `ends` (n,), at which it has `values`.

    Chandrupatla's rule (Advances in Engineering Software 28 (1997) 145): a parabola through the last
    three places where it can be trusted, else halving; a handful of rounds where halving takes forty.
    """
    (b, a), (value_b, value_a) = ends, values
    t = np.full_like(a, 0.5)
    for _ in range(ROUNDS):
        at = a + t * (b - a)
        value = ask(at)
        # Where there is no cut counts as beyond it.
        value = np.where(np.isnan(value), -np.sign(values[0]), value)
        same = np.sign(value) == np.sign(value_a)
        c, value_c = np.where(same, a, b), np.where(same, value_a, value_b)
        b, value_b = np.where(same, b, a), np.where(same, value_b, value_a)
        a, value_a = at, value
        wide = np.abs(b - a)
        if np.all((wide < CLOSE_MM) | (value_a == 0.0) | (value_b == 0.0)):
            break
        with np.errstate(divide="ignore", invalid="ignore"):
            place, level = (a - b) / (c - b), (value_a - value_b) / (value_c - value_b)
            trusted = (level**2 < place) & ((1.0 - level) ** 2 < 1.0 - place)
            parabola = value_a / (value_b - value_a) * value_c / (value_b - value_c)
            parabola += (c - a) / (b - a) * value_a / (value_c - value_a) * value_b / (value_c - value_b)
        least = np.minimum(0.5 * CLOSE_MM / np.maximum(wide, CLOSE_MM), 0.5)
        t = np.clip(np.where(trusted & np.isfinite(parabola), parabola, 0.5), least, 1.0 - least)
    nearest = np.where(np.abs(value_a) < np.abs(value_b), a, b)
    return np.where(values[0] == 0.0, ends[0], nearest)
