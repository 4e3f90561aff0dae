"""The friction of the smith's own tools from two pieces of steel: a measured barrel, an etched slice.

The step is worked out with one friction after another; the one whose piece comes nearest to what was
measured is told. Only what the flow works out can be measured against: closed forms have no barrel.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.errors import UsageError
from patternsim.fields import lay_out, walk
from patternsim.job import Bar, Job, kind_of
from patternsim.piece import Piece
from patternsim.press import Level
from patternsim.progress import Part, Progress, Silent
from patternsim.step import Context, Outcome, Step
from patternsim.wording import told_mm
from patternsim.work import run

Floats = NDArray[np.float64]

TRIED = (0.1, 0.25, 0.4, 0.6, 0.8, 1.0)
"""Friction factors the step is worked with; between them what comes out is taken as even."""
AT_DIE = 0.02
"""How far from the die, over the height, the width at the die face is read: the corner is round."""
HEIGHTS = np.linspace(0.35, 0.65, 7)
"""Where along the cut the lag is read, over its length: entry and web have their own ways."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Friction:
    """A friction factor found from a measurement.

    Attributes
    ----------
    field : str
        Value of the shop it belongs to.
    value : float
    measured, computed : tuple of float, mm
        What was measured; what the piece has at this friction.
    low, high : tuple of float, mm
        What it has at the least and the greatest friction tried.
    beyond : bool
        The measurement lies beyond what any friction gives: something else is at work.
    """

    field: str
    value: float
    measured: tuple[float, ...]
    computed: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    beyond: bool


def from_barrel(
    job: Job, step: str, bulge_mm: float, level: Level = Level.COARSE, progress: Progress | None = None
) -> Friction:
    """Return the friction of the dies from the barrel a press has left.

    Parameters
    ----------
    job : Job
    step : str
        Id of the step after which the piece was measured: one squeeze between flat dies, not turned.
    bulge_mm : float, mm
        Greatest width less the width at the die faces, both sides together.

    Raises
    ------
    UsageError
        If there is no such step, or its piece has no barrel to measure.
    StepRefused, Cancelled
        As `work.run`.
    """
    if bulge_mm < 0.0:
        raise UsageError("a barrel is wider in the middle than at the dies; give how much, from 0 mm up")
    return _found(job, step, "friction_dies", (bulge_mm,), _bulge, level, progress)


def from_slice(
    job: Job,
    step: str,
    quarter_mm: float,
    half_mm: float,
    level: Level = Level.COARSE,
    progress: Progress | None = None,
) -> Friction:
    """Return the friction of the wedge from an etched slice of the closed split.

    Parameters
    ----------
    step : str
        Id of the step that closes the split.
    quarter_mm, half_mm : float, mm
        How far a layer lags behind its own height at the outer edge, a quarter and half of the way from
        the cut to the edge, about the middle of the cut's length.

    Raises
    ------
    UsageError
        If there is no such step, or it closes no split.
    StepRefused, Cancelled
        As `work.run`.
    """
    return _found(job, step, "friction_wedge", (quarter_mm, half_mm), _lags, level, progress)


def _found(
    job: Job,
    step: str,
    field: str,
    measured: tuple[float, ...],
    measure: Callable[[Step, Outcome], tuple[float, ...]],
    level: Level,
    progress: Progress | None,
) -> Friction:
    if level is Level.QUICK:
        raise UsageError("closed forms have no barrel and no slice; use level coarse or fine")
    watch = progress or Silent()
    bar, first, last = _stretch(job, step, field)
    before = _until(job, bar, first)
    pieces = run(before, level, Part(watch, 0.0, 0.5)).bars[bar.name] if first else ()
    rows = []
    for k, value in enumerate(TRIED):
        # Only the tool in question changes: what was done before is done.
        context = Context(
            shop=job.shop.model_copy(update={field: value}),
            level=level,
            progress=Part(watch, 0.5 + 0.5 * k / len(TRIED), 0.5 / len(TRIED)),
        )
        now, outcome = pieces, Outcome(pieces=pieces)
        for one in bar.step[first : last + 1]:
            if not one.skip:
                outcome = one.work(now, context)
                now = outcome.pieces
        rows.append(measure(bar.step[last], outcome))
    return _nearest(field, measured, np.array(rows))


def _nearest(field: str, measured: tuple[float, ...], table: Floats) -> Friction:
    """Return the friction whose figures come nearest; `table` has a row for each of those tried."""
    fine = np.linspace(TRIED[0], TRIED[-1], 951)
    curves = np.stack([np.interp(fine, TRIED, column) for column in table.T], axis=1)
    off = np.linalg.norm(curves - np.array(measured), axis=1)
    best = int(off.argmin())
    mean, low, high = float(np.mean(measured)), table.mean(axis=1).min(), table.mean(axis=1).max()
    return Friction(
        field=field,
        value=round(float(fine[best]), 2),
        measured=measured,
        computed=tuple(float(v) for v in curves[best]),
        low=tuple(float(v) for v in table[0]),
        high=tuple(float(v) for v in table[-1]),
        beyond=not float(low) <= mean <= float(high),
    )


def _stretch(job: Job, step: str, field: str) -> tuple[Bar, int, int]:
    """Return the bar, and the places in it from which on the friction tells and where it is measured.

    Raises
    ------
    UsageError
        If there is no such step, or no split before it where a wedge is asked for.
    """
    found = job.find_step(step)
    if found is None:
        known = ", ".join(one.id for bar in job.bar for one in bar.step)
        raise UsageError(f'there is no step "{step}" in this job; the steps are: {known}')
    bar, last = found
    if field == "friction_dies":
        return bar, last, last
    splits = [k for k, one in enumerate(bar.step[:last]) if kind_of(one) == "split" and not one.skip]
    if kind_of(bar.step[last]) != "reweld" or not splits:
        raise UsageError(f"{step} closes no split; name the step that closes and welds it")
    return bar, splits[-1], last


def _until(job: Job, bar: Bar, place: int) -> Job:
    """Return the job without its blade and without the steps of a bar from `place` on."""
    cut = bar.model_copy(update={"step": bar.step[:place]})
    bars = tuple(cut if one.name == bar.name else one for one in job.bar)
    return job.model_copy(update={"bar": bars, "blade": None})


# --- what is read off a piece ----------------------------------------------------------------


def _bulge(step: Step, outcome: Outcome) -> tuple[float, ...]:
    section = outcome.pieces[0].section if outcome.pieces else None
    if section is None or outcome.force_kn is None:
        raise UsageError(
            f"the piece has straight sides after {step.id}: there is no barrel to measure; name a "
            "step that presses it once between flat dies"
        )
    points = section.polygon()
    on_end = section.plane == "xy"  # pressed along the length: the dies are at its ends
    across, stroke = (1, 0) if on_end else (0, 1)
    low, high = points[:, stroke].min(), points[:, stroke].max()
    near = AT_DIE * (high - low)
    faces = [_width(points, across, stroke, at) for at in (low + near, high - near)]
    return (float(np.ptp(points[:, across])) - float(np.mean(faces)),)


def _width(points: Floats, across: int, stroke: int, at: float) -> float:
    """Return how wide an outline is at a height."""
    a, b = points, np.roll(points, -1, axis=0)
    crossing = (a[:, stroke] < at) != (b[:, stroke] < at)
    a, b = a[crossing], b[crossing]
    share = (at - a[:, stroke]) / (b[:, stroke] - a[:, stroke])
    return float(np.ptp(a[:, across] + share * (b[:, across] - a[:, across])))


def _lags(step: Step, outcome: Outcome) -> tuple[float, ...]:
    piece = outcome.pieces[0]
    lags = np.array([_lag(piece, share) for share in (0.25, 0.5)])
    if np.isnan(lags).any():
        raise UsageError(f"the layers cannot be followed across the cut after {step.id}")
    return tuple(float(v) for v in lags)


def _lag(piece: Piece, share: float) -> float:
    """Return the mean lag of layers `share` of the way out from the cut, both halves, mm."""
    cut = piece.cuts[-1]
    steel = cut.before.child
    program = lay_out(piece.solid(), stop=steel)
    half = piece.size[1] / 2
    edge = 0.96
    lags = []
    for side in (-1.0, 1.0):
        x = HEIGHTS * piece.size[0]
        was = [walk(program, _at(x, side * at * half), stop=steel, workers=1) for at in (share, edge)]
        both = was[0].inside & was[1].inside
        # Layers lie square to x in the block: a point that was higher up lags behind its neighbours.
        lags += list(np.abs(was[0].points[both, 0] - was[1].points[both, 0]))
    return float(np.mean(lags)) if lags else float("nan")


def _at(x: Floats, y: float) -> Floats:
    return np.stack([x, np.full_like(x, y), np.zeros_like(x)], axis=1)


def told(found: Friction) -> str:
    """Return what was found as a sentence or two."""
    names = {"friction_dies": "the dies", "friction_wedge": "the wedge"}
    measured = " and ".join(told_mm(v) for v in found.measured)
    computed = " and ".join(told_mm(v) for v in found.computed)
    said = (
        f"Friction factor of {names[found.field]}: {found.value:.2f}. Measured {measured}, worked out "
        f"with it {computed}."
    )
    if found.beyond:
        low, high = told_mm(min(*found.low, *found.high)), told_mm(max(*found.low, *found.high))
        said += (
            f" No friction gives what was measured (from {low} to {high}): look whether sizes and bite "
            "of the step are those of the real piece."
        )
    return said
