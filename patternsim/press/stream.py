"""Backward maps by following a stream function: the flow of any of them keeps area exactly.

A plane flow u = d psi/d b, v = -d psi/d a is free of divergence whatever psi is; following it back
along its own path gives a map with determinant one, up to the error of the time steps.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.polynomial import polynomial
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Velocity = Callable[[Floats, float], Floats]
"""Takes points (n, 2) and the time; returns velocities (n, 2)."""


def follow(velocity: Velocity, points: Floats, *, start: float, end: float, steps: int) -> Floats:
    """Follow `velocity` from time `start` to time `end` (backwards where end < start).

    Classical fourth-order Runge-Kutta (Kutta 1901; any numerical text).

    Parameters
    ----------
    velocity : callable
        (points (n, 2), time) -> (n, 2), in units of length over units of time.
    points : (n, 2) float64
    start, end : float
    steps : int
        Equal time steps; at least 1.

    Returns
    -------
    (n, 2) float64
        Where the points are at `end`.

    Raises
    ------
    ValueError
        If `steps` is less than 1.
    """
    if steps < 1:
        raise ValueError(f"at least one time step is needed, not {steps}")
    at = np.array(points, dtype=np.float64)
    h = (end - start) / steps
    for step in range(steps):
        t = start + step * h
        k1 = velocity(at, t)
        k2 = velocity(at + h / 2 * k1, t + h / 2)
        k3 = velocity(at + h / 2 * k2, t + h / 2)
        k4 = velocity(at + h * k3, t + h)
        at += h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
    return at


def box_swirl(unit: Floats) -> Floats:
    """Return the velocity of psi = a (1 - a^2) b (1 - b^2) on the square -1..1 (tangent to its sides).

    What friction on the dies adds to an even squeeze: the middle runs ahead, the faces lag.

    Parameters
    ----------
    unit : (n, 2) float64
        a across the stroke, b along it; both in half-sizes of the bar.
    """
    a, b = unit[:, 0], unit[:, 1]
    aa, bb = a * a, b * b  # products: a power of an array takes ten times as long
    result = np.empty_like(unit)
    result[:, 0] = (a - a * aa) * (1 - 3 * bb)
    result[:, 1] = -(1 - 3 * aa) * (b - b * bb)
    return result


class PolyStream:
    """The flow of a polynomial stream function on the square -1..1.

    Parameters
    ----------
    weights : (m, n) float
        psi = sum of weights[i, j] a^i b^j.
    """

    def __init__(self, weights: Floats) -> None:
        self.weights = weights
        self._by_a = np.asarray(polynomial.polyder(weights, axis=0), dtype=np.float64)
        self._by_b = np.asarray(polynomial.polyder(weights, axis=1), dtype=np.float64)

    def velocity(self, unit: Floats) -> Floats:
        """Return (d psi / d b, - d psi / d a) at `unit` (n, 2)."""
        a, b = np.ascontiguousarray(unit[:, 0]), np.ascontiguousarray(unit[:, 1])
        return np.stack([_horner(self._by_b, a, b), -_horner(self._by_a, a, b)], axis=1)


def _horner(weights: Floats, a: Floats, b: Floats) -> Floats:
    """Sum of weights[i, j] a^i b^j at many points.

    By nested products: a matrix product would wake the threads of the linear algebra, which on few
    cores takes four times as long as the sum itself.
    """
    total = np.zeros_like(a)
    for row in weights[::-1]:
        inner = np.zeros_like(b)
        for weight in row[::-1]:
            inner *= b
            inner += weight
        total *= a
        total += inner
    return total


def _product(*factors: Floats) -> Floats:
    """Product of polynomials in two variables, given by their weights."""
    result = np.ones((1, 1))
    for factor in factors:
        shape = (result.shape[0] + factor.shape[0] - 1, result.shape[1] + factor.shape[1] - 1)
        out = np.zeros(shape)
        for (i, j), weight in np.ndenumerate(factor):
            out[i : i + result.shape[0], j : j + result.shape[1]] += weight * result
        result = out
    return result


def sum_of_parts(weights: Sequence[float]) -> Floats:
    """Return the stream function of a corner fold as polynomial weights.

    Parameters
    ----------
    weights : 9 floats
        Of a b e (a^2 - b^2) times 1, r2, r2^2, a^2 b^2; of a b e; and of e (a^2 - b^2) times the same
        four; with e = (1 - a^2)(1 - b^2), nought on the sides, and r2 = a^2 + b^2. The first four
        press all corners in alike; the last four shear one diagonal against the other, as the pair
        of corners crushed second does.
    """
    one = np.ones((1, 1))
    a, b = np.array([[0.0], [1.0]]), np.array([[0.0, 1.0]])
    edge = _product(np.array([[1.0], [0.0], [-1.0]]), np.array([[1.0, 0.0, -1.0]]))
    ring = np.array([[0.0, 0.0, -1.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    far = np.array([[0.0, 0.0, 1.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    series = [one, far, _product(far, far), _product(a, a, b, b)]
    parts = [_product(a, b, edge, ring, term) for term in series]
    parts.append(_product(a, b, edge))
    parts += [_product(edge, ring, term) for term in series]
    size = tuple(max(part.shape[k] for part in parts) for k in (0, 1))
    total = np.zeros(size)
    for weight, part in zip(weights, parts, strict=True):
        total[: part.shape[0], : part.shape[1]] += weight * part
    return total
