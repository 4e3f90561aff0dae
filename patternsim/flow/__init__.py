"""How hot steel flows between tools: a plane section, worked out by finite elements.

Knows no layers, no job and no window: outlines and tools in, a backward map and a report out.
Lengths in any one unit, strength 1 at rate 1 unless told; forces scale afterwards.
"""

from __future__ import annotations

from pathlib import Path as _Path

from patternsim.fields import compiler as _compiler
from patternsim.flow.compiled import fronts as _fronts
from patternsim.flow.march import Flowed, Opened, march, opening
from patternsim.flow.operation import Operation
from patternsim.flow.presses import (
    COARSE,
    FINE,
    between_dies,
    between_flats,
    close_half,
    side_force,
    split_half,
)
from patternsim.flow.report import Report

__all__ = [
    "COARSE",
    "FINE",
    "Flowed",
    "Opened",
    "Operation",
    "Report",
    "between_dies",
    "between_flats",
    "close_half",
    "is_compiled",
    "march",
    "opening",
    "side_force",
    "split_half",
]


def is_compiled() -> bool:
    """Tell whether the flow has been compiled before; the first time takes half a minute."""
    return _compiler.is_kept(_Path(_fronts.__file__))
