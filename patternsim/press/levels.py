"""How exactly a press is worked out: three levels behind one question and one answer."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from patternsim.fields import sample_flow
from patternsim.press import quick
from patternsim.press.asked import Level, Pass, PressAnswer, PressProblem
from patternsim.progress import Progress, Silent

CELLS_SHORT = 96
"""Cells across the short side of a sampled press (at least 80 keep the map good on thin bars)."""
CELLS_CORNERS = 144
"""Crushed corners fold more sharply than any squeeze."""
CELLS_MOST = 400
KEPT = 64
"""Presses kept worked out, some 0.1 MB each: a step that asks for the same again costs nothing."""


def press(problem: PressProblem, level: Level, progress: Progress | None = None) -> PressAnswer:
    """Work out a press at `level`.

    Raises
    ------
    FlowError
        If the flow gives out; says where.
    Cancelled
        From `progress`.
    """
    if level is Level.QUICK:
        return _quick(problem.width, problem.height, problem.passes, problem.friction, problem.corners)
    from patternsim.press.worked import pressed  # heavy: closed forms need no flow

    return pressed(problem, level, progress or Silent())


@lru_cache(maxsize=KEPT)
def _quick(
    width: float, height: float, asked: tuple[Pass, ...], friction: float, corners: float
) -> PressAnswer:
    half = np.array([width / 2, height / 2])
    passes = [(p.across, p.along, p.height, p.sideways, p.turned) for p in asked]
    flow = quick.press_flow(passes, friction=friction, corners=corners, half=half)
    rough = corners > 0.0
    if flow is None:
        return PressAnswer(grid=None, source="exact", rough=rough)
    swirl = abs(quick.net_swirl(passes, friction))
    grid = sample_flow(
        flow,
        low=(-half[0], -half[1]),
        high=(half[0], half[1]),
        cells=cells_for(width, height, short=_fineness(corners, swirl)),
    )
    return PressAnswer(grid=grid, source="quick", rough=rough)


def _fineness(corners: float, swirl: float) -> int:
    """Return the cells across the short side that keep area to a thousandth once sampled."""
    if corners:
        return round(CELLS_CORNERS * max(1.0, 3.3 * corners - 0.5))
    return round(CELLS_SHORT * min(max(1.0, 7.0 * swirl - 2.15), 3.0))


def cells_for(width: float, height: float, *, short: int = CELLS_SHORT) -> tuple[int, int]:
    """Return how many cells a sampled section needs along its two sides (mm), `short` the fewest."""
    cell = min(width, height) / short
    return (
        min(CELLS_MOST, max(short, round(width / cell))),
        min(CELLS_MOST, max(short, round(height / cell))),
    )
