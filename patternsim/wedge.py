"""What a split asks of a wedge: two halves, a nose, how far down."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ROUNDED = 7
"""Decimals of an outline of size 1 that tell splits apart."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wedge:
    """What a split asks.

    Attributes
    ----------
    low, high : (2k, 2) float64, mm
        Outline of each half over (distance from the cut, height above the floor).
    width : float, mm
        Of the whole block.
    leave : float, mm
        Left uncut under the nose.
    included_deg, nose_mm : float
        The wedge: both flanks together; radius of its nose.
    friction, floor : float
        Friction factors of the wedge and of the die below.
    """

    low: Floats
    high: Floats
    width: float
    leave: float
    included_deg: float
    nose_mm: float
    friction: float
    floor: float

    def halves(self) -> tuple[Floats, Floats]:
        """Return the outlines at a block width of 1."""
        return (np.round(self.low / self.width, ROUNDED), np.round(self.high / self.width, ROUNDED))
