"""The split: how a wedge drags the layers beside the cut, as a stream function.

Coordinates of one half: s along the cut from the end where the wedge enters, d away from the cut, mm.
The flow of psi = g(s) F(d) over unit time drags layers with the wedge (D = F' near the cut) and lets
them rise by the same area farther out; psi is nought on the cut and on the outer side, so both stay
where they are. g grows from the entry to full drag and dies out below the nose.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ANGLES_DEG = (30.0, 45.0, 60.0)
FITTED_DEG = (ANGLES_DEG[0], ANGLES_DEG[-1])
"""Included angles the drag was fitted between; beyond, the border value is kept."""
DRAGS = (0.218, 0.246, 0.370)
"""Drag at the cut over the block's width by included angle, at friction 0.8 and a nose of 0.08 widths:
fitted to finite-element splits of plane blocks 1.5 to 3 widths tall, closed again to 0.95 of the
width; right to 0.012 widths (0.03 at 60 degrees) farther than 0.03 widths from the cut. No
measurement of real steel is behind it."""
DRAG_BY_FRICTION = 0.08
DRAG_BY_NOSE = 0.6
"""Change of the drag with the friction factor and with the nose over the width; the same fits."""
LENGTH = 0.12
"""Distance over the width in which the drag falls by e. This and the curves below: the same fits."""
ENTRY = ((0.0, 0.63), (0.08, 0.67), (0.2, 0.73), (0.4, 0.85), (0.7, 0.90), (1.0, 1.0))
"""Share of full drag by depth below the entry, over the width."""
BASE = ((0.0, 0.0), (0.085, 0.5), (0.17, 0.97), (0.22, 1.0))
"""Share of full drag by height above the far end, over the width: a nose stopped close to it."""
NOSE = ((-0.3, 1.0), (0.0, 0.78), (0.1, 0.39), (0.15, 0.29), (0.2, 0.21), (0.3, 0.17), (0.5, 0.0))
"""Share by depth below the nose's last place, over the width: half a width or more left uncut."""
LEFT_SHORT, LEFT_LONG = 0.2, 0.5
"""Widths left uncut at which the first and the second of these hold; between, they are mixed."""
CURVE_STEP, CURVE_ROUND = 0.01, 0.04
"""Spacing (as the compiled flow has it) and rounding of the curves of shares, over the width."""
TIME_STEPS = 10
"""Runge-Kutta steps of the whole drag."""
LEAST_POINTS = 4096
"""Points worth a thread of their own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfBlock:
    """One half of a block to be split.

    Attributes
    ----------
    length : float, mm
        From the entry end to the exit end.
    width : float, mm
        Of the whole block.
    outer : float, mm
        Width of this half at the entry.
    outer_slope : float
        Growth of the half's width with depth (a cut that leans in the face).
    nose_depth : float, mm
        How deep below the entry the nose stops.
    nose : float, mm
        Nose radius of the wedge.
    included_deg : float
        Angle between the flanks of the wedge.
    friction : float
        Friction factor of the wedge.
    """

    length: float
    width: float
    outer: float
    outer_slope: float
    nose_depth: float
    nose: float
    included_deg: float
    friction: float


def drag_at_cut(included_deg: float, friction: float, nose: float) -> float:
    """Return the drag of a layer at the cut, over the width of the block.

    Parameters
    ----------
    included_deg : float
    friction : float
        Friction factor of the wedge.
    nose : float
        Nose radius over the width of the block; beyond 0.03 to 0.13 the border value is kept.
    """
    base = float(np.interp(included_deg, ANGLES_DEG, DRAGS))
    blunt = min(max(nose, 0.03), 0.13) - 0.08
    return base + DRAG_BY_FRICTION * (friction - 0.8) + DRAG_BY_NOSE * blunt


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curves:
    """The curves of shares as cubics, ready for the compiled flow: entry, base, nose.

    Attributes
    ----------
    table : (m, 4) float64
        Highest power first; behind the cubics of each curve a row with its level beyond the end.
    spans : tuple of 6 ints
        First row of each curve and its count of cubics.
    lows : tuple of 3 floats
        First knot of each curve, over the width.
    """

    table: Floats
    spans: tuple[int, ...]
    lows: tuple[float, ...]


@cache
def curves() -> Curves:
    """Return the curves of shares; over the width, so that all blocks have the same."""
    rows: list[Floats] = []
    spans: list[int] = []
    lows: list[float] = []
    for points, odd in ((ENTRY, False), (BASE, True), (NOSE, False)):
        low, cubics = _curve(points, odd=odd)
        spans += [sum(map(len, rows)), len(cubics) - 1]
        rows.append(cubics)
        lows.append(low)
    table = np.concatenate(rows)
    table.setflags(write=False)
    return Curves(table=table, spans=tuple(spans), lows=tuple(lows))


def _curve(points: tuple[tuple[float, float], ...], *, odd: bool) -> tuple[float, Floats]:
    """Return the first knot and the cubics of a smooth curve through `points` (widths, share).

    Rounded over a few hundredths of the width, so that the flow has no kinks for the time steps to
    trip over; level beyond its ends. An odd curve goes on below its first point as its own image and
    stays nought there.
    """
    from scipy.interpolate import CubicSpline, PchipInterpolator  # heavy: only a split needs them
    from scipy.ndimage import gaussian_filter1d

    places, shares = np.array(points).T
    through = PchipInterpolator(places, shares)
    room = np.arange(places[0] - 0.4, places[-1] + 0.4, CURVE_STEP)
    if odd:
        reach = round(places[-1] / CURVE_STEP) + 40
        room = CURVE_STEP * np.arange(-reach, reach + 1)
        values = np.sign(room) * through(np.clip(np.abs(room), places[0], places[-1]))
    else:
        values = through(np.clip(room, places[0], places[-1]))
    spline = CubicSpline(room, gaussian_filter1d(values, CURVE_ROUND / CURVE_STEP, mode="nearest"))
    last = [0.0, 0.0, 0.0, float(spline(room[-1]))]
    return float(room[0]), np.concatenate([spline.c.T, [last]])


class WedgeDrag:
    """The flow of one half. Its stream function is written out in `compiled.dragged`."""

    def __init__(self, half: HalfBlock) -> None:
        self.half = half
        w = half.width
        self.drag = drag_at_cut(half.included_deg, half.friction, half.nose / w) * w
        self.decay = LENGTH * w
        self.core = min(max(half.nose / self.decay, 0.1), 0.8)
        left = half.length - half.nose_depth
        self.long = min(max((left / w - LEFT_SHORT) / (LEFT_LONG - LEFT_SHORT), 0.0), 1.0)

    def outer(self, s: Floats) -> Floats:
        """Return the width of the half at depth `s` (mm)."""
        return self.half.outer + self.half.outer_slope * s

    def back(self, points: Floats) -> Floats:
        """Return where `points` (n, 2) (s, d) of the split block were before the wedge came."""
        return self._followed(points, start=1.0, end=0.0)

    def notch(self) -> float:
        """Return how deep the entry sinks at the cut, mm: where the steel of the top comes to lie."""
        return float(self._followed(np.zeros((1, 2)), start=0.0, end=1.0)[0, 0])

    def _followed(self, points: Floats, *, start: float, end: float) -> Floats:
        from patternsim.press import compiled  # heavy: not needed to list or check a job

        half, shares = self.half, curves()
        wedge = tuple(
            float(number)
            for number in (
                half.width, half.length, half.nose_depth, self.long,
                self.drag, self.decay, self.core, half.outer, half.outer_slope,
            )
        )  # fmt: skip

        def follow(part: Floats) -> Floats:
            moved: Floats = compiled.dragged(
                part, wedge, shares.table, shares.spans, shares.lows, start, end, TIME_STEPS
            )
            return moved

        points = np.ascontiguousarray(points, dtype=np.float64)
        workers = min(os.cpu_count() or 1, len(points) // LEAST_POINTS)
        if workers < 2:
            return follow(points)
        with ThreadPoolExecutor(max_workers=workers) as pool:
            return np.concatenate(list(pool.map(follow, np.array_split(points, workers))))
