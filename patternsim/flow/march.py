"""A press from beginning to end: moment after moment, meshed anew where the elements tire."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.errors import FlowError
from patternsim.flow.chain import Chain, Segment
from patternsim.flow.halving import whole
from patternsim.flow.lines import bow
from patternsim.flow.mesh import Mesh
from patternsim.flow.moment import Moment
from patternsim.flow.operation import Operation
from patternsim.flow.remeshing import remesh
from patternsim.flow.report import Report, Worst, steady
from patternsim.flow.settings import Symmetry
from patternsim.flow.settling import Settled, settle
from patternsim.flow.state import State, centres
from patternsim.flow.stops import Force, Stop, Stroke
from patternsim.flow.tools import Tool
from patternsim.flow.touching import touching
from patternsim.progress import Progress, Silent

Floats = NDArray[np.float64]

LEAST_STEP = 1e-3
"""Shortest step over the longest: below, a few elements would hold the whole press up."""
LANDING = 0.02
"""Shortest step towards a stop whose speed is only guessed, over the longest."""
SPENT_SHAPE, SPENT_BEND = 0.03, 0.05
"""A step is halved rather than leave a triangle or a Jacobian below these."""
OVERFILLED = 0.1
"""Depth in a tool, over the element, that only steel shut in on all sides is forced to."""
RUNAWAY = 100.0
"""Speed of the steel over that of the tools that no press comes to; thin flats reach some ten."""
DEAD_SHAPE = 0.02
"""Below this a mesh that cannot be made anew is given up."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Flowed:
    """A finished press.

    Attributes
    ----------
    mesh : Mesh
        The section as it came out (the part the symmetry keeps).
    chain : Chain
        From any point after to the point before, for the whole section.
    report : Report
    strain, damage : (m,)
        Of each element of the mesh.
    moved : (t, 2)
        Where the tools ended.
    symmetry : Symmetry
        What was left out.
    """

    mesh: Mesh
    chain: Chain
    report: Report
    strain: Floats
    damage: Floats
    moved: Floats
    symmetry: Symmetry

    def curve(self) -> Floats:
        """Return the border of the whole section as it came out: a closed quadratic curve (2k, 2)."""
        return whole(self.mesh.outline(), self.symmetry)


def march(operation: Operation, progress: Progress | None = None) -> Flowed:
    """Work a press out.

    Raises
    ------
    FlowError
        If it cannot be: what gave out, after which stroke.
    Cancelled
        From `progress`.
    """
    march_ = _March(operation, progress or Silent())
    return march_.run()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Opened:
    """The first moment of a press.

    Attributes
    ----------
    settled : Settled
        Velocities and pressures.
    moment : Moment
        Its equations.
    force : dict of str to (2,)
        What the steel pushes each tool with, per unit length of bar.
    """

    settled: Settled
    moment: Moment
    force: dict[str, Floats]


def opening(operation: Operation, *, step: float) -> Opened:
    """Work out only the first moment of a press, for a step of length `step`.

    Raises
    ------
    ArithmeticError
        If the equations cannot be solved.
    """
    march_ = _March(operation, Silent())
    moment = march_.moment(step)
    settled = settle(moment, march_.state.rates, fresh=True)
    forces = moment.touching.forces
    names = [tool.name for tool in march_.state.tools]
    return Opened(
        settled=settled,
        moment=moment,
        force={name: forces[k].copy() for k, name in enumerate(names)},
    )


class _March:
    def __init__(self, operation: Operation, progress: Progress) -> None:
        self.state, self.operation, self.progress = State(operation), operation, progress
        self.wanting: dict[int, tuple[float, float]] = {}
        self.longest = 0.0

    def run(self) -> Flowed:
        state, care = self.state, self.operation.care
        while True:
            reason, room = self._stops()
            if reason:
                return self._flowed(reason)
            if state.steps >= care.steps:
                raise FlowError(f"not done after {care.steps} steps: {self._where()}")
            self._mesh_if_tired()
            self._step(room)

    # --- when it ends ---------------------------------------------------------------------

    def _stops(self) -> tuple[str, float]:
        """Return the reason to stop, or "", and the longest step that oversteps no stop."""
        state, room = self.state, np.inf
        for place, stop in enumerate(self.operation.stops):
            short = stop.short(state)
            if short <= 1e-9:
                return stop.reason, 0.0
            room = min(room, self._time_to(place, stop, short))
            self.wanting[place] = (state.time, short)
        return "", room

    def _time_to(self, place: int, stop: Stop, short: float) -> float:
        if isinstance(stop, Stroke):
            return short / self.state.closing
        if isinstance(stop, Force) or place not in self.wanting:
            return np.inf
        then, wanting = self.wanting[place]
        speed = (wanting - short) / max(self.state.time - then, 1e-300)
        if speed <= 0.0:
            return np.inf
        return max(short / speed, LANDING * self.operation.step)

    def _done(self) -> float:
        """Return roughly how much of the press is over, 0 to 1."""
        shares = [0.0]
        for stop in self.operation.stops:
            if isinstance(stop, Stroke):
                shares.append(1.0 - stop.short(self.state) / max(stop.length, 1e-300))
        return min(max(shares), 1.0)

    def _where(self) -> str:
        state = self.state
        return (
            f"stroke {state.time * state.closing:.3g} of a section {np.ptp(state.mesh.nodes[:, 0]):.3g} "
            f"by {np.ptp(state.mesh.nodes[:, 1]):.3g}, {len(state.mesh.nodes)} points"
        )

    # --- one step -------------------------------------------------------------------------

    def _mesh_if_tired(self) -> None:
        state, care = self.state, self.operation.care
        shape, bend = state.mesh.quality()
        due = care.every and state.since >= care.every
        if not (due or shape < care.shape or bend < care.bend):
            return
        try:
            remesh(state)
        except FlowError as fault:
            if shape < DEAD_SHAPE or bend < 0.0:
                raise FlowError(f"{fault}; {self._where()}") from fault

    def _step(self, room: float) -> None:
        state, operation = self.state, self.operation
        step = min(operation.step, room)
        if np.isfinite(state.limit):
            step = min(step, max(1.1 * state.limit, LEAST_STEP * operation.step))
        if not operation.stretch.free:
            # The straight step with which the length grows as at the true rate.
            state.rates.stretch = float(np.expm1(operation.stretch.rate * step)) / step
        moment = self.moment(step)
        if moment.touching.deepest > OVERFILLED * operation.size.coarsest:
            raise FlowError(f"the steel has nowhere left to go between the tools: {self._where()}")
        try:
            settled = settle(moment, state.rates, fresh=state.steps == 0)
        except ArithmeticError as fault:
            raise FlowError(f"the equations gave out ({fault}): {self._where()}") from fault
        fastest = float(np.abs(settled.rates.velocity).max())
        if not fastest < RUNAWAY * moment.touching.fastest:
            raise FlowError(f"the steel has nowhere left to go between the tools: {self._where()}")
        state.limit = operation.care.turn / max(moment.steepest(settled.rates), 1e-300)
        if state.limit < step:
            step = max(state.limit, LEAST_STEP * operation.step)
        step = self._unbroken(settled, step)
        self._advance(moment, settled, step)

    def moment(self, step: float) -> Moment:
        state, operation = self.state, self.operation
        strength = float(np.median(state.strength)) * operation.rate**operation.law.exponent
        return Moment(
            state.mesh,
            state.pattern,
            strength=state.strength,
            law=operation.law,
            care=operation.care,
            rate=operation.rate,
            touching=touching(
                state.mesh,
                state.tools,
                state.moved,
                step=step,
                element=operation.size.coarsest,
                shear=strength / np.sqrt(3.0),
                pressing=state.pressing,
            ),
            fixed=state.fixed(),
            step=step,
            stretch=operation.stretch,
            element=operation.size.coarsest,
            pulse=self._pulse,
        )

    def _pulse(self) -> None:
        self.longest = max(self.longest, self._done())
        self.progress.at(self.longest, "the steel flows")

    def _unbroken(self, settled: Settled, step: float) -> float:
        """Return `step`, halved until no element is turned inside out."""
        mesh = self.state.mesh
        for _ in range(6):
            shape, bend = mesh.moved(mesh.nodes + step * settled.rates.velocity).quality()
            if shape > SPENT_SHAPE and bend > SPENT_BEND:
                break
            step /= 2.0
        return step

    def _advance(self, moment: Moment, settled: Settled, step: float) -> None:
        state, rates = self.state, settled.rates
        upright, level = state.on_lines()
        nodes = state.mesh.nodes + step * rates.velocity
        if state.symmetry.x is not None:
            nodes[state.mesh.loop[upright], 0] = state.symmetry.x
        if state.symmetry.y is not None:
            nodes[state.mesh.loop[level], 1] = state.symmetry.y
        self._note(moment, settled, step)
        before = state.mesh.area()
        state.mesh = state.mesh.moved(nodes)
        grown = state.mesh.area() / before * (1.0 + rates.stretch * step)
        state.notes.drift += abs(grown - 1.0)
        state.rates = rates
        state.moved += step * np.array([tool.velocity for tool in state.tools])
        state.time += step
        state.log_stretch += float(np.log1p(rates.stretch * step))
        state.steps += 1
        state.since += 1
        state.notes.time.append(state.time)

    def _note(self, moment: Moment, settled: Settled, step: float) -> None:
        state, notes, pairs = self.state, self.state.notes, moment.touching
        stresses = moment.stresses(settled.rates)
        half = (stresses[:, 0] - stresses[:, 1]) / 2.0
        largest = np.maximum(
            (stresses[:, 0] + stresses[:, 1]) / 2.0 + np.hypot(half, stresses[:, 2]), stresses[:, 3]
        )
        state.strain += step * stresses[:, 5]
        state.damage += step * stresses[:, 5] * np.maximum(largest, 0.0) / stresses[:, 4]
        for line in state.lines.values():
            line.pulled(state.mesh, stresses)
        notes.corrections += settled.tries
        notes.unsettled += not settled.whole
        # Where the search ended before it was balanced, what the tools hold is no force of a press.
        told = settled.whole or not notes.force
        notes.force.append(pairs.forces.copy() if told else notes.force[-1])
        state.pressing[:] = 0.0
        state.pressing[pairs.tool, pairs.node] = pairs.pressure
        width = np.zeros(len(state.tools))
        for tool in range(len(state.tools)):
            at = state.mesh.nodes[pairs.node[pairs.active & (pairs.tool == tool)]]
            width[tool] = float(np.hypot(*np.ptp(at, axis=0))) if len(at) else 0.0
            if state.symmetry.x is not None and len(at):
                width[tool] = 2.0 * float((at[:, 0] - state.symmetry.x).max())
        notes.width.append(width)

    # --- the end --------------------------------------------------------------------------

    def _flowed(self, reason: str) -> Flowed:
        state = self.state
        mesh = state.mesh
        state.segments.append(Segment(mesh.triangles, state.begun, mesh.nodes, mesh.vertices, mesh.loop))
        chain = Chain(state.segments, mirror_x=state.symmetry.x, mirror_y=state.symmetry.y)
        return Flowed(
            mesh=mesh,
            chain=chain,
            report=self._report(reason),
            strain=state.strain,
            damage=state.damage,
            moved=state.moved,
            symmetry=state.symmetry,
        )

    def _report(self, reason: str) -> Report:
        state, notes = self.state, self.state.notes
        worst = int(state.damage.argmax())
        at = centres(state.mesh)[worst]
        force = np.array(notes.force).reshape(len(notes.force), len(state.tools), 2)
        width = np.array(notes.width).reshape(len(notes.force), len(state.tools))
        names = [tool.name for tool in state.tools]
        return Report(
            reason=reason,
            steps=state.steps,
            corrections=notes.corrections,
            unsettled=notes.unsettled,
            remeshes=notes.remeshes,
            most_nodes=notes.most_nodes,
            drift=notes.drift,
            repaired=notes.repaired,
            stroke=np.array(notes.time) * state.closing,
            force={tool.name: steady(_against(force[:, k], tool)) for k, tool in enumerate(state.tools)},
            side={name: steady(force[:, k, 0]) for k, name in enumerate(names)},
            width={name: width[:, k] for k, name in enumerate(names)},
            stretch=float(np.exp(state.log_stretch)),
            damage=Worst(float(state.damage[worst]), (float(at[0]), float(at[1]))),
            strain=(
                float(state.strain.min()),
                float(state.strain.mean()),
                float(state.strain.max()),
            ),
            bow={name: bow(line.points(state.mesh)) for name, line in state.lines.items()},
            tension={name: line.tension for name, line in state.lines.items()},
        )


def _against(force: Floats, tool: Tool) -> Floats:
    """Return the part of forces (s, 2) against the way a tool goes; the whole size if it stands."""
    speed = float(np.hypot(*tool.velocity))
    if speed == 0.0:
        size: Floats = np.linalg.norm(force, axis=1)
        return size
    against: Floats = -(force @ np.array(tool.velocity)) / speed
    return against
