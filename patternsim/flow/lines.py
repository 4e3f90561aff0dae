"""Lines of steel followed through a press: weld lines, the centre line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.finding import Finder, blended
from patternsim.flow.mesh import Mesh
from patternsim.flow.report import Worst

Floats = NDArray[np.float64]


@dataclass(slots=True, eq=False)
class Line:
    """A line tied to the elements it lies in.

    Attributes
    ----------
    element : (p,) int
    local : (p, 2)
        Where each of its points lies; points just outside are taken to the border.
    tension : Worst
        Largest tensile stress across it so far, over the flow stress.
    """

    element: NDArray[np.int32]
    local: Floats
    tension: Worst

    @classmethod
    def laid(cls, finder: Finder, points: Floats) -> Line:
        """Tie `points` (p, 2) to a mesh."""
        element, local, _ = finder.find(np.asarray(points, dtype=float))
        return cls(element, _within(local), Worst(-np.inf, (0.0, 0.0)))

    def points(self, mesh: Mesh) -> Floats:
        """Return where its points are now, (p, 2)."""
        return blended(mesh, mesh.nodes, self.element, self.local)

    def tied(self, finder: Finder, points: Floats) -> None:
        """Tie it anew, to the mesh that `finder` knows."""
        element, local, _ = finder.find(points)
        self.element, self.local = element, _within(local)

    def pulled(self, mesh: Mesh, stresses: Floats) -> None:
        """Take note of the tension across the line under `stresses` (m, 6) of the elements."""
        points = self.points(mesh)
        if len(points) < 2:
            return
        along = np.gradient(points, axis=0)
        across = np.stack([-along[:, 1], along[:, 0]], axis=1)
        across /= np.maximum(np.linalg.norm(across, axis=1), 1e-300)[:, None]
        here = stresses[self.element]
        pull = (
            here[:, 0] * across[:, 0] ** 2
            + here[:, 1] * across[:, 1] ** 2
            + 2.0 * here[:, 2] * across[:, 0] * across[:, 1]
        ) / here[:, 4]
        worst = int(pull.argmax())
        if pull[worst] > self.tension.value:
            self.tension = Worst(float(pull[worst]), (float(points[worst, 0]), float(points[worst, 1])))


def bow(points: Floats) -> float:
    """Return the largest distance of a line from the straight line between its ends."""
    if len(points) < 3:
        return 0.0
    chord = points[-1] - points[0]
    length = float(np.hypot(*chord))
    if length == 0.0:
        return float(np.linalg.norm(points - points[0], axis=1).max())
    off = points - points[0]
    return float(np.abs(off[:, 0] * chord[1] - off[:, 1] * chord[0]).max() / length)


def _within(local: Floats) -> Floats:
    """Return local coordinates pulled back into the triangle."""
    held = np.maximum(local, 0.0)
    over = held.sum(axis=1, keepdims=True)
    return np.where(over > 1.0, held / np.maximum(over, 1.0), held)
