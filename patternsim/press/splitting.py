"""A split by closed forms: both halves sampled once, already closed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from patternsim.fields import Grid, sample_flow
from patternsim.press.wedge import HalfBlock, WedgeDrag

Floats = NDArray[np.float64]

CELLS_A_WIDTH = 190
"""Cells along the cut for every width of the block: what keeps area to a thousandth at 60 degrees."""
CELLS_ACROSS = 134
CELLS_ALONG_MOST = 1200
LIP = 0.12
"""How far the entry rises beside the wedge, over the width, at most: 0.09 in finite-element splits of
blocks 1.5 widths tall, and room to spare."""
GRADING = 0.06
"""Length over the width in which samples crowd towards the cut."""
KEPT = 16
"""Splits kept worked out, some 0.4 MB each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitProblem:
    """What a split asks.

    Attributes
    ----------
    low, high : HalfBlock
        The two halves, towards -y and towards +y.
    down : bool
        The wedge runs towards x = 0.
    """

    low: HalfBlock
    high: HalfBlock
    down: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SplitAnswer:
    """What a level gives back.

    Attributes
    ----------
    low, high : Grid
        Displacement of each half over (x, distance from the cut), mm; halves alike share one.
    lip_mm, notch_mm : float
        How far the entry may rise beyond the block beside the cut, and how deep it sinks at the cut.
    source : str
        'quick'.
    """

    low: Grid
    high: Grid
    lip_mm: float
    notch_mm: float
    source: str


@lru_cache(maxsize=KEPT)
def split(problem: SplitProblem) -> SplitAnswer:
    """Return a split by closed forms."""
    low = _sampled(problem.low, down=problem.down)
    high = low if problem.high == problem.low else _sampled(problem.high, down=problem.down)
    notch = WedgeDrag(problem.low).notch()
    return SplitAnswer(
        low=low,
        high=high,
        lip_mm=LIP * problem.low.width,
        notch_mm=notch if high is low else max(notch, WedgeDrag(problem.high).notch()),
        source="quick",
    )


def _sampled(block: HalfBlock, *, down: bool) -> Grid:
    drag = WedgeDrag(block)
    length, width = block.length, block.width

    def flow(points: Floats) -> Floats:
        if not down:
            return drag.back(points)
        deep = np.stack([length - points[:, 0], points[:, 1]], axis=1)
        back = drag.back(deep)
        return np.stack([length - back[:, 0], back[:, 1]], axis=1)

    along = round(CELLS_A_WIDTH * (length / width + LIP))
    widest = max(block.outer, block.outer + block.outer_slope * length)
    return sample_flow(
        flow,
        low=(0.0 if down else -LIP * width, 0.0),
        high=(length + LIP * width if down else length, widest),
        cells=(min(max(along, CELLS_ACROSS), CELLS_ALONG_MOST), CELLS_ACROSS),
        grading=GRADING * width,
    )
