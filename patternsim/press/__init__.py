"""What presses and wedges do to a section: levels, closed forms, spread."""

from __future__ import annotations

from patternsim.press.asked import Gaps, Level, Pass, PressAnswer, PressProblem
from patternsim.press.goals import Corners, Draw, Goal, Grooves, Load, Squeeze
from patternsim.press.levels import cells_for, press
from patternsim.press.splitting import SplitAnswer, SplitProblem, split
from patternsim.press.spread import spread_exponent, spread_width
from patternsim.press.wedge import FITTED_DEG, HalfBlock, WedgeDrag

__all__ = [
    "FITTED_DEG",
    "Corners",
    "Draw",
    "Gaps",
    "Goal",
    "Grooves",
    "HalfBlock",
    "Level",
    "Load",
    "Pass",
    "PressAnswer",
    "PressProblem",
    "SplitAnswer",
    "SplitProblem",
    "Squeeze",
    "WedgeDrag",
    "cells_for",
    "press",
    "split",
    "spread_exponent",
    "spread_width",
]
