"""The flows of presses and wedges point by point in plain arrays: the yardstick of the compiled ones.

Written from the stream functions in other forms than the engine's (polynomials multiplied out, splines
and exponentials of the libraries), and with nothing of it but the fitted numbers.
"""

import numpy as np
from numpy.polynomial import polynomial
from scipy.interpolate import CubicSpline, PchipInterpolator
from scipy.ndimage import gaussian_filter1d

from patternsim.press import wedge


def follow(velocity, points, *, start, end, steps):
    """Follow `velocity` (points, time) from `start` to `end`: classical fourth-order Runge-Kutta."""
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


# --- presses -----------------------------------------------------------------------------


def swirl_velocity(unit):
    a, b = unit.T
    aa, bb = a * a, b * b  # a power of an array takes ten times as long as a product
    return np.stack([(a - a * aa) * (1 - 3 * bb), -(1 - 3 * aa) * (b - b * bb)], axis=1)


def fold_velocity(weights):
    """Velocity of a corner fold, its stream function multiplied out into powers of a and b."""
    psi = sum_of_parts(weights)
    by_a, by_b = polynomial.polyder(psi, axis=0), polynomial.polyder(psi, axis=1)

    def velocity(unit):
        a, b = unit.T
        return np.stack([polynomial.polyval2d(a, b, by_b), -polynomial.polyval2d(a, b, by_a)], axis=1)

    return velocity


def product(*factors):
    """Product of polynomials in two variables, given by their weights."""
    result = np.ones((1, 1))
    for factor in factors:
        shape = (result.shape[0] + factor.shape[0] - 1, result.shape[1] + factor.shape[1] - 1)
        out = np.zeros(shape)
        for (i, j), weight in np.ndenumerate(factor):
            out[i : i + result.shape[0], j : j + result.shape[1]] += weight * result
        result = out
    return result


def sum_of_parts(weights):
    """Weights of a^i b^j of a corner fold, from those of its nine parts."""
    one = np.ones((1, 1))
    a, b = np.array([[0.0], [1.0]]), np.array([[0.0, 1.0]])
    edge = product(np.array([[1.0], [0.0], [-1.0]]), np.array([[1.0, 0.0, -1.0]]))
    four = np.array([[0.0, 0.0, -1.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    far = np.array([[0.0, 0.0, 1.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    series = [one, far, product(far, far), product(a, a, b, b)]
    parts = [product(a, b, edge, four, term) for term in series]
    parts.append(product(a, b, edge))
    parts += [product(edge, four, term) for term in series]
    total = np.zeros(tuple(max(part.shape[k] for part in parts) for k in (0, 1)))
    for weight, part in zip(weights, parts, strict=True):
        total[: part.shape[0], : part.shape[1]] += weight * part
    return total


# --- wedges ------------------------------------------------------------------------------


def curve(points, at, *, odd=False):
    """Values at `at` (widths) of a curve through `points`, rounded; odd ones are mirrored at nought."""
    places, shares = np.array(points).T
    through = PchipInterpolator(places, shares)
    room = np.arange(places[0] - 0.4, places[-1] + 0.4, 0.01)
    if odd:
        reach = round(places[-1] / 0.01) + 40
        room = 0.01 * np.arange(-reach, reach + 1)
        values = np.sign(room) * through(np.clip(np.abs(room), places[0], places[-1]))
    else:
        values = through(np.clip(room, places[0], places[-1]))
    spline = CubicSpline(room, gaussian_filter1d(values, 4.0, mode="nearest"))
    return spline(np.clip(at, room[0], room[-1]))


class Drag:
    """The stream function of one half of a split block: psi = sum of g_k(s) f_k(d, outer(s))."""

    STEEL = 1.2
    """Over the half's width, beyond which the modes go on along their tangents."""

    def __init__(self, half):
        self.half, w = half, half.width
        self.decay, self.core = wedge.DECAY * w, wedge.CORE
        # The knots at which drags are told, counted from the far end.
        height = 0.01 * np.arange(-12, np.ceil((half.length / w + 0.2) / 0.01) + 1)[::-1]
        depth = half.length / w - height
        self.drags = CubicSpline(depth * w, w * self.told(depth, height), axis=1)
        self.reach = (depth[0] * w, depth[-1] * w)
        # Slopes by q of the modes over the whole half.
        even = polynomial.Polynomial
        slopes = [even([1.0, -1.0]) ** 2, even([1.0, 0.0, -1.0]) ** 2, -(even([0.0, 1.0]) ** 4)]
        self.slopes = [slope - (slope.integ()(1.0) - slope.integ()(0.0)) for slope in slopes]

    def told(self, depth, height):
        """Drag of the five modes, over the width."""
        half, w = self.half, self.half.width
        asked = (half.included_deg, half.friction, half.nose / w)
        left = (half.length - half.nose_depth) / w
        over = half.nose_depth / w - depth
        short, middle, long = (np.interp(left, wedge.LEFT, row) for row in np.eye(3))
        whole = 0.5 * (1.0 - np.tanh(over / 0.05))
        cut = self.amount(wedge.CUT, asked) * curve(wedge.CUT_ENTRY, depth)
        cut = cut * curve(wedge.CUT_NOSE, over) * curve(wedge.CUT_BASE, height, odd=True)
        bend = (
            short * curve(wedge.BEND_SHORT, height, odd=True)
            + middle * curve(wedge.BEND_MID, height, odd=True)
            + long * curve(wedge.BEND_LONG, over)
        )
        bend = bend * self.amount(wedge.BEND, asked) * curve(wedge.BEND_ENTRY, depth)
        heel = short * self.amount(wedge.HEEL, asked) * curve(wedge.HEEL_BASE, height, odd=True)
        return np.array([cut * (1 - whole), cut * whole, bend * (1 - whole), bend * whole, heel])

    @staticmethod
    def amount(drag, asked):
        included, friction, nose = asked
        row = (
            np.array(drag.usual)
            + (friction - 0.8) * np.array(drag.by_friction)
            + (np.clip(nose, 0.04, 0.12) - 0.08) * np.array(drag.by_nose)
        )
        return np.interp(included, (30.0, 45.0, 60.0), row)

    def outer(self, s):
        return self.half.outer + self.half.outer_slope * s

    def modes(self, d, outer):
        """Values of the five f at (d, outer), and their slopes by d and by outer."""
        q = d / outer
        size, c = self.decay, self.core

        def falling(by):
            return (lambda x: by * (1 - np.exp(-x / by)), lambda x: np.exp(-x / by))

        sharp, core = falling(size), falling(c * size)
        blunt = (
            lambda x: (sharp[0](x) - c * core[0](x)) / (1 - c),
            lambda x: (sharp[1](x) - c * core[1](x)) / (1 - c),
        )
        values, by_d, by_outer = [], [], []
        for whole, slope in (sharp, blunt):
            values.append(whole(d) - q * whole(outer))
            by_d.append(slope(d) - whole(outer) / outer)
            by_outer.append(q * whole(outer) / outer - q * slope(outer))
        for slope in self.slopes:
            p = np.minimum(q, self.STEEL)
            part = slope.integ()(p) - slope.integ()(0.0) + slope(p) * (q - p)
            values.append(outer * part)
            by_d.append(slope(p))
            by_outer.append(part - q * slope(p))
        return np.array(values), np.array(by_d), np.array(by_outer)

    def velocity(self, points):
        s, d = points.T
        outer = self.outer(s)
        within = np.clip(s, *self.reach)
        drags, slopes = self.drags(within), self.drags(within, 1) * (within == s)
        values, by_d, by_outer = self.modes(d, outer)
        along = (drags * by_d).sum(axis=0)
        away = -(slopes * values + drags * by_outer * self.half.outer_slope).sum(axis=0)
        return np.stack([along, away], axis=1)

    def followed(self, points, *, start, end):
        return follow(lambda at, _: self.velocity(at), points, start=start, end=end, steps=8)
