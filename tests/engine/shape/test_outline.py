"""Outlines and profiles: against Shapely, against closed forms, over ranges of the numbers."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from patternsim.shape import profiles
from patternsim.shape.outline import Outline, Tang, inside_polygon, polygon_area
from patternsim.shape.profiles import PROFILES, chef_knife, dagger, drop_point_hunter

SMALL_TANG = Tang(
    neck_mm=5.0,
    neck_height_mm=6.0,
    tang_mm=20.0,
    tang_height_mm=4.0,
    tang_end_height_mm=3.0,
    choil_radius_mm=1.0,
    shoulder_radius_mm=0.5,
    hung_from="spine",
)


def wedge(edge=((0, -12), (60, 0)), spine=((0, 8), (60, 0)), length=60.0, width=20.0):
    return Outline(
        name="wedge",
        length_mm=length,
        width_mm=width,
        edge=np.array(edge, dtype=float),
        spine=np.array(spine, dtype=float),
        tang=SMALL_TANG,
    )


def share(low, high):
    return st.floats(low, high, allow_nan=False)


@st.composite
def chefs(draw):
    length = draw(share(60.0, 400.0))
    width = max(8.0, length * draw(share(0.06, 0.5)))
    return chef_knife(
        length_mm=length,
        width_mm=width,
        tip_height_mm=width * draw(share(0.11, 0.89)),
        flat_mm=length * draw(share(0.0, 0.85)),
        spine_straight_mm=length * draw(share(0.0, 0.85)),
        belly=draw(share(1.6, 3.0)),
        point=draw(share(1.6, 3.0)),
    )


@st.composite
def hunters(draw):
    length = draw(share(60.0, 400.0))
    width = max(8.0, length * draw(share(0.06, 0.5)))
    return drop_point_hunter(
        length_mm=length,
        width_mm=width,
        tip_drop_mm=width * draw(share(0.06, 0.59)),
        flat_mm=length * draw(share(0.0, 0.85)),
        belly=draw(share(1.6, 3.0)),
    )


@st.composite
def daggers(draw):
    length = draw(share(60.0, 400.0))
    point = draw(share(0.1, 0.9))
    return dagger(
        length_mm=length,
        width_mm=max(8.0, length * draw(share(0.06, 0.5))),
        point_mm=length * point,
        taper=draw(share(min(1.06 * point, 1.0), 1.0)),
        point=draw(share(1.6, 3.0)),
    )


BLADES = st.one_of(chefs(), hunters(), daggers())


@pytest.mark.parametrize("slug", PROFILES)
def test_polygons_are_valid_and_have_shapely_s_area(slug):
    outline = PROFILES[slug]()
    blade = shapely.Polygon(outline.polygon())
    assert blade.is_valid
    assert shapely.LinearRing(outline.polygon()).is_simple
    assert outline.area_mm2 == pytest.approx(blade.area, rel=1e-9)
    assert shapely.LinearRing(outline.polygon()).is_ccw
    tang = shapely.Polygon(outline.tang_polygon())
    whole = shapely.Polygon(outline.silhouette())
    for shape in (tang, whole):
        assert shape.is_valid
        assert shape.exterior.is_ccw
    assert whole.area == pytest.approx(blade.area + tang.area, rel=1e-9)
    assert blade.intersection(tang).area == 0.0
    assert whole.symmetric_difference(blade.union(tang)).area < 1e-6


@pytest.mark.parametrize("slug", PROFILES)
def test_polygons_close_and_name_no_point_twice(slug):
    outline = PROFILES[slug]()
    for line in (outline.polygon(), outline.tang_polygon(), outline.silhouette()):
        assert np.array_equal(line[0], line[-1])
        assert np.hypot(*np.diff(line, axis=0).T).min() > 1e-6


@pytest.mark.parametrize(("slug", "factor"), [("chef", 0.72), ("hunter", 0.75), ("dagger", 0.60)])
def test_profile_factor_is_plausible(slug, factor):
    # The share of length times width: common practice, no source, hence the wide band.
    outline = PROFILES[slug]()
    assert outline.area_mm2 / (outline.length_mm * outline.width_mm) == pytest.approx(factor, abs=0.08)


def test_area_of_straight_lines_is_a_triangle():
    assert wedge().area_mm2 == pytest.approx(60.0 * 20.0 / 2.0, rel=1e-14)


def test_area_of_the_curves_has_its_closed_form():
    # Under a cubic that leaves the straight with three points on it, the area cut off the
    # straight is drop * (a / 20 + b / 5 + c / 2) with the three steps a, b, c along u.
    outline = dagger(length_mm=200.0, width_mm=30.0, point_mm=80.0, taper=0.7, point=2.5)
    slope = -0.3 * 15.0 / 120.0
    drop = 15.0 + slope * 200.0
    third = 80.0 * (1.0 - 1.0 / 2.5)
    first = profiles._EASE * third
    cut_off = drop * (first / 20.0 + (third - first) / 5.0 + (80.0 - third) / 2.0)
    half = 15.0 * 200.0 + slope * 200.0**2 / 2.0 - cut_off
    assert outline.area_mm2 == pytest.approx(2.0 * half, rel=2e-5)


def test_the_worked_chef_s_knife():
    outline = chef_knife()
    assert outline.tip == (210.0, 0.0)
    assert outline.heel == (0.0, -20.0)
    assert outline.edge_at(0.0) == -20.0
    assert outline.spine_at(0.0) == 26.0
    assert outline.bounding_box == (0.0, -20.0, 210.0, 26.0)
    assert outline.far_mm == 26.0
    # Twelve of neck and forty of tang stub behind the heel, and the heel below the neck.
    tang = outline.tang_polygon()
    assert tang[:, 0].min() == -52.0
    assert tang[tang[:, 0] < -6.0][:, 1].min() > -20.0 + 20.0


def test_chef_s_lines_run_as_a_maker_draws_them():
    outline = chef_knife()
    u = np.linspace(0.0, 210.0, 2101)
    assert np.all(outline.edge_at(u[u <= 58.0]) == -20.0)
    spine = outline.spine_at(u)
    assert np.all(np.diff(spine) < 0.0)
    assert 26.0 - outline.spine_at(140.0) < 0.25 * 26.0
    assert np.all(np.diff(spine, 2) < 1e-9)
    assert np.all(np.diff(outline.edge_at(u), 2) > -1e-9)


def test_hunter_s_point_lies_a_few_mm_below_the_spine():
    outline = drop_point_hunter()
    assert outline.spine_at(0.0) == 7.0
    assert outline.edge_at(0.0) == -21.0
    assert outline.edge_slope_at(99.9) > 0.6


def test_dagger_is_symmetric():
    outline = dagger()
    assert np.array_equal(outline.edge, outline.spine * (1.0, -1.0))
    polygon = shapely.Polygon(outline.silhouette())
    mirrored = shapely.affinity.scale(polygon, 1.0, -1.0, origin=(0.0, 0.0))
    assert polygon.symmetric_difference(mirrored).area < 1e-9


@pytest.mark.parametrize("slug", PROFILES)
def test_lines_are_fair(slug):
    outline = PROFILES[slug]()
    for line in (outline.edge, outline.spine):
        step = np.diff(line, axis=0)
        length = np.hypot(*step.T)
        turn = np.diff(np.arctan2(step[:, 1], step[:, 0]))
        curvature = turn * 2.0 / (length[1:] + length[:-1])
        # No kink: the curvature grows over many points, also where the straight ends.
        assert np.abs(np.diff(curvature)).max() < 0.12 * np.abs(curvature).max()
        assert max(turn.max(), 0.0) * max(-turn.min(), 0.0) < 1e-14
        # A chord leaves its arc by an eighth of length times turn.
        assert (np.abs(turn) * length[1:] / 8.0).max() < 0.002


def test_the_back_shows_no_break_at_the_heel():
    outline = chef_knife()
    top = outline.tang_polygon()[:2]
    slope = (top[1, 1] - top[0, 1]) / (top[1, 0] - top[0, 0])
    assert slope == pytest.approx(float(outline.spine_slope_at(0.0)), rel=1e-9)


@given(outline=BLADES)
def test_any_numbers_in_range_make_a_blade(outline):
    blade = shapely.Polygon(outline.polygon())
    assert blade.is_valid
    assert blade.area == pytest.approx(outline.area_mm2, rel=1e-9)
    assert shapely.Polygon(outline.silhouette()).is_valid
    points = outline.polygon()
    assert np.count_nonzero(points[:, 0] == points[:, 0].max()) == 1
    assert points[:, 0].max() == outline.length_mm
    u = np.linspace(0.0, outline.length_mm, 997)[:-1]
    assert np.all(outline.edge_at(u) < outline.spine_at(u))
    assert outline.far_mm == pytest.approx(np.abs(points[:, 1]).max())


@given(outline=BLADES, seed=st.integers(0, 2**32 - 1))
def test_contains_agrees_with_shapely(outline, seed):
    random = np.random.default_rng(seed)
    low, high = outline.bounding_box[1], outline.bounding_box[3]
    points = random.uniform((-60.0, low - 5.0), (outline.length_mm + 5.0, high + 5.0), (400, 2))
    for polygon, found in (
        (outline.polygon(), outline.contains(points)),
        (outline.silhouette(), outline.contains(points, tang=True)),
        (outline.silhouette(), inside_polygon(outline.silhouette(), points)),
    ):
        shape = shapely.Polygon(polygon)
        clear = shapely.distance(shape.exterior, shapely.points(points)) > 1e-9
        expected = shapely.contains_xy(shape, points[:, 0], points[:, 1])
        assert np.array_equal(found[clear], expected[clear])


def test_contains_keeps_the_shape_of_its_points():
    outline = chef_knife()
    points = np.array([[[210.0, 0.0], [0.0, -20.0]], [[-1.0, 15.0], [np.nan, 0.0]]])
    assert outline.contains(points).tolist() == [[True, True], [False, False]]
    assert outline.contains(points, tang=True).tolist() == [[True, True], [True, False]]


def test_slopes_follow_the_curve():
    outline = drop_point_hunter()
    u = np.linspace(1.0, 99.0, 333)
    for at, slope in (
        (outline.edge_at, outline.edge_slope_at),
        (outline.spine_at, outline.spine_slope_at),
    ):
        expected = (at(u + 0.5) - at(u - 0.5)) / 1.0
        assert slope(u) == pytest.approx(expected, abs=2e-3)


def test_lines_are_read_only_copies():
    edge = np.array([[0.0, -12.0], [60.0, 0.0]])
    outline = wedge(edge=edge)
    edge[0, 1] = -1.0
    assert outline.edge[0, 1] == -12.0
    with pytest.raises(ValueError, match="read-only"):
        outline.spine[0, 0] = 1.0


def test_polygon_area_far_from_the_origin():
    square = np.array([[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]], dtype=float) + 1e8
    assert polygon_area(square) == 1.0
    assert polygon_area(square[::-1]) == -1.0


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: chef_knife(tip_height_mm=60.0), r"tip height is 60 mm.*4\.6 to 41\.4 mm"),
        (lambda: chef_knife(flat_mm=250.0), r"flat is 250 mm.*Shorten the flat"),
        (lambda: chef_knife(length_mm=float("nan")), "length is nan mm.*millimetres"),
        (lambda: chef_knife(length_mm=8.0), "length is 8 mm; it must be from 40"),
        (lambda: chef_knife(width_mm=300.0), "width is 300 mm"),
        (lambda: chef_knife(belly=0.5), r"belly is 0\.5; it must be from 1\.6 to 3"),
        (lambda: chef_knife(spine_fall_mm=26.0), "fall of the spine is 26 mm"),
        (lambda: chef_knife(neck_mm=-1.0), "neck length is -1 mm"),
        (lambda: drop_point_hunter(tip_drop_mm=28.0), "drop of the tip is 28 mm"),
        (lambda: dagger(taper=0.2), r"taper is 0\.2; it must be from 0\.357 to 1\. Keep"),
        (lambda: wedge(edge=[(0, -12), (30, 12), (60, 0)]), "cross 30 mm from the heel"),
        (lambda: wedge(edge=[(0, -12), (40, -9), (30, -5), (60, 0)]), "edge turns back"),
        (lambda: wedge(spine=[(0, 8), (59, 0)]), r"spine runs from u = 0 mm to \(59, 0\)"),
        (lambda: wedge(spine=[(0, 8)]), r"spine has shape \(1, 2\)"),
        (lambda: wedge(length=float("nan")), "edge runs from"),
        (lambda: wedge(width=46.0), "width is given as 46 mm but the lines are 20 mm"),
        (
            lambda: replace(wedge(), tang=replace(SMALL_TANG, neck_height_mm=30.0)),
            "neck is 30 mm high.*limit 20 mm",
        ),
        (lambda: replace(SMALL_TANG, tang_height_mm=9.0), "tang height is 9 mm.*2 to 6 mm"),
    ],
)
def test_impossible_numbers_are_refused_with_the_limit(make, message):
    with pytest.raises(ValueError, match=message):
        make()
