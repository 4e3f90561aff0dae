"""Closed forms: what a press and a wedge do, at once, while a number is dragged.

Every form follows a stream function, so that volume is kept everywhere. In coordinates scaled to the
bar (-1..1 both ways) an even squeeze does nothing at all; what is left is the swirl that friction
adds, and it keeps the sides straight: they are taken as knocked square after the press. True
outlines come with the worked-out flow.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
FlowPass = tuple[float, float, float, float, bool]
"""across (mm), along (mm), height (mm), sideways (share), turned."""

SWIRLS = {
    0.2: (1.589, 0.774, 2.184),
    0.4: (1.259, 1.373, 2.361),
    0.6: (1.122, 1.944, 2.474),
    0.8: (1.044, 2.559, 2.566),
    1.0: (1.004, 3.215, 2.591),
}
"""Friction factor: (p, q, n) of the swirl a unit of ln reduction, p / (1 + (a / q)^n), with a the
current width over height. Fitted to 25 finite-element upsets of plane sections (width over height
0.7 to 3, reductions of 15 to 50 %, rate exponent 0.15). Against 120 flows of this program (0.5 to 3;
15, 30, 50, 65 %; friction 0.2 to 1) the map is right to 0.022 of the width before (rms of all; 0.001 to
0.066), an even stretch to 0.070, and no single swirl comes nearer than 0.0215. By width over height
0.5, 0.7, 1, 1.5, 2, 3: 0.038, 0.028, 0.020, 0.014, 0.012, 0.009."""

NARROWEST = 0.7
"""Width over height below which dies move the steel next to them and leave the middle."""
NARROW_POWER = 4.0
"""Power of the current width over height, below that, by which the swirl falls: the same flows (at 0.5
they are met to 0.038; with a swirl that does not fall, to 0.041) and 24 of 0.15 to 0.4. Edges of a thin
bar come out of it nearly unmoved, as in the flow."""
CRUSH = (
    (0.000, (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)),
    (0.300, (0.011, -0.174, 0.27, -0.541, -0.027, -0.006, 0.006, -0.003, -0.011)),
    (0.375, (0.159, -0.387, 0.368, -0.248, -0.033, -0.023, 0.034, -0.015, -0.035)),
    (0.450, (0.367, -0.706, 0.539, -0.014, -0.022, -0.057, 0.084, -0.043, -0.093)),
    (0.525, (0.625, -1.13, 0.775, 0.176, -0.024, -0.069, 0.112, -0.043, -0.113)),
    (0.600, (0.886, -1.555, 1.037, 0.191, -0.007, -0.096, 0.151, -0.05, -0.167)),
)
"""Width of the crushed flats over the side: weights of the nine parts of the corner fold, fitted to
finite-element crushes squared again in eight passes; right to 0.003 to 0.012 of the side away from
the corners, where true bars stay round."""
PLACES, WEIGHTS = np.polynomial.legendre.leggauss(8)
"""Gauss's rule for the squeeze of a narrow section."""
TIME_STEPS = 12
"""Runge-Kutta steps, at least; twelve leave 5e-6 of the half-size."""
STEPS_BY_SWIRL = 16
"""Runge-Kutta steps a unit of swirl: keeps area to 2e-5 in the strongest squeezes."""


def swirl_of_squeeze(aspect: float, squeeze: float, friction: float) -> float:
    """Return the swirl of one squeeze in plane strain.

    Parameters
    ----------
    aspect : float
        Width over height before.
    squeeze : float
        ln(height before / after).
    friction : float
        Friction factor, 0 to 1; no friction, no swirl; below 0.2 it falls in proportion.
    """
    widening = math.log(NARROWEST / aspect) / 2.0  # squeeze up to which it is narrow
    early = min(max(widening, 0.0), max(squeeze, 0.0))
    late = squeeze - early
    wide = aspect * math.exp(2.0 * early)
    at = aspect * np.exp(early * (1.0 + PLACES))
    falling = (at / NARROWEST) ** NARROW_POWER * WEIGHTS * early / 2.0
    amounts = [0.0]
    for p, q, n in SWIRLS.values():
        start = 1.0 + (wide / q) ** n
        end = 1.0 + (wide * math.exp(2.0 * late) / q) ** n
        narrow = float(np.sum(falling * p / (1.0 + (at / q) ** n)))
        amounts.append(narrow + p * (late - math.log(end / start) / (2.0 * n)))
    return float(np.interp(friction, (0.0, *SWIRLS), amounts))


def net_swirl(passes: Sequence[FlowPass], friction: float) -> float:
    """Return the swirl of all passes together, positive where the stroke runs along the second axis.

    The swirl of a pass turned by 90 degrees is the same flow the other way round, so that passes
    simply add up, with sign.
    """
    total = 0.0
    for across, along, height, sideways, turned in passes:
        squeeze = math.log(along / height)
        # What goes into length does not drag sideways: friction across counts by its share.
        amount = sideways * swirl_of_squeeze(across / along, squeeze, friction)
        total += -amount if turned else amount
    return total


def corner_fold(flats: float) -> tuple[float, ...]:
    """Return the weights of the fold of crushed corners, flats `flats` sides wide, squared again."""
    places = [place for place, _ in CRUSH]
    rows = [row for _, row in CRUSH]
    return tuple(float(np.interp(flats, places, weights)) for weights in zip(*rows, strict=True))


def press_flow(
    passes: Sequence[FlowPass], *, friction: float, corners: float, half: Floats
) -> Callable[[Floats], Floats] | None:
    """Return the backward flow of a press in the section, or None where nothing but stretch is left.

    Parameters
    ----------
    passes : sequence of FlowPass
    friction : float
        Friction factor of the dies.
    corners : float
        Width of crushed corner flats over the side, crushed before the passes; 0 for none.
    half : (2,) float, mm
        Half-sizes of the section before.
    """
    swirl = net_swirl(passes, friction)
    if abs(swirl) < 1e-9 and corners == 0.0:
        return None
    fold = corner_fold(corners)
    steps = max(TIME_STEPS, math.ceil(STEPS_BY_SWIRL * abs(swirl)))

    def back(points: Floats) -> Floats:
        from patternsim.press import compiled  # heavy: not needed to list or check a job

        unit = points / half
        if swirl:
            unit = compiled.swirled(unit, swirl, 0.0, steps)
        if corners:
            unit = compiled.folded(unit, fold, 1.0, 0.0, TIME_STEPS)
        return unit * half

    return back
