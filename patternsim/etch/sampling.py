"""Sampling a field for a picture: one sample a pixel where steel is smooth, many at its borders."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from patternsim.etch.tones import Tones, filtered
from patternsim.fields import Hits, Program, walk
from patternsim.progress import Progress, Silent

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
ToPiece = Callable[[Floats, Floats], Floats]
"""(column, row) of picture points, in pixels, centres at whole numbers + 0.5 -> (n, 3) mm."""

FINE = 8
"""Samples a side where a pixel holds several copies of the stack: 64 in all."""
LEAST_FOR_BELL = 4
"""With fewer samples a side the pixel itself is sampled evenly."""
BATCH = 1 << 18


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sampled:
    """What a picture saw.

    Attributes
    ----------
    light : (h, w) float64
        Linear light of the steel; 0 where there is none.
    cover : (h, w) float64
        Share of each pixel that is steel.
    """

    light: Floats
    cover: Floats


def sample_picture(
    program: Program,
    tones: Tones,
    to_piece: ToPiece,
    wanted: Flags,
    progress: Progress | None = None,
    *,
    fine: int = FINE,
) -> Sampled:
    """Sample a field on a grid of pixels.

    Parameters
    ----------
    program : Program
        The laid-out solid.
    tones : Tones
    to_piece : callable
        From pixels to the piece.
    wanted : (h, w) bool
        Pixels to be sampled.
    progress : Progress, optional
    fine : int
        Samples a side of a pixel that holds several copies of the stack; few give a draft.
    """
    watch = progress or Silent()
    if not wanted.any():
        return Sampled(light=np.zeros(wanted.shape), cover=np.zeros(wanted.shape))
    window, top, left = _window(wanted)
    seen = _sampled(
        program, tones, lambda c, r: to_piece(c + left, r + top), wanted[window], watch, fine
    )
    light, cover = np.zeros(wanted.shape), np.zeros(wanted.shape)
    light[window], cover[window] = seen.light, seen.cover
    return Sampled(light=light, cover=cover)


def _window(wanted: Flags) -> tuple[tuple[slice, slice], int, int]:
    """Return the part of the picture that holds all wanted pixels, and where it begins."""
    rows, columns = np.flatnonzero(wanted.any(axis=1)), np.flatnonzero(wanted.any(axis=0))
    part = (slice(int(rows[0]), int(rows[-1]) + 1), slice(int(columns[0]), int(columns[-1]) + 1))
    return part, int(rows[0]), int(columns[0])


def _sampled(
    program: Program, tones: Tones, to_piece: ToPiece, wanted: Flags, watch: Progress, fine: int
) -> Sampled:
    rows, columns = np.nonzero(_grown(wanted))
    hits = walk(program, to_piece(pixel_centres(columns), pixel_centres(rows)), progress=watch)
    shape = wanted.shape
    at = np.full(shape, np.nan)
    at[rows, columns] = np.where(hits.inside, _through(program, tones, hits), np.nan)
    path = np.full(shape, -1, dtype=np.int64)
    # Paths of different stacks must differ too: the stack's number goes in with the way.
    stack = np.searchsorted(tones.starts, hits.layers, side="right") - 1
    path[rows, columns] = np.where(hits.inside, hits.paths * 64 + stack, -2)
    stacks = np.zeros(shape, dtype=np.int64)
    stacks[rows, columns] = np.maximum(stack, 0)

    spread, smooth = _spread(at, path)
    light = np.zeros(shape)
    cover = (wanted & np.isfinite(at)).astype(np.float64)
    plain = wanted & smooth & np.isfinite(at)
    for number in range(len(tones.starts)):
        here = plain & (stacks == number)
        light[here] = filtered(tones, number, at[here], spread[here])
    mixed = wanted & ~smooth & _near_steel(np.isfinite(at))
    _sample_fine(program, tones, to_piece, mixed, light, cover, watch, fine)
    return Sampled(light=light, cover=cover)


def pixel_centres(numbers: NDArray[np.int64]) -> Floats:
    """Return where the middles of pixels lie, by their numbers."""
    return numbers.astype(np.float64) + 0.5


def _grown(wanted: Flags) -> Flags:
    """`wanted` with its neighbours: gradients need them."""
    grown = wanted.copy()
    grown[1:] |= wanted[:-1]
    grown[:-1] |= wanted[1:]
    grown[:, 1:] |= wanted[:, :-1]
    grown[:, :-1] |= wanted[:, 1:]
    return grown


def _near_steel(steel: Flags) -> Flags:
    return _grown(steel)


def _through(program: Program, tones: Tones, hits: Hits) -> Floats:
    """Position through the stack from its low side, mm."""
    stack = np.maximum(np.searchsorted(tones.starts, hits.layers, side="right") - 1, 0)
    result = np.zeros(len(hits.layers))
    for number in range(len(tones.starts)):
        here = (stack == number) & (hits.layers >= 0)
        layer = hits.layers[here] - tones.starts[number]
        edges = tones.edges[number]
        part = hits.depths[here] - layer
        result[here] = edges[layer] + part * (edges[layer + 1] - edges[layer])
    return result


def _spread(at: Floats, path: NDArray[np.int64]) -> tuple[Floats, Flags]:
    """Stretch of layers a pixel covers, and where that can be told from its neighbours."""
    squares = np.zeros(at.shape)
    smooth = np.isfinite(at)
    for axis in (0, 1):
        step = np.diff(at, axis=axis)
        same = np.diff(path, axis=axis) == 0
        ahead, behind = _padded(step, axis, after=True), _padded(step, axis, after=False)
        same_ahead = _padded(same, axis, after=True, fill=True)
        same_behind = _padded(same, axis, after=False, fill=True)
        ahead = np.where(np.isfinite(ahead) & same_ahead, ahead, behind)
        behind = np.where(np.isfinite(behind) & same_behind, behind, ahead)
        slope = (ahead + behind) / 2
        bent = np.abs(ahead - behind) > 0.7 * np.abs(ahead + behind) / 2 + 0.2
        squares += np.nan_to_num(slope) ** 2
        smooth &= same_ahead & same_behind & ~bent
    return np.sqrt(squares), smooth


def _padded(
    values: NDArray[Any], axis: int, *, after: bool, fill: float | bool = np.nan
) -> NDArray[Any]:
    width = [(0, 0), (0, 0)]
    width[axis] = (0, 1) if after else (1, 0)
    return np.pad(values, width, constant_values=fill)


def _sample_fine(
    program: Program,
    tones: Tones,
    to_piece: ToPiece,
    mixed: Flags,
    light: Floats,
    cover: Floats,
    watch: Progress,
    fine: int,
) -> None:
    """Fill in pixels that hold several copies of the stack: stratified samples, each for itself.

    They are spread by the same bell as smooth pixels see through: a box would let fine layers come back
    as grains along the joints. Steel covers what of a pixel itself is steel.
    """
    rows, columns = np.nonzero(mixed)
    values = np.concatenate(tones.values)
    rng = np.random.default_rng(20)  # fixed: the same picture every time
    even = (np.arange(fine) + 0.5) / fine
    share = np.stack([g.ravel() for g in np.meshgrid(even, even)])
    batch = BATCH // fine**2
    for start in range(0, len(rows), batch):
        r, c = rows[start : start + batch, None], columns[start : start + batch, None]
        shake = rng.uniform(-0.5 / fine, 0.5 / fine, size=(2, r.shape[0], fine**2))
        at = share[:, None, :] + shake
        # Few samples over a wide bell would only be grainier.
        off = _bell_places(at) if fine >= LEAST_FOR_BELL else at - 0.5
        points = to_piece((c + 0.5 + off[0]).ravel(), (r + 0.5 + off[1]).ravel())
        hits = walk(program, points)
        seen = (hits.layers >= 0).reshape(-1, fine**2)
        lights = values[np.maximum(hits.layers, 0)].reshape(-1, fine**2)
        count = seen.sum(axis=1)
        mean = (lights * seen).sum(axis=1) / np.maximum(count, 1)
        own = (np.abs(off) <= 0.5).all(axis=0)
        part = (seen & own).sum(axis=1) / np.maximum(own.sum(axis=1), 1)
        light[r[:, 0], c[:, 0]] = np.where(part > 0.0, mean, 0.0)
        cover[r[:, 0], c[:, 0]] = part
        watch.at(min(1.0, (start + batch) / max(len(rows), 1)), "sampling the joints")


def _bell_places(share: Floats) -> Floats:
    """Return places (pixels from the middle) below which `share` (0 to 1) of the bell lies.

    The bell is a box of one pixel three times over, the sum of three even numbers (Irwin, Hall; 1927).
    """
    return np.interp(share, _BELL_SHARES, _BELL_PLACES)


def _bell_share(place: Floats) -> Floats:
    """Distribution of the sum of three even numbers from -1/2 to 1/2."""
    x = place + 1.5
    parts = [np.maximum(x - k, 0.0) ** 3 for k in range(4)]
    return np.asarray((parts[0] - 3 * parts[1] + 3 * parts[2] - parts[3]) / 6.0)


_BELL_PLACES = np.linspace(-1.5, 1.5, 601)
_BELL_SHARES = _bell_share(_BELL_PLACES)
