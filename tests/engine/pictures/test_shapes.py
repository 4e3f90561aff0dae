"""Pieces that are no plain boxes are shown in their true shape: open, bent, tapered, ragged."""

import numpy as np
import pytest
import shapely  # an outside reference for areas

from engine.steps.making import bar, with_mark, work
from patternsim.fields import lay_out, walk
from patternsim.kinds import leaves_standing
from patternsim.pictures.bench import piece_picture, small_picture
from patternsim.pictures.opened import OPENED, opened
from patternsim.pictures.plain import half_thickness
from patternsim.pictures.solid import is_box, outlines

NO_SCALE = {"skin_forge_mm": 0.0}


def split(piece=None, **numbers):
    return work("split", piece or bar(length=90.0), shop=NO_SCALE, **numbers).pieces[0]


def bend(**numbers):
    given = {"start_mm": 20.0, "radius_mm": 60.0, "angle_deg": 60.0, **numbers}
    return work("bend", bar(length=150.0), shop=NO_SCALE, id="sweep", **given).pieces[0]


def steel_at(piece, *points):
    return walk(lay_out(piece.solid()), np.array(points), workers=1).inside.tolist()


def area(piece):
    """Return the steel half way through the thickness, mm2."""
    return sum(shapely.Polygon(one.points).area for one in outlines(piece, pixels_per_mm=1.0))


def gap(piece, x):
    """Return how wide the halves stand apart at x, mm."""
    across = np.linspace(-12.0, 12.0, 2401)
    row = np.column_stack([np.full_like(across, x), across, np.zeros_like(across)])
    return 0.01 * np.count_nonzero(~walk(lay_out(piece.solid()), row, workers=1).inside)


# --- a split stands open -----------------------------------------------------------------


@pytest.mark.parametrize("travel", ["down", "up"])
def test_a_split_block_is_a_v_on_its_web(travel):
    piece = split(leave_mm=8.0, travel=travel)
    shown = opened(piece)
    entry, web = (88.0, 4.0) if travel == "down" else (2.0, 86.0)
    assert steel_at(piece, (entry - 10.0 if travel == "down" else entry + 10.0, 0.5, 0.0)) == [True]
    assert steel_at(shown, (entry, 0.0, 0.0), (web, 0.0, 0.0)) == [False, True]
    gaps = [gap(shown, entry + share * (web - entry)) for share in (0.15, 0.4, 0.65, 1.0)]
    assert gaps == sorted(gaps, reverse=True)
    assert gaps[0] == pytest.approx(OPENED * 40.0, rel=0.3)
    assert gaps[-1] == 0.0
    assert len(outlines(shown, pixels_per_mm=1.0)) == 1, "the web holds the halves together"


def test_opening_a_split_neither_makes_nor_loses_steel():
    piece = split()
    assert area(opened(piece)) == pytest.approx(area(piece), rel=0.004)
    assert area(piece) == pytest.approx(90.0 * 40.0, rel=0.01)


def test_what_is_split_right_through_stands_apart():
    shown = opened(split(leave_mm=0.0))
    assert len(outlines(shown, pixels_per_mm=1.0)) == 2
    assert steel_at(shown, (1.0, 0.0, 0.0), (45.0, 0.0, 0.0)) == [False, False]


def test_a_leaning_off_centre_cut_opens_on_its_own_line():
    piece = split(off_centre_mm=4.0, lean_face_deg=2.0, lean_thickness_deg=3.0)
    shown = opened(piece)
    assert steel_at(shown, (88.0, 4.0, 0.0)) == [False]
    assert area(shown) == pytest.approx(area(piece), rel=0.01)


def test_nicks_go_with_their_half():
    piece = split(with_mark(bar(length=90.0), face="high-edge", along_mm=80.0, depth_mm=2.0))
    before, after = piece.marks[0].at, opened(piece).marks[0].at
    assert after[1] > before[1] + 5.0
    nearly = (after[0], after[1] - 0.3, after[2])
    beside = (after[0], after[1] + 0.5, after[2])
    assert steel_at(opened(piece), nearly, beside) == [True, False]


def test_a_welded_piece_is_not_opened():
    closed = work("reweld", split(), shop=NO_SCALE).pieces[0]
    assert opened(closed) is closed


def test_small_pictures_of_standing_steel_stand():
    tall = bar(length=90.0)
    upright = small_picture(tall, 80.0, standing=True)
    assert upright.shape[0] > 1.5 * upright.shape[1]
    v = small_picture(split(), 80.0, standing=True)[..., 3] > 128
    middle = v.shape[1] // 2
    assert not v[8, middle], "open on top"
    assert v[-3, middle], "the web at the foot"
    flipped = small_picture(split(travel="up"), 80.0, standing=True)[..., 3] > 128
    assert not flipped[8, flipped.shape[1] // 2]
    assert flipped[-3, flipped.shape[1] // 2]


def test_steel_stands_from_stacking_tall_until_it_is_laid_down():
    assert leaves_standing(["stack", "stack-tall"])
    assert leaves_standing(["stack", "stack-tall", "forge-weld", "mark", "check"])
    assert leaves_standing(["stack-tall", "forge-weld", "split", "check"])
    assert not leaves_standing(["stack-tall", "forge-weld", "split", "reweld"])
    assert not leaves_standing(["stack", "forge-weld"])
    assert not leaves_standing([])


# --- true outlines -----------------------------------------------------------------------


@pytest.mark.parametrize("angle", [60.0, -35.0])
def test_the_outline_of_a_bent_bar_is_the_bar(angle):
    piece = bend(angle_deg=angle)
    ring = outlines(piece, pixels_per_mm=2.0)
    assert len(ring) == 1
    polygon = shapely.Polygon(ring[0].points)
    # A bend keeps area, and its box is far larger.
    assert polygon.area == pytest.approx(150.0 * 40.0, rel=0.003)
    low, high = piece.box()
    assert polygon.area < 0.8 * (high[0] - low[0]) * (high[1] - low[1])
    assert polygon.exterior.is_ccw, "steel on the left"
    program = lay_out(piece.solid())
    points = np.random.default_rng(3).uniform(low, high, (2000, 3)) * [1, 1, 0]
    seen = walk(program, points).inside
    own = shapely.contains_xy(polygon.buffer(-0.1), points[:, :2])
    beside = ~shapely.contains_xy(polygon.buffer(0.4), points[:, :2])
    assert seen[own].all()
    assert not seen[beside].any()


def test_the_outline_of_a_taper_is_a_trapezium_on_a_rectangle():
    piece = work("taper", bar(), shop=NO_SCALE, over_mm=60.0, width_mm=16.0, thickness_mm=10.0).pieces[0]
    straight = piece.size[0] - 60.0
    assert area(piece) == pytest.approx(straight * 40.0 + 60.0 * (40.0 + 16.0) / 2, rel=0.003)
    along, half = half_thickness(piece)
    assert np.interp([10.0, piece.size[0]], along, half) == pytest.approx([20.0, 5.0], abs=0.05)


def test_the_face_of_a_taper_is_seen_on_its_skin():
    piece = work("taper", bar(), shop=NO_SCALE, over_mm=60.0, thickness_mm=10.0).pieces[0]
    assert (piece_picture(piece, "blank", 2.0)[..., 3] > 250).mean() > 0.97


def test_the_ragged_end_of_a_split_belongs_to_its_outline():
    closed = work("reweld", split(), shop=NO_SCALE).pieces[0]
    assert not is_box(closed)
    ring = shapely.Polygon(outlines(closed, pixels_per_mm=1.0)[0].points)
    low, high = closed.box()
    assert ring.area < 0.97 * (high[0] - low[0]) * (high[1] - low[1])
    assert is_box(bar())


def test_walls_show_the_layers_under_the_outline():
    """A bar of eight layers lying flat: eight bands down the wall, all round."""
    wall = outlines(bend(), pixels_per_mm=4.0)[0].wall
    column = wall[:, wall.shape[1] // 3, 0].astype(int)
    changes = np.count_nonzero(np.abs(np.diff(column > column.mean())))
    assert changes == 7
    assert (wall[..., 3] > 250).mean() > 0.98
