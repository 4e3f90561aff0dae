"""The answers a smith reads before lighting the forge."""

from __future__ import annotations

from patternsim.answers.answer import Answers, Press, answers
from patternsim.answers.barbs import Barbs, barb_lean
from patternsim.answers.steel import Steel
from patternsim.answers.tip import SideTip, Tip, line_on

__all__ = [
    "Answers",
    "Barbs",
    "Press",
    "SideTip",
    "Steel",
    "Tip",
    "answers",
    "barb_lean",
    "line_on",
]
