"""Outlines parted anew: on the old curve, corners kept, halves half-way; shares of the outline."""

import numpy as np
import pytest

from engine.flow import outlines
from patternsim.flow.boundary import bends, fine, points_at, polygon_curve, resampled, split_at
from patternsim.flow.mesh import Mesh
from patternsim.flow.mesher import graded, meshed


def test_a_polygon_is_its_own_curve():
    curve = polygon_curve([[0, 0], [2, 0], [2, 1]])
    np.testing.assert_array_equal(curve, [[0, 0], [1, 0], [2, 0], [2, 0.5], [2, 1], [1, 0.5]])


def test_points_at_are_those_of_the_parabola():
    curve = np.array([[0, 0], [1, -1], [2, 0], [1, 2]], dtype=float)
    at = np.array([0.0, 0.25, 0.5, 1.0])
    # y = x (x - 2) from (0, 0) through (1, -1) to (2, 0).
    x = 2 * at
    found = points_at(curve, np.zeros(4, int), at)
    np.testing.assert_allclose(found, np.stack([x, x * (x - 2)], axis=1), atol=1e-15)


def test_bends_of_a_square_and_a_notch():
    np.testing.assert_allclose(bends(outlines.block(1, 2)), 90.0)
    notch = bends(outlines.notched(0.5, 1.0 - 1e-9))
    assert notch[4] == pytest.approx(-90.0, abs=1e-5)
    assert np.abs(bends(outlines.circle())).max() < 0.1


@pytest.mark.parametrize("size", [0.05, 0.13, 0.4])
def test_new_points_lie_on_the_old_curve_where_they_say(size):
    for curve in (outlines.circle(edges=17), outlines.notched(0.4, 0.3), outlines.rounded(0.2)):
        cut = resampled(curve, size)
        np.testing.assert_array_equal(points_at(curve, cut.edge, cut.at), cut.curve)
        assert ((cut.at >= 0) & (cut.at <= 1)).all()
        place = cut.edge + cut.at
        assert np.sum(np.diff(place) <= 0) <= 1, "in order, once around"


def test_corners_stay_exactly():
    curve = outlines.notched(0.4, 0.3)
    cut = resampled(curve, 0.07)
    new = cut.curve[0::2]
    for corner in curve[0::2]:
        assert (new == corner).all(axis=1).any()


@pytest.mark.parametrize("size", [0.05, 0.11, 0.3])
def test_edges_are_as_long_as_asked(size):
    cut = resampled(outlines.circle(), size)
    edges = np.hypot(*(np.roll(cut.curve[0::2], -1, axis=0) - cut.curve[0::2]).T)
    assert edges.mean() == pytest.approx(size, rel=0.08)
    assert np.ptp(edges) < 0.02 * size


def test_edges_follow_a_graded_size():
    rule = graded((0.5, 1.0), 0.2, 0.02)
    cut = resampled(outlines.block(1, 1), rule)
    start, end = cut.curve[0::2], np.roll(cut.curve[0::2], -1, axis=0)
    edges = np.hypot(*(end - start).T)
    assert (edges / rule(cut.curve[1::2])).max() < 1.3
    assert edges.min() == pytest.approx(0.02, rel=0.3)
    # Neighbours differ by no more than the growth.
    assert np.max(np.abs(np.log(edges / np.roll(edges, 1)))) < 0.75


def test_the_point_on_an_edge_is_half_way():
    cut = resampled(outlines.circle(), graded((1.0, 0.0), 0.3, 0.05))
    start, end = cut.curve[0::2], np.roll(cut.curve[0::2], -1, axis=0)
    first = np.hypot(*(cut.curve[1::2] - start).T)
    second = np.hypot(*(end - cut.curve[1::2]).T)
    np.testing.assert_allclose(first, second, rtol=5e-3)


def test_a_tight_round_gets_edges_that_follow_it():
    radius = 0.06
    cut = resampled(outlines.rounded(radius, edges=6), 0.2)
    away = outlines.distance_to(fine(outlines.rounded(radius, edges=6), 32), fine(cut.curve, 32))
    assert away.max() < 0.05 * radius


def test_thin_steel_gets_short_edges():
    thick = 0.05
    curve = outlines.with_lip(thick)
    cut = resampled(curve, 0.2, least=0.01)
    start, end = cut.curve[0::2], np.roll(cut.curve[0::2], -1, axis=0)
    on_lip = np.minimum(start[:, 0], end[:, 0]) > 1.1
    assert np.hypot(*(end - start)[on_lip].T).max() < 2.5 * thick


@pytest.mark.parametrize("first", [0, 5])
def test_halves_lie_half_way_on_the_old_curve(first):
    curve = np.roll(outlines.circle(edges=12), -2 * first, axis=0)
    cut = resampled(curve, 0.9, keep=np.arange(12) == first)
    which = np.zeros(len(cut.curve) // 2, dtype=bool)
    which[[0, -1]] = True
    finer = split_at(curve, cut, which)
    assert len(finer.curve) == len(cut.curve) + 4
    np.testing.assert_array_equal(points_at(curve, finer.edge, finer.at), finer.curve)
    # The old corners and points on edges are all still there; halved edges have theirs as corners.
    for i, halved in enumerate(which):
        assert (np.abs(finer.curve[0::2] - cut.curve[2 * i]).max(axis=1) < 1e-14).any()
        places = finer.curve[0::2] if halved else finer.curve[1::2]
        assert (np.abs(places - cut.curve[2 * i + 1]).max(axis=1) < 1e-14).any()
    place = finer.edge + finer.at
    assert np.sum(np.diff(place) <= 0) <= 1


def test_shares_add_up_to_the_outline_and_follow_simpson():
    mesh = meshed(outlines.block(2, 1), 0.25)
    shares = mesh.shares()
    assert shares.sum() == pytest.approx(6.0, rel=1e-12)
    inner = np.setdiff1d(np.arange(len(mesh.nodes)), mesh.loop)
    assert not shares[inner].any()
    # A pressure that is quadratic along a side is integrated exactly: x^2 from 0 to 2 is 8/3.
    low = mesh.loop[mesh.nodes[mesh.loop, 1] == 0.0]
    corner = np.isin(low, mesh.loop[0::2]) & np.isin(mesh.nodes[low, 0], [0.0, 2.0])
    values = shares[low] * mesh.nodes[low, 0] ** 2
    # A corner's share is half of each of its two sides.
    values[corner] = np.where(mesh.nodes[low[corner], 0] == 2.0, 4 * 0.25 / 6, 0.0)
    assert values.sum() == pytest.approx(8 / 3, rel=1e-12)


def test_quality_is_the_worst_of_seven_places():
    nodes = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]], dtype=float)
    mesh = Mesh(nodes, np.arange(6, dtype=np.int32)[None], 3, np.array([0, 3, 1, 4, 2, 5], np.int32))
    shape, stretch = mesh.quality()
    assert shape == pytest.approx(4 * np.sqrt(3) * 0.5 / 4)
    assert stretch == pytest.approx(1.0)
    bent = nodes.copy()
    bent[3] = [0.5, 0.1]
    # Bent inwards by b, the side leaves its corners so that the determinant there falls to 1 - 4 b.
    assert mesh.moved(bent).quality()[1] == pytest.approx(1 - 4 * 0.1)
    assert mesh.moved(nodes[[0, 2, 1, 5, 4, 3]]).quality()[1] < 0
