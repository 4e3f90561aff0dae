"""When a press is over: after a stroke, at a gap, a size, a width of flat, or where the press stalls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from patternsim.flow.underway import Underway


class Stop(Protocol):
    """A reason to stop.

    Attributes
    ----------
    reason : str
        What the report says if it was this one.
    """

    @property
    def reason(self) -> str:
        """What the report says."""

    def short(self, state: Underway) -> float:
        """Return how much is wanting, in the stop's own unit; nought or less: stop."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """Stop when the tools have come `length` closer or, with one tool moving, that far."""

    length: float

    reason = "stroke"

    def short(self, state: Underway) -> float:
        """Return the stroke that is left."""
        return self.length - state.time * state.closing


@dataclass(frozen=True, slots=True)
class Extent:
    """Stop when the steel is `size` wide (`axis` 0) or high (1)."""

    size: float
    axis: int = 0

    reason = "size"

    def short(self, state: Underway) -> float:
        """Return the size that is wanting."""
        border = state.mesh.nodes[state.mesh.loop, self.axis]
        whole = float(np.ptp(border))
        line = state.symmetry.x if self.axis == 0 else state.symmetry.y
        if line is not None:
            whole = 2.0 * float(border.max() - line)
        return self.size - whole


@dataclass(frozen=True, slots=True)
class Flat:
    """Stop when the face pressed by `tool` is `width` wide."""

    tool: str
    width: float

    reason = "width of flat"

    def short(self, state: Underway) -> float:
        """Return the width that is wanting."""
        return self.width - state.contact_width(self.tool)


@dataclass(frozen=True, slots=True)
class Force:
    """Stop when the press can push no harder: `most` per unit length of bar, on `tool`."""

    tool: str
    most: float

    reason = "press force"

    def short(self, state: Underway) -> float:
        """Return the force that is left, by the median of the last steps."""
        return self.most - state.steady_force(self.tool)
