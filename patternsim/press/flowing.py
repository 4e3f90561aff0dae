"""Presses worked out by the flow: passes between flat dies on the outline there is, one map in the end.

Everything happens on a section scaled to size 1, so that what is kept serves all sizes alike.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from patternsim.errors import FlowError
from patternsim.flow import COARSE, FINE, Flowed, Operation, between_dies, between_flats, march, tools
from patternsim.flow.halving import symmetry_of
from patternsim.flow.presses import Fineness
from patternsim.flow.settings import STEEL, Stretch, Symmetry, even
from patternsim.flow.stops import Flat, Stroke
from patternsim.press.asked import Gaps
from patternsim.press.goals import Corners, Draw, Load, Squeeze
from patternsim.press.planning import beyond, contact, passes
from patternsim.press.spread import spread_exponent
from patternsim.press.way import Askew, Curve, Part, Turned, Way
from patternsim.progress import Progress
from patternsim.section import flattened

Floats = NDArray[np.float64]

TRUE = 0.004
"""A size is reached when it is this near, over the size."""
TRUING = 8
"""Light passes at the end of a draw, at most: each flattens what the one before has bulged."""
PASSIVE = 0.3
"""Flow stress of what fills a gap, over that of the steel: it gives way and never heals. Softer, it
would squirt out of every notch in a side."""
OTHER_SIZES = (0.87, 1.15, 0.8)
"""Element sizes, over those asked for, that are tried where a mesh cannot be made."""
LEFT = 0.9
"""Share of a press's progress that is left after each pass."""
QUARTER = np.array([[0.0, 1.0], [-1.0, 0.0]])
"""Into the frame of a turned pass: before it, the first axis points along the stroke."""


class Pressing:
    """A section while it is pressed: its outline, the way back, what the press had to do.

    Parameters
    ----------
    curve : (2k, 2) float64
        Closed quadratic outline, of size about 1.
    friction : float
        Friction factor of the dies.
    fine : bool
    gaps : callable, optional
    """

    def __init__(
        self, curve: Floats, *, friction: float, fine: bool, gaps: Gaps | None, progress: Progress
    ) -> None:
        self.curve = self.start = curve
        self.way = Way()
        self.loads: list[Load] = []
        self.damage = 0.0
        self.unsettled = self.steps = 0
        self.friction, self._fine = friction, fine
        self._gaps, self._progress = gaps, progress

    # --- goals ----------------------------------------------------------------------------

    def reach(self, goal: Squeeze | Draw | Corners) -> None:
        """Press until `goal` is reached.

        Raises
        ------
        FlowError
            If the flow cannot be worked out.
        """
        if isinstance(goal, Squeeze):
            self._squeeze(goal)
        elif isinstance(goal, Draw):
            self._draw(goal)
        else:
            self._corners(goal)

    def _squeeze(self, goal: Squeeze) -> None:
        axis = 0 if goal.turned else 1
        if goal.lean_deg or goal.bow_mm:
            self._set_askew(goal, axis)
        self.press(axis, goal.to, bite=goal.bite, sideways=goal.sideways, tilt_deg=goal.tilt_deg)
        if goal.width is not None:
            sizes = (goal.to, goal.width) if axis == 0 else (goal.width, goal.to)
            self._true(sizes, goal.bite, first=1 - axis)

    def _draw(self, goal: Draw) -> None:
        final = (goal.width, goal.thickness)
        for axis, to, sideways in passes(self.extents(), final, goal.bite):
            if to < self.extents()[axis] * (1.0 - 1e-6):
                self.press(axis, to, bite=goal.bite, sideways=sideways)
        self._true(final, goal.bite, first=1)

    def _true(self, sizes: tuple[float, float], bite: float, *, first: int) -> None:
        """Press lightly, turn about, until both sizes are true."""
        axis = first
        for _ in range(TRUING):
            now = self.extents()
            if all(now[k] <= sizes[k] * (1.0 + TRUE) for k in (0, 1)):
                return
            if now[axis] > sizes[axis] * (1.0 + TRUE / 2):
                self.press(axis, sizes[axis], bite=bite)
            axis = 1 - axis

    def _corners(self, goal: Corners) -> None:
        for degrees in (45.0, -45.0):
            self._crush(goal, degrees)

    # --- passes ---------------------------------------------------------------------------

    def extents(self) -> tuple[float, float]:
        """Return the sizes of the section along both axes."""
        points = flattened(self.curve)
        first, second = np.ptp(points, axis=0)
        return float(first), float(second)

    def press(
        self,
        axis: int,
        to: float,
        *,
        bite: float,
        sideways: float | None = None,
        tilt_deg: float = 0.0,
    ) -> None:
        """Press once along `axis` to the die gap `to`.

        `sideways`: share of the squeeze that goes sideways; left out, it follows from the bite and from
        how wide the dies lie on the steel in the end, which rounded corners keep narrow.
        """
        into = np.eye(2) if axis == 1 else QUARTER
        curve = self.curve @ into.T
        height = float(np.ptp(flattened(curve), axis=0)[1])
        if sideways is None:
            sideways = spread_exponent(bite / contact(curve, to))
        # What lies beyond the dies at the end is what they move; of a box that is ln(height / to).
        share = -(1.0 - sideways) * math.log1p(-beyond(curve, to))
        held = 1.0 - share / math.log(height / to)
        held = min(held, 1.0)

        def squeeze(fineness: Fineness) -> Operation:
            if tilt_deg:
                return self._tilted(curve, to, held, tilt_deg, fineness, into)
            return between_flats(
                curve,
                to=to,
                friction=self.friction,
                fineness=fineness,
                sideways=held,
                strength=self._strength(into),
            )

        self._run(squeeze, into, to)

    def _tilted(
        self,
        curve: Floats,
        to: float,
        held: float,
        degrees: float,
        fineness: Fineness,
        into: Floats,
    ) -> Operation:
        low, high = float(curve[:, 1].min()), float(curve[:, 1].max())
        reach = math.tan(math.radians(abs(degrees))) * float(np.ptp(curve[:, 0])) / 2
        stroke = high - low - to
        return between_dies(
            curve,
            tools.tilted_dies(low, high + reach, degrees, friction=self.friction),
            (Stroke(stroke + reach),),
            fineness=fineness,
            height=high - low,
            stretch=Stretch(rate=(1.0 - held) * math.log((high - low) / to) / stroke),
            strength=self._strength(into),
        )

    def _crush(self, goal: Corners, degrees: float) -> None:
        turn = math.radians(degrees)
        into = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
        curve = self.curve @ into.T
        low, high = flattened(curve).min(axis=0), flattened(curve).max(axis=0)
        height = float(high[1] - low[1])
        symmetry = symmetry_of(curve) if self._gaps is None else Symmetry()
        dies = tools.flat_dies(float(low[1]), float(high[1]), friction=self.friction)
        used: tuple[tools.Tool, ...] = dies if symmetry.y is None else dies[:1]
        # Corners of a right angle pressed to flats f: a stroke of about f. The die lies on half of f on
        # the mean: that is the width the spread goes by.
        moved = -math.log1p(-beyond(curve, height - goal.flat))
        stretch = (1.0 - spread_exponent(goal.bite / (goal.flat / 2))) * moved / goal.flat

        def crush(fineness: Fineness) -> Operation:
            return between_dies(
                curve,
                used,
                (Flat("top die", goal.flat),),
                fineness=fineness,
                height=height,
                stretch=Stretch(rate=stretch),
                strength=self._strength(into),
                symmetry=symmetry,
            )

        self._run(crush, into, height - goal.flat)

    def _run(self, make: Callable[[Fineness], Operation], into: Floats, to: float) -> None:
        self.run(make, lambda part: Turned(part=part, into=into), to)

    def run(
        self, make: Callable[[Fineness], Operation], place: Callable[[Part], Part], to: float
    ) -> None:
        """Work a pass out; `place` brings its flow back into the frame of the section.

        Raises
        ------
        FlowError
            If the flow gives out.
        """
        flowed = sturdily(make, self._fine, _Passing(self._progress, len(self.loads)))
        part = place(flowed.chain)
        self.way.add(part)
        self.curve = place(Curve(flowed.curve())).outline()
        self.loads.append(_load(flowed, to))
        self.damage = max(self.damage, flowed.report.damage.value)
        self.steps += flowed.report.steps
        self.unsettled += flowed.report.unsettled

    def _strength(self, into: Floats) -> Callable[[Floats], Floats]:
        if self._gaps is None:
            return even
        gaps, way = self._gaps, self.way.copy()

        def strength(points: Floats) -> Floats:
            return np.where(gaps(way.back(points @ into)), PASSIVE, 1.0)

        return strength

    def _set_askew(self, goal: Squeeze, axis: int) -> None:
        points = flattened(self.curve)
        low, high = points.min(axis=0), points.max(axis=0)
        askew = Askew(
            axis=axis,
            low=float(low[axis]),
            high=float(high[axis]),
            lean=math.tan(math.radians(goal.lean_deg)),
            bow=goal.bow_mm,
            polygon=points,
        )
        self.curve = askew.forward(_finer(self.curve))
        self.way.add(replace(askew, polygon=flattened(self.curve)))


def sturdily(make: Callable[[Fineness], Operation], fine: bool, progress: Progress) -> Flowed:
    """Work a press out, with other elements where the first ones give out.

    Where steel folds, whether a mesh can be made at all hangs on where its points happen to fall.

    Raises
    ------
    FlowError
        If none of the meshes does.
    """
    base = FINE if fine else COARSE
    for size in (1.0, *OTHER_SIZES):
        fineness = replace(base, across=base.across / size, split=base.split * size)
        try:
            return march(make(fineness), progress)
        except FlowError:
            if size == OTHER_SIZES[-1]:
                raise
    raise AssertionError("one of the sizes is the last")


class _Passing:
    """Progress of one pass among nobody knows how many: each takes its share of what is left."""

    def __init__(self, whole: Progress, before: int) -> None:
        self._whole, self._before = whole, before

    def at(self, fraction: float, text: str) -> None:
        """The pass stands at `fraction`."""
        self._whole.at(1.0 - LEFT ** (self._before + fraction), f"pass {self._before + 1}")


def _finer(curve: Floats) -> Floats:
    """Return a curve with its edges parted in eight: straight sides can bow then."""
    first, middle, last = curve[0::2], curve[1::2], np.roll(curve[0::2], -1, axis=0)
    t = (np.arange(16) / 16)[None, :, None]
    points = (
        first[:, None] * (1 - t) * (1 - 2 * t)
        + middle[:, None] * 4 * t * (1 - t)
        + last[:, None] * t * (2 * t - 1)
    )
    return np.ascontiguousarray(points.reshape(-1, 2))


def _load(flowed: Flowed, to: float) -> Load:
    """Return the load with the force of the whole section, over the flow stress at its mean rate.

    The dies close at speed 1, and the force is largest at the end: the rate goes by the last height.
    """
    whole = 2.0 if flowed.symmetry.x is not None else 1.0
    peak = max(flowed.report.peak(name) for name in flowed.report.force)
    stress = (1.0 / to) ** STEEL.exponent
    return Load(width=whole * peak / stress, height=to, strain=flowed.report.strain[1])
