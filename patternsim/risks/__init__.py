"""Findings: what they are, and how each is put."""

from __future__ import annotations

from patternsim.risks.blade import (
    barbs_wrong_way,
    line_misses_tip,
    near_an_edge,
    no_feather,
    no_line_at_tip,
    not_sound,
    outline_beyond_bar,
    outline_off_steel,
    sides_disagree,
    too_little_steel,
    uncut_in_blade,
)
from patternsim.risks.finding import Finding, Grade
from patternsim.risks.steps import (
    SKETCH,
    gaps_left,
    mark_lost,
    mark_set_aside,
    notch_left,
    rough_step,
    too_much_force,
    unknown_acceptance,
)

__all__ = [
    "SKETCH",
    "Finding",
    "Grade",
    "barbs_wrong_way",
    "gaps_left",
    "line_misses_tip",
    "mark_lost",
    "mark_set_aside",
    "near_an_edge",
    "no_feather",
    "no_line_at_tip",
    "not_sound",
    "notch_left",
    "outline_beyond_bar",
    "outline_off_steel",
    "rough_step",
    "sides_disagree",
    "too_little_steel",
    "too_much_force",
    "uncut_in_blade",
    "unknown_acceptance",
]
