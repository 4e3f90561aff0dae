"""Grooves pressed across a bar with round dies, one after another, where the steel has gone by then."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.flow import Operation, between_dies, tools
from patternsim.flow.halving import symmetry_of
from patternsim.flow.presses import Fineness
from patternsim.flow.settings import Symmetry
from patternsim.flow.sizing import GROWTH, Size
from patternsim.flow.stops import Stroke
from patternsim.press.flowing import Pressing
from patternsim.press.goals import Grooves
from patternsim.press.way import Part
from patternsim.section import Floats, flattened

FAR = 4.0
"""Size of elements far from the groove, over that beside it."""
REACH = 1.0
"""How far beside the groove elements stay fine, over the thickness."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Placed:
    """A flow worked out about a place of its own, upside down or not.

    Attributes
    ----------
    part : Part
    at : (2,)
        Its origin.
    sign : float
        -1: turned by half a turn.
    """

    part: Part
    at: Floats
    sign: float

    def back(self, points: Floats) -> Floats:
        """Return where points (n, 2) were before."""
        return self.part.back((points - self.at) * self.sign) * self.sign + self.at

    def inside(self, points: Floats) -> NDArray[np.bool_]:
        """Return which points (n, 2) lie in the steel."""
        return self.part.inside((points - self.at) * self.sign)

    def outline(self) -> Floats:
        """Return the outline."""
        return self.part.outline() * self.sign + self.at


def press_grooves(pressing: Pressing, goal: Grooves) -> None:
    """Press all grooves of a goal.

    Raises
    ------
    FlowError
        If the flow gives out.
    """
    long = pressing.extents()[0]
    for number, place in enumerate(goal.places):
        points = flattened(pressing.curve)
        low, high = float(points[:, 0].min()), float(points[:, 0].max())
        # The bar has grown by the grooves before: places are taken to have moved evenly with it.
        at = np.array([low + place / long * (high - low), 0.0])
        both = goal.faces == "both"
        up = goal.faces == "mark-side" or (goal.faces == "alternate" and number % 2 == 0)
        _press_one(pressing, goal, at, both=both, sign=1.0 if both or up else -1.0)


def _press_one(pressing: Pressing, goal: Grooves, at: Floats, *, both: bool, sign: float) -> None:
    curve = (pressing.curve - at) * sign
    points = flattened(curve)
    bottom, top = _surfaces(points)
    thick = float(np.ptp(points[:, 1]))
    if both:
        dies: tuple[tools.Tool, ...] = tools.drawing_dies(
            bottom, top, flat=0.0, radius=goal.radius, friction=pressing.friction
        )
        stroke = 2.0 * goal.depth
    else:
        upper, _ = tools.drawing_dies(
            bottom, top, flat=0.0, radius=goal.radius, friction=pressing.friction, speed=2.0
        )
        anvil = tools.HalfPlane((0.0, float(points[:, 1].min())), (0.0, 1.0))
        dies = (upper, tools.Tool(name="bottom die", shape=anvil, friction=pressing.friction))
        stroke = goal.depth
    symmetry = symmetry_of(curve) if both else Symmetry()
    # About the die, not about the bar, and only where the bar is its own mirror image there.
    symmetry = Symmetry(y=symmetry.y)
    used = dies if symmetry.y is None else dies[:1]

    def groove(fineness: Fineness) -> Operation:
        fine = thick / fineness.across
        return between_dies(
            curve,
            used,
            (Stroke(stroke),),
            fineness=fineness,
            height=thick,
            symmetry=symmetry,
            sizes=Size(lambda p: _beside(p, fine, REACH * thick), FAR * fine, fine),
        )

    pressing.run(groove, lambda part: Placed(part=part, at=at, sign=sign), thick - stroke)


def _beside(points: Floats, fine: float, reach: float) -> Floats:
    sizes: Floats = fine + GROWTH * np.maximum(np.abs(points[:, 0]) - reach, 0.0)
    return sizes


def _surfaces(points: Floats) -> tuple[float, float]:
    """Return the lower and the upper surface of a section at its upright line x = 0."""
    x, y = points[:, 0], points[:, 1]
    x1, y1 = np.roll(x, -1), np.roll(y, -1)
    crossing = (x < 0.0) != (x1 < 0.0)
    heights = y[crossing] - x[crossing] * (y1 - y)[crossing] / (x1 - x)[crossing]
    return float(heights.min()), float(heights.max())
