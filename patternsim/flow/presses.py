"""The presses of the trade, put together from tools, stops and sizes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from patternsim.flow import tools
from patternsim.flow.following import AroundNose, Steady
from patternsim.flow.halving import kept, symmetry_of
from patternsim.flow.mending import mend
from patternsim.flow.mesh import Mesh
from patternsim.flow.mesher import capped, meshed
from patternsim.flow.operation import Operation
from patternsim.flow.report import Report
from patternsim.flow.settings import (
    PLANE,
    STEEL,
    Care,
    Cut,
    Law,
    Strength,
    Stretch,
    Symmetry,
    even,
)
from patternsim.flow.sizing import Size, as_size, coarser_middle
from patternsim.flow.stops import Stop, Stroke

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fineness:
    """How finely a press is worked out.

    Attributes
    ----------
    across : float
        Elements across the short side of the section.
    most : int
        Points of the mesh at most, for the whole section.
    step : float
        Longest step over the height.
    split : float
        Element size of a split, over the width of the block; a third of it at the nose.
    care : Care
    """

    across: float
    most: int
    step: float
    split: float
    care: Care


COARSE = Fineness(across=12.0, most=700, step=0.03, split=0.15, care=Care(change=2e-3, power=3e-6))
FINE = Fineness(across=26.0, most=3000, step=0.02, split=0.10, care=Care())
THIN = 3.0
"""Length over thickness from which a bar has a flat middle, where next to nothing changes along it."""
MIDDLE = 1.5
"""Size of elements there, over that at the ends."""
SPLIT_STEP = 0.02
"""Longest step of a split over the width of the block (twice that where coarse)."""
SPLIT_EVERY = 6
"""Steps after which a split is meshed anew: the nose leaves its fine elements behind."""


def between_dies(
    curve: Floats,
    dies: tuple[tools.Tool, ...],
    stops: tuple[Stop, ...],
    *,
    fineness: Fineness,
    height: float,
    closing: float = 1.0,
    law: Law = STEEL,
    stretch: Stretch = PLANE,
    strength: Strength = even,
    symmetry: Symmetry | None = None,
    lines: Mapping[str, Floats] | None = None,
    sizes: Size | None = None,
) -> Operation:
    """Return the press of a whole section between any dies.

    Parameters
    ----------
    curve : (2k, 2)
        Closed quadratic border, counter-clockwise.
    symmetry : Symmetry or None
        Lines to work out one side of only; None: none. Lines followed must lie on that side.
    sizes : Size or None
        Of elements, place by place; None: even over the section, coarser along a thin bar's middle.
    """
    symmetry = symmetry or Symmetry()
    part = kept(curve, symmetry)
    low, high = curve.min(axis=0), curve.max(axis=0)
    share = 0.5 ** ((symmetry.x is not None) + (symmetry.y is not None))
    size = capped(sizes or _sizes(low, high, fineness.across), part, round(fineness.most * share))
    part = part.copy()
    mend(part, size.finest)
    return Operation(
        mesh=meshed(part, size),
        size=Steady(size),
        tools=dies,
        stops=stops,
        step=fineness.step * height / closing,
        rate=closing / height,
        closing=closing,
        law=law,
        care=fineness.care,
        stretch=stretch,
        symmetry=symmetry,
        strength=strength,
        lines=lines or {},
    )


def _sizes(low: Floats, high: Floats, across: float) -> Size:
    """Return the sizes for a section: even, or coarser along the middle of a thin bar."""
    extent = high - low
    short = float(extent.min())
    size = short / across
    axis = int(extent.argmax())
    if extent[axis] < THIN * short:
        return as_size(size, np.array([low, high]))
    return coarser_middle(
        float(low[axis]), float(high[axis]), size, MIDDLE * size, reach=short, axis=axis
    )


def between_flats(
    curve: Floats,
    *,
    to: float | None = None,
    stops: tuple[Stop, ...] = (),
    friction: float,
    fineness: Fineness = FINE,
    law: Law = STEEL,
    sideways: float = 1.0,
    strength: Strength = even,
    lines: Mapping[str, Floats] | None = None,
) -> Operation:
    """Return a squeeze along y between flat dies wider than the steel.

    Parameters
    ----------
    to : float or None
        Height at the end; None: only `stops` end it.
    sideways : float
        Share of the squeeze that goes sideways, 1 for none along the bar; the rest lengthens the bar
        at a
        steady rate that ends right where the height does.
    """
    low, high = curve.min(axis=0), curve.max(axis=0)
    height = float(high[1] - low[1])
    symmetry = Symmetry()
    if strength is even and not lines:
        symmetry = symmetry_of(curve)
    if to is not None:
        stops = (*stops, Stroke(height - to))
    rate = 0.0
    if sideways < 1.0 and to is not None:
        rate = (1.0 - sideways) * float(np.log(height / to)) / (height - to)
    dies: tuple[tools.Tool, ...] = tools.flat_dies(float(low[1]), float(high[1]), friction=friction)
    if symmetry.y is not None:
        dies = dies[:1]
    return between_dies(
        curve,
        dies,
        stops,
        fineness=fineness,
        height=height,
        law=law,
        stretch=Stretch(rate=rate),
        strength=strength,
        symmetry=symmetry,
        lines=lines,
    )


def split_half(
    curve: Floats,
    *,
    width: float,
    depth: float,
    included: float,
    nose: float,
    wedge_friction: float,
    floor_friction: float,
    fineness: Fineness = FINE,
    law: Law = STEEL,
    strength: Strength = even,
    support: float | None = None,
) -> Operation:
    """Return one half of a block split by a wedge coming down along x = 0.

    Parameters
    ----------
    curve : (2k, 2)
        The half right of the cut, from its floor up.
    width : float
        Width of the whole block: element sizes and the longest step go by it.
    depth : float
        How far down the nose goes from the top.
    support : float or None
        An upright wall beside the block at this x.
    """
    floor, top = float(curve[:, 1].min()), float(curve[:, 1].max())
    sizing = AroundNose(
        coarsest=fineness.split * width,
        finest=fineness.split * width / 3.0,
        x=0.0,
        start=top,
        nose=nose,
    )
    used = [
        tools.wedge(top, included, nose, long=4.0 * (top - floor), friction=wedge_friction),
        tools.Tool(
            name="floor", shape=tools.HalfPlane((0.0, floor), (0.0, 1.0)), friction=floor_friction
        ),
    ]
    if support is not None:
        used.append(tools.wall(support, friction=0.3, faces_right=False, name="support"))
    return Operation(
        mesh=meshed(curve, sizing.about(top)),
        size=sizing,
        tools=tuple(used),
        stops=(Stroke(depth),),
        step=SPLIT_STEP * width * (fineness.step / FINE.step),
        rate=1.0 / width,
        law=law,
        care=replace(fineness.care, every=SPLIT_EVERY),
        symmetry=Symmetry(x=0.0),
        cut=Cut(by="wedge", ahead=nose),
        strength=strength,
    )


def side_force(left: Report, right: Report, tool: str = "wedge") -> float:
    """Return what pushes a wedge off its line when a block is split off its middle, towards +x.

    Both halves worked out as the right one, at the same strokes; medians over the stroke. Equal halves
    give nought.
    """
    return float(np.median(right.side[tool]) - np.median(left.side[tool]))


def close_half(
    split: Mesh,
    *,
    width: float,
    to: float,
    fineness: Fineness = FINE,
    law: Law = STEEL,
    strength: Strength = even,
    die_friction: float = 0.3,
) -> Operation:
    """Return the pressing shut of a split half: its cut face against x = 0, its outer side at `to`.

    Steel that meets the line sticks there; the part below the cut is held on it.
    """
    border = split.nodes[split.loop]
    on_line = border[np.abs(border[:, 0]) < 1e-6 * width]
    joined = float(on_line[:, 1].max()) + 1e-6 * width if len(on_line) else -np.inf
    outer, floor = float(border[:, 0].max()), float(border[:, 1].min())
    size = as_size(fineness.split * width * 0.9, border)
    used = (
        tools.wall(outer, friction=die_friction, faces_right=False, name="side die", speed=-1.0),
        tools.Tool(name="floor", shape=tools.HalfPlane((0.0, floor), (0.0, 1.0)), friction=0.3),
        tools.wall(0.0, friction=1.0, name="other half"),
    )
    return Operation(
        mesh=meshed(split.outline(), size),
        size=Steady(size),
        tools=used,
        stops=(Stroke(outer - to),),
        step=SPLIT_STEP * width * (fineness.step / FINE.step),
        rate=1.0 / width,
        law=law,
        care=replace(fineness.care, every=8),
        symmetry=Symmetry(x=0.0),
        cut=Cut(joined_below=joined),
        strength=strength,
    )
