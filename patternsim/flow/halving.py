"""Finding the symmetry of a section, and keeping a half or a quarter of it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from patternsim.flow.settings import Symmetry

Floats = NDArray[np.float64]

ALIKE = 2e-3
"""How far a mirrored border may miss the border, over the smaller extent of the section."""
ON_CORNER = 0.02
"""Parameter of an edge within which a crossing counts as at its end: the end is put on the line then. A
sliver of an edge beside a corner would hide the corner."""
AFTER = 0.1
"""How far along its edge beyond a crossing it is looked on which side the border goes."""
SAME = 1e-6
"""Crossings nearer than this, over the extent, are one."""
ON_LINE = 1e-7
"""Distance from a line within which the border runs along it, over the extent."""
FINE = 8
"""Points an edge for comparing borders."""


def symmetry_of(curve: Floats) -> Symmetry:
    """Return the lines about which a closed quadratic curve (2k, 2) is its own mirror image."""
    border = _points(curve)
    low, high = border.min(axis=0), border.max(axis=0)
    middle, allowed = (low + high) / 2.0, ALIKE * float((high - low).min())
    found: list[float | None] = []
    for axis in (0, 1):
        mirrored = border.copy()
        mirrored[:, axis] = 2.0 * middle[axis] - mirrored[:, axis]
        off = _distances(mirrored, border)
        crossed = len(_crossings(curve, axis, float(middle[axis]))) == 2
        found.append(float(middle[axis]) if crossed and off.max() <= allowed else None)
    return Symmetry(x=found[0], y=found[1])


def kept(curve: Floats, symmetry: Symmetry) -> Floats:
    """Return the part of a closed quadratic curve above its symmetry lines, closed along them."""
    if symmetry.x is not None:
        curve = _half(curve, 0, symmetry.x)
    if symmetry.y is not None:
        curve = _half(curve, 1, symmetry.y)
    return curve


def whole(curve: Floats, symmetry: Symmetry) -> Floats:
    """Return the closed quadratic curve of the whole section from that of its kept part."""
    if symmetry.y is not None:
        curve = _doubled(curve, 1, symmetry.y)
    if symmetry.x is not None:
        curve = _doubled(curve, 0, symmetry.x)
    return curve


def _doubled(curve: Floats, axis: int, at: float) -> Floats:
    """Return the curve joined with its mirror image; what runs along the line goes."""
    near = ON_LINE * float(np.ptp(curve, axis=0).max())
    on = np.abs(curve[:, axis] - at) < near
    along = on[0::2] & on[1::2] & np.roll(on[0::2], -1)
    edges = len(along)
    if not along.any():
        return curve
    first = next(k for k in range(edges) if not along[k] and along[k - 1])
    run = []
    edge = first
    while not along[edge]:
        run.extend([2 * edge, 2 * edge + 1])
        edge = (edge + 1) % edges
    open_curve = curve[[*run, 2 * edge]]
    mirrored = open_curve[::-1].copy()
    mirrored[:, axis] = 2.0 * at - mirrored[:, axis]
    return np.concatenate([open_curve[:-1], mirrored[:-1]])


def _half(curve: Floats, axis: int, at: float) -> Floats:
    """Return the part with coordinate `axis` above `at`; the border must cross there twice."""
    (up, up_at), (down, down_at) = _ordered(curve, axis, at)
    count = len(curve) // 2
    parts = [_piece(curve, up, up_at if up_at > ON_CORNER else 0.0, 1.0)]
    edge = (up + 1) % count
    while edge != down:
        parts.append(curve[2 * edge : 2 * edge + 2])
        edge = (edge + 1) % count
    if down_at > ON_CORNER:
        parts.append(_piece(curve, down, 0.0, down_at))
    end = _on(curve, down, np.array([down_at if down_at > ON_CORNER else 0.0]))
    start = parts[0][:1]
    out = np.concatenate([*parts, end, (start + end) / 2.0])
    out[[0, -2, -1], axis] = at
    return out


def _piece(curve: Floats, edge: int, first: float, last: float) -> Floats:
    """Return the start and the middle of a part of an edge."""
    return _on(curve, edge, np.array([first, (first + last) / 2.0]))


def _ordered(curve: Floats, axis: int, at: float) -> tuple[tuple[int, float], tuple[int, float]]:
    """Return where the border goes up through the line and where down, as (edge, parameter)."""
    first, second = _crossings(curve, axis, at)
    later = _on(curve, first[0], np.array([min(first[1] + AFTER, 1.0)]))[0, axis]
    return (first, second) if later > at else (second, first)


def _crossings(curve: Floats, axis: int, at: float) -> list[tuple[int, float]]:
    """Return every (edge, parameter) at which the border crosses a line; touching does not count."""
    first, middle, last = (
        curve[0::2, axis] - at,
        curve[1::2, axis] - at,
        np.roll(curve[0::2, axis], -1) - at,
    )
    found = []
    for edge in range(len(first)):
        if first[edge] == 0.0 and last[edge] == 0.0:
            continue
        # first (1 - t)(1 - 2 t) + 4 middle t (1 - t) + last t (2 t - 1)
        square = 2.0 * first[edge] - 4.0 * middle[edge] + 2.0 * last[edge]
        linear = -3.0 * first[edge] + 4.0 * middle[edge] - last[edge]
        for root in (
            np.roots([square, linear, first[edge]])
            if abs(square) > 1e-12
            else [-first[edge] / linear if linear else np.nan]
        ):
            if np.isreal(root) and 0.0 <= root.real < 1.0:
                there = float(root.real)
                at_end = there > 1.0 - ON_CORNER
                found.append(((edge + 1) % len(first), 0.0) if at_end else (edge, there))
    return _apart(curve, found)


def _apart(curve: Floats, found: list[tuple[int, float]]) -> list[tuple[int, float]]:
    """Drop crossings found twice: at the end of one edge and at the start of the next."""
    near = SAME * float(np.ptp(curve, axis=0).max())
    left: list[tuple[int, float]] = []
    places: list[Floats] = []
    for edge, t in found:
        place = _on(curve, edge, np.array([t]))[0]
        if all(np.abs(place - other).max() > near for other in places):
            left.append((edge, t))
            places.append(place)
    return left


def _on(curve: Floats, edge: int, t: Floats) -> Floats:
    """Return the points of an edge at parameters `t`, (n, 2)."""
    first, middle = curve[2 * edge], curve[2 * edge + 1]
    last = curve[(2 * edge + 2) % len(curve)]
    t = t[:, None]
    out: Floats = (1 - t) * (1 - 2 * t) * first + 4 * t * (1 - t) * middle + t * (2 * t - 1) * last
    return out


def _points(curve: Floats) -> Floats:
    t = (np.arange(FINE) / FINE)[None, :, None]
    first, middle = curve[0::2, None], curve[1::2, None]
    last = np.roll(curve[0::2], -1, axis=0)[:, None]
    out: Floats = (1 - t) * (1 - 2 * t) * first + 4 * t * (1 - t) * middle + t * (2 * t - 1) * last
    return out.reshape(-1, 2)


def _distances(points: Floats, border: Floats) -> Floats:
    """Return how far each point lies from a closed polygon."""
    nearest = cKDTree(border).query(points)[1]
    best = np.full(len(points), np.inf)
    for start in (nearest, nearest - 1):
        first, last = border[start], border[(start + 1) % len(border)]
        edge = last - first
        along = ((points - first) * edge).sum(1) / np.maximum((edge**2).sum(1), 1e-300)
        off = points - first - np.clip(along, 0.0, 1.0)[:, None] * edge
        best = np.minimum(best, np.hypot(off[:, 0], off[:, 1]))
    return best
