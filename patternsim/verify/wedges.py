"""Wedges: pressed into a half space, and through a block."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.boundary import polygon_curve
from patternsim.flow.following import Steady
from patternsim.flow.march import march, opening
from patternsim.flow.mesher import Size, meshed
from patternsim.flow.operation import Operation
from patternsim.flow.settings import Care, Cut, Law, Symmetry
from patternsim.flow.stops import Stroke
from patternsim.flow.tools import HalfPlane, Tool, wall, wedge
from patternsim.verify.pressing import EXACT, MOMENT
from patternsim.verify.slip_lines import indentation

Floats = NDArray[np.float64]

NEXT_TO_RIGID = 0.02
"""Rate exponent: forces stand 1 to 3 % above those of rigid-plastic steel."""
NOSE = 0.004
TWO_K = 2.0 / np.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Pressed:
    """A wedge pressed in, per depth: force over 2 k, length of contact, height of lip."""

    force: float
    contact: float
    lip: float


@cache
def pressed_in(degrees: float) -> Pressed:
    """Press a smooth wedge of that semi-angle into a wide block and measure it."""
    theory = indentation(degrees)
    depth = {30.0: 0.5, 45.0: 0.4, 60.0: 0.22}.get(degrees, 0.3)
    contact, fine, coarse = theory.contact * depth, 0.03, 0.5

    def of(points: Floats) -> Floats:
        x, y = points[:, 0], points[:, 1]
        far = np.hypot(x - 0.6 * contact, y + 0.1 * contact) - contact
        grown = fine + 0.12 * np.maximum(far, 0.0) + 0.06 * np.maximum(-y, 0.0)
        return np.minimum(coarse, grown)

    corners = np.array([[0.0, -4.0], [5.0, -4.0], [5.0, 0.0], [0.0, 0.0]])
    size = Size(of, coarse, fine)
    # The flanks of the rounded wedge are those of a sharp one with its edge on the surface.
    start = NOSE / float(np.sin(np.radians(degrees))) - NOSE
    tool = wedge(start, 2.0 * degrees, NOSE, long=8.0, friction=0.0)
    pressing = Operation(
        mesh=meshed(polygon_curve(corners), size),
        size=Steady(size),
        tools=(
            tool,
            Tool(name="floor", shape=HalfPlane((0.0, -4.0), (0.0, 1.0)), friction=1.0),
            wall(5.0, friction=1.0, faces_right=False),
        ),
        stops=(Stroke(depth),),
        step=0.01,
        rate=2.0,
        law=Law(exponent=NEXT_TO_RIGID),
        care=Care(turn=0.5, every=6),
        symmetry=Symmetry(x=0.0),
        cut=Cut(by="wedge", ahead=0.5 * fine),
    )
    done = march(pressing)
    stroke, force = done.report.stroke, done.report.force["wedge"]
    border = done.mesh.nodes[done.mesh.loop]
    near = border[(border[:, 0] < 3.0 * contact) & (border[:, 1] > -0.05)]
    gap, _ = tool.gaps(border, done.moved[0])
    touching = border[gap < 1e-4]
    flank = float(touching[:, 1].max() + depth) / np.cos(np.radians(degrees))
    return Pressed(
        force=float(np.mean(2.0 * force[-8:] / stroke[-8:]) / TWO_K),
        contact=flank / depth,
        lip=float(near[:, 1].max()) / depth,
    )


@cache
def parted(degrees: float, exponent: float, depth: float = 0.3) -> float:
    """Return the force, over 2 k times the width, with which a smooth sharp wedge parts a block.

    The block is one wide and two tall; the wedge of that semi-angle fills a notch of `depth`.
    """
    half, top, fine, coarse = 0.5, 2.0, 0.02, 0.06
    mouth = depth * float(np.tan(np.radians(degrees)))

    def of(points: Floats) -> Floats:
        far = np.hypot(points[:, 0], points[:, 1] - (top - depth))
        return np.minimum(coarse, fine + 0.2 * far)

    corners = [[0.0, 0.0], [half, 0.0], [half, top], [mouth, top], [0.0, top - depth]]
    size = Size(of, coarse, fine)
    splitting = Operation(
        mesh=meshed(polygon_curve(np.array(corners)), size),
        size=Steady(size),
        tools=(
            wedge(top - depth, 2.0 * degrees, 1e-6, long=8.0, friction=0.0),
            Tool(name="floor", shape=HalfPlane((0.0, 0.0), (0.0, 1.0))),
        ),
        stops=(Stroke(MOMENT),),
        step=MOMENT,
        rate=1.0,
        law=Law(exponent=exponent),
        care=EXACT,
        symmetry=Symmetry(x=0.0),
    )
    return float(opening(splitting, step=MOMENT).force["wedge"][1] / (TWO_K * half))
