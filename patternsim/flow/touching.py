"""Which nodes of the border may meet which tool during a step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.mesh import Mesh
from patternsim.flow.tools import HalfPlane, Tool

Floats = NDArray[np.float64]
NEAR = 0.3
"""Distance, in elements, within which a node is watched even if no tool can reach it in the step."""
REACH = 4.0
"""Tool travel of the step within which a node is watched."""


@dataclass(slots=True, eq=False)
class Touching:
    """Pairs of a node and a tool that may meet; c pairs, t tools.

    Attributes
    ----------
    node, tool : (c,) int64
    gap, share : (c,)
        Distance at the start of the step; length of border that the node stands for.
    normal : (c, 2)
        Out of the tool.
    speed : (t, 2)
    shear, coulomb : (t,)
        Tresca limit of friction; Coulomb coefficient, -1 for none.
    sticks : (t,) bool
    forced : (c,) bool
        Which count as touching even if they do not: set while it is unclear.
    active : (c,) bool
        Which touch; filled when the equations are looked at.
    pressure, before : (c,)
        Pressure now, and the one the Coulomb limit goes by (-1: the one now).
    guess : (c,)
        Pressure at the end of the last step; nought where there was none.
    forces : (t, 2)
        What the steel pushes each tool with; filled with the equations. Positive y is upwards.
    deepest : float
        How far the deepest node lies behind a straight face at the start of the step.
    """

    node: NDArray[np.int64]
    tool: NDArray[np.int64]
    gap: Floats
    share: Floats
    normal: Floats
    speed: Floats
    shear: Floats
    coulomb: Floats
    sticks: NDArray[np.bool_]
    forced: NDArray[np.bool_]
    active: NDArray[np.bool_]
    pressure: Floats
    before: Floats
    guess: Floats
    forces: Floats
    deepest: float

    @property
    def fastest(self) -> float:
        """Speed of the quickest tool."""
        return float(np.sqrt((self.speed**2).sum(axis=1)).max(initial=1e-12))


def touching(
    mesh: Mesh,
    tools: Sequence[Tool],
    moved: Floats,
    *,
    step: float,
    element: float,
    shear: float,
    pressing: Floats,
) -> Touching:
    """Find the pairs for a step of that length.

    Parameters
    ----------
    moved : (t, 2)
        How far each tool has come from its start.
    element : float
        Size of an element away from places of finer mesh.
    shear : float
        Shear yield stress that friction factors go by.
    pressing : (t, n)
        Pressure of each tool on each node in the last step.
    """
    speed = np.array([tool.velocity for tool in tools], dtype=float).reshape(len(tools), 2)
    fastest = float(np.sqrt((speed**2).sum(axis=1)).max(initial=1e-12))
    border = mesh.loop
    share = mesh.shares()
    found: list[tuple[NDArray[np.int64], NDArray[np.int64], Floats, Floats]] = []
    deepest = 0.0
    for index, tool in enumerate(tools):
        gap, normal = tool.gaps(mesh.nodes[border], moved[index])
        if isinstance(tool.shape, HalfPlane):
            deepest = max(deepest, -float(gap.min()))
        near = np.nonzero(gap < REACH * fastest * step + NEAR * element)[0]
        # A tool never pushes a node out by more than half its own travel in one step.
        held = np.maximum(gap[near], -0.5 * fastest * step)
        found.append((border[near].astype(np.int64), np.full(len(near), index), held, normal[near]))
    node = np.concatenate([f[0] for f in found]) if found else np.zeros(0, np.int64)
    many = len(node)
    tool_of = np.concatenate([f[1] for f in found]) if found else np.zeros(0, np.int64)
    return Touching(
        node=node,
        tool=tool_of,
        gap=np.concatenate([f[2] for f in found]) if found else np.zeros(0),
        share=share[node],
        normal=np.ascontiguousarray(np.concatenate([f[3] for f in found]))
        if found
        else np.zeros((0, 2)),
        speed=speed,
        shear=np.array([tool.friction * shear for tool in tools], dtype=float),
        coulomb=np.array([-1.0 if t.coulomb is None else t.coulomb for t in tools], dtype=float),
        sticks=np.array([tool.sticks for tool in tools], dtype=bool),
        forced=np.zeros(many, dtype=bool),
        active=np.zeros(many, dtype=bool),
        pressure=np.zeros(many),
        before=np.full(many, -1.0),
        guess=pressing[tool_of, node],
        forces=np.zeros((len(tools), 2)),
        deepest=deepest,
    )
