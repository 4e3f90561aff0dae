"""Outlines of pieces against Shapely: areas, cuts, turns, skins."""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from engine.steps.making import bar
from patternsim.fields import Leaf, carry_back
from patternsim.piece import Piece
from patternsim.relay import quarter_turns, relaid
from patternsim.section import (
    AXIS_OF,
    Section,
    area_of,
    as_curve,
    cut_along,
    flattened,
    grown,
    rectangle,
)

TURNS = [quarter_turns(axis, quarters) for axis in range(3) for quarters in (1, 2, 3)]


def star(seed, count=24, low=8.0, high=20.0, middle=(3.0, -2.0)):
    """Return a polygon that goes once around its middle, counter-clockwise, dents and all."""
    draw = np.random.default_rng(seed)
    angles = np.sort(draw.uniform(0.0, 2.0 * np.pi, count) + np.arange(count) * 1e-3)
    reach = draw.uniform(low, high, count)
    return np.array(middle) + reach[:, None] * np.stack([np.cos(angles), np.sin(angles)], axis=1)


def barrel(width=40.0, height=26.0, bulge=2.5, edges=1):
    """Return a section with flat faces and sides bulged as parabolas, each of so many edges."""
    y, z = width / 2, height / 2
    up = np.linspace(-z, z, 2 * edges + 1)
    side = np.stack([y + bulge * (1.0 - (up / z) ** 2), up], axis=1)
    middles = np.array([[0.0, z]]), np.array([[0.0, -z]])
    return Section(plane="yz", curve=np.concatenate([side, middles[0], -side, middles[1]]))


seeds = st.integers(0, 10_000)


# --- areas -----------------------------------------------------------------------------------


@given(seed=seeds)
def test_area_and_box_are_shapelys(seed):
    points = star(seed)
    section, there = Section(plane="yz", curve=as_curve(points)), shapely.Polygon(points)
    assert section.area == pytest.approx(there.area, rel=1e-12)
    assert np.concatenate(section.box()) == pytest.approx(there.bounds, rel=1e-12)


def test_straight_edges_are_told_in_one_stretch():
    assert len(rectangle("yz", (0.0, 0.0), (2.0, 1.0)).polygon()) == 4
    assert len(barrel().polygon()) == 2 + 2 * 6


def test_a_bulge_has_the_area_of_a_parabola():
    # Archimedes: two thirds of base times height, less what straight stretches leave out, 1/36 of it.
    wanted = 40.0 * 26.0 + 2 * (2.0 / 3.0 * 26.0 * 2.5) * (1.0 - 1.0 / 36.0)
    assert barrel().area == pytest.approx(wanted, rel=1e-12)


# --- cuts ------------------------------------------------------------------------------------


@given(seed=seeds, low=st.floats(-18.0, 2.0), span=st.floats(1.0, 30.0), axis=st.sampled_from([0, 1]))
def test_what_is_left_between_two_cuts_is_shapelys(seed, low, span, axis):
    section = Section(plane="xy", curve=as_curve(star(seed)))
    box = [(-100.0, -100.0), (100.0, 100.0)]
    lows, highs = list(box[0]), list(box[1])
    lows[axis], highs[axis] = low, low + span
    there = shapely.Polygon(section.polygon()).intersection(shapely.box(*lows, *highs))
    assume(there.area > 1e-6)
    left = section.within(tuple(lows), tuple(highs))
    # A cut through dents leaves parts that are joined along the cut by a hair: areas agree, and
    # every point of it is a point of what is left.
    assert left.area == pytest.approx(there.area, rel=1e-9, abs=1e-9)
    wanted = 200.0 * span - there.area
    assert section.missing(tuple(lows), tuple(highs)) == pytest.approx(wanted, rel=1e-9)


def test_a_box_cut_to_a_box_is_no_outline_any_more():
    assert rectangle("yz", (-20.0, -10.0), (20.0, 10.0)).within((-15.0, -8.0), (15.0, 8.0)) is None
    assert barrel(bulge=2.5).within((-20.0, -13.0), (20.0, 13.0)) is None
    left = barrel(bulge=2.5).within((-21.0, -13.0), (21.0, 13.0))
    assert left is not None
    assert left.area < 42.0 * 26.0


def test_a_cut_that_misses():
    points = star(0)
    assert cut_along(points, 0, 100.0, keep_above=False) is points
    assert len(cut_along(points, 0, 100.0, keep_above=True)) == 0


# --- turned ----------------------------------------------------------------------------------


def piece_with(section):
    """Return a piece of solid steel with an outline."""
    leaf = Leaf("solid", thicknesses=np.array([80.0]), steels=("1084",), length=120.0, width=80.0)
    size = [120.0, 80.0, 60.0]
    low, high = section.box()
    for axis, least, most in zip(section.axes, low, high, strict=True):
        size[axis] = most - least
    return Piece(
        name="bar",
        size=tuple(size),
        volume_mm3=section.area * size[section.along],
        density=7.8e-6,
        field=leaf,
        layers=bar().layers,
        section=section,
    )


def off_middle(plane):
    """Return a lopsided section about the middle of its piece: a turn the wrong way shows."""
    corners = np.array([[-20.0, -9.0], [14.0, -12.0], [20.0, 4.0], [3.0, 12.0], [-16.0, 8.0]])
    section = Section(plane=plane, curve=as_curve(corners))
    (a, b), (c, d) = section.box()
    # x of a piece runs from its end, y and z are centred.
    shift = [-(a + c) / 2, -(b + d) / 2]
    if section.axes[0] == 0:
        shift[0] = -a
    return section.moved(tuple(shift))


@pytest.mark.parametrize("plane", AXIS_OF)
@pytest.mark.parametrize("turn", range(len(TURNS)))
def test_a_piece_laid_over_takes_its_outline_along(plane, turn):
    before = piece_with(off_middle(plane))
    after = relaid(before, TURNS[turn], what="turn")
    assert after.section.area == pytest.approx(before.section.area, rel=1e-12)
    assert area_of(after.section.polygon()) > 0.0
    # Points of the piece after, led back by its field, lie in the outline before where they lie in
    # the outline after.
    low, high = (np.array(corner) for corner in after.box())
    points = low + np.random.default_rng(turn).uniform(0.0, 1.0, (400, 3)) * (high - low)
    back = carry_back(after.field, points, stop=before.field)
    inside = shapely.contains_xy(
        shapely.Polygon(after.section.polygon()), *points[:, after.section.axes].T
    )
    was = shapely.contains_xy(shapely.Polygon(before.section.polygon()), *back[:, before.section.axes].T)
    assert 0.2 < inside.mean() < 0.9
    assert (inside == was).all()


@pytest.mark.parametrize("turn", range(len(TURNS)))
def test_turned_and_turned_back_is_the_same(turn):
    before = piece_with(off_middle("yz"))
    rotation = TURNS[turn]
    back = relaid(
        relaid(before, rotation, what="turn"), quarter_turns(turn // 3, 4 - (turn % 3 + 1)), what="turn"
    )
    found = shapely.Polygon(back.section.polygon())
    there = shapely.Polygon(before.section.polygon())
    assert back.section.plane == "yz"
    assert found.symmetric_difference(there).area < 1e-9 * there.area


# --- skins -----------------------------------------------------------------------------------


@pytest.mark.parametrize("skin", [0.05, 0.1, 0.3])
@pytest.mark.parametrize("bulge", [0.0, 1.0, 2.5])
def test_a_skin_takes_as_much_as_shapely_takes_off_all_around(skin, bulge):
    section = barrel(bulge=bulge, edges=10)  # about as many as a press leaves
    there = shapely.Polygon(section.polygon())
    wanted = there.area - there.buffer(-skin, join_style="mitre").area
    assert section.area - section.skinned((skin, skin)).area == pytest.approx(wanted, rel=5e-3)
    # To first order the outline times the skin.
    assert wanted == pytest.approx(there.length * skin, rel=0.02)


def test_a_skin_off_a_box_leaves_a_box():
    left = rectangle("yz", (-20.0, -10.0), (20.0, 10.0)).skinned((0.3, 0.1))
    assert np.concatenate(left.box()) == pytest.approx([-19.7, -9.9, 19.7, 9.9])
    assert left.area == pytest.approx(39.4 * 19.8)


@given(seed=seeds)
def test_a_hair_grown_holds_all_of_it(seed):
    points = star(seed, count=12)
    there = shapely.Polygon(grown(points, 1e-4))
    assert there.is_valid
    assert shapely.contains_xy(there, *points.T).all()
    assert there.area - area_of(points) < 2e-4 * shapely.Polygon(points).length * 4.0


def test_a_curve_in_stretches_lies_on_the_curve():
    # Three points define the parabola of an edge; worked anew from them by Lagrange's formula.
    curve = barrel().curve
    edge = curve[0:3]
    points = flattened(curve)
    on_edge = points[(points[:, 0] > 20.0 - 1e-9)]
    t = (on_edge[:, 1] - edge[0, 1]) / (edge[2, 1] - edge[0, 1])
    first, middle, last = edge[:, 0]
    across = first * (1 - t) * (1 - 2 * t) + 4 * middle * t * (1 - t) + last * t * (2 * t - 1)
    assert on_edge[:, 0] == pytest.approx(across, rel=1e-12)
    assert len(on_edge) == 7


def test_points_outside_come_onto_the_outline_and_those_inside_stay():
    """A circle: the nearest point on it lies on the ray from its middle."""
    angles = np.linspace(0.0, 2 * np.pi, 180, endpoint=False)
    circle = Section(
        plane="xy", curve=as_curve(10.0 * np.stack([np.cos(angles), np.sin(angles)], axis=1))
    )
    points = np.array([[3.0, 4.0, 7.0], [9.0, 12.0, -7.0], [0.0, -10.01, 0.0]])
    moved = circle.into(points, 0.1)
    assert moved[0] == pytest.approx(points[0])
    assert moved[1] == pytest.approx([5.94, 7.92, -7.0], abs=0.02)
    assert moved[2] == pytest.approx([0.0, -9.9, 0.0], abs=0.02)
