"""What stops and sizes may ask of a press under way."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.mesh import Mesh
from patternsim.flow.settings import Symmetry


class Underway(Protocol):
    """A press under way, as `state.State` is.

    Attributes
    ----------
    mesh : Mesh
        The steel now.
    time : float
    moved : (t, 2)
        How far each tool has come.
    """

    mesh: Mesh
    time: float
    moved: NDArray[np.float64]

    @property
    def symmetry(self) -> Symmetry:
        """Lines about which only one side is worked out."""

    @property
    def closing(self) -> float:
        """Speed at which the tools close."""

    def place(self, name: str) -> int:
        """Return the place of the tool of that name; KeyError if there is none."""

    def contact_width(self, name: str) -> float:
        """Return how wide a tool touched the steel in the last step."""

    def steady_force(self, name: str) -> float:
        """Return the median size of the force on a tool over the last steps."""
