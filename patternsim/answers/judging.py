"""What the answers and the marks of a job mean for the smith: findings."""

from __future__ import annotations

import numpy as np

from patternsim.answers.barbs import Barbs
from patternsim.answers.steel import Steel, nearest_edge
from patternsim.answers.tip import NEAR_MM, ON_MM, Tip, line_on
from patternsim.fields import walk
from patternsim.knife.placement import SIDES, PlacedBlade
from patternsim.piece import program_of
from patternsim.risks import (
    Finding,
    Grade,
    barbs_wrong_way,
    gaps_left,
    line_misses_tip,
    mark_lost,
    mark_set_aside,
    near_an_edge,
    no_feather,
    no_line_at_tip,
    not_sound,
    notch_left,
    outline_beyond_bar,
    outline_off_steel,
    rough_step,
    sides_disagree,
    too_little_steel,
    too_much_force,
    uncut_in_blade,
)
from patternsim.work import Result

LEAST_MM = 0.01
"""Lengths below this are rounding."""
LEAST_GAP = 1e-3
"""Share of a section below which gaps are scratches, taken up by the first squeeze; by eye."""
PLAIN_WATCH_MM = 3.0
"""Plain length inside the blade that is worth a look; by eye, no source."""


def job_findings(result: Result, press_limit_kn: float | None = None) -> list[Finding]:
    """Return what the steps themselves give cause to say: lost marks, rough maps, too much force."""
    found = [rough_step(row.step.id, row.outcome.rough) for row in result.steps if row.outcome.rough]
    if press_limit_kn is not None:
        found += _force_findings(result, press_limit_kn)
    told: set[tuple[str, str]] = set()
    for row in result.steps:
        for piece in row.outcome.pieces:
            for mark in piece.marks:
                key = (mark.name, row.step.id)
                if mark.lost_in == row.step.id and key not in told:
                    told.add(key)
                    found.append(mark_lost(row.step.id, mark.name))
        found += [
            mark_set_aside(row.step.id, mark.name, piece.name)
            for piece in row.outcome.offcuts
            for mark in piece.marks
            if not mark.lost_in
        ]
        gap = row.outcome.measures.get("gap_mm2", 0.0)
        share = row.outcome.measures.get("gap_share", 0.0)
        if share > LEAST_GAP:
            found.append(gaps_left(row.step.id, gap, share))
        left = row.outcome.measures.get("notch_left_mm", 0.0)
        if left > LEAST_MM:
            found.append(notch_left(row.step.id, left))
    return found


def _force_findings(result: Result, limit_kn: float) -> list[Finding]:
    found = []
    for row in result.steps:
        force, bite = row.outcome.force_kn, row.outcome.measures.get("force_bite_mm")
        if force is not None and bite is not None and force > limit_kn:
            found.append(too_much_force(row.step.id, force, limit_kn, bite))
    return found


def blade_findings(
    result: Result, blade: PlacedBlade, tip: Tip, barbs: Barbs, steel: Steel
) -> list[Finding]:
    """Return what stands in the way of this blade in this piece."""
    found: list[Finding] = []
    on = max(ON_MM, result.job.shop.shaft_mm / 2)
    if blade.piece.loose or blade.piece.open_cut:
        found.append(not_sound(open_cut=blade.piece.open_cut))
    if blade.spec.barbs != "none" and not blade.piece.cuts:
        found.append(no_feather())
    elif blade.spec.barbs != "none":
        found += _tip_findings(tip, on)
    if blade.piece.cuts and barbs.towards != barbs.wanted:
        found.append(barbs_wrong_way(barbs.wanted, barbs.towards))
    found += _place_findings(blade)
    plain = _plain_length(blade)
    if blade.spec.barbs != "none" and plain > PLAIN_WATCH_MM:
        found.append(uncut_in_blade(plain, PLAIN_WATCH_MM))
    sizes: tuple[tuple[str, float | None, Grade], ...] = (
        ("length", steel.spare_length_mm[1], "stop"),
        # The outline itself still fits, or it would be stopped for reaching beyond the bar.
        ("width", steel.spare_width_mm, "watch"),
        ("thickness", steel.spare_thickness_mm, "stop"),
    )
    for size, spare, level in sizes:
        if spare is not None and spare < -LEAST_MM:
            found.append(too_little_steel(size, spare, level))
    near, allowance = nearest_edge(blade), blade.spec.allowance_mm
    wide = steel.spare_width_mm is not None and steel.spare_width_mm >= -LEAST_MM
    if near is not None and wide and -LEAST_MM <= near < allowance - LEAST_MM:
        found.append(near_an_edge(near, allowance))
    return found


def _tip_findings(tip: Tip, on: float) -> list[Finding]:
    if tip.offset_mm is None:
        return [no_line_at_tip()]
    found = []
    if tip.verdict != "on":
        level: Grade = "stop" if tip.verdict == "off" else "watch"
        limit = NEAR_MM if level == "stop" else on
        found.append(line_misses_tip(tip.offset_mm, limit, level, str(tip.side)))
    if tip.mark_side is not None and tip.off_side is not None:
        apart = abs(tip.mark_side.offset_mm - tip.off_side.offset_mm)
        if apart > on:
            found.append(sides_disagree(apart, on))
    return found


def _place_findings(blade: PlacedBlade) -> list[Finding]:
    """Look whether the outline lies in sound steel."""
    polygon = blade.outline.silhouette()
    at = blade.placement.to_piece(polygon[:, 0], polygon[:, 1], np.zeros(len(polygon)))
    if blade.piece.limits is None:
        low, high = (np.array(corner) for corner in blade.piece.box())
        beyond = np.maximum(low[:2] - at[:, :2], at[:, :2] - high[:2]).max()
        if beyond > LEAST_MM:
            return [outline_beyond_bar(float(beyond))]
    off = 0
    body = blade.outline.polygon()
    u0, v0, u1, v1 = blade.outline.bounding_box
    u, v = (g.ravel() for g in np.meshgrid(np.arange(u0, u1, 1.0), np.arange(v0, v1, 1.0)))
    inside = blade.outline.contains(np.stack([u, v], axis=1))
    u, v = np.concatenate([u[inside], body[:, 0]]), np.concatenate([v[inside], body[:, 1]])
    program = program_of(blade.piece)
    for side in SIDES:
        off += int((walk(program, blade.surface(u, v, side)).layers < 0).sum())
    return [outline_off_steel(float(off) / (2 * len(u)))] if off else []


def _plain_length(blade: PlacedBlade) -> float:
    """Length of the blade without a centre line, mm, the worse side."""
    if not blade.piece.cuts:
        return 0.0
    length = blade.outline.length_mm
    stations = np.arange(0.5, length, 1.0)
    return max(float(np.isnan(line_on(blade, side, stations)).sum()) for side in SIDES)
