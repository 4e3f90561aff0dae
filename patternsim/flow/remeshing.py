"""Meshing anew in the middle of a press: what is carried over, and how volume is put right."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.boundary import Cut as Border
from patternsim.flow.chain import Chain, Segment
from patternsim.flow.finding import Finder, blended
from patternsim.flow.mending import SLIVER, mend
from patternsim.flow.mesh import Mesh
from patternsim.flow.mesher import remeshed
from patternsim.flow.moment import Rates
from patternsim.flow.pattern import Pattern
from patternsim.flow.settings import even
from patternsim.flow.sizing import Size
from patternsim.flow.state import State, centres

Floats = NDArray[np.float64]

LEAST_EDGE = 0.5
"""Shortest edge over the finest asked for: shorter ones only let the border curl under a sharp nose."""
FREE_SHARE = 0.1
"""Share of the border that must be free for volume to be put right there alone."""


def remesh(state: State) -> None:
    """Give the steel a new mesh.

    The way so far ends as a segment; nothing of it is interpolated. Velocities and pressures, guesses
    for
    the next moment, are; damage and strain go with the nearest element.

    Raises
    ------
    FlowError
        If no mesh can be made; the state is as before then.
    """
    old = state.mesh
    size = state.operation.size.at(state)
    new, border = remeshed(
        old,
        size,
        keep=_kept(state),
        least=LEAST_EDGE * size.finest,
        outline=_mended(state, size),
    )
    finder = Finder(old)
    element, local, _ = finder.find(new.nodes)
    rates = _carried(state.rates, old, new, border, element, local)
    pressing = _pressing(state, new, border)
    damage_from, _, _ = finder.find(centres(new))
    state.segments.append(Segment(old.triangles, state.begun, old.nodes, old.vertices, old.loop))
    points = {name: line.points(old) for name, line in state.lines.items()}
    wanted = state.area * float(np.exp(-state.log_stretch))
    state.notes.repaired += abs(new.area() - wanted) / wanted
    new = _right_volume(state, new, wanted)
    state.mesh, state.pattern, state.rates = new, Pattern(new), rates
    state.pressing, state.begun, state.since = pressing, new.nodes, 0
    state.damage, state.strain = state.damage[damage_from], state.strain[damage_from]
    state.notes.remeshes += 1
    state.notes.most_nodes = max(state.notes.most_nodes, len(new.nodes))
    _strengths(state)
    _hold(state)
    if state.lines:
        finder = Finder(new)
        for name, line in state.lines.items():
            line.tied(finder, points[name])


def _mended(state: State, size: Size) -> Floats:
    """Return the border without cracks and laps narrower than the elements can carry.

    Left alone they curl on the scale of a few points and spoil the mesh. Points keep their places in
    the order,
    so that what lies on the old border can still be carried over.
    """
    border = state.mesh.outline().copy()
    narrow = SLIVER * size.finest
    fixed = np.repeat(_kept(state), 2)
    mend(border, size.finest, fixed)
    line = state.symmetry.x
    if line is not None and state.operation.cut is not None and state.operation.cut.by is not None:
        _close_crack(border, state.on_lines()[0], line, narrow)
    _out_of_tools(state, border, fixed)
    return border


def _out_of_tools(state: State, border: Floats, fixed: NDArray[np.bool_]) -> None:
    """Bring points just inside a tool back onto its face, in place."""
    for tool, moved in zip(state.tools, state.moved, strict=True):
        gap, normal = tool.gaps(border, moved)
        inside = (gap < 0.0) & ~fixed
        border[inside] -= gap[inside, None] * normal[inside]


def _close_crack(border: Floats, held: NDArray[np.bool_], line: float, narrow: float) -> None:
    """Shut the crack that runs ahead of a nose as far as it is narrow: that steel is not parted yet."""
    if not held.any() or held.all():
        return
    shut = ~held & (border[:, 0] - line < narrow)
    count = len(border)
    # The border runs down the cut to where it is joined, counter-clockwise.
    end = next(k for k in range(count) if held[k] and not held[k - 1])
    run: list[int] = []
    while shut[(end - 1 - len(run)) % count]:
        run.append((end - 1 - len(run)) % count)
    if len(run) < 2:
        return
    top = max(float(border[run, 1].max()), float(border[end, 1]))
    share = np.arange(1, len(run) + 1) / len(run)
    border[run, 0] = line
    border[run, 1] = border[end, 1] + share * (top - border[end, 1])


def _kept(state: State) -> NDArray[np.bool_]:
    """Return which vertices of the border must stay: the ends of what lies on a symmetry line."""
    kept = np.zeros(len(state.mesh.loop) // 2, dtype=bool)
    for held in state.on_lines():
        on = held[0::2]
        kept |= on & (~np.roll(on, 1) | ~np.roll(on, -1))
    return kept


def _carried(
    rates: Rates,
    old: Mesh,
    new: Mesh,
    border: Border,
    element: NDArray[np.int32],
    local: Floats,
) -> Rates:
    velocity = blended(old, rates.velocity, element, local)
    first = old.loop[0::2][border.edge]
    last = np.roll(old.loop[0::2], -1)[border.edge]
    middle = old.loop[1::2][border.edge]
    t = border.at[:, None]
    velocity[new.loop] = (
        (1 - t) * (1 - 2 * t) * rates.velocity[first]
        + t * (2 * t - 1) * rates.velocity[last]
        + 4 * t * (1 - t) * rates.velocity[middle]
    )
    corners = old.triangles[element[: new.vertices], :3]
    at = local[: new.vertices]
    weights = np.clip(np.stack([1 - at.sum(axis=1), at[:, 0], at[:, 1]], axis=1), 0.0, 1.0)
    pressure = (rates.pressure[corners] * weights).sum(axis=1) / weights.sum(axis=1)
    return Rates(velocity, pressure, rates.stretch)


def _pressing(state: State, new: Mesh, border: Border) -> Floats:
    """Return what each tool pressed with at the nearest old node of the border."""
    old = state.mesh.loop
    nearest = (2 * border.edge + np.rint(2.0 * border.at).astype(int)) % len(old)
    out = np.zeros((len(state.tools), len(new.nodes)))
    out[:, new.loop] = state.pressing[:, old[nearest]]
    return out


def _right_volume(state: State, mesh: Mesh, wanted: float) -> Mesh:
    """Move the free border evenly so that the volume is what it was at the start."""
    nodes = mesh.nodes.copy()
    border = mesh.loop
    side = nodes[np.roll(border, -1)] - nodes[np.roll(border, 1)]
    outward = np.stack([side[:, 1], -side[:, 0]], axis=1)
    outward /= np.maximum(np.linalg.norm(outward, axis=1), 1e-300)[:, None]
    movable = np.ones(len(border), dtype=bool)
    near = 1e-7 * state.operation.size.coarsest
    if state.symmetry.x is not None:
        movable &= np.abs(nodes[border, 0] - state.symmetry.x) > near
    if state.symmetry.y is not None:
        movable &= np.abs(nodes[border, 1] - state.symmetry.y) > near
    share = mesh.shares()[border]
    free = movable.copy()
    for tool, moved in zip(state.tools, state.moved, strict=True):
        gap, _ = tool.gaps(nodes[border], moved)
        free &= gap > 1e-3 * state.operation.size.coarsest
    if share[free].sum() > FREE_SHARE * share.sum():
        movable = free
    length = float(share[movable].sum())
    if length <= 0.0:
        return mesh
    nodes[border[movable]] += (wanted - mesh.area()) / length * outward[movable]
    return mesh.moved(nodes)


def _strengths(state: State) -> None:
    strength = state.operation.strength
    at = centres(state.mesh)
    if strength is not even:
        at = Chain(state.segments).back(at)
    state.strength = np.asarray(strength(at), dtype=float)


def _hold(state: State) -> None:
    """Stop what lies on a symmetry line from crossing it, as rounding would have it."""
    upright, level = state.on_lines()
    state.rates.velocity[state.mesh.loop[upright], 0] = 0.0
    state.rates.velocity[state.mesh.loop[level], 1] = 0.0
