"""The Barbs answer: which end the outer ends of the barbs lean to, and how steeply."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from patternsim.answers.tip import line_on
from patternsim.fields import Program, lay_out, walk
from patternsim.knife.placement import SIDES, PlacedBlade
from patternsim.shape.grind import Side

Floats = NDArray[np.float64]
Towards = Literal["tip", "handle", "mixed", "none"]

STATIONS = 60
PROBE_MM = 0.05
PLAIN_DEG = 5.0
"""A barb within five degrees of square across the blade leans nowhere; by eye, no source."""
MOST, FEW = 0.9, 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Barbs:
    """The Barbs answer.

    Attributes
    ----------
    wanted : str
        'tip', 'handle' or 'none'.
    towards : str
        End the outer ends of the barbs lean to: 'tip', 'handle', 'mixed' or 'none'.
    share : float
        Share of the blade that leans as wanted.
    angle_deg : float or None
        Between barb and centre line at half the half-width, the middle one; None without barbs.
    """

    wanted: str
    towards: Towards
    share: float
    angle_deg: float | None


def barb_lean(blade: PlacedBlade) -> tuple[Floats, Floats]:
    """Return how barbs lie at half the half-width, along the blade, both halves and sides.

    Barbs are followed as the lines that stood square across the block before the wedge came, so
    that the waves of W's do not count.

    Returns
    -------
    lean : (n,) float64
        mm towards the tip for each mm away from the centre line; NaN where there is no line.
    stations : (n,) float64
        u, mm.
    """
    length = blade.outline.length_mm
    program = lay_out(blade.piece.solid(), stop=blade.piece.cuts[-1].before)
    u = (np.arange(STATIONS) + 0.5) / STATIONS * length
    leans, stations = [], []
    for side in SIDES:
        line = line_on(blade, side, u)
        for outer, sign in ((blade.outline.spine_at(u), 1.0), (blade.outline.edge_at(u), -1.0)):
            v = line + 0.5 * (outer - line)
            away = np.where(sign * (outer - line) > 2 * PROBE_MM, v, np.nan)
            leans.append(_lean(blade, program, side, u, away) * -sign)
            stations.append(u)
    return np.concatenate(leans), np.concatenate(stations)


def _lean(blade: PlacedBlade, program: Program, side: Side, u: Floats, v: Floats) -> Floats:
    """Return across over along of the lines that stood square across the block, at (u, v)."""
    good = np.isfinite(v)
    at = np.where(good, v, 0.0)
    steps = ((PROBE_MM, 0.0), (-PROBE_MM, 0.0), (0.0, PROBE_MM), (0.0, -PROBE_MM))
    points = np.concatenate([blade.surface(u + du, at + dv, side) for du, dv in steps])
    hits = walk(program, points, stop=blade.piece.cuts[-1].before)
    x = np.where(hits.inside, hits.points[:, 0], np.nan).reshape(len(steps), -1)
    along, across = x[0] - x[1], x[2] - x[3]
    with np.errstate(divide="ignore", invalid="ignore"):
        lean = across / along
    return np.where(good, lean, np.nan)


def barbs_answer(blade: PlacedBlade) -> Barbs:
    """Return the Barbs answer of a placed blade."""
    wanted = blade.spec.barbs
    if not blade.piece.cuts:
        return Barbs(
            wanted=wanted, towards="none", share=1.0 if wanted == "none" else 0.0, angle_deg=None
        )
    lean, _ = barb_lean(blade)
    seen = lean[np.isfinite(lean)]
    if not len(seen):
        return Barbs(
            wanted=wanted, towards="none", share=1.0 if wanted == "none" else 0.0, angle_deg=None
        )
    limit = math.tan(math.radians(PLAIN_DEG))
    tip, handle = float(np.mean(seen > limit)), float(np.mean(seen < -limit))
    # Where there is no line the blade is plain.
    reached = len(seen) / len(lean)
    tip_share, handle_share = tip * reached, handle * reached
    share = {"tip": tip_share, "handle": handle_share, "none": 1.0 - tip_share - handle_share}[wanted]
    towards: Towards = "mixed"
    if tip + handle < FEW:
        towards = "none"
    elif tip >= MOST * (tip + handle):
        towards = "tip"
    elif handle >= MOST * (tip + handle):
        towards = "handle"
    angle = float(np.median(np.degrees(np.arctan2(1.0, np.abs(seen)))))
    return Barbs(wanted=wanted, towards=towards, share=share, angle_deg=angle)
