"""What a flow is worked out with: the law of the steel, symmetry, the cut, how exactly."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

Strength = Callable[[Floats], Floats]
"""Points before the press (n, 2) to flow stress at rate 1 there (n,): stiff steel, cold skin, gaps."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """Flow stress = strength * d^exponent (Norton and Hoff), d the equivalent rate.

    Attributes
    ----------
    exponent : float
        0.15 about fits carbon steel at forging heat (physics of hot working, common range 0.1 to 0.2);
        1 is a
        thick liquid, 0.02 next to rigid-plastic.
    least : float
        Rate added to d in squares, over the rate of the whole press: keeps rigid parts solvable.
    """

    exponent: float = 0.15
    least: float = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Symmetry:
    """Lines that nothing crosses, where only a half or a quarter of the section is worked out.

    Attributes
    ----------
    x, y : float or None
        The upright line x = const, the level line y = const; the part kept lies above them.
    """

    x: float | None = None
    y: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """How far the two sides of the upright symmetry line have come apart.

    Attributes
    ----------
    joined_below : float
        Height up to which they are one piece at the start.
    by : str or None
        Name of the tool that opens them as it comes down; None: nothing does.
    ahead : float
        How far below the lowest point of the tool the steel gives way.
    """

    joined_below: float = np.inf
    by: str | None = None
    ahead: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """What happens along the bar, at right angles to the section.

    Attributes
    ----------
    rate : float
        True rate along the bar; the start of the search where it is free.
    free : bool
        The bar takes the length that costs least power.
    bite : float
        Length of the dies along the bar whose friction holds a free stretch back; 0: none.
    """

    rate: float = 0.0
    free: bool = False
    bite: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Care:
    """How exactly one moment and one step are worked out.

    Attributes
    ----------
    change, power : float
        Settled once the velocity changes less than this, or the power potential does.
    tries : int
        Corrections at most.
    toggles : int
        Corrections that may change which nodes touch without a search along them.
    penalty : float
        Pressure for a penetration, over flow stress and the speed at which one element is crossed.
    slip : float
        Sliding speed below which friction falls off, over the speed of the tools.
    turn : float
        Largest product of velocity gradient and step.
    shape, bend : float
        Worst triangle and worst Jacobian that a step may start with; below, the steel is meshed anew.
    every : int
        Steps after which it is meshed anew in any case; 0: only when needed.
    steps : int
        Steps at most.
    """

    change: float = 1e-3
    power: float = 1e-6
    tries: int = 25
    toggles: int = 6
    penalty: float = 1e4
    slip: float = 0.01
    turn: float = 0.35
    shape: float = 0.30
    bend: float = 0.25
    every: int = 0
    steps: int = 2000


def even(points: Floats) -> Floats:
    """Return strength 1 everywhere."""
    return np.ones(len(points))


STEEL, PLANE = Law(), Stretch()
"""Steel at forging heat; a section whose bar keeps its length."""
