"""How exactly a press is worked out: three levels behind one question and one answer."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from patternsim.errors import LevelError
from patternsim.fields import Grid, sample_flow
from patternsim.press import quick

CELLS_SHORT = 96
"""Cells across the short side of a sampled press (at least 80 keep the map good on thin bars)."""
CELLS_CORNERS = 144
"""Crushed corners fold more sharply than any squeeze."""
CELLS_MOST = 400
KEPT = 64
"""Presses kept worked out, some 0.1 MB each: a step that asks for the same again costs nothing."""


class Level(StrEnum):
    """Closed forms, or the flow solver on a coarse or a fine mesh."""

    QUICK = "quick"
    COARSE = "coarse"
    FINE = "fine"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One squeeze between flat dies: sizes of the section before it, mm.

    Attributes
    ----------
    across, along : float, mm
        Size across the stroke and along it.
    height : float, mm
        Die gap at the end.
    sideways : float
        Share of the squeeze that goes sideways in this plane (ln ratio over ln ratio); the rest
        goes into the third axis. 1: plane strain.
    turned : bool
        The stroke runs along the first axis of the plane instead of the second.
    """

    across: float
    along: float
    height: float
    sideways: float
    turned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PressProblem:
    """What a press step asks: a rectangular section, its passes, the friction of the dies.

    Attributes
    ----------
    width, height : float, mm
        Size of the section before the step along the first and second axis of its plane.
    passes : tuple of Pass
    friction : float
        Friction factor of the dies, 0 to 1.
    corners : float
        Corners crushed before the passes: width of the crushed flats over the side; 0 for none.
    """

    width: float
    height: float
    passes: tuple[Pass, ...]
    friction: float
    corners: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PressAnswer:
    """What a level gives back.

    Attributes
    ----------
    grid : Grid or None
        Displacement in the plane of the section, in its size before the step (the even stretch is
        kept apart); None where nothing but the even stretch is left.
    source : str
        'quick', 'coarse', 'fine' or 'exact'.
    rough : bool
        A stand-in that must not be read closely.
    outline : (n, 2) float64, mm
        The section as it comes out, in the frame of the grid (before the even stretch); counter-
        clockwise. Closed forms keep the sides straight.
    force_kn, damage : float or None
        None where the level does not work them out.
    """

    grid: Grid | None
    source: str
    rough: bool
    outline: NDArray[np.float64]
    force_kn: float | None = None
    damage: float | None = None


def press(problem: PressProblem, level: Level) -> PressAnswer:
    """Work out a press at `level`.

    Raises
    ------
    LevelError
        If the level is not offered.
    """
    refuse_unoffered(level)
    return _quick(problem)


@lru_cache(maxsize=KEPT)
def _quick(problem: PressProblem) -> PressAnswer:
    half = np.array([problem.width / 2, problem.height / 2])
    passes = [(p.across, p.along, p.height, p.sideways, p.turned) for p in problem.passes]
    flow = quick.press_flow(
        passes,
        friction=problem.friction,
        corners=problem.corners,
        half=half,
    )
    rough = problem.corners > 0.0
    outline = half * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    outline.setflags(write=False)
    if flow is None:
        return PressAnswer(grid=None, source="exact", rough=rough, outline=outline)
    grid = sample_flow(
        flow,
        low=(-half[0], -half[1]),
        high=(half[0], half[1]),
        cells=cells_for(problem.width, problem.height, short=_fineness(problem, passes)),
    )
    return PressAnswer(grid=grid, source="quick", rough=rough, outline=outline)


def refuse_unoffered(level: Level) -> None:
    """Raise `LevelError` for a level this release cannot work at."""
    if level is not Level.QUICK:
        raise LevelError(
            f'level "{level}" works the flow of the steel out, which this release cannot do yet; '
            'use level "quick" (closed forms)'
        )


def _fineness(problem: PressProblem, passes: list[quick.FlowPass]) -> int:
    """Return the cells across the short side that keep area to a thousandth once sampled."""
    if problem.corners:
        return round(CELLS_CORNERS * max(1.0, 3.3 * problem.corners - 0.5))
    swirl = abs(quick.net_swirl(passes, problem.friction))
    return round(CELLS_SHORT * min(max(1.0, 7.0 * swirl - 2.15), 3.0))


def cells_for(width: float, height: float, *, short: int = CELLS_SHORT) -> tuple[int, int]:
    """Return how many cells a sampled section needs along its two sides (mm), `short` the fewest."""
    cell = min(width, height) / short
    return (
        min(CELLS_MOST, max(short, round(width / cell))),
        min(CELLS_MOST, max(short, round(height / cell))),
    )
