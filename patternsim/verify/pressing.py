"""Blocks between dies: even squeeze, punch, rough platens, narrow dies."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.boundary import polygon_curve
from patternsim.flow.following import Steady
from patternsim.flow.march import march, opening
from patternsim.flow.mesher import Size, meshed
from patternsim.flow.operation import Operation
from patternsim.flow.presses import FINE, between_flats
from patternsim.flow.settings import Care, Law, Symmetry
from patternsim.flow.stops import Stroke
from patternsim.flow.tools import HalfPlane, RoundedPolygon, Tool, wall

Floats = NDArray[np.float64]

EXACT = Care(change=1e-5, power=1e-9, tries=80, slip=0.003)
"""Care for pressures that are compared with rigid-plastic theory."""
MOMENT = 1e-4
"""Length of the one step: the tools hardly move."""


def shear_yield(rate: float = 1.0, exponent: float = 0.0) -> float:
    """Return the shear yield stress at strength 1."""
    return float(rate**exponent / np.sqrt(3.0))


def affine() -> float:
    """Return the largest error of a frictionless squeeze by 60 %, over the side: exactly even."""
    square = polygon_curve(np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]]))
    done = march(between_flats(square, to=0.4, friction=0.0, fineness=FINE))
    across, up = np.meshgrid(np.linspace(-1.2, 1.2, 41), np.linspace(-0.19, 0.19, 21))
    points = np.stack([across.ravel(), up.ravel()], axis=1)
    wanted = points * np.array([0.4, 1.0 / 0.4])
    return float(np.abs(done.chain.back(points) - wanted).max())


@cache
def punch(exponent: float, friction: float = 0.0, nose: float = 0.03) -> float:
    """Return the mean pressure over the shear yield stress of a punch on a confined block."""

    def of(points: Floats) -> Floats:
        far = np.hypot(points[:, 0] - 1.0, points[:, 1])
        return np.minimum(0.6, nose + 0.25 * np.maximum(far - 2.0 * nose, 0.0))

    corners = [(0.0, -4.0), (5.0, -4.0), (5.0, 0.0), (1.0, 0.0), (0.0, 0.0)]
    size = Size(of, 0.6, nose)
    die = RoundedPolygon(((-1.0, 0.0), (1.0, 0.0), (1.0, 2.0), (-1.0, 2.0)))
    block = Operation(
        mesh=meshed(polygon_curve(np.array(corners)), size, keep=np.ones(len(corners), bool)),
        size=Steady(size),
        tools=(
            Tool(name="punch", shape=die, velocity=(0.0, -1.0), friction=friction),
            Tool(name="floor", shape=HalfPlane((0.0, -4.0), (0.0, 1.0)), friction=1.0),
            wall(5.0, friction=1.0, faces_right=False),
        ),
        stops=(Stroke(MOMENT),),
        step=MOMENT,
        rate=0.5,
        law=Law(exponent=exponent),
        care=EXACT,
        symmetry=Symmetry(x=0.0),
    )
    opened = opening(block, step=MOMENT)
    return float(opened.force["punch"][1] / shear_yield())


@cache
def platens(ratio: float, exponent: float, across: float = 16.0) -> float:
    """Return the mean pressure over twice the shear yield stress between rough platens.

    `ratio` is width over height; a quarter is worked out, fine towards the edge of the platen.
    """
    half_width, half_height = ratio / 2.0, 0.5
    coarse = half_height / (across / 2.0)
    fine = coarse / 4.0

    def of(points: Floats) -> Floats:
        far = np.hypot(points[:, 0] - half_width, points[:, 1] - half_height)
        return np.minimum(coarse, fine + 0.3 * far)

    size = Size(of, coarse, fine)
    corners = [(0.0, 0.0), (half_width, 0.0), (half_width, half_height), (0.0, half_height)]
    top = Tool(
        name="top",
        shape=HalfPlane((0.0, half_height), (0.0, -1.0)),
        velocity=(0.0, -0.5),
        friction=1.0,
    )
    block = Operation(
        mesh=meshed(polygon_curve(np.array(corners)), size),
        size=Steady(size),
        tools=(top,),
        stops=(Stroke(MOMENT),),
        step=MOMENT,
        rate=1.0,
        law=Law(exponent=exponent),
        care=EXACT,
        symmetry=Symmetry(x=0.0, y=0.0),
    )
    force = opening(block, step=MOMENT).force["top"][1]
    return float(force / half_width / (2.0 * shear_yield()))


@cache
def narrow_dies(ratio: float, exponent: float, *, confined: bool = False) -> float:
    """Return the mean pressure over twice the shear yield stress of narrow dies on a tall block.

    `ratio` is the height of the block over the width of the dies. The ends are free, or `confined`.
    """
    half_height, long = ratio / 2.0, 1.5 * ratio
    coarse, fine = min(ratio / 12.0, 0.5), 0.015

    def of(points: Floats) -> Floats:
        far = np.hypot(points[:, 0] - 0.5, points[:, 1] - half_height)
        return np.minimum(coarse, fine + 0.15 * np.maximum(far - 2.0 * fine, 0.0))

    size = Size(of, coarse, fine)
    corners = [(0.0, 0.0), (long, 0.0), (long, half_height), (0.5, half_height), (0.0, half_height)]
    die = RoundedPolygon(
        ((-0.5, half_height), (0.5, half_height), (0.5, 2 * half_height), (-0.5, 2 * half_height))
    )
    block = Operation(
        mesh=meshed(polygon_curve(np.array(corners)), size, keep=np.ones(len(corners), bool)),
        size=Steady(size),
        tools=(
            Tool(name="die", shape=die, velocity=(0.0, -1.0)),
            *((wall(long, friction=0.0, faces_right=False),) if confined else ()),
        ),
        stops=(Stroke(MOMENT),),
        step=MOMENT,
        rate=1.0,
        law=Law(exponent=exponent),
        care=EXACT,
        symmetry=Symmetry(x=0.0, y=0.0),
    )
    force = opening(block, step=MOMENT).force["die"][1]
    return float(force / 0.5 / (2.0 * shear_yield()))


def to_rigid(of_exponent: dict[float, float]) -> float:
    """Return the value extrapolated in a straight line to a rate exponent of nought."""
    (first, a), (second, b) = sorted(of_exponent.items())
    return a - first * (b - a) / (second - first)


def rigid(of: Callable[[float], float]) -> float:
    """Return what `of` a rate exponent tends to as steel becomes rigid-plastic: from 0.02 and 0.01."""
    return to_rigid({0.02: of(0.02), 0.01: of(0.01)})


def split_threshold() -> float:
    """Return the height over die width at which a free block no longer splits.

    Narrow dies: the pressure rises with the height until two separate indentations cost less. Where
    the rise
    between 7 and 8 die widths reaches the level at 11.
    """
    seven, eight, eleven = (
        rigid(lambda exponent, ratio=ratio: narrow_dies(ratio, exponent))  # type: ignore[misc]
        for ratio in (7.0, 8.0, 11.0)
    )
    return 7.0 + (eleven - seven) / (eight - seven)
