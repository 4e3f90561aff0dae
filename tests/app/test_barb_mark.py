import math

import pytest

from patternsim_app.painting import array_of
from patternsim_app.shown import BarbsShown
from patternsim_app.views.barb_mark import BarbMark


def barbs(towards, *, right=True, angle=31.0, words=("Barbs lean", "as wanted on 96 % of the blade")):
    return BarbsShown(
        towards=towards,
        angle_deg=angle,
        tip_right=right,
        turns_at_mm=(),
        words=words,
        grade="fine",
    )


@pytest.fixture
def mark(qtbot):
    made = BarbMark()
    qtbot.addWidget(made)
    made.resize(300, 160)
    made.show()
    return made


def opens_right(stroke):
    outer, inner, _ = stroke
    return outer.x() > inner.x()


@pytest.mark.parametrize("towards", ["tip", "handle"])
@pytest.mark.parametrize("right", [True, False])
def test_outer_ends_point_where_the_barbs_lean(mark, towards, right):
    mark.set_shown(barbs(towards, right=right))
    strokes = mark.strokes()
    assert len(strokes) >= 5
    assert {opens_right(stroke) for stroke in strokes} == {(towards == "tip") == right}


def test_mixed_barbs_turn_round_in_the_middle(mark):
    mark.set_shown(barbs("mixed"))
    way = [opens_right(stroke) for stroke in mark.strokes()]
    assert way[0] != way[-1]
    assert way[: len(way) // 2] == [way[0]] * (len(way) // 2)


def test_without_barbs_there_is_a_dash_and_no_feather(mark):
    mark.set_shown(barbs("none"))
    assert mark.strokes() == ()
    seen = array_of(mark.grab().toImage())[:55]
    inked = (seen[..., :3] != seen[0, 0, :3]).any(axis=2)
    rows, columns = inked.nonzero()
    assert rows.max() - rows.min() < 8
    assert columns.max() - columns.min() > 30


@pytest.mark.parametrize("angle", [20.0, 31.0, 45.0, 70.0])
def test_the_angle_is_drawn_as_it_is(mark, angle):
    mark.set_shown(barbs("tip", angle=angle))
    outer, inner, other = mark.strokes()[2]
    drawn = math.degrees(math.atan2(abs(outer.y() - inner.y()), abs(outer.x() - inner.x())))
    assert drawn == pytest.approx(angle, abs=0.01)
    assert other.y() - inner.y() == pytest.approx(inner.y() - outer.y())


@pytest.mark.parametrize("angle", [0.0, 3.0, 89.0, None])
def test_any_angle_can_be_drawn(mark, angle):
    mark.set_shown(barbs("tip", angle=angle))
    outer, inner, _ = mark.strokes()[0]
    assert abs(outer.x() - inner.x()) > 4
    assert abs(outer.y() - inner.y()) > 8


@pytest.mark.parametrize("towards", ["tip", "handle", "mixed"])
@pytest.mark.parametrize("right", [True, False])
def test_the_bare_quill_is_at_the_handle(mark, towards, right):
    """However the barbs lean, the feather is held at the handle: it cannot be read backwards."""
    mark.set_shown(barbs(towards, right=right))
    handle, tip = mark.shaft()
    assert (tip.x() > handle.x()) == right
    ends = [point.x() for stroke in mark.strokes() for point in stroke]
    to_handle = min(abs(x - handle.x()) for x in ends)
    to_tip = min(abs(x - tip.x()) for x in ends)
    assert to_handle > 20
    assert to_tip < 14


@pytest.mark.parametrize("width", [150, 200, 260, 500])
@pytest.mark.parametrize("right", [True, False])
def test_feather_and_words_keep_inside(mark, width, right):
    mark.resize(width, 160)
    mark.set_shown(barbs("tip", right=right))
    for towards in ("tip", "handle", "mixed"):
        mark.set_shown(barbs(towards, right=right))
        for stroke in mark.strokes():
            for point in stroke:
                assert mark.rect().contains(point.toPoint())
        roots = [root.x() for _, root, _ in mark.strokes()]
        assert roots == sorted(roots)


def test_the_words_are_read_out(mark):
    mark.set_shown(barbs("tip"))
    assert mark.accessibleDescription() == "Barbs lean, as wanted on 96 % of the blade"
    mark.set_shown(None)
    assert "not worked out" in mark.accessibleDescription()
    assert mark.strokes() == ()


def test_narrow_words_take_more_height(mark):
    mark.set_shown(barbs("tip"))
    assert mark.heightForWidth(150) > mark.heightForWidth(600)


def test_the_two_ways_look_different(mark):
    mark.set_shown(barbs("tip"))
    one = mark.grab().toImage()
    mark.set_shown(barbs("handle"))
    assert mark.grab().toImage() != one
