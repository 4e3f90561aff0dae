"""A solved flow sampled on a grid, against the flow itself; the error told is the error there is."""

import numpy as np
import pytest
from scipy.interpolate import RectBivariateSpline

from patternsim.flow import COARSE, between_flats, close_half, march, split_half
from patternsim.flow.boundary import polygon_curve
from patternsim.flow.chain import joined
from patternsim.flow.sampling import _smooth, sampled

LAYER = 1.0 / 60.0
"""A thin layer, over the width."""


@pytest.fixture(scope="module")
def pressed():
    square = polygon_curve(np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]))
    return march(between_flats(square, to=0.7, friction=0.6, fineness=COARSE)).chain


@pytest.fixture(scope="module")
def feather():
    half = polygon_curve(np.array([[0.0, 0.0], [0.5, 0.0], [0.5, 2.0], [0.0, 2.0]]))
    split = march(
        split_half(
            half, width=1.0, depth=1.6, included=45.0, nose=0.1,
            wedge_friction=0.5, floor_friction=0.5, fineness=COARSE,
        )
    )  # fmt: skip
    closed = march(close_half(split.mesh, width=1.0, to=0.475, fineness=COARSE))
    return joined(split.chain, closed.chain)


def test_a_press(pressed):
    grid = sampled(pressed)
    assert grid.error[1] < 0.1 * LAYER * 2.0
    points = np.random.default_rng(5).uniform([-1.8, -0.34], [1.8, 0.34], (800, 2))
    off = np.linalg.norm(grid.back(points) - pressed.back(points), axis=1)
    assert np.percentile(off, 99) < 1.5 * grid.error[1] + 1e-4


def test_more_cells_are_more_exact(pressed):
    assert sampled(pressed, short=160).error[0] < sampled(pressed, short=80).error[0]


def test_a_split_graded_towards_the_cut(feather):
    grid = sampled(feather, grading=0.06, shaft=0.03)
    assert grid.turned
    assert grid.error[1] < 0.1 * LAYER
    points = np.random.default_rng(6).uniform([0.05, 0.5], [0.45, 1.6], (500, 2))
    off = np.linalg.norm(grid.back(points) - feather.back(points), axis=1)
    assert np.percentile(off, 99) < 0.1 * LAYER


def test_what_lies_outside_is_filled_smoothly():
    """A harmonic function is its own filling: x^2 - y^2 and x y."""
    first, second = np.linspace(0.0, 1.0, 21), np.linspace(0.0, 1.0, 26)
    x, y = np.meshgrid(first, second, indexing="ij")
    exact = np.stack([x**2 - y**2, x * y], axis=-1)
    known = np.ones(x.shape, bool)
    known[5:14, 6:20] = False
    filled = exact.copy()
    filled[~known] = 0.0
    _smooth(filled, known, first, second)
    spline = RectBivariateSpline(first, second, exact[..., 0])
    assert np.abs(filled[..., 0] - spline(first, second)).max() < 1e-9
    assert np.abs(filled - exact).max() < 1e-9
