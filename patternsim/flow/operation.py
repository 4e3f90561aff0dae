"""One press: what is put between which tools, and until when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.following import Sizing
from patternsim.flow.mesh import Mesh
from patternsim.flow.settings import Care, Cut, Law, Strength, Stretch, Symmetry, even
from patternsim.flow.stops import Stop
from patternsim.flow.tools import Tool

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Operation:
    """A section between tools.

    Attributes
    ----------
    mesh : Mesh
        The section meshed; only the part that the symmetry keeps.
    size : Sizing
        Element sizes, for meshing anew.
    tools : tuple of Tool
    stops : tuple of Stop
        The first to be met ends the press.
    step : float
        Longest step, in time: 0.02 of the height over the closing speed is fine, 0.05 quick.
    rate : float
        Nominal rate: closing speed over height.
    closing : float
        Speed at which the tools come closer; strokes go by it.
    law, care : Law, Care
    stretch : Stretch
    symmetry : Symmetry
    cut : Cut or None
        Set where the two sides of the upright symmetry line can come apart.
    strength : callable
        Flow stress at rate 1 over the section before the press.
    lines : mapping of str to (p, 2)
        Lines of steel to follow: weld lines, the centre line.
    """

    mesh: Mesh
    size: Sizing
    tools: tuple[Tool, ...]
    stops: tuple[Stop, ...]
    step: float
    rate: float
    closing: float = 1.0
    law: Law = field(default_factory=Law)
    care: Care = field(default_factory=Care)
    stretch: Stretch = field(default_factory=Stretch)
    symmetry: Symmetry = field(default_factory=Symmetry)
    cut: Cut | None = None
    strength: Strength = even
    lines: Mapping[str, Floats] = field(default_factory=dict)

    def tool(self, name: str) -> int:
        """Return the place of the tool of that name.

        Raises
        ------
        KeyError
            If there is none.
        """
        for place, tool in enumerate(self.tools):
            if tool.name == name:
                return place
        raise KeyError(f'no tool is called "{name}": {", ".join(t.name for t in self.tools)}')
