"""What presses and wedges do to a section: levels, closed forms, spread."""

from __future__ import annotations

from patternsim.press.levels import (
    Level,
    Pass,
    PressAnswer,
    PressProblem,
    cells_for,
    press,
    refuse_unoffered,
)
from patternsim.press.splitting import SplitAnswer, SplitProblem, split
from patternsim.press.spread import spread_exponent, spread_width
from patternsim.press.wedge import FITTED_DEG, HalfBlock, WedgeDrag, drag_at_cut

__all__ = [
    "FITTED_DEG",
    "HalfBlock",
    "Level",
    "Pass",
    "PressAnswer",
    "PressProblem",
    "SplitAnswer",
    "SplitProblem",
    "WedgeDrag",
    "cells_for",
    "drag_at_cut",
    "press",
    "refuse_unoffered",
    "split",
    "spread_exponent",
    "spread_width",
]
