"""The ground surface: bevel angles, slopes, volume against independent sums."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from patternsim.shape.grind import GRINDS, STEEL_KG_PER_MM3, Grind
from patternsim.shape.profiles import PROFILES, chef_knife, dagger, drop_point_hunter

SHORT_BEVEL = Grind(spine_mm=3.6, spine_tip_mm=1.6, edge_mm=0.4, bevel_height_mm=15.0)
CASES = [
    (chef_knife(), GRINDS["chef"]),
    (drop_point_hunter(), GRINDS["hunter"]),
    (drop_point_hunter(), SHORT_BEVEL),
    (dagger(), GRINDS["dagger"]),
    (dagger(), GRINDS["chef"]),
    (chef_knife(), GRINDS["dagger"]),
]


def on_blade(outline, seed=1, count=4000):
    random = np.random.default_rng(seed)
    u = random.uniform(0.0, outline.length_mm, count)
    return u, outline.edge_at(u) + random.uniform(0.0, 1.0, count) * outline.height_at(u)


def test_bevel_angle_of_the_worked_section():
    outline = chef_knife(width_mm=48.0, length_mm=240.0)
    grind = Grind(spine_mm=3.0, spine_tip_mm=1.0, edge_mm=0.3)
    assert grind.bevel_angle_deg(outline, 0.0) == pytest.approx(1.61, abs=0.01)


@pytest.mark.parametrize(
    ("slug", "low", "high"), [("chef", 1.0, 3.5), ("hunter", 2, 5), ("dagger", 6, 16)]
)
def test_usual_grinds_have_usual_angles(slug, low, high):
    # The bands are common practice, no source.
    outline = PROFILES[slug]()
    angle = GRINDS[slug].bevel_angle_deg(outline, np.linspace(0.0, outline.length_mm, 99))
    assert low < angle.min()
    assert angle.max() < high


def test_edge_spine_and_taper_have_the_thickness_that_was_asked_for():
    outline, grind = chef_knife(), GRINDS["chef"]
    u = np.array([0.0, 50.0, 100.0, 200.0])
    assert grind.thickness(outline, u, outline.edge_at(u)) == pytest.approx([0.3] * 4)
    spine = grind.thickness(outline, u, outline.spine_at(u))
    assert spine == pytest.approx([3.0, 2.5, 2.0, 1.0])
    assert grind.spine_thickness(outline, u) == pytest.approx(spine)
    assert grind.thickness(outline, 210.0, 0.0) == pytest.approx(0.3)


def test_above_a_short_bevel_the_spine_keeps_its_thickness():
    outline = drop_point_hunter()
    v = outline.edge_at(0.0) + np.array([0.0, 7.5, 15.0, 20.0, 28.0])
    expected = [0.4, 2.0, 3.6, 3.6, 3.6]
    assert SHORT_BEVEL.thickness(outline, 0.0, v) == pytest.approx(expected)


def test_dagger_is_thickest_on_its_ridge():
    outline, grind = dagger(), GRINDS["dagger"]
    v = np.array([-15.0, -7.5, 0.0, 7.5, 15.0])
    assert grind.thickness(outline, 0.0, v) == pytest.approx([0.5, 3.0, 5.5, 3.0, 0.5])


def test_off_the_blade_the_nearest_value_stands_and_the_tang_keeps_the_spine():
    outline, grind = chef_knife(), GRINDS["chef"]
    thickness = grind.thickness(outline, [0.0, 0.0, -10.0, 215.0], [-30.0, 40.0, 15.0, 0.0])
    assert thickness == pytest.approx([0.3, 3.0, 3.0, 0.3])


@pytest.mark.parametrize(("outline", "grind"), CASES)
def test_sides_mirror_each_other_and_are_a_thickness_apart(outline, grind):
    u, v = on_blade(outline)
    mark = grind.surface_w(outline, u, v, "mark-side")
    off = grind.surface_w(outline, u, v, "off-side")
    assert np.all(mark > 0.0)
    assert np.array_equal(mark, -off)
    assert np.array_equal(mark - off, grind.thickness(outline, u, v))
    slopes = grind.slope(outline, u, v, "mark-side"), grind.slope(outline, u, v, "off-side")
    for one, other in zip(*slopes, strict=True):
        assert np.array_equal(one, -other)


@pytest.mark.parametrize(("outline", "grind"), CASES)
def test_slopes_agree_with_differences(outline, grind):
    u, v = on_blade(outline)
    step = 0.25
    inside = (u > 1.0) & (u < outline.length_mm - 1.0)
    for du, dv in ((step, 0.0), (0.0, step)):
        inside &= outline.contains(np.column_stack((u + du, v + dv)))
        inside &= outline.contains(np.column_stack((u - du, v - dv)))
    u, v = u[inside], v[inside]
    du, dv = grind.slope(outline, u, v, "mark-side")

    def w(du, dv):
        return grind.surface_w(outline, u + du, v + dv, "mark-side")

    # Where a stencil lies across a ridge, the top of a bevel or the end of the taper the
    # difference averages two flanks; those few points are left out by their bend.
    for slope, ahead, back in (
        (du, w(step, 0.0), w(-step, 0.0)),
        (dv, w(0.0, step), w(0.0, -step)),
    ):
        straight = np.abs(ahead + back - 2.0 * w(0.0, 0.0)) < 2e-4
        assert np.mean(straight) > 0.9
        difference = (ahead - back) / (2.0 * step)
        assert slope[straight] == pytest.approx(difference[straight], abs=1e-3)


@pytest.mark.parametrize(("outline", "grind"), CASES)
def test_volume_agrees_with_a_sum_over_a_fine_grid(outline, grind):
    columns, rows = 4000, 400
    u = (np.arange(columns) + 0.5) * outline.length_mm / columns
    share = (np.arange(rows)[:, None] + 0.5) / rows
    t = grind.thickness(outline, u, outline.edge_at(u) + share * outline.height_at(u))
    total = float((t.mean(axis=0) * outline.height_at(u)).mean()) * outline.length_mm
    assert grind.volume_mm3(outline) == pytest.approx(total, rel=2e-5)


def test_volume_agrees_with_strips_cut_by_shapely():
    outline, grind = chef_knife(), GRINDS["chef"]
    blade = shapely.Polygon(outline.polygon())
    borders = np.linspace(0.0, 200.0, 2001)
    strips = shapely.intersection(blade, shapely.box(borders[:-1], -50.0, borders[1:], 50.0))
    spine = 3.0 - 0.01 * (borders[1:] + borders[:-1]) / 2.0
    # Every section up to the end of the taper is a trapezium: mean of spine and edge by height.
    total = float(np.sum(shapely.area(strips) * (spine + 0.3) / 2.0))
    point = np.linspace(200.0, 210.0, 4001)
    point_mm3 = float(np.trapezoid(grind.section_mm2(outline, point), point))
    assert grind.volume_mm3(outline) - point_mm3 == pytest.approx(total, rel=2e-6)
    # The point is less than a wedge of the full thickness and more than a sheet of the edge's.
    point_mm2 = shapely.intersection(blade, shapely.box(200.0, -50.0, 210.0, 50.0)).area
    assert 0.3 * point_mm2 < point_mm3 < 1.0 * point_mm2


@pytest.mark.parametrize(("outline", "grind"), CASES)
def test_no_crease_runs_across_the_bevel(outline, grind):
    u = np.linspace(0.5, outline.length_mm - 0.5, 4000)
    v = outline.edge_at(u) + 0.25 * outline.height_at(u)
    du, dv = grind.slope(outline, u, v, "mark-side")
    for slope in (du, dv):
        assert np.abs(np.diff(slope)).max() < 2e-3


def test_towards_the_point_the_bevel_settles_to_one_angle():
    outline, grind = chef_knife(), GRINDS["chef"]
    before, at, after, point = grind.bevel_angle_deg(outline, [190.0, 200.0, 208.0, 210.0])
    assert before < at < after < point < 1.5 * at
    assert point - after < 0.1


def test_mass_of_the_worked_chef_s_knife():
    # Worked example: 0.071 kg for a finished blade of 210 x 46 mm; invented, volumes checked.
    outline, grind = chef_knife(), GRINDS["chef"]
    assert grind.mass_kg(outline) == pytest.approx(0.071, rel=0.05)
    assert grind.mass_kg(outline) == grind.volume_mm3(outline) * STEEL_KG_PER_MM3
    assert grind.mass_kg(outline, density=1.0) == grind.volume_mm3(outline)


def test_tang_keeps_the_spine_thickness_of_the_heel():
    outline, grind = chef_knife(), GRINDS["chef"]
    area = shapely.Polygon(outline.tang_polygon()).area
    assert grind.tang_volume_mm3(outline) == pytest.approx(3.0 * area, rel=1e-9)


@given(
    spine=st.floats(1.0, 8.0),
    tip=st.floats(0.3, 1.0),
    edge=st.floats(0.0, 1.0),
    bevel=st.one_of(st.none(), st.floats(5.0, 60.0)),
    length=st.floats(80.0, 300.0),
)
def test_thickness_stays_between_edge_and_spine(spine, tip, edge, bevel, length):
    outline = chef_knife(length_mm=length)
    grind = Grind(
        spine_mm=spine, spine_tip_mm=spine * tip, edge_mm=spine * tip * edge, bevel_height_mm=bevel
    )
    u, v = on_blade(outline, count=500)
    t = grind.thickness(outline, u, v)
    assert t.min() >= grind.edge_mm * (1.0 - 1e-12)
    assert t.max() <= spine * (1.0 + 1e-12)
    volume = grind.volume_mm3(outline)
    area = outline.area_mm2
    assert area * grind.edge_mm * (1.0 - 1e-12) <= volume <= area * spine * (1.0 + 1e-12)
    if bevel is not None:
        full = Grind(spine_mm=spine, spine_tip_mm=spine * tip, edge_mm=grind.edge_mm)
        assert volume >= full.volume_mm3(outline) * (1.0 - 1e-12)


@pytest.mark.parametrize(
    ("numbers", "message"),
    [
        ({"spine_mm": 0.1}, r"spine is 0\.1 mm thick; it must be from 0\.5 to 25 mm"),
        ({"spine_mm": float("nan")}, "spine is nan mm"),
        ({"spine_tip_mm": 4.0}, "spine near the tip is 4 mm thick.*Let the spine thin"),
        ({"edge_mm": 1.5}, r"edge before sharpening is 1\.5 mm.*0 to 1 mm"),
        ({"bevel_height_mm": 1.0}, r"bevel is 1 mm high; below 1\.35 mm.*45 degrees"),
        ({"kind": "dagger", "bevel_height_mm": 9.0}, "dagger is given a bevel height of 9 mm"),
        ({"kind": "hollow"}, "grind is 'hollow'; it must be 'flat' or 'dagger'"),
    ],
)
def test_impossible_grinds_are_refused_with_the_limit(numbers, message):
    with pytest.raises(ValueError, match=message):
        Grind(**{"spine_mm": 3.0, "spine_tip_mm": 1.0, "edge_mm": 0.3, **numbers})


def test_an_unknown_side_is_refused():
    outline, grind = chef_knife(), GRINDS["chef"]
    with pytest.raises(ValueError, match="no side 'front'"):
        grind.surface_w(outline, 0.0, 0.0, "front")
    with pytest.raises(ValueError, match="no side 'front'"):
        grind.slope(outline, 0.0, 0.0, "front")
