import numpy as np
import pytest
from PySide6.QtGui import QColor, QFontMetricsF

from patternsim_app.painting import array_of
from patternsim_app.shown import StationShown
from patternsim_app.views.station_strip import StationStrip


def station(at, wide, high, thick=1.0):
    picture = np.full((40, 80, 4), (90, 90, 90, 255), dtype=np.uint8)
    return StationShown(picture=picture, caption=f"at {at} mm", size_mm=(wide, high), thick=thick)


BLADE = (
    station(20, 46.0, 4.4),
    station(80, 44.0, 3.6),
    station(140, 36.0, 2.8),
    station(195, 15.0, 1.6),
)


@pytest.fixture
def strip(qtbot):
    made = StationStrip()
    qtbot.addWidget(made)
    made.set_shown(BLADE, "Sections")
    made.resize(700, made.heightForWidth(700))
    made.show()
    return made


def tops(strip):
    """Return the middle of each picture: the same in one row."""
    return {round(box.center().y()) for box in strip.picture_boxes()}


def test_all_sections_have_one_scale(strip):
    boxes = strip.picture_boxes()
    scales = [box.width() / one.size_mm[0] for box, one in zip(boxes, BLADE, strict=True)]
    scales += [box.height() / one.size_mm[1] for box, one in zip(boxes, BLADE, strict=True)]
    assert max(scales) == pytest.approx(min(scales))


def test_thicker_than_true_is_drawn_thicker_and_said(strip):
    strip.set_shown(tuple(station(n, 40.0, 4.0, thick=3.0) for n in (20, 80)), "Sections")
    box = strip.picture_boxes()[0]
    assert box.height() / box.width() == pytest.approx(3 * 4.0 / 40.0)
    assert "3 times as thick" in strip.accessibleDescription()
    strip.set_shown(BLADE, "Sections")
    assert "thick" not in strip.accessibleDescription()


def test_wide_strips_have_one_row_and_narrow_ones_more(strip):
    assert len(tops(strip)) == 1
    strip.resize(230, 400)
    assert len(tops(strip)) > 1
    assert strip.heightForWidth(230) > strip.heightForWidth(700)


@pytest.mark.parametrize("width", [150, 230, 420, 700, 1400])
def test_pictures_and_captions_keep_inside_and_apart(strip, width):
    strip.resize(width, strip.heightForWidth(width))
    boxes = strip.picture_boxes()
    for index, box in enumerate(boxes):
        assert box.left() >= 0
        assert box.right() <= width + 1
        assert box.bottom() < strip.height()
        assert not any(box.intersects(other) for other in boxes[index + 1 :])


def test_a_square_section_is_no_higher_than_a_few_lines(strip):
    strip.set_shown((station(20, 40.0, 40.0),), "Section")
    strip.resize(900, 300)
    box = strip.picture_boxes()[0]
    assert box.height() < 110
    assert box.width() == pytest.approx(box.height())


def test_captions_are_read_out(strip):
    assert strip.accessibleName() == "Sections"
    for one in BLADE:
        assert one.caption in strip.accessibleDescription()


def test_without_sections_it_says_so(strip):
    strip.set_shown((), "Sections")
    assert "no sections" in strip.accessibleDescription()
    assert strip.picture_boxes() == ()
    assert array_of(strip.grab().toImage()).size


def test_pictures_are_painted_where_they_are_said_to_be(strip):
    seen = array_of(strip.grab().toImage())
    for box in strip.picture_boxes():
        middle = box.center()
        assert tuple(seen[int(middle.y()), int(middle.x()), :3]) == (90, 90, 90)


def test_double_letters_fit(qtbot, large_text):
    made = StationStrip()
    qtbot.addWidget(made)
    made.set_shown(BLADE, "Sections")
    made.resize(700, made.heightForWidth(700))
    assert all(box.right() <= 700 for box in made.picture_boxes())


def test_lengths_follow_the_unit(strip):
    strip.set_units("in")
    assert 'at 25/32"; at 3 1/8"' in strip.accessibleDescription()  # 0.787 and 3.15 of an inch
    assert " mm" not in strip.accessibleDescription()
    strip.set_units("mm")
    assert "at 20 mm" in strip.accessibleDescription()


def test_captions_stay_in_one_line_however_narrow(strip):
    """Words that break anew as a section grows or shrinks would flicker under a dragged number."""
    small = strip.font()
    for width in (150, 230, 420, 700):
        strip.resize(width, strip.heightForWidth(width))
        under = strip.heightForWidth(width) - max(box.bottom() for box in strip.picture_boxes())
        assert under < 2.2 * QFontMetricsF(small).height()


def test_dark_sections_have_a_line_round_them(strip, dark):
    """Steel as dark as the ground: the line alone shows where the section ends."""
    ground = QColor("#2B3036")
    picture = np.full((40, 80, 4), (ground.red(), ground.green(), ground.blue(), 255), dtype=np.uint8)
    strip.set_shown((StationShown(picture=picture, caption="at 2 mm", size_mm=(46.0, 12.0)),), "S")
    strip.resize(700, strip.heightForWidth(700))
    box = strip.picture_boxes()[0]
    seen = array_of(strip.grab().toImage()).astype(int)
    row = seen[int(box.center().y()), :, 0]
    edge = row[int(box.right()) - 1 : int(box.right()) + 3].max()
    assert edge - row[int(box.center().x())] > 60
