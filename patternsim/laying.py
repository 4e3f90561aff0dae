"""Laying the outline on the face of its bar: by hand, on the centre line, end for end.

Numbers only: pictures of it are in `pictures.bench`. All places are in the frame of the bar.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.answers import line_on
from patternsim.job import Blade, Place
from patternsim.knife.line import line_across
from patternsim.knife.placement import SIDES, SKIN_MM, PlacedBlade, placed
from patternsim.piece import Piece
from patternsim.shape.grind import Side

Floats = NDArray[np.float64]
DIGITS = 2
"""Decimals of a millimetre or a degree that a hand can lay."""
FROM_END_MM = (0.0, 2000.0)
OFF_MIDDLE_MM = (-500.0, 500.0)
TURN_DEG = (-45.0, 45.0)
"""Limits of the numbers of a place, as the job declares them."""
ALONG_MM = 50.0
"""Over this length before the tip the outline is turned along the line."""
ROUNDS = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """The outline where it lies.

    Attributes
    ----------
    outline, silhouette : (n, 2) float64, mm
        Closed lines of the blade, and of the blade with its tang.
    tip, heel, belly : (x, y) mm
        The belly is the lowest point of the edge midway.
    line : (k, 2) float64, mm
        The centre line on the face from end to end of the bar; empty where there is none.
    lacking : tuple of (first, last, mm)
        Stretches of `outline` whose allowance reaches out of the bar, and by how much.
    tang_lacking : tuple of (first, last, mm)
        Stretches of `silhouette` beyond the ends of the bar, blade apart.
    """

    outline: Floats
    silhouette: Floats
    tip: tuple[float, float]
    heel: tuple[float, float]
    belly: tuple[float, float]
    line: Floats
    lacking: tuple[tuple[int, int, float], ...]
    tang_lacking: tuple[tuple[int, int, float], ...]


def laid(blade: PlacedBlade, side: Side, *, line: Floats | None = None) -> Laid:
    """Return the outline of a placed blade in the frame of its bar, as seen on `side`.

    `line`: the centre line, where it is known well enough already.
    """
    outline = blade.outline
    body = _flat(blade, outline.polygon())
    whole = _flat(blade, outline.silhouette())
    middle = np.array([outline.length_mm * 0.5])
    belly = _flat(blade, np.column_stack((middle, outline.edge_at(middle))))[0]
    return Laid(
        outline=body,
        silhouette=whole,
        tip=_pair(_flat(blade, np.array([outline.tip]))[0]),
        heel=_pair(_flat(blade, np.array([outline.heel]))[0]),
        belly=_pair(belly),
        line=_line(blade, side) if line is None else line,
        lacking=_lacking(body, blade.piece, blade.spec.allowance_mm),
        tang_lacking=_beyond_ends(whole, blade),
    )


def moved(spec: Blade, piece: Piece, by: tuple[float, float]) -> Place:
    """Return the place after the outline was pushed `by` (dx, dy) mm; from now on by numbers."""
    now = placed(spec, piece).placement
    return _place(spec, piece, (now.tip_x + by[0], now.tip_y + by[1]), now.turn)


def aimed(spec: Blade, piece: Piece, at: tuple[float, float]) -> Place:
    """Return the place after the outline was turned about its heel so that its tip points to `at`."""
    blade = placed(spec, piece)
    now = blade.placement
    heel = _flat(blade, np.array([blade.outline.heel]))[0]
    tip = _flat(blade, np.array([blade.outline.tip]))[0]
    old, new = tip - heel, np.asarray(at) - heel
    if float(np.hypot(*new)) < 1.0:
        return spec.place
    by = math.atan2(new[1], new[0]) - math.atan2(old[1], old[0])
    by = math.remainder(by, 2.0 * math.pi)
    low, high = (math.radians(v) for v in TURN_DEG)
    by = now.turn - min(max(now.turn - by, low), high)
    c, s = math.cos(by), math.sin(by)
    tip_at = heel + np.array([c * old[0] - s * old[1], s * old[0] + c * old[1]])
    return _place(spec, piece, _pair(tip_at), now.turn - by)


def turned(spec: Blade, degrees: float) -> Place:
    """Return the place after the outline was turned about its tip; the tip stays where it is."""
    low, high = TURN_DEG
    turn = min(max(spec.place.turn_deg + degrees, low), high)
    return spec.place.model_copy(update={"turn_deg": round(turn, DIGITS)})


def on_the_line(spec: Blade, piece: Piece) -> Place:
    """Return the place with the tip on the centre line, the outline turned along it.

    Where no centre line reaches the tip the turn stays.
    """
    place = spec.place.model_copy(update={"tip": "on-line", "off_middle_mm": 0.0})
    for _ in range(ROUNDS):
        blade = placed(spec.model_copy(update={"place": place}), piece)
        heading = _heading(blade)
        if heading is None:
            break
        low, high = TURN_DEG
        turn = min(max(place.turn_deg - heading, low), high)
        place = place.model_copy(update={"turn_deg": round(turn, DIGITS) + 0.0})
    return place


def end_for_end(spec: Blade) -> Place:
    """Return the place with the tip towards the other end of the bar."""
    place = spec.place
    return place.model_copy(
        update={
            "tip_end": "near" if place.tip_end == "far" else "far",
            "off_middle_mm": -place.off_middle_mm + 0.0,
        }
    )


def _flat(blade: PlacedBlade, points: Floats) -> Floats:
    return blade.placement.to_piece(points[:, 0], points[:, 1], np.zeros(len(points)))[:, :2]


def _pair(point: Floats) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _place(spec: Blade, piece: Piece, tip: tuple[float, float], turn: float) -> Place:
    far = spec.place.tip_end == "far"
    near_end, far_end = piece.box()[0][0], piece.box()[1][0]
    if piece.limits is None:
        near_end, far_end = 0.0, piece.size[0]
    from_end = far_end - tip[0] if far else tip[0] - near_end
    off = tip[1] if far else -tip[1]
    return spec.place.model_copy(
        update={
            "tip": "by-numbers",
            "from_end_mm": _held(from_end, FROM_END_MM),
            "off_middle_mm": _held(off, OFF_MIDDLE_MM),
            "turn_deg": _held(math.degrees(turn), TURN_DEG),
        }
    )


def _held(value: float, limits: tuple[float, float]) -> float:
    return round(min(max(value, limits[0]), limits[1]), DIGITS) + 0.0


def _heading(blade: PlacedBlade) -> float | None:
    """Slope of the line against the blade before the tip, degrees, mean of both sides."""
    length = blade.outline.length_mm
    stations = np.linspace(max(0.0, length - ALONG_MM), length, 26)
    slopes = []
    for side in SIDES:
        line = line_on(blade, side, stations)
        there = np.isfinite(line)
        if not there[-1] or there.sum() < 2:
            return None
        slopes.append(float(np.polyfit(stations[there], line[there], 1)[0]))
    return math.degrees(math.atan(sum(slopes) / 2.0))


def _line(blade: PlacedBlade, side: Side) -> Floats:
    """The centre line: on the ground surface along the blade, on the skin beyond it."""
    piece = blade.piece
    if not piece.cuts:
        return np.zeros((0, 2))
    low, high = piece.box()
    x = np.linspace(low[0] + 0.01, high[0] - 0.01, 161)
    z = high[2] - SKIN_MM if side == "mark-side" else low[2] + SKIN_MM

    def skin(stations: Floats, across: Floats) -> Floats:
        return np.stack([stations, across, np.full_like(across, z)], axis=-1)

    y = line_across(piece, skin, x, low=low[1], high=high[1])
    points = np.column_stack((x, y))
    points = points[np.isfinite(y)]
    length = blade.outline.length_mm
    stations = np.linspace(0.0, length, 106)
    v = line_on(blade, side, stations)
    there = np.isfinite(v)
    on_blade = _flat(blade, np.column_stack((stations, v))[there])
    if not len(on_blade):
        return points
    first, last = on_blade[:, 0].min(), on_blade[:, 0].max()
    beyond = points[(points[:, 0] < first) | (points[:, 0] > last)]
    whole = np.concatenate((beyond, on_blade))
    return np.asarray(whole[np.argsort(whole[:, 0], kind="stable")])


def _lacking(body: Floats, piece: Piece, allowance: float) -> tuple[tuple[int, int, float], ...]:
    """Stretches of the outline that lack allowance, as runs of its points; none on a bent bar."""
    if piece.limits is not None:
        return ()
    x, y = body[:, 0], body[:, 1]
    across = np.abs(y) + allowance - piece.size[1] / 2
    along = np.maximum(allowance - x, x + allowance - piece.size[0])
    # The ends where the tang goes are the steel line's business, but the blade must lie in the bar.
    return _runs(np.maximum(across, along))


def _beyond_ends(whole: Floats, blade: PlacedBlade) -> tuple[tuple[int, int, float], ...]:
    """Stretches of the silhouette where neck or tang lie beyond an end; none on a bent bar."""
    if blade.piece.limits is not None:
        return ()
    x = whole[:, 0]
    beyond = np.maximum(-x, x - blade.piece.size[0])
    u, _ = blade.placement.from_piece(x, whole[:, 1])
    return _runs(np.where(u < 0.0, beyond, 0.0))


def _runs(lack: Floats) -> tuple[tuple[int, int, float], ...]:
    """Return unbroken runs of points that lack something, each with the most it lacks."""
    short = lack > 0.005
    edges = np.flatnonzero(np.diff(np.concatenate(([0], short.view(np.int8), [0]))))
    return tuple(
        (int(first), int(last), float(lack[first : last + 1].max()))
        for first, last in zip(edges[::2], edges[1::2] - 1, strict=True)
    )
