"""A press under way: the steel as it lies, the tools where they are, and what is noted of it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.boundary import fine
from patternsim.flow.chain import Segment
from patternsim.flow.finding import Finder
from patternsim.flow.lines import Line
from patternsim.flow.mesh import Mesh
from patternsim.flow.moment import Rates
from patternsim.flow.operation import Operation
from patternsim.flow.pattern import Pattern
from patternsim.flow.report import MEDIAN_OF
from patternsim.flow.settings import Symmetry
from patternsim.flow.tools import HalfPlane, Tool

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

FLAT = 0.002
"""Steel this near to a tool, over the extent of the section, counts as lying on it."""
ON_LINE = 1e-9
"""Distance from a symmetry line, in elements, within which a node lies on it."""


@dataclass(slots=True, eq=False)
class Notes:
    """What is written down at each step."""

    time: list[float] = field(default_factory=list)
    force: list[Floats] = field(default_factory=list)
    width: list[Floats] = field(default_factory=list)
    corrections: int = 0
    unsettled: int = 0
    remeshes: int = 0
    most_nodes: int = 0
    drift: float = 0.0
    repaired: float = 0.0


class State:
    """A press under way.

    Attributes
    ----------
    mesh, pattern, rates
        The steel now, its equations, its latest velocities (guess for the next moment).
    moved : (t, 2)
        How far each tool has come.
    pressing : (t, n)
        Pressure of each tool on each node in the last step.
    time, log_stretch : float
        Time from the start; logarithm of length over length at the start.
    limit : float
        Longest step that the last moment allowed.
    strength, damage, strain : (m,)
        Of each element.
    segments : list of Segment
        Finished stretches of the way, each with one mesh.
    """

    def __init__(self, operation: Operation) -> None:
        mesh = operation.mesh
        self.operation = operation
        self.tools: tuple[Tool, ...] = operation.tools + _wall_of(operation)
        self.mesh, self.pattern = mesh, Pattern(mesh)
        self.rates = Rates(np.zeros_like(mesh.nodes), np.zeros(mesh.vertices), operation.stretch.rate)
        self.moved = np.zeros((len(self.tools), 2))
        self.pressing = np.zeros((len(self.tools), len(mesh.nodes)))
        self.time = self.log_stretch = 0.0
        self.steps, self.since, self.limit = 0, 0, np.inf
        self.area = mesh.area()
        self.segments: list[Segment] = []
        self.begun = mesh.nodes
        self.strength = np.asarray(operation.strength(centres(mesh)), dtype=float)
        self.damage, self.strain = np.zeros(len(mesh.triangles)), np.zeros(len(mesh.triangles))
        self.notes = Notes(most_nodes=len(mesh.nodes))
        self.lines: dict[str, Line] = {}
        if operation.lines:
            finder = Finder(mesh)
            self.lines = {name: Line.laid(finder, at) for name, at in operation.lines.items()}

    @property
    def symmetry(self) -> Symmetry:
        """The symmetry of the operation."""
        return self.operation.symmetry

    @property
    def closing(self) -> float:
        """Speed at which the tools close."""
        return self.operation.closing

    def place(self, name: str) -> int:
        """Return the place of the tool of that name; KeyError if there is none."""
        return self.operation.tool(name)

    def joined_below(self) -> float:
        """Return the height below which the upright symmetry line is one piece."""
        cut = self.operation.cut
        if cut is None:
            return np.inf
        if cut.by is None:
            return cut.joined_below
        place = self.operation.tool(cut.by)
        nose = self.tools[place].shape.lowest() + self.moved[place, 1]
        return float(min(cut.joined_below, nose - cut.ahead))

    def on_lines(self, mesh: Mesh | None = None) -> tuple[Bools, Bools]:
        """Return which nodes of the border, in its order, are held on the upright and the level line."""
        mesh = self.mesh if mesh is None else mesh
        border = mesh.nodes[mesh.loop]
        near = ON_LINE * max(1.0, self.operation.size.coarsest)
        upright, level = np.zeros(len(border), bool), np.zeros(len(border), bool)
        if self.symmetry.x is not None:
            upright = np.abs(border[:, 0] - self.symmetry.x) < near
            upright &= border[:, 1] < self.joined_below()
        if self.symmetry.y is not None:
            level = np.abs(border[:, 1] - self.symmetry.y) < near
        return upright, level

    def fixed(self) -> Bools:
        """Return which unknowns are held at nought, (size,)."""
        upright, level = self.on_lines()
        out = np.zeros(self.pattern.size, dtype=bool)
        out[2 * self.mesh.loop[upright]] = True
        out[2 * self.mesh.loop[level] + 1] = True
        return out

    def contact_width(self, name: str) -> float:
        """Return how wide the steel lies on a tool: within `FLAT` of its face, between its points too.

        What touches goes by whole elements; a corner that is crushed must not stop earlier on a finer
        mesh.
        """
        place = self.operation.tool(name)
        points = fine(self.mesh.outline())
        gap, normal = self.tools[place].gaps(points, self.moved[place])
        short = gap - FLAT * float(np.ptp(points, axis=0).max())
        along = points[:, 0] * normal[:, 1] - points[:, 1] * normal[:, 0]
        crossing = (short < 0.0) != (np.roll(short, -1) < 0.0)
        if not crossing.any():
            return 0.0
        share = short[crossing] / (short - np.roll(short, -1))[crossing]
        ends = along[crossing] + share * (np.roll(along, -1) - along)[crossing]
        line = self.symmetry.x
        if line is None:
            return float(np.ptp(ends))
        on_line = line * float(normal[crossing][0, 1])
        return 2.0 * float(np.abs(ends - on_line).max())

    def steady_force(self, name: str) -> float:
        """Return the median size of the force on a tool over the last steps."""
        if not self.notes.force:
            return 0.0
        place = self.operation.tool(name)
        last = np.array([force[place] for force in self.notes.force[-MEDIAN_OF:]])
        return float(np.median(np.linalg.norm(last, axis=1)))


def centres(mesh: Mesh) -> Floats:
    """Return the middle of each element's corners, (m, 2)."""
    out: Floats = mesh.nodes[mesh.triangles[:, :3]].mean(axis=1)
    return out


def _wall_of(operation: Operation) -> tuple[Tool, ...]:
    """Return what keeps cut faces from running through each other."""
    if operation.cut is None or operation.cut.by is None or operation.symmetry.x is None:
        return ()
    return (Tool(name="other half", shape=HalfPlane((operation.symmetry.x, 0.0), (1.0, 0.0))),)
