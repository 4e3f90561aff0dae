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


def curve(points, width, start, *, odd=False):
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
    return lambda s: spline(np.clip((s - start) / width, room[0], room[-1]))


class Drag:
    """The stream function psi = g(s) F(d) of one half of a split block."""

    def __init__(self, half):
        w = half.width
        self.half = half
        self.drag = wedge.drag_at_cut(half.included_deg, half.friction, half.nose / w) * w
        self.decay = 0.12 * w
        self.core = min(max(half.nose / self.decay, 0.1), 0.8)
        left = (half.length - half.nose_depth) / w
        self.long = min(max((left - 0.2) / 0.3, 0.0), 1.0)
        self.entry = curve(wedge.ENTRY, w, 0.0)
        self.base = curve(wedge.BASE, w, 0.0, odd=True)
        self.nose = curve(wedge.NOSE, w, half.nose_depth)

    def share(self, s):
        ending = self.base(self.half.length - s) * (1.0 - self.long + self.long * self.nose(s))
        return self.entry(s) * ending

    def whole(self, s):
        depth = (s - self.half.nose_depth) / (0.05 * self.half.width)
        return 1.0 / (1.0 + np.exp(-np.clip(2.0 * depth, -60.0, 60.0)))

    def profile(self, s, d):
        k, r, sharp = self.core, self.whole(s), np.exp(-d / self.decay)
        blunt = (sharp - k * np.exp(-d / (k * self.decay))) / (1.0 - k)
        return self.drag * ((1.0 - r) * sharp + r * blunt)

    def sum(self, s, d):
        k, r, sharp = self.core, self.whole(s), 1.0 - np.exp(-d / self.decay)
        blunt = (sharp - k * k * (1.0 - np.exp(-d / (k * self.decay)))) / (1.0 - k)
        return self.drag * self.decay * ((1.0 - r) * sharp + r * blunt)

    def outer(self, s):
        return self.half.outer + self.half.outer_slope * s

    def stream(self, s, d):
        outer = self.outer(s)
        return self.share(s) * (self.sum(s, d) - d / outer * self.sum(s, outer))

    def velocity(self, points):
        s, d = points.T
        outer, probe = self.outer(s), 1e-4 * self.half.width
        along = self.share(s) * (self.profile(s, d) - self.sum(s, outer) / outer)
        away = -(self.stream(s + probe, d) - self.stream(s - probe, d)) / (2 * probe)
        return np.stack([along, away], axis=1)

    def followed(self, points, *, start, end):
        return follow(lambda at, _: self.velocity(at), points, start=start, end=end, steps=10)
