"""One moment of a press: the velocities and pressures with which the steel gives way.

Of all flows that keep volume and stay out of the tools the steel takes the one that needs least power
(Hill,
The Mathematical Theory of Plasticity, 1950, ch. III). The potential is convex, so Newton's method with
a search
along each correction finds it; while nodes come into touch or leave it, corrections are taken whole.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.compiled import elements as compiled
from patternsim.flow.compiled.touch import touch
from patternsim.flow.elements import SIX
from patternsim.flow.mesh import Mesh
from patternsim.flow.pattern import Pattern
from patternsim.flow.settings import Care, Law, Stretch
from patternsim.flow.touching import Touching

Floats = NDArray[np.float64]

DRAG = 1e-8
"""Drag on every node, over flow stress and rate: keeps a block that nothing holds from drifting."""
AXIAL_SMOOTH = 0.01
"""Rate along the bar, over the rate of the press, below which friction along the dies falls off."""


@dataclass(slots=True, eq=False)
class Rates:
    """What is found: velocity (n, 2), pressure (vertices,), true rate along the bar."""

    velocity: Floats
    pressure: Floats
    stretch: float

    def copy(self) -> Rates:
        """Return a copy that shares nothing."""
        return Rates(self.velocity.copy(), self.pressure.copy(), self.stretch)

    def plus(self, change: Rates, share: float) -> Rates:
        """Return these rates and a share of a change."""
        return Rates(
            self.velocity + share * change.velocity,
            self.pressure + share * change.pressure,
            self.stretch + share * change.stretch,
        )

    def size(self) -> float:
        """Return the root of the sum of squares of the velocities."""
        return float(np.sqrt((self.velocity**2).sum()))


def _nothing() -> None:
    pass


class Moment:
    """The equations of one moment.

    Parameters
    ----------
    mesh, pattern : Mesh, Pattern
    strength : (m,)
        Flow stress at rate 1 of each element.
    law, care : Law, Care
    rate : float
        Nominal rate of the press: speed over height.
    touching : Touching
    fixed : (size,) bool
        Unknowns that keep their value.
    step : float
        Length of the step that follows, for gaps and kept volume.
    stretch : Stretch
    element : float
        Element size that the penalty of touching goes by.
    load : (2 n,) or None
        Forces on nodes.
    pulse : callable
        Called before every correction; may raise to call the work off.
    """

    def __init__(
        self,
        mesh: Mesh,
        pattern: Pattern,
        *,
        strength: Floats,
        law: Law,
        care: Care,
        rate: float,
        touching: Touching,
        fixed: NDArray[np.bool_],
        step: float,
        stretch: Stretch,
        element: float,
        load: Floats | None = None,
        pulse: Callable[[], None] = _nothing,
    ) -> None:
        self.mesh, self.pattern, self.strength = mesh, pattern, strength
        self.care, self.touching, self.fixed = care, touching, fixed
        self.exponent, self.least, self.step = law.exponent, law.least * rate, step
        self.stretch, self.load, self.pulse = stretch, load, pulse
        count = len(mesh.triangles)
        points = len(SIX.weights)
        self.slopes = np.empty((count, points, 2, 6))
        self.areas = np.empty((count, points))
        self.least_jacobian = compiled.geometry(
            mesh.nodes, mesh.triangles, SIX.along_r, SIX.along_s, SIX.weights, self.slopes, self.areas
        )
        self.source = np.zeros((count, points))
        self.values = np.empty(pattern.entries)
        self.residual = np.empty(pattern.size)
        self.column = np.empty(pattern.size)
        yield_stress = float(np.median(strength)) * rate**law.exponent
        self.penalty = care.penalty * yield_stress / (rate * element * 3.0)
        self.drag = DRAG * yield_stress / rate
        self.slip = care.slip * touching.fastest
        self.small_axial = AXIAL_SMOOTH * rate
        self.shear = yield_stress / np.sqrt(3.0)

    # --- the potential and its slopes -----------------------------------------------------

    def look(self, rates: Rates, *, secant: bool) -> tuple[float, float]:
        """Fill values, residual and column at `rates`; return axial residual and stiffness."""
        nodes = len(self.mesh.nodes)
        self.values[:] = 0.0
        self.residual[:] = 0.0
        self.column[:] = 0.0
        axial = compiled.assemble(
            self.mesh.triangles, self.slopes, self.areas, SIX.linear, rates.velocity, rates.pressure,
            rates.stretch, self.source, self.strength, self.exponent, self.least, not secant,
            self.pattern.places, self.fixed, self.values, self.residual, self.column,
        )  # fmt: skip
        self.touch_energy = self._touch(rates, mode=2, secant=secant)
        flat = rates.velocity.ravel()
        self.residual[: 2 * nodes] += self.drag * flat
        if self.load is not None:
            self.residual[: 2 * nodes] -= self.load
        diagonal = self.pattern.diagonal
        self.values[diagonal[: 2 * nodes]] += self.drag
        self.values[diagonal[self.fixed]] = 1.0
        self.residual[self.fixed] = 0.0
        force, stiffness = self._along_the_bar(rates.stretch)[1:]
        return axial[0] + force, axial[1] + stiffness

    def power(self, rates: Rates) -> float:
        """Return the power potential at `rates`."""
        return float(self._elements(rates) + self._touch(rates, mode=0) + self._rest(rates))

    def power_looked_at(self, rates: Rates) -> float:
        """Return the power potential at the rates that were looked at last."""
        return float(self._elements(rates) + self.touch_energy + self._rest(rates))

    def _elements(self, rates: Rates) -> float:
        found = compiled.energy(
            self.mesh.triangles, self.slopes, self.areas, rates.velocity, rates.stretch, self.strength,
            self.exponent, self.least,
        )  # fmt: skip
        return float(found)

    def _rest(self, rates: Rates) -> float:
        rest = self._along_the_bar(rates.stretch)[0]
        if self.load is not None:
            rest -= float(self.load @ rates.velocity.ravel())
        return rest

    def _touch(self, rates: Rates, *, mode: int, secant: bool = False) -> float:
        pairs = self.touching
        if mode:
            pairs.forces[:] = 0.0
        found = touch(
            pairs.node, pairs.tool, pairs.gap, pairs.normal, pairs.share, pairs.speed, pairs.shear,
            pairs.coulomb, pairs.sticks, pairs.before, rates.velocity, self.step, self.penalty,
            self.slip,
            secant, self.fixed, self.pattern.blocks, self.values, self.residual, pairs.forced,
            pairs.active,
            pairs.pressure, pairs.forces, mode,
        )  # fmt: skip
        if mode:
            pairs.before[:] = np.where(
                pairs.before < 0.0, pairs.pressure, 0.5 * (pairs.before + pairs.pressure)
            )
        return float(found)

    def _along_the_bar(self, stretch: float) -> tuple[float, float, float]:
        """Return potential, force and stiffness of die friction along the bar.

        A bite of length b spreads to both sides from its middle: mean sliding speed |e| b / 4.
        """
        if not (self.stretch.free and self.stretch.bite):
            return 0.0, 0.0, 0.0
        pairs = self.touching
        friction = pairs.shear[pairs.tool] / self.shear
        width = float((pairs.share * friction)[pairs.active].sum())
        scale = self.shear * self.stretch.bite / 4.0 * width
        smooth = float(np.hypot(stretch, self.small_axial))
        return (
            scale * (smooth - self.small_axial),
            scale * stretch / smooth,
            scale * self.small_axial**2 / smooth**3,
        )

    # --- towards the least of it ----------------------------------------------------------

    def seat(self, rates: Rates) -> None:
        """Let nodes that a tool pressed before start with that pressure.

        A step leaves them on the tool but for rounding; without this, chance would say which touch.
        """
        pairs = self.touching
        for c in np.nonzero(pairs.guess > 0.0)[0]:
            node, normal = pairs.node[c], pairs.normal[c]
            deep = pairs.guess[c] / self.penalty + pairs.gap[c] / self.step
            off = deep + (rates.velocity[node] - pairs.speed[pairs.tool[c]]) @ normal
            free = ~self.fixed[2 * node : 2 * node + 2]
            rates.velocity[node] -= np.where(free, off * normal, 0.0)

    def look_at_volume(self, rates: Rates) -> None:
        """Take the volume source from `rates`."""
        compiled.volume_source(
            self.mesh.triangles, self.slopes, rates.velocity, rates.stretch, self.step, self.source
        )

    def correction(self, axial: tuple[float, float]) -> tuple[Rates, float]:
        """Return the change that solves the equations looked at last, and the slope of the potential."""
        nodes = len(self.mesh.nodes)
        factor = self.pattern.elimination.factor(self.values)
        stretch = 0.0
        if self.stretch.free:
            both = factor.solve(np.stack([-self.residual, -self.column], axis=1))
            first, second = both[:, 0], both[:, 1]
            stretch = float((-axial[0] - self.column @ first) / (axial[1] + self.column @ second))
            found = first + second * stretch
        else:
            found = factor.solve(-self.residual)
        slope = min(float(self.residual[: 2 * nodes] @ found[: 2 * nodes]), 0.0)
        return Rates(found[: 2 * nodes].reshape(-1, 2), found[2 * nodes :], stretch), slope

    def weigh(self, rates: Rates) -> None:
        """Fill the forces of the tools at `rates`."""
        self._touch(rates, mode=1)

    # --- what it tells --------------------------------------------------------------------

    def steepest(self, rates: Rates) -> float:
        """Return the largest mean velocity gradient of an element."""
        return float(compiled.steepest(self.mesh.triangles, self.slopes, rates.velocity))

    def stresses(self, rates: Rates) -> Floats:
        """Return the means over each element (m, 6): sxx, syy, sxy, szz, flow stress, rate."""
        out = np.empty((len(self.mesh.triangles), 6))
        compiled.stress(
            self.mesh.triangles, self.slopes, self.areas, SIX.linear, rates.velocity, rates.pressure,
            rates.stretch, self.strength, self.exponent, self.least, out,
        )  # fmt: skip
        return out
