"""The Tip answer: where the centre line runs at the tip, on each side."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from patternsim.knife.line import line_across
from patternsim.knife.placement import PlacedBlade
from patternsim.shape.grind import Side

Floats = NDArray[np.float64]
Verdict = Literal["on", "near", "off"]

ON_MM, NEAR_MM = 0.5, 1.5
"""On within half a millimetre, or half the shaft; near to one and a half; common practice, no source."""
LAST_MM, HEADING_MM, STEP_MM = 50.0, 10.0, 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SideTip:
    """The centre line near the tip on one side.

    Attributes
    ----------
    offset_mm : float
        Where it passes the tip; positive towards the spine.
    heading_deg : float
        Against the blade's length over the last 10 mm; positive rising to the spine.
    wander_mm : float
        Farthest it strays from straight over the last 50 mm.
    """

    offset_mm: float
    heading_deg: float
    wander_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Tip:
    """The Tip answer. `offset_mm` is the worse side's; None where no centre line reaches the tip."""

    offset_mm: float | None
    side: str | None
    verdict: Verdict | None
    spread_mm: tuple[float | None, float | None]
    mark_side: SideTip | None
    off_side: SideTip | None


def line_on(blade: PlacedBlade, side: Side, stations: Floats) -> Floats:
    """Return the height v (mm, tip = 0) of the centre line at stations u (mm); NaN where none."""
    if not blade.piece.cuts:
        return np.full(len(stations), np.nan)
    reach = blade.outline.far_mm + 10.0

    def place(u: Floats, v: Floats) -> Floats:
        return blade.surface(u, v, side)

    return line_across(blade.piece, place, stations, low=-reach, high=reach)


def side_tip(blade: PlacedBlade, side: Side) -> SideTip | None:
    """Return the line near the tip on one side; None where it does not reach the tip."""
    length = blade.outline.length_mm
    first = max(0.0, length - LAST_MM)
    stations = np.linspace(first, length, max(3, round((length - first) / STEP_MM) + 1))
    line = line_on(blade, side, stations)
    if not np.isfinite(line[-1]):
        return None
    near = np.isfinite(line) & (stations >= length - HEADING_MM)
    slope = np.polyfit(stations[near], line[near], 1)[0] if near.sum() > 1 else 0.0
    there = np.isfinite(line)
    u, v = stations[there], line[there]
    straight = np.interp(u, [u[0], u[-1]], [v[0], v[-1]])
    return SideTip(
        offset_mm=float(line[-1]),
        heading_deg=math.degrees(math.atan(float(slope))),
        wander_mm=float(np.abs(v - straight).max()),
    )


def judge(offset_mm: float, shaft_mm: float) -> Verdict:
    """Return 'on', 'near' or 'off' for a line that passes the tip by `offset_mm`."""
    if abs(offset_mm) <= max(ON_MM, shaft_mm / 2):
        return "on"
    return "near" if abs(offset_mm) <= NEAR_MM else "off"


def tip_answer(blade: PlacedBlade, shaft_mm: float) -> Tip:
    """Return the Tip answer of a placed blade."""
    mark, off = side_tip(blade, "mark-side"), side_tip(blade, "off-side")
    sides = [(s, name) for s, name in ((mark, "mark-side"), (off, "off-side")) if s is not None]
    if len(sides) < 2:
        return Tip(
            offset_mm=None, side=None, verdict=None, spread_mm=(None, None),
            mark_side=mark, off_side=off,
        )  # fmt: skip
    worse, name = max(sides, key=lambda pair: abs(pair[0].offset_mm))
    return Tip(
        offset_mm=worse.offset_mm,
        side=name,
        verdict=judge(worse.offset_mm, shaft_mm),
        spread_mm=(None, None),
        mark_side=mark,
        off_side=off,
    )
