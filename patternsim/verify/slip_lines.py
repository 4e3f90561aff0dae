"""Closed forms of slip-line theory: what rigid-plastic steel in plane strain does exactly."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import iv

PUNCH = 2.0 + np.pi
"""Mean pressure under a flat punch over the shear yield stress (Prandtl 1920; Hill 1950)."""


@cache
def platen_pressure(ratio: float) -> float:
    """Return the mean pressure over twice the shear yield stress between wide rough platens.

    `ratio` is width over height, 1 to 3.64; narrow dies on a tall block answer alike for height over
    width,
    1 to 8.7. Riemann's function for two equal arcs: with G(t) = I0(2 t) + I1(2 t),
    ratio = 1 + 2 int G dt and pressure = 1 + 2 int 2 t G dt / ratio, both up to the fan angle
    (Hill, The Mathematical Theory of Plasticity, 1950, ch. VIII and IX). Beyond 3.64 for platens: Hill's
    3/4 + ratio / 4.
    """

    def density(t: float) -> float:
        return float(iv(0, 2 * t) + iv(1, 2 * t))

    if ratio <= 1.0:
        return 1.0

    def miss(angle: float) -> float:
        return float(1.0 + 2.0 * quad(density, 0.0, angle)[0] - ratio)

    angle = float(brentq(miss, 0.0, 1.6))
    return float(1.0 + 2.0 * quad(lambda t: 2 * t * density(t), 0.0, angle)[0] / ratio)


def wide_platens(ratio: float) -> float:
    """Return the mean pressure over twice the shear yield stress for platens wider than 3.64 heights."""
    return 0.75 + ratio / 4.0


@dataclass(frozen=True, slots=True)
class Indented:
    """A smooth wedge in a half space, per depth below the surface.

    Attributes
    ----------
    contact : float
        Length of flank in touch.
    lip : float
        Height of the raised lip above the surface.
    force : float
        Force per unit thickness over twice the shear yield stress.
    fan : float, rad
    """

    contact: float
    lip: float
    force: float
    fan: float


def indentation(degrees: float) -> Indented:
    """Return the indentation by a wedge of that semi-angle (Hill, Lee and Tupper 1947).

    Fan angle psi from cos(2 theta - psi) = cos psi / (1 + sin psi); pressure on the flank 2 k (1 + psi).
    """
    theta = np.radians(degrees)

    def miss(psi: float) -> float:
        return float(np.cos(2 * theta - psi) - np.cos(psi) / (1.0 + np.sin(psi)))

    fan = brentq(miss, 1e-9, theta)
    contact = 1.0 / (np.cos(theta) - np.sin(theta - fan))
    return Indented(
        contact=float(contact),
        lip=float(contact * np.sin(theta - fan)),
        force=float(2.0 * contact * (1.0 + fan) * np.sin(theta)),
        fan=float(fan),
    )


def free_split() -> float:
    """Return the height over width beyond which narrow dies split a free block no more."""
    return float(brentq(lambda ratio: platen_pressure(ratio) - PUNCH / 2.0, 8.0, 9.5))


def splitting(degrees: float) -> float:
    """Return the least force of a smooth sharp wedge that parts a block, over 2 k times its width.

    Two rigid halves slide off along lines at half the semi-angle: tan(theta / 2), an upper bound (limit
    theorems of Drucker, Prager and Greenberg 1952).
    """
    return float(np.tan(np.radians(degrees) / 2.0))
