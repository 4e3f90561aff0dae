"""How large the elements are at each stage of a press."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.sizing import Size
from patternsim.flow.underway import Underway

Floats = NDArray[np.float64]


class Sizing(Protocol):
    """Element sizes that may follow the tools.

    Attributes
    ----------
    coarsest : float
        Largest element.
    """

    @property
    def coarsest(self) -> float:
        """Largest element."""

    def at(self, state: Underway) -> Size:
        """Return the sizes to mesh with now."""


@dataclass(frozen=True, slots=True)
class Steady:
    """The same sizes throughout."""

    size: Size

    @property
    def coarsest(self) -> float:
        """Largest element."""
        return self.size.coarsest

    def at(self, state: Underway) -> Size:
        """Return the sizes."""
        return self.size


@dataclass(frozen=True, slots=True, kw_only=True)
class AroundNose:
    """Fine about the nose of a wedge, coarser with the distance from it.

    Attributes
    ----------
    coarsest, finest : float
    growth : float
        Element size gained per distance.
    x, start : float
        Where the nose stands at first: its lowest point.
    nose : float
        Its radius.
    tool : str
    """

    coarsest: float
    finest: float
    x: float
    start: float
    nose: float
    tool: str = "wedge"
    growth: float = 0.35

    def at(self, state: Underway) -> Size:
        """Return the sizes about the nose where it is now."""
        return self.about(self.start + float(state.moved[state.place(self.tool), 1]))

    def about(self, height: float) -> Size:
        """Return the sizes with the nose's lowest point at `height`."""
        free = 1.2 * self.nose + 0.5 * self.finest

        def of(points: Floats) -> Floats:
            far = np.hypot(points[:, 0] - self.x, points[:, 1] - height)
            grown = self.finest + self.growth * np.maximum(far - free, 0.0)
            return np.minimum(self.coarsest, grown)

        return Size(of, self.coarsest, self.finest)
