"""A nick is a point of the steel: where it comes to lie, and in which step it is lost."""

import numpy as np
import pytest

from engine.steps.making import bar, with_mark, work
from patternsim import run
from patternsim.fields import carry_back
from patternsim.job import parse, starting_job
from patternsim.piece import Mark

FACES = ["mark-side", "off-side", "low-edge", "high-edge", "near-end", "far-end"]

STEPS = {
    "forge-weld": {"height_mm": 30.0, "heats": 2},
    "forge-weld on end": {"along": "length", "down_pct": 12.0},
    "square-up": {"side_mm": 30.0},
    "press-on-edge": {"height_mm": 28.0},
    "crush-corners": {"flat_mm": 16.0},
    "upset": {"length_mm": 90.0},
    "draw": {"width_mm": 44.0, "thickness_mm": 18.0, "heats": 2},
    "flatten": {"thickness_mm": 25.0},
    "taper": {"over_mm": 60.0, "width_mm": 15.0, "thickness_mm": 20.0, "bias": 0.5},
    "bend": {"start_mm": 20.0, "radius_mm": 70.0, "angle_deg": 50.0},
    "turn": {"about": "width", "degrees": 90},
    "trim": {"near_mm": 1.0, "high_edge_mm": 1.0},
    "grind-clean": {"faces_mm": 0.5, "ends_mm": 1.0},
}


def only_mark(piece, name="nick"):
    (mark,) = (mark for mark in piece.marks if mark.name == name)
    return mark


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("label", STEPS)
def test_a_mark_lies_where_the_way_back_starts(label, face):
    numbers = {} if face.endswith("end") else {"along_mm": 47.0}
    before = with_mark(bar(), face=face, off_middle_mm=-7.0, depth_mm=4.0, **numbers)
    after = work(label.split(" ")[0], before, **STEPS[label]).pieces[0]
    mark = only_mark(after)
    assert mark.lost_in == ""
    back = carry_back(after.field, np.array([mark.at]), stop=before.field)[0]
    # What is taken off above a nick puts it that much deeper, straight down from its face.
    start = np.array(before.marks[0].at)
    off = np.abs(back - start)
    axis = {"side": 2, "edge": 1, "end": 0}[face.split("-")[1]]
    taken = before.marks[0].depth_mm - mark.depth_mm
    assert off[axis] == pytest.approx(taken, abs=1e-3)
    assert np.delete(off, axis).max() < 1e-3
    assert 0.0 <= taken < 1.5
    low, high = (np.array(corner) for corner in after.box())
    assert np.all(np.array(mark.at) > low - 1e-3)
    assert np.all(np.array(mark.at) < high + 1e-3)


@pytest.mark.parametrize("face", ["mark-side", "off-side", "low-edge", "high-edge"])
def test_a_mark_beside_the_wedge_is_dragged_and_followed(face):
    before = with_mark(bar(), face=face, along_mm=70.0, off_middle_mm=-2.0, depth_mm=3.0)
    split = work("split", before).pieces[0]
    mark = only_mark(split)
    back = carry_back(split.field, np.array([mark.at]), stop=before.field)[0]
    assert back == pytest.approx(before.marks[0].at, abs=1e-3)
    # Beside the cut layers go with the wedge, towards x = 0; at the edges they rise.
    moved = mark.at[0] - before.marks[0].at[0]
    assert moved > 0.5 if face.endswith("edge") else moved < -0.5
    closed = work("reweld", split).pieces[0]
    again = carry_back(closed.field, np.array([only_mark(closed).at]), stop=before.field)[0]
    assert np.abs(again - before.marks[0].at)[:2].max() < 0.15


def test_a_mark_goes_with_its_length_of_the_bar():
    piece = with_mark(bar(length=120.0), along_mm=70.0, depth_mm=2.0)
    parts = work("cut", piece, pieces=3, crop_near_mm=10.0).pieces
    assert [len(part.marks) for part in parts] == [0, 1, 0]
    # 10 cropped, pieces of 106 / 3 = 35.33 and kerfs of 2: the second begins at 47.33.
    assert only_mark(parts[1]).at[0] == pytest.approx(70.0 - 47.0 - 1.0 / 3.0)


def test_a_mark_goes_with_its_plate():
    piece = with_mark(bar(), face="high-edge", off_middle_mm=12.0, depth_mm=2.0)
    low, high = work("slice", piece, pieces=2).pieces
    assert (len(low.marks), len(high.marks)) == (0, 1)
    # 40 thick: the upper plate runs from 1 to 20 above the middle, its own middle is at 10.5.
    assert only_mark(high).at[2] == pytest.approx(12.0 - 10.5)


def test_a_mark_on_the_outside_is_seen_after_restacking_turned():
    piece = with_mark(bar(length=100.0, height=20.0), along_mm=80.0, off_middle_mm=5.0, depth_mm=2.0)
    parts = work("cut", piece, pieces=2).pieces
    pack = work("restack", *parts, high=2, turned="end-for-end").pieces[0]
    mark = only_mark(pack)
    # It lay 80 - 51 = 29 along the second piece of 49; end for end, at 20, 5 to the other side.
    assert mark.lost_in == ""
    assert mark.at == pytest.approx((20.0, -5.0, 20.0))


LOST = [
    ("grind-clean", {"faces_mm": 2.0}, {}),
    ("grind-clean", {"edges_mm": 3.0}, {"off_middle_mm": -19.0}),
    ("trim", {"far_mm": 80.0}, {}),
    ("trim", {"far_mm": 70.1}, {"along_mm": 50.5}),
    ("draw", {"width_mm": 30.0, "thickness_mm": 30.0, "heats": 30}, {"depth_mm": 1.0}),
    ("cut", {"crop_near_mm": 60.0}, {}),
    ("cut", {"pieces": 2}, {"along_mm": 60.0}),
    ("slice", {"across": "width", "pieces": 2}, {"off_middle_mm": 0.0}),
]


@pytest.mark.parametrize(("kind", "numbers", "where"), LOST)
def test_a_mark_that_is_taken_off_is_lost_in_that_step(kind, numbers, where):
    piece = with_mark(bar(), **{"along_mm": 50.0, "depth_mm": 1.5, "off_middle_mm": 3.0, **where})
    outcome = work(kind, piece, id="the-step", **numbers)
    marks = [mark for part in outcome.pieces for mark in part.marks]
    assert [(mark.name, mark.lost_in, mark.depth_mm) for mark in marks] == [("nick", "the-step", 0.0)]


def test_a_mark_that_is_ground_but_not_through_is_shallower():
    piece = with_mark(bar(), depth_mm=1.5)
    ground = work("grind-clean", piece, faces_mm=0.4).pieces[0]
    mark = only_mark(ground)
    assert (mark.lost_in, mark.depth_mm) == ("", pytest.approx(1.1))
    assert mark.at[2] == pytest.approx(ground.size[2] / 2)


def test_a_nick_in_the_end_outlives_a_crop_shorter_than_it_is_deep():
    piece = with_mark(bar(), face="far-end", depth_mm=5.0)
    for outcome in (work("trim", piece, far_mm=3.0), work("cut", piece, crop_far_mm=3.0)):
        assert only_mark(outcome.pieces[0]).depth_mm == pytest.approx(2.0)
    # A nick of the same depth across the face near that end is cropped with it.
    piece = with_mark(bar(), along_mm=118.0, depth_mm=5.0)
    for outcome in (work("trim", piece, far_mm=3.0), work("cut", piece, crop_far_mm=3.0)):
        assert only_mark(outcome.pieces[0]).lost_in == "step"


def test_a_mark_between_two_pieces_is_lost_in_the_weld():
    piece = with_mark(bar(height=20.0), along_mm=20.0, depth_mm=2.0)
    lower, upper = work("cut", piece, pieces=2).pieces
    assert (len(lower.marks), len(upper.marks)) == (1, 0)
    pack = work("restack", lower, upper, high=2, id="pack").pieces[0]
    assert only_mark(pack).lost_in == "pack"
    welded = work("forge-weld", pack, down_pct=10.0, id="weld").pieces[0]
    assert only_mark(welded).lost_in == "pack"


def test_marks_of_one_name_from_two_bars_are_told_apart():
    one = with_mark(bar(), along_mm=20.0, depth_mm=2.0)
    two = with_mark(bar(), along_mm=100.0, depth_mm=2.0)
    (long,) = work("join", bars=("a", "b"), side="end-to-end", among={"a": (one,), "b": (two,)}).pieces
    welded = work("forge-weld", long, down_pct=10.0).pieces[0]
    near, far = work("cut", welded, pieces=2).pieces
    assert [len(part.marks) for part in (near, far)] == [1, 1]
    assert all(mark.lost_in == "" for part in (near, far) for mark in part.marks)


def test_strips_ground_one_by_one_keep_a_mark_on_their_edge():
    from engine.steps.making import stacked

    piece = with_mark(stacked(height=40.0, layers=8), face="high-edge", off_middle_mm=10.0, depth_mm=2.0)
    ground = work("grind-clean", piece, strips_to_mm=[4.0, 4.0]).pieces[0]
    assert only_mark(ground).at == pytest.approx((60.0, 20.0, 8.0))


def test_a_mark_comes_through_the_whole_feather():
    result = run(parse(starting_job("feather-from-w")), "quick")
    plates = result.bars["feather"]
    # Cut at z = -12 of 50.9 mm, below the middle: it belongs to the first plate, on its high edge.
    assert [[mark.name for mark in plate.marks] for plate in plates] == [["nick"], []]
    mark = only_mark(plates[0])
    assert isinstance(mark, Mark)
    assert mark.lost_in == ""
    assert 0.0 < mark.depth_mm < 3.0
    assert mark.at[1] == pytest.approx(plates[0].size[1] / 2, abs=1e-3)
    split = result.after("split")
    before = split.outcome.pieces[0].cuts[-1].before
    back = carry_back(plates[0].field, np.array([mark.at]), stop=before)[0]
    nicked = only_mark(result.after("nick").outcome.pieces[0])
    # Scale and grinding of the edge put it 1.3 mm deeper, where the rise beside the wedge is a little
    # other than on the edge itself.
    assert back[[0, 2]] == pytest.approx([nicked.at[0], nicked.at[2]], abs=0.05)
