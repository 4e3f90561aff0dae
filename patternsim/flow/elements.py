"""The element: quadratic velocity and linear pressure on a curved triangle (Taylor and Hood 1973).

Local coordinates (r, s) run over 0 <= r, 0 <= s, r + s <= 1. Nodes: corners (0, 0), (1, 0), (0, 1),
then the
middles of the sides between corners 1-2, 2-3, 3-1.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Six points, exact to the fourth degree: Dunavant, Int. J. Numer. Meth. Eng. 21 (1985) 1129, table II.
_NEAR, _FAR = 0.445948490915965, 0.091576213509771
_NEAR_WEIGHT, _FAR_WEIGHT = 0.223381589678011 / 2, 0.109951743655322 / 2


@dataclass(frozen=True, slots=True, eq=False)
class Rule:
    """A quadrature rule with the shape functions at its points.

    Attributes
    ----------
    points : (q, 2)
    weights : (q,), sum 1/2
    value : (q, 6)
        Quadratic shape functions.
    along_r, along_s : (q, 6)
        Their local derivatives.
    linear : (q, 3)
        Linear shape functions.
    """

    points: Floats
    weights: Floats
    value: Floats
    along_r: Floats
    along_s: Floats
    linear: Floats


def shapes(points: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Return the quadratic shape functions, their two derivatives (n, 6) and the linear ones (n, 3).

    Source: any finite-element text, e.g. Zienkiewicz and Taylor, The Finite Element Method.
    """
    r, s = points[:, 0], points[:, 1]
    first = 1.0 - r - s
    nought = np.zeros_like(r)
    value = np.stack(
        [
            first * (2 * first - 1),
            r * (2 * r - 1),
            s * (2 * s - 1),
            4 * first * r,
            4 * r * s,
            4 * s * first,
        ],
        axis=1,
    )
    along_r = np.stack([1 - 4 * first, 4 * r - 1, nought, 4 * (first - r), 4 * s, -4 * s], axis=1)
    along_s = np.stack([1 - 4 * first, nought, 4 * s - 1, -4 * r, 4 * r, 4 * (first - s)], axis=1)
    return value, along_r, along_s, np.stack([first, r, s], axis=1)


def rule(points: Floats, weights: Floats) -> Rule:
    """Return a rule with its shape functions."""
    value, along_r, along_s, linear = shapes(points)
    return Rule(points, weights, value, along_r, along_s, linear)


def _six() -> Rule:
    a, b = _NEAR, _FAR
    points = [[a, a], [1 - 2 * a, a], [a, 1 - 2 * a], [b, b], [1 - 2 * b, b], [b, 1 - 2 * b]]
    return rule(np.array(points), np.array([_NEAR_WEIGHT] * 3 + [_FAR_WEIGHT] * 3))


SIX = _six()
