"""The blade's own shape: outline, profiles, grind; where it lies in the steel is another matter."""

from __future__ import annotations

from patternsim.shape.grind import GRINDS, Grind, Side
from patternsim.shape.outline import Outline, Tang
from patternsim.shape.profiles import PROFILES

__all__ = ["GRINDS", "PROFILES", "Grind", "Outline", "Side", "Tang"]
