"""The split: how a wedge drags the layers beside the cut, as a stream function.

Coordinates of one half: s along the cut from the end where the wedge enters, d away from the cut, mm.
The flow of psi = sum of g_k(s) f_k(d) over unit time drags layers with the wedge and lets them rise by
the same area farther out; psi is nought on the cut and on the outer side, so both stay where they are.
Three things add up: steel that sticks to the wedge (CUT), falling off within a few hundredths of the
width; the half that bends aside and back (BEND), a parabola over all of it; and its heel, which lifts
off the floor (HEEL). Each grows from the entry and dies out towards the nose or the far end.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ANGLES_DEG = (30.0, 45.0, 60.0)
FITTED_DEG = (ANGLES_DEG[0], ANGLES_DEG[-1])
"""Included angles the drag was fitted between; beyond, the border value is kept."""
USUAL_FRICTION, USUAL_NOSE = 0.8, 0.08
BLUNTEST, SHARPEST = 0.12, 0.04
"""Nose radii over the width that were fitted; beyond, the border value is kept."""


@dataclass(frozen=True, slots=True)
class Drag:
    """How far one part of the flow drags, over the width of the block.

    Attributes
    ----------
    usual : (3,) float
        At the angles above, the usual friction and nose.
    by_friction, by_nose : (3,) float
        Change with the friction factor and with the nose over the width, at these angles.
    """

    usual: tuple[float, float, float]
    by_friction: tuple[float, float, float]
    by_nose: tuple[float, float, float]

    def at(self, included_deg: float, friction: float, nose: float) -> float:
        """Return it for a wedge; `nose` over the width of the block."""
        blunt = min(max(nose, SHARPEST), BLUNTEST) - USUAL_NOSE
        usual, by_friction, by_nose = (
            float(np.interp(included_deg, ANGLES_DEG, row))
            for row in (self.usual, self.by_friction, self.by_nose)
        )
        return usual + by_friction * (friction - USUAL_FRICTION) + by_nose * blunt


# The numbers below are fitted to 68 flows of this program at level fine: plane blocks 1.5 to 3 widths
# tall, wedges of 30 to 60 degrees, noses of 0.04 to 0.12 widths, friction 0.2 to 1, 0 to 0.8 widths
# left uncut, closed to 0.94 of the width. Over the whole half farther than 0.03 widths from the cut the
# map is then right to 0.011 widths at 30 and 35 degrees, 0.014 at 45, 0.026 at 60 (rms; the lips at the
# entry make up half of it: without them 0.009, 0.010, 0.017), once the half is moved along by its mean:
# the flow stands 0.00 to 0.06 widths higher, by what the lifted heel leaves empty below it, where
# closed forms keep the end flat. The flow itself scatters by 0.005 to 0.01 widths with its elements and
# steps. No measurement of real steel is behind any of this.
CUT = Drag((0.207, 0.130, 0.092), (0.001, -0.069, -0.118), (2.5, 2.392, 0.544))
BEND = Drag((0.072, 0.192, 0.354), (-0.007, 0.144, 0.392), (-0.144, -0.548, 0.073))
HEEL = Drag((0.065, 0.091, 0.113), (-0.015, -0.046, -0.12), (0.838, 0.125, -0.17))
DECAY = 0.0514
"""Distance over the width in which the drag of what sticks falls by e."""
CUT_ENTRY = ((0.0, 0.0), (0.2, 0.396), (0.4, 0.729), (0.7, 1.0))
BEND_ENTRY = ((0.0, 0.25), (0.2, 0.9), (0.4, 0.95), (0.7, 1.0))
"""Share of full drag by depth below the entry, over the width."""
CUT_NOSE = (
    (-0.15, 0.0), (-0.05, 0.58), (0.05, 1.229), (0.15, 1.202), (0.4, 0.867), (0.6, 0.836), (1.0, 1.0),
)  # fmt: skip
"""Share by height above the nose's last place. The flow has a peak of twice this right at the nose, in
what becomes the eye: sampled, it would not keep area."""
CUT_BASE = ((0.0, 0.0), (0.12, 1.0))
"""Share by height above the far end: nothing leaves through it."""
BEND_SHORT = (
    (0.0, 0.0), (0.15, -0.12), (0.3, 0.076), (0.4, 0.279), (0.5, 0.536), (0.6, 0.756), (0.7, 1.0),
)  # fmt: skip
BEND_MID = ((0.0, 0.0), (0.1, 0.225), (0.2, 0.339), (0.3, 0.376), (0.5, 0.597), (0.7, 1.0))
"""Share by height above the far end, where little and where half a width is left uncut."""
BEND_LONG = ((-0.3, 0.0), (-0.1, 0.034), (0.0, 0.089), (0.1, 0.484), (0.2, 0.663), (0.3, 1.0))
"""Share by height above the nose's last place, where much is left uncut."""
HEEL_BASE = (
    (0.0, 0.0), (0.1, 1.083), (0.2, 1.027), (0.3, 1.0), (0.4, 0.825), (0.5, 0.6), (0.6, 0.271),
    (0.75, 0.0),
)  # fmt: skip
"""Share by height above the far end, where little is left uncut."""
LEFT = (0.16, 0.5, 0.8)
"""Widths left uncut that count as little, half a width and much; between, they are mixed."""
CORE = 0.5
"""Length of the part that makes the drag flat at the cut below the nose, over the decay."""
ROUND_OFF = 0.05
"""Depth over the width in which layers change from cut to whole below the nose."""
CURVE_STEP, CURVE_ROUND = 0.01, 0.04
"""Spacing and rounding of the curves of shares, over the width."""
ABOVE = 0.2
"""How far above the entry the curves are told, over the width; beyond, they stay level."""
BELOW = 12
"""Knots told beyond the far end."""
TIME_STEPS = 8
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


Points = tuple[tuple[float, float], ...]


def shares(half: HalfBlock) -> tuple[float, Floats]:
    """Return the depth of the first knot and the drag of the five modes over depth, mm.

    Modes as `compiled.dragged` has them: beside the cut, sharp and round; over the half, with a fold at
    the cut and without; the heel. Knots lie `CURVE_STEP` widths apart.
    """
    width = half.width
    # A knot right at the far end: what is nought there stays so between knots too.
    above = math.ceil((half.length / width + ABOVE) / CURVE_STEP)
    height: Floats = CURVE_STEP * np.arange(above, -BELOW - 1, -1, dtype=np.float64)
    depth: Floats = half.length / width - height
    over_nose: Floats = half.nose_depth / width - depth
    wedge = (half.included_deg, half.friction, half.nose / width)
    left = (half.length - half.nose_depth) / width
    short, middle, long = (float(np.interp(left, LEFT, row)) for row in np.eye(3))
    whole = 1.0 / (1.0 + np.exp(np.clip(2.0 * over_nose / ROUND_OFF, -60.0, 60.0)))
    cut = _curve(CUT_ENTRY)(depth) * _curve(CUT_NOSE)(over_nose) * _curve(CUT_BASE, odd=True)(height)
    end = short * _curve(BEND_SHORT, odd=True)(height)
    end += middle * _curve(BEND_MID, odd=True)(height) + long * _curve(BEND_LONG)(over_nose)
    heel = HEEL.at(*wedge) * short * _curve(HEEL_BASE, odd=True)(height)
    cut, bend = CUT.at(*wedge) * cut, BEND.at(*wedge) * _curve(BEND_ENTRY)(depth) * end
    modes = np.stack([cut * (1.0 - whole), cut * whole, bend * (1.0 - whole), bend * whole, heel])
    return float(depth[0]) * width, width * modes


@cache
def _curve(points: Points, *, odd: bool = False) -> Callable[[Floats], Floats]:
    """Return a smooth curve through `points` (widths, share); level beyond its ends.

    Rounded over a few hundredths of the width, so that the flow has no kinks for the time steps to
    trip over. An odd curve goes on below its first point as its own image and stays nought there.
    """
    from scipy.interpolate import CubicSpline, PchipInterpolator  # heavy: only a split needs them
    from scipy.ndimage import gaussian_filter1d

    places, values = np.array(points).T
    through = PchipInterpolator(places, values)
    room = np.arange(places[0] - 0.4, places[-1] + 0.4, CURVE_STEP)
    if odd:
        reach = round(places[-1] / CURVE_STEP) + 40
        room = CURVE_STEP * np.arange(-reach, reach + 1)
        values = np.sign(room) * through(np.clip(np.abs(room), places[0], places[-1]))
    else:
        values = through(np.clip(room, places[0], places[-1]))
    spline = CubicSpline(room, gaussian_filter1d(values, CURVE_ROUND / CURVE_STEP, mode="nearest"))

    def curve(at: Floats) -> Floats:
        found: Floats = spline(np.clip(at, room[0], room[-1]))
        return found

    return curve


class WedgeDrag:
    """The flow of one half. Its stream function is written out in `compiled.dragged`."""

    def __init__(self, half: HalfBlock) -> None:
        from scipy.interpolate import CubicSpline  # heavy: only a split needs it

        self.half = half
        low, modes = shares(half)
        spline = CubicSpline(np.arange(modes.shape[1]), modes, axis=1)
        self._table = np.ascontiguousarray(spline.c.transpose(1, 0, 2))
        self._told = (
            half.outer,
            half.outer_slope,
            DECAY * half.width,
            CORE,
            low,
            1.0 / (CURVE_STEP * half.width),
        )

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

        told = tuple(float(number) for number in self._told)

        def follow(part: Floats) -> Floats:
            moved: Floats = compiled.dragged(part, told, self._table, start, end, TIME_STEPS)
            return moved

        points = np.ascontiguousarray(points, dtype=np.float64)
        workers = min(os.cpu_count() or 1, len(points) // LEAST_POINTS)
        if workers < 2:
            return follow(points)
        with ThreadPoolExecutor(max_workers=workers) as pool:
            return np.concatenate(list(pool.map(follow, np.array_split(points, workers))))
