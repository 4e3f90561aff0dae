"""Finding the velocities and pressures of a moment: Newton's method, a search along each step of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.moment import Moment, Rates

SOURCE_LOOKS = 6
"""Corrections that look at the volume source again; for later ones the potential stands still."""
BLOCKED = 0.2
"""Share of a correction below which the search counts as held up."""
GUESSES = 4
"""First corrections from a mere guess that take the secant of the law, which errs less far out."""
SEARCHES = 8


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """A moment worked out.

    Attributes
    ----------
    rates : Rates
    tries : int
        Corrections made.
    whole : bool
        The corrections died out; else the last one stands.
    """

    rates: Rates
    tries: int
    whole: bool


@dataclass(slots=True)
class _Trial:
    """One correction: its share taken, the potential before and after, which nodes touched."""

    share: float
    before: float
    after: float
    changed: bool
    met: NDArray[np.bool_]


def settle(moment: Moment, start: Rates, *, fresh: bool) -> Settled:
    """Find the rates of a moment, beginning at `start`; `fresh` if that is no more than a guess.

    Unknowns that are fixed keep the value they have at the start.

    Raises
    ------
    ArithmeticError
        If the equations cannot be solved at all.
    """
    care, rates = moment.care, start.copy()
    moment.seat(rates)
    toggles, secant_next = 0, False
    for tries in range(care.tries):
        moment.pulse()
        if tries < SOURCE_LOOKS:
            moment.look_at_volume(rates)
        axial = moment.look(rates, secant=tries < (GUESSES if fresh else 1) or secant_next)
        change, slope = moment.correction(axial)
        searching = tries >= 1 and not (fresh and tries <= 2)
        trial = _tried(moment, rates, change, slope, searching=searching, toggles=toggles)
        toggles += trial.changed
        rates = rates.plus(change, trial.share)
        held_up = trial.share < BLOCKED
        if held_up:
            # A node about to touch holds the search up: let it touch, and see whether it pushes.
            moment.touching.forced[:] = trial.met
        secant_next = (trial.changed and toggles <= care.toggles) or held_up
        small = change.size() < care.change * rates.size()
        steady = trial.share > 0.3 and abs(trial.before - trial.after) < care.power * abs(trial.after)
        if tries >= 1 and not trial.changed and (small or (steady and not (fresh and tries <= 2))):
            return _done(moment, rates, tries + 1, whole=True)
        if tries >= 3 and small:
            return _done(moment, rates, tries + 1, whole=True)
    return _done(moment, rates, care.tries, whole=False)


def _tried(
    moment: Moment, rates: Rates, change: Rates, slope: float, *, searching: bool, toggles: int
) -> _Trial:
    """Go along a correction: all the way while nodes come and go, else as far as the potential falls."""
    pairs = moment.touching
    before = moment.power_looked_at(rates)
    held = pairs.active.copy()
    pairs.forced[:] = False
    after = moment.power(rates.plus(change, 1.0))
    met = pairs.active | held
    changed = bool((pairs.active != held).any())
    share = 1.0
    if searching and not (changed and toggles < moment.care.toggles):
        share, after = _searched(moment, rates, change, slope, before, after)
    return _Trial(share, before, after, changed, met)


def _searched(
    moment: Moment, rates: Rates, change: Rates, slope: float, before: float, after: float
) -> tuple[float, float]:
    """Return the share of a correction that lowers the potential enough, and the potential there."""
    off = moment.residual[2 * len(moment.mesh.nodes) :]
    # A correction that also mends volume may raise the potential by the pressure times what it mends.
    excuse = 2.0 * (abs(float(rates.pressure @ off)) + abs(float(change.pressure @ off)))
    share = 1.0
    for _ in range(SEARCHES):
        if after <= before + 1e-9 * abs(before) + excuse + 1e-4 * share * slope:
            break
        curve = 2.0 * (after - before - share * slope)
        share *= min(max(-slope * share / curve if curve > 0.0 else 0.5, 0.15), 0.6)
        after = moment.power(rates.plus(change, share))
    return share, after


def _done(moment: Moment, rates: Rates, tries: int, *, whole: bool) -> Settled:
    moment.weigh(rates)
    return Settled(rates, tries, whole)
