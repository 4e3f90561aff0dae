"""Backward maps of passes in a row, each in a frame of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from patternsim.progress import Progress

Floats = NDArray[np.float64]

AT_ONCE = 6000
"""Points that are led back before it is asked again whether they are wanted."""


class Part(Protocol):
    """A backward map of a plane."""

    def back(self, points: Floats) -> Floats:
        """Return where points (n, 2) were before."""

    def inside(self, points: Floats) -> NDArray[np.bool_]:
        """Return which points (n, 2) lie in the steel."""

    def outline(self) -> Floats:
        """Return the outline as a polygon (k, 2)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Turned:
    """A flow worked out in a turned frame; `into` (2, 2) turns points into it."""

    part: Part
    into: Floats

    def back(self, points: Floats) -> Floats:
        """Return where points (n, 2) were before."""
        return self.part.back(points @ self.into.T) @ self.into

    def inside(self, points: Floats) -> NDArray[np.bool_]:
        """Return which points (n, 2) lie in the steel."""
        return self.part.inside(points @ self.into.T)

    def outline(self) -> Floats:
        """Return the outline."""
        return self.part.outline() @ self.into


class Curve:
    """An outline that is brought from frame to frame like a flow."""

    def __init__(self, curve: Floats) -> None:
        self._curve = curve

    def back(self, points: Floats) -> Floats:
        """Return the points: nothing flows."""
        return points

    def inside(self, points: Floats) -> NDArray[np.bool_]:
        """Return that no point is known to lie inside."""
        return np.zeros(len(points), dtype=bool)

    def outline(self) -> Floats:
        """Return the curve."""
        return self._curve


class Way:
    """The backward map of passes one after another."""

    def __init__(self) -> None:
        self._parts: list[Part] = []

    def add(self, part: Part) -> None:
        """Add the latest pass, in the frame of the section."""
        self._parts.append(part)

    def copy(self) -> Way:
        """Return the passes so far."""
        other = Way()
        other._parts = list(self._parts)
        return other

    def back(self, points: Floats) -> Floats:
        """Return where points (n, 2) after the last pass were before the first."""
        for part in reversed(self._parts):
            points = part.back(points)
        return points

    def inside(self, points: Floats) -> NDArray[np.bool_]:
        """Return which points (n, 2) lie in the steel after the last pass."""
        return self._parts[-1].inside(points)

    def outline(self) -> Floats:
        """Return the outline after the last pass."""
        return self._parts[-1].outline()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Askew:
    """A stack set up out of upright or out of line: a shear along its height.

    Attributes
    ----------
    axis : int
        Along which it stands.
    low, high : float
        Its ends.
    lean, bow : float
        Sideways over height; how far the middle stands out.
    polygon : (k, 2)
        Its outline as it stands.
    """

    axis: int
    low: float
    high: float
    lean: float
    bow: float
    polygon: Floats

    def _aside(self, points: Floats) -> Floats:
        t = (points[:, self.axis] - self.low) / (self.high - self.low)
        return self.lean * (t - 0.5) * (self.high - self.low) + self.bow * 4.0 * t * (1.0 - t)

    def forward(self, points: Floats) -> Floats:
        """Return where points of the true stack stand."""
        out = points.copy()
        out[:, 1 - self.axis] += self._aside(points)
        return out

    def back(self, points: Floats) -> Floats:
        """Return where points (n, 2) were in the true stack."""
        out = points.copy()
        out[:, 1 - self.axis] -= self._aside(points)
        return out

    def inside(self, points: Floats) -> NDArray[np.bool_]:
        """Return which points (n, 2) lie in the steel: none asks this of what is pressed next."""
        low, high = self.polygon.min(axis=0), self.polygon.max(axis=0)
        return np.asarray(((points >= low) & (points <= high)).all(axis=1))

    def outline(self) -> Floats:
        """Return the outline as it stands."""
        return self.polygon


class Heeded:
    """A backward map that asks, between points, whether the work is still wanted."""

    def __init__(self, part: Part, progress: Progress) -> None:
        self._part, self._progress = part, progress

    def back(self, points: Floats) -> Floats:
        """Return where points (n, 2) were before."""
        found = []
        for first in range(0, max(len(points), 1), AT_ONCE):
            self._progress.at(1.0, "")
            found.append(self._part.back(points[first : first + AT_ONCE]))
        return np.concatenate(found)

    def inside(self, points: Floats) -> NDArray[np.bool_]:
        """Return which points (n, 2) lie in the steel."""
        self._progress.at(1.0, "")
        return self._part.inside(points)

    def outline(self) -> Floats:
        """Return the outline as a polygon (k, 2)."""
        return self._part.outline()
