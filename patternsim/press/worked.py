"""What the flow answers to a press step: asked at size 1, sampled once, kept."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from patternsim.fields import Grid
from patternsim.flow.sampling import sampled
from patternsim.press import keeping
from patternsim.press.asked import Gaps, Level, PressAnswer, PressProblem
from patternsim.press.flowing import Pressing
from patternsim.press.goals import Draw, Goal, Grooves, Load, Squeeze
from patternsim.press.grooving import press_grooves
from patternsim.press.way import Heeded
from patternsim.progress import Progress
from patternsim.section import area_of, as_curve, flattened

Floats = NDArray[np.float64]

ROUNDED = 7
"""Decimals of an outline of size 1 that tell presses apart."""
GAPS_SEEN = 96
"""Points along either side at which gaps are looked at to tell presses apart."""


def pressed(problem: PressProblem, level: Level, progress: Progress) -> PressAnswer:
    """Work a press out by the flow, or take it from the shelf.

    Raises
    ------
    ValueError
        If the problem has no goal.
    FlowError
        If the flow gives out.
    Cancelled
        From `progress`.
    """
    if problem.goal is None:
        raise ValueError("this press has no goal the flow could work towards")
    given = _outline(problem)
    scale = float(np.ptp(given, axis=0).max())
    curve, goal = np.round(given / scale, ROUNDED), _rounded(scaled(problem.goal, 1.0 / scale))
    gaps = None if problem.gaps is None else _at_scale(problem.gaps, scale)
    friction = round(problem.friction, 9)
    key = keeping.key_of("press", curve, goal, friction, level.value, _seen(gaps, curve))

    def work() -> keeping.Arrays:
        pressing = Pressing(
            curve, friction=problem.friction, fine=level is Level.FINE, gaps=gaps, progress=progress
        )
        if isinstance(goal, Grooves):
            press_grooves(pressing, goal)
        else:
            pressing.reach(goal)
        return _packed(pressing, progress)

    return _answer(keeping.shelf().kept(key, work), scale, level)


def scaled(goal: Goal, by: float) -> Goal:
    """Return a goal with all its lengths times `by`."""
    if isinstance(goal, Squeeze):
        width = None if goal.width is None else goal.width * by
        return replace(goal, to=goal.to * by, width=width, bite=goal.bite * by, bow_mm=goal.bow_mm * by)
    if isinstance(goal, Grooves):
        places = tuple(round(place * by, ROUNDED) for place in goal.places)
        return replace(goal, places=places, depth=goal.depth * by, radius=goal.radius * by)
    if isinstance(goal, Draw):
        return replace(goal, width=goal.width * by, thickness=goal.thickness * by, bite=goal.bite * by)
    return replace(goal, flat=goal.flat * by, bite=goal.bite * by)


def _rounded(goal: Goal) -> Goal:
    """Return a goal whose lengths are told to the decimals that outlines are told to."""
    values: dict[str, Any] = {
        name: round(value, ROUNDED)
        for name in goal.__slots__
        if isinstance(value := getattr(goal, name), float)
    }
    return replace(goal, **values)


def _outline(problem: PressProblem) -> Floats:
    if problem.curve is not None:
        return problem.curve
    half = np.array([problem.width, problem.height]) / 2
    return as_curve(half * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]))


def _at_scale(gaps: Gaps, scale: float) -> Gaps:
    def at_scale(points: Floats) -> NDArray[np.bool_]:
        return gaps(points * scale)

    return at_scale


def _seen(gaps: Gaps | None, curve: Floats) -> NDArray[np.bool_] | None:
    if gaps is None:
        return None
    low, high = curve.min(axis=0), curve.max(axis=0)
    places = (np.arange(GAPS_SEEN) + 0.5) / GAPS_SEEN
    first, second = np.meshgrid(*(low[k] + places * (high[k] - low[k]) for k in (0, 1)), indexing="ij")
    return gaps(np.stack([first.ravel(), second.ravel()], axis=1))


def _packed(pressing: Pressing, progress: Progress) -> keeping.Arrays:
    found = sampled(Heeded(pressing.way, progress))
    grid = found.grid
    before = area_of(flattened(pressing.start))
    return {
        **grid_arrays(grid),
        "outline": pressing.curve,
        "loads": np.array([(p.width, p.height, p.strain) for p in pressing.loads]).reshape(-1, 3),
        "told": np.array(
            [
                before / area_of(flattened(pressing.curve)),
                pressing.damage,
                found.error[1],
                pressing.unsettled / max(pressing.steps, 1),
            ]
        ),
    }


def grid_arrays(grid: Grid, name: str = "") -> keeping.Arrays:
    """Return a grid as plain arrays, to be kept."""
    return {
        name + "coefs": grid.coefs,
        name + "grid": np.array([*grid.origin, *grid.step, grid.grading]),
    }


def grid_from(kept: keeping.Arrays, scale: float, name: str = "") -> Grid:
    """Return a kept grid at its true size."""
    a, b, step_a, step_b, grading = (float(v) for v in kept[name + "grid"])
    # A graded axis is counted by a function of the share of its grading: it has no size of its own.
    by = scale if not grading else 1.0
    coefs = kept[name + "coefs"] * np.float32(scale)
    coefs.setflags(write=False)
    return Grid(
        origin=(a * scale, b * by),
        step=(step_a * scale, step_b * by),
        grading=grading * scale,
        coefs=coefs,
    )


def _answer(kept: keeping.Arrays, scale: float, level: Level) -> PressAnswer:
    lengthened, damage, error, unsettled = (float(v) for v in kept["told"])
    return PressAnswer(
        grid=grid_from(kept, scale),
        source=level.value,
        rough=False,
        outline=kept["outline"] * scale,
        lengthened=lengthened,
        loads=tuple(
            Load(width=float(w) * scale, height=float(h) * scale, strain=float(s))
            for w, h, s in kept["loads"]
        ),
        damage=damage,
        error_mm=error * scale,
        unsettled=unsettled,
    )
