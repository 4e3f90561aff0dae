"""Meshes: whole, of the right area, well shaped, the same each time."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from engine.flow import outlines
from patternsim.errors import FlowError
from patternsim.flow.boundary import fine, polygon_curve
from patternsim.flow.mesh import Mesh
from patternsim.flow.mesher import Size, capped, coarser_middle, graded, meshed, remeshed

WORST, MEAN = 0.3, 0.85

WELL_SHAPED = {
    "square": (outlines.block(1, 1), 0.08),
    "block 0.2": (outlines.block(0.2, 1), 0.04),
    "block 0.5": (outlines.block(0.5, 1), 0.06),
    "block 3": (outlines.block(3, 1), 0.09),
    "block 6": (outlines.block(6, 1), 0.12),
    "circle": (outlines.circle(), 0.15),
    "notch": (outlines.notched(0.5, 0.2), 0.08),
    "narrow notch": (outlines.notched(0.7, 0.03), 0.08),
    "slit": (outlines.notched(0.7, 0.001), 0.08),
    "lip": (outlines.with_lip(0.04), 0.1),
    "rounded": (outlines.rounded(0.1), 0.08),
    "little rounded": (outlines.rounded(0.03), 0.1),
    "fine at the side": (outlines.block(1, 1), graded((0.5, 1.0), 0.1, 0.01)),
    "fine inside": (outlines.block(1, 1), graded((0.3, 0.4), 0.1, 0.01)),
    "fine in a notch": (outlines.notched(0.5, 0.2), graded((0.5, 0.5), 0.12, 0.02)),
    "bar": (outlines.block(6, 1), coarser_middle(0, 6, 0.1, 0.3, reach=1.0)),
}


@pytest.mark.parametrize("name", WELL_SHAPED)
def test_shapes_are_good(name):
    curve, size = WELL_SHAPED[name]
    mesh = meshed(curve, size)
    outlines.assert_proper(mesh)
    shapes = outlines.straight_shapes(mesh)
    assert shapes.min() >= WORST
    assert shapes.mean() >= MEAN
    assert mesh.quality()[1] >= 0.25


@pytest.mark.parametrize("name", WELL_SHAPED)
def test_edges_are_about_as_long_as_asked(name):
    curve, size = WELL_SHAPED[name]
    mesh = meshed(curve, size)
    ends = mesh.nodes[mesh.triangles[:, [0, 1, 1, 2, 2, 0]]].reshape(-1, 2, 2)
    lengths = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    middles = ends.mean(axis=1)
    asked = size(middles) if callable(size) else np.full(len(middles), size)
    # Between rows of two sizes, and where an edge spans the one finest place, up to twice.
    assert (lengths / asked).max() < 2.3
    # Thin steel and tight bends take shorter ones; never below the quarter of what was asked.
    assert (lengths / asked).min() > 0.2


@pytest.mark.parametrize("name", ["square", "block 3", "notch", "lip"])
def test_area_of_a_polygon_is_exact(name):
    curve, size = WELL_SHAPED[name]
    outside = Polygon(curve[0::2]).area
    assert meshed(curve, size).area() == pytest.approx(outside, rel=1e-12)


@pytest.mark.parametrize("away", [(0, 0), (1000, -2000)])
def test_area_of_a_circle_is_that_of_its_parabolas(away):
    # A parabola through three points of an arc of angle a falls short of it by a^5/960 and higher terms
    # (series of (a - sin a)/2 less 2/3 chord times rise).
    edges = 40
    nodes = outlines.circle(1.0, edges, away)
    loop = np.arange(2 * edges)
    angle = 2 * np.pi / edges
    short = np.pi - Mesh(nodes, np.zeros((0, 6), np.int32), edges, loop).area()
    assert short == pytest.approx(edges * angle**5 / 960, rel=0.02)


@pytest.mark.parametrize(("size", "within"), [(0.2, 3e-5), (0.1, 2e-6), (0.05, 1.2e-7)])
def test_a_meshed_circle_comes_nearer_with_the_fourth_power(size, within):
    assert meshed(outlines.circle(edges=256), size).area() == pytest.approx(np.pi, rel=within)


@pytest.mark.parametrize("size", [0.12, 0.1, 0.06])
def test_remeshing_a_round_section_keeps_its_area(size):
    mesh = meshed(outlines.circle(), size)
    for factor in (0.93, 1.07, 0.93, 1.0):
        before = mesh.area()
        mesh, _ = remeshed(mesh, factor * size)
        assert mesh.area() == pytest.approx(before, rel=1e-6)


def test_remeshing_keeps_corners_and_stays_on_the_old_outline():
    mesh = meshed(outlines.notched(0.5, 0.2), 0.08)
    bent = mesh.moved(mesh.nodes + 0.1 * np.sin(3 * mesh.nodes[:, ::-1]))
    new, cut = remeshed(bent, 0.06)
    outlines.assert_proper(new)
    np.testing.assert_array_equal(cut.curve, new.outline())
    assert outlines.distance_to(fine(bent.outline(), 64), new.outline()).max() < 1e-5
    corners = bent.outline()[0::2]
    old = corners[
        [np.hypot(*(mesh.outline()[0::2] - at).T).argmin() for at in ([0, 0], [1, 1], [0.5, 0.5])]
    ]
    for corner in old:
        assert np.hypot(*(new.outline()[0::2] - corner).T).min() < 1e-12


def test_vertices_that_must_stay_do():
    mesh = meshed(outlines.circle(), 0.2)
    keep = np.zeros(len(mesh.loop) // 2, dtype=bool)
    keep[[3, 11]] = True
    new, _ = remeshed(mesh, 0.13, keep=keep)
    for corner in mesh.outline()[0::2][keep]:
        assert np.hypot(*(new.outline()[0::2] - corner).T).min() < 1e-13


def test_again_is_the_same_to_the_last_digit():
    curve, size = WELL_SHAPED["fine in a notch"]
    one, other = meshed(curve, size), meshed(curve, size)
    assert one.nodes.tobytes() == other.nodes.tobytes()
    assert one.triangles.tobytes() == other.triangles.tobytes()
    one, other = remeshed(one, 0.05)[0], remeshed(other, 0.05)[0]
    assert one.nodes.tobytes() == other.nodes.tobytes()


@pytest.mark.parametrize("size", [0.1, 0.3, 0.6])
def test_small_bends_between_long_edges_stay(size):
    # Bends of 10 degrees, far below what counts as a corner of a round outline.
    angle = np.radians(np.arange(0, 360, 10))
    corners = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    bends_every_10 = meshed(polygon_curve(corners), size).area()
    assert bends_every_10 == pytest.approx(Polygon(corners).area, rel=1e-12 if size < 0.5 else 1e-3)


def test_either_way_round():
    curve = outlines.notched(0.5, 0.2)
    turned = np.roll(curve[::-1], 1, axis=0)
    assert meshed(turned, 0.1).area() == pytest.approx(0.95, rel=1e-12)


# --- hard outlines -----------------------------------------------------------------------

MAKERS = [outlines.spiky, outlines.lips_that_nearly_touch, outlines.sliver]


@pytest.mark.parametrize("maker", MAKERS)
@settings(max_examples=100, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), size=st.sampled_from([0.05, 0.1, 0.2]))
def test_any_outline_is_meshed(maker, seed, size):
    corners = maker(np.random.default_rng(seed))
    polygon = Polygon(corners)
    mesh = meshed(polygon_curve(corners), size)
    outlines.assert_proper(mesh)
    # Small bends between short edges are taken to stand for a round, and corners an eighth of an edge
    # from one another for one.
    assert mesh.area() == pytest.approx(polygon.area, rel=1e-3)
    assert mesh.quality()[1] > 0.2
    # An isosceles triangle in the sharpest corner is the best there is.
    angle = np.radians(min(outlines.sharpest_deg(corners), 60.0))
    best = np.sqrt(3) * np.sin(angle) / (2 - np.cos(angle))
    assert outlines.straight_shapes(mesh).min() > min(0.15, 0.45 * best)


def test_an_outline_that_crosses_itself_is_refused_with_the_place():
    eight = polygon_curve([[0, 0], [2, 2], [2, 0], [0, 1.5]])
    with pytest.raises(FlowError, match=r"crosses itself at"):
        meshed(eight, 0.2)


@pytest.mark.parametrize(
    "curve", [polygon_curve([[0, 0], [1, 0], [2, 0]]), np.zeros((4, 2)), np.full((8, 2), np.nan)]
)
def test_no_section_is_refused(curve):
    with pytest.raises(FlowError, match="outline"):
        meshed(curve, 0.1)


# --- sizes -------------------------------------------------------------------------------


@pytest.mark.parametrize("most", [300, 800, 2000])
@pytest.mark.parametrize("name", ["square", "notch", "fine at the side", "bar"])
def test_a_cap_on_points_is_kept_about(name, most):
    curve, size = WELL_SHAPED[name]
    rule = capped(size, curve, most)
    count = len(meshed(curve, rule).nodes)
    free = len(meshed(curve, size).nodes)
    assert count < 1.25 * most or count <= free * 1.02
    if free > 1.3 * most:
        assert count > 0.6 * most


def test_a_cap_that_does_not_bind_changes_nothing():
    rule = capped(0.1, outlines.block(1, 1), 5000)
    assert (rule.coarsest, rule.finest) == (0.1, 0.1)


def test_sizes_stay_within_their_limits():
    rule = graded((0, 0), 0.5, 0.1, radius=0.2)
    places = np.array([[0, 0], [0.2, 0], [1.2, 0], [9, 9]])
    np.testing.assert_allclose(rule(places), [0.1, 0.1, 0.45, 0.5])
    assert Size(lambda at: np.full(len(at), 7.0), 1.0, 0.5)(places).max() == 1.0


def test_a_bare_function_will_do():
    mesh = meshed(outlines.block(1, 1), lambda at: 0.05 + 0.1 * at[:, 0])
    outlines.assert_proper(mesh)
    assert outlines.straight_shapes(mesh).min() > WORST
