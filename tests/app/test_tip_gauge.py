import dataclasses

import numpy as np
import pytest
from PySide6.QtGui import QColor

from patternsim_app.painting import array_of
from patternsim_app.shown import TipShown
from patternsim_app.theme import DARK, LIGHT, use_theme
from patternsim_app.views.tip_gauge import FAR_MM, TipGauge
from patternsim_app.views.tip_plate import SCALES

GREY = np.full((220, 460, 4), (150, 150, 150, 255), dtype=np.uint8)
OUTLINE = ((-17.0, 6.0), (-8.0, 3.2), (0.0, 0.0), (-8.0, -3.4), (-17.0, -6.5))


def tip(offset=0.4, *, right=True, **rest):
    line = () if offset is None else ((-17.0, offset), (0.0, offset))
    given = {
        "picture": GREY,
        "pixels_per_mm": 20.0,
        "centre": (340.0 if right else 120.0, 110.0),
        "outline": OUTLINE,
        "line": line,
        "offset_mm": offset,
        "allowed_mm": 0.5,
        "tip_right": right,
        "words": "0.4 mm to the spine: on",
        "grade": "fine",
    }
    return TipShown(**(given | rest))


@pytest.fixture
def gauge(qtbot):
    made = TipGauge()
    qtbot.addWidget(made)
    made.resize(340, 240)
    made.show()
    return made


def pixels(gauge):
    return array_of(gauge.grab().toImage())


def blue(gauge, name=LIGHT.centre):
    tone = QColor(name)
    near = np.abs(pixels(gauge)[..., :3].astype(int) - (tone.red(), tone.green(), tone.blue()))
    return near.max(axis=2) < 12


def test_places_are_to_scale_and_the_spine_is_up(gauge):
    gauge.set_shown(tip())
    middle = gauge.point_of(0.0, 0.0)
    one = gauge.point_of(0.0, 1.0)
    assert one.x() == middle.x()
    assert one.y() < middle.y()
    assert middle.x() - gauge.point_of(-1.0, 0.0).x() == pytest.approx(middle.y() - one.y())
    box = gauge.window_box()
    assert gauge.point_of(0.0, FAR_MM).y() > box.top()
    assert gauge.point_of(0.0, -FAR_MM).y() < box.bottom()


def test_a_tip_to_the_left_is_the_same_the_other_way_round(gauge):
    gauge.set_shown(tip(right=False))
    assert gauge.point_of(-1.0, 0.0).x() > gauge.point_of(0.0, 0.0).x()
    assert gauge.point_of(0.0, 1.0).y() < gauge.point_of(0.0, 0.0).y()
    assert gauge.window_box().contains(gauge.point_of(0.0, 0.0))


@pytest.mark.parametrize("offset", [-3.0, -0.4, 0.0, 0.4, 3.0])
@pytest.mark.parametrize("right", [True, False])
def test_the_bar_runs_where_the_centre_line_does(gauge, offset, right):
    gauge.set_shown(tip(offset, right=right))
    rows = np.flatnonzero(blue(gauge)[:, round(gauge.point_of(-4.0, 0.0).x())])
    assert rows.mean() == pytest.approx(gauge.point_of(0.0, offset).y(), abs=1.6)
    assert len(rows) >= 3


def test_the_bar_reaches_through_the_plate(gauge):
    gauge.set_shown(tip())
    columns = np.flatnonzero(blue(gauge).any(axis=0))
    assert columns.max() > gauge.point_of(0.0, 0.0).x() + 20


def test_the_slot_is_as_wide_as_what_counts_as_on(gauge):
    heights = []
    for allowed in (0.5, 1.0):
        gauge.set_shown(tip(None, allowed_mm=allowed, picture=None, outline=()))
        seen = pixels(gauge)[..., :3].astype(int)
        plate = round(gauge.point_of(0.0, 0.0).x() + 0.95 * 16)
        ground = np.array(QColor(LIGHT.box).toTuple()[:3])
        is_open = np.abs(seen[:, plate] - ground).max(axis=1) <= 2
        middle = round(gauge.point_of(0.0, 0.0).y())
        above = next(n for n in range(100) if not is_open[middle - n])
        below = next(n for n in range(100) if not is_open[middle + n])
        heights.append(above + below)
        one_mm = gauge.point_of(0.0, 0.0).y() - gauge.point_of(0.0, 1.0).y()
        assert above + below == pytest.approx(2 * allowed * one_mm, abs=3)
    assert heights[1] > 1.5 * heights[0]


def test_a_line_far_off_is_pointed_to(gauge):
    gauge.set_shown(tip(9.0))
    rows = np.flatnonzero(blue(gauge).any(axis=1))
    assert rows.size
    assert rows.max() < gauge.point_of(0.0, 2.0).y()
    gauge.set_shown(tip(-9.0))
    assert np.flatnonzero(blue(gauge).any(axis=1)).min() > gauge.point_of(0.0, -2.0).y()


def test_without_a_line_nothing_blue_is_drawn(gauge):
    gauge.set_shown(tip(None, words="no feather in this bar", grade="unknown"))
    assert not blue(gauge).any()
    assert gauge.accessibleDescription() == "no feather in this bar"


def test_without_a_blade_it_says_so(gauge):
    gauge.set_shown(tip())
    gauge.set_shown(None)
    assert "no tip" in gauge.accessibleDescription().lower()
    assert not blue(gauge).any()


def test_the_picture_lies_with_its_tip_on_the_point(gauge):
    picture = GREY.copy()
    picture[106:115, 336:345, :3] = (255, 0, 0)
    gauge.set_shown(tip(None, picture=picture, outline=()))
    seen = pixels(gauge).astype(int)
    red = (seen[..., 0] > 200) & (seen[..., 1] < 90)
    rows, columns = np.nonzero(red)
    middle = gauge.point_of(0.0, 0.0)
    assert rows.mean() == pytest.approx(middle.y(), abs=1.5)
    assert columns.mean() == pytest.approx(middle.x(), abs=1.5)


def test_the_same_words_are_read_out(gauge):
    gauge.set_shown(tip())
    assert gauge.accessibleDescription() == "0.4 mm to the spine: on"
    assert gauge.accessibleName()


@pytest.mark.parametrize("size", [(208, 112), (340, 150), (340, 400), (700, 180)])
@pytest.mark.parametrize("right", [True, False])
def test_scale_and_tip_stay_in_the_window_of_any_card(gauge, size, right):
    gauge.resize(*size)
    words = "mark side: 0.4 mm to the spine: on, and long enough to be broken"
    gauge.set_shown(tip(right=right, words=words))
    box = gauge.window_box()
    assert box.width() > 20
    assert box.height() > 20
    assert gauge.rect().contains(box.toAlignedRect())
    assert box.contains(gauge.point_of(0.0, FAR_MM))
    assert box.contains(gauge.point_of(0.0, -FAR_MM))
    assert pixels(gauge).size


def test_a_low_card_has_its_words_beside_the_window(gauge):
    gauge.set_shown(tip())
    under = gauge.window_box()
    gauge.resize(520, 130)
    beside = gauge.window_box()
    assert under.width() > 0.8 * 340
    assert beside.right() < 0.75 * 520
    assert beside.height() > 0.75 * 130


def test_the_ground_changes_with_the_theme(gauge, qapp):
    gauge.set_shown(dataclasses.replace(tip(), picture=None))
    use_theme(DARK, qapp)
    assert pixels(gauge)[..., :3].mean() < 120


@pytest.mark.parametrize(("units", "span"), [("mm", 5.0), ("in", 25.4 * 3 / 16)])
def test_the_plate_has_the_scale_of_the_unit(gauge, units, span):
    part, many, one, whole = SCALES[units]
    assert part * many == pytest.approx(span)
    from patternsim.sizes import parse_length

    assert parse_length(one, "mm") == pytest.approx(part)
    assert parse_length(whole, "mm") == pytest.approx(span)
    before = pixels(gauge)
    gauge.set_shown(tip(units=units))
    assert (pixels(gauge) != before).any()
