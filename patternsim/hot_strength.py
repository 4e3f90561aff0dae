"""How hard hot steel resists being pressed: published flow stresses of austenite, MPa.

Two independent fits to compression tests of carbon steels. They agree within some 15 % between 900 and
1200 degC; between the two lies what can be known without a test of the very steel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

KGF_MM2 = 9.80665
"""MPa in a kilogram-force a square millimetre, the unit of both fits."""
STEADY = 0.5
"""Strain beyond which the stress is held: the steel recrystallises as it is worked (common practice)."""
SHIDA_RANGE = (700.0, 1200.0)
"""degC in which Shida's fit was made (range from memory)."""
SPREAD = 0.15
"""How far published fits lie from one another; the friction of the dies comes on top."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """Flow stress in MPa: the lowest, the likely and the highest of what the fits say."""

    low: float
    likely: float
    high: float


def shida(*, carbon: float, celsius: float, strain: float, rate: float) -> float:
    """Return the flow stress by Shida (J. JSTP 10, 1969, 610), MPa.

    Parameters
    ----------
    carbon : float, wt %
        0.07 to 1.2.
    celsius : float
        700 to 1200 degC; outside the formula is extrapolated.
    strain : float
        Equivalent strain; beyond `STEADY` held.
    rate : float, 1/s
        0.1 to 100.
    """
    t = (celsius + 273.15) / 1000.0
    turn = 0.95 * (carbon + 0.41) / (carbon + 0.32)
    fade = 0.01 / (carbon + 0.05)
    if t >= turn:
        base = 0.28 * math.exp(5.0 / t - fade)
        exponent = (-0.019 * carbon + 0.126) * t + 0.075 * carbon - 0.050
    else:
        dip = t - 0.95 * (carbon + 0.49) / (carbon + 0.42)
        factor = 30.0 * (carbon + 0.9) * dip**2 + (carbon + 0.06) / (carbon + 0.09)
        base = 0.28 * factor * math.exp(5.0 / turn - fade)
        exponent = (0.081 * carbon - 0.154) * t - 0.019 * carbon + 0.207 + 0.027 / (carbon + 0.32)
    over = min(strain, STEADY) / 0.2
    hardening = 1.3 * over ** (0.41 - 0.07 * carbon) - 0.3 * over
    return KGF_MM2 * base * float(hardening * (rate / 10.0) ** exponent)


def misaka(*, carbon: float, celsius: float, strain: float, rate: float) -> float:
    """Return the flow stress by Misaka and Yoshimoto (J. JSTP 8, 1967, 414), MPa.

    Parameters as for `shida`; made for 750 to 1200 degC, strains under 0.5, 30 to 200 /s.
    """
    kelvin = celsius + 273.15
    heat = (2851.0 + 2968.0 * carbon - 1120.0 * carbon**2) / kelvin
    base = math.exp(0.126 - 1.75 * carbon + 0.594 * carbon**2 + heat)
    return KGF_MM2 * base * float(min(strain, STEADY) ** 0.21 * rate**0.13)


def strength(*, carbon: float, celsius: float, strain: float, rate: float) -> Strength:
    """Return what both fits say; likely is Shida's, made at the rates of a press."""
    first = shida(carbon=carbon, celsius=celsius, strain=strain, rate=rate)
    second = misaka(carbon=carbon, celsius=celsius, strain=strain, rate=rate)
    return Strength(
        low=(1.0 - SPREAD) * min(first, second), likely=first, high=(1.0 + SPREAD) * max(first, second)
    )
