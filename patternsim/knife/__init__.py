"""The blade in its piece: placing, and the centre line followed on its surface."""

from __future__ import annotations

from patternsim.knife.line import cut_distance, line_across
from patternsim.knife.placement import SIDES, PlacedBlade, Placement, placed

__all__ = ["SIDES", "PlacedBlade", "Placement", "cut_distance", "line_across", "placed"]
