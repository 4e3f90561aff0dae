"""What the compiled files repeat or do by themselves: numbers of links, the spline's filter."""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from scipy.ndimage import spline_filter1d

from patternsim.fields import Gap, Leaf, codes, kernel, lay_out, moved, spline, walk


@pytest.mark.parametrize("name", [name for name in vars(codes) if name.isupper()])
def test_the_walk_knows_links_by_the_numbers_they_are_laid_out_with(name):
    assert getattr(kernel, name) == getattr(codes, name)


@pytest.mark.parametrize("count", [5, 10, 97, 400])
def test_coefficients_of_samples_that_end_level_are_those_of_the_library(count):
    knots = np.random.default_rng(3).normal(size=(count, 7))
    level = np.zeros(7)
    found = spline.coefficients(knots, level, level, 3)
    # scipy's filter mirrors at the ends and leaves the slope there nought, as asked.
    assert found[3:-3] == pytest.approx(spline_filter1d(knots, axis=0, mode="mirror"), abs=1e-12)
    assert found[:3] == pytest.approx(found[6:3:-1], abs=1e-15)
    assert found[-3:] == pytest.approx(found[-5:-8:-1], abs=1e-15)


def test_the_spline_meets_its_samples_and_slopes():
    knots = np.random.default_rng(4).normal(size=(40, 3))
    first, last = np.array([0.7, -2.0, 0.0]), np.array([-0.3, 0.1, 5.0])
    c = spline.coefficients(knots, first, last, 1)
    assert (c[:-2] + 4.0 * c[1:-1] + c[2:]) / 6.0 == pytest.approx(knots, abs=1e-12)
    # Clamped cubic spline (de Boor, A Practical Guide to Splines): slopes at all knots.
    clamped = CubicSpline(np.arange(40), knots, bc_type=((1, first), (1, last)))
    assert (c[2:] - c[:-2]) / 2.0 == pytest.approx(clamped(np.arange(40), 1), abs=1e-11)


# --- laying out up to a link -------------------------------------------------------------


@pytest.fixture
def chain():
    """Return a stack, the link above it, and one above that."""
    leaf = Leaf("stack", thicknesses=np.full(8, 2.0), steels=("a", "b") * 4, length=100, width=30)
    lower = moved(leaf, by=(1.0, 0.0, 0.0))
    return leaf, lower, moved(lower, by=(0.0, 2.0, 0.5))


def test_nothing_is_laid_out_beyond_the_link_a_walk_stops_at(chain):
    _, lower, upper = chain
    program = lay_out(upper, stop=lower)
    assert program.steels == ()
    assert len(program.kept) == 2
    points = np.random.default_rng(5).uniform(-5, 5, (20, 3))
    there = walk(program, points, stop=lower)
    assert there.inside.all()
    assert there.points == pytest.approx(walk(lay_out(upper, keep=(lower,)), points, stop=lower).points)


def test_a_walk_that_does_not_stop_there_finds_no_steel(chain):
    _, lower, upper = chain
    hits = walk(lay_out(upper, stop=lower), np.zeros((3, 3)))
    assert hits.layers.tolist() == [codes.IN_GAP] * 3
    assert not hits.inside.any()


def test_a_walk_may_stop_where_it_starts(chain):
    _, _, upper = chain
    points = np.array([[1.0, 2.0, 3.0]])
    hits = walk(lay_out(upper, stop=upper), points, stop=upper)
    assert hits.points.tolist() == points.tolist()
    assert hits.inside.all()


@pytest.mark.parametrize("count", [0, 1, 511, 512, 513])
def test_a_few_points_are_walked_as_many_are(chain, count):
    leaf, _, upper = chain
    program = lay_out(upper)
    points = np.random.default_rng(6).uniform([0, -20, -10], [100, 20, 10], (5000, 3))
    many, few = walk(program, points), walk(program, points[:count])
    assert np.array_equal(few.layers, many.layers[:count])
    assert np.array_equal(few.points, many.points[:count])
    assert not count or len(set(many.layers.tolist())) == len(leaf.steels) + 1
    assert walk(lay_out(Gap()), points[:count]).layers.tolist() == [codes.IN_GAP] * count
