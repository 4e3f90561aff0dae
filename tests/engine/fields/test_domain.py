"""The outline of a solid in the walk, against Shapely's point in polygon."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from patternsim.fields import IN_GAP, PLANES, Domain, Leaf, lay_out, moved, walk

STEEL = Leaf("solid", thicknesses=np.array([1000.0]), steels=("1084",), length=1000.0, width=1000.0)
ROOT = moved(STEEL, by=(500.0, 0.0, 0.0))


def star(seed, count, low=4.0, high=20.0):
    """Return a polygon that goes once around the origin, dents and all."""
    draw = np.random.default_rng(seed)
    angles = np.sort(draw.uniform(0.0, 2.0 * np.pi, count)) + np.arange(count) * 1e-6
    reach = draw.uniform(low, high, count)
    return reach[:, None] * np.stack([np.cos(angles), np.sin(angles)], axis=1)


def asked(polygon, plane, points, *, gap=False):
    """Return the layers found at points (n, 2) of a plane, anywhere along the third axis."""
    full = np.random.default_rng(9).uniform(-50.0, 50.0, (len(points), 3))
    full[:, PLANES[plane]] = points
    domain = Domain(ROOT, plane=plane, polygon=polygon, gap=gap)
    return walk(lay_out(domain), full, workers=1).layers


@given(seed=st.integers(0, 100_000), count=st.integers(3, 150), plane=st.sampled_from(list(PLANES)))
def test_inside_is_what_shapely_calls_inside(seed, count, plane):
    polygon = star(seed, count)
    there = shapely.Polygon(polygon)
    points = np.random.default_rng(seed + 1).uniform(-22.0, 22.0, (600, 2))
    clear = shapely.distance(there.exterior, shapely.points(points)) > 1e-9
    layers = asked(polygon, plane, points)
    inside = shapely.contains_xy(there, *points.T)
    assert (layers >= 0)[clear].tolist() == inside[clear].tolist()


@pytest.mark.parametrize("turn", [1, -1])
def test_either_way_round(turn):
    polygon = star(3, 40)[::turn]
    points = np.random.default_rng(4).uniform(-22.0, 22.0, (4000, 2))
    inside = shapely.contains_xy(shapely.Polygon(polygon), *points.T)
    assert ((asked(polygon, "yz", points) >= 0) == inside).all()


@pytest.mark.parametrize("plane", PLANES)
def test_points_level_with_corners(plane):
    # Where a ray runs through a corner it must be counted once, or a stripe drops out.
    polygon = np.array([[-10, -5], [0, -8], [10, -5], [6, 0], [10, 5], [0, 2], [-10, 5], [-6, 0.0]])
    across = np.linspace(-11.0, 11.0, 221) + 1e-4
    points = np.stack([a.ravel() for a in np.meshgrid(across, [-8.0, -5.0, 0.0, 2.0, 5.0])], axis=1)
    points[:, 1] -= 1e-12
    for turned in (points, points[:, ::-1].copy()):
        there = shapely.Polygon(polygon)
        clear = shapely.distance(there.exterior, shapely.points(turned)) > 1e-6
        inside = shapely.contains_xy(there, *turned.T)
        assert ((asked(polygon, plane, turned) >= 0) == inside)[clear].all()


def test_beyond_is_outside_or_a_gap():
    polygon = star(5, 30)
    points = np.random.default_rng(6).uniform(-22.0, 22.0, (2000, 2))
    outside, gap = asked(polygon, "xy", points), asked(polygon, "xy", points, gap=True)
    beyond = outside < 0
    assert 0.2 < beyond.mean() < 0.9
    assert (gap[beyond] == IN_GAP).all()
    assert (outside[beyond] != IN_GAP).all()
    assert (gap[~beyond] == outside[~beyond]).all()


def test_a_ring_of_many_corners_costs_no_corner():
    # A circle told in 2000 stretches: area by points within what the count of points allows.
    angles = np.linspace(0.0, 2.0 * np.pi, 2000, endpoint=False)
    circle = 20.0 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    points = np.random.default_rng(7).uniform(-20.0, 20.0, (100_000, 2))
    found = (asked(circle, "yz", points) >= 0).mean()
    assert found == pytest.approx(np.pi / 4, abs=5e-3)
