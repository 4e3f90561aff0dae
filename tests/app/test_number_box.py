"""A number is typed exactly, stepped or dragged, and never changes without being asked to."""

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget

from patternsim_app.views.number_box import IDLE_MS, PX_A_STEP, NumberBox
from patternsim_app.views.number_kind import NumberKind

NONE = Qt.KeyboardModifier.NoModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
CTRL = Qt.KeyboardModifier.ControlModifier


class Told:
    """What the box has told of, in order."""

    def __init__(self, box):
        self.all = []
        for name in ("committed", "scrubbed", "refused"):
            getattr(box, name).connect(lambda value, name=name: self.all.append((name, value)))
        for name in ("cleared", "left_unchanged"):
            getattr(box, name).connect(lambda name=name: self.all.append((name,)))

    def of(self, name):
        return [told[1] for told in self.all if told[0] == name]


@pytest.fixture
def desk(qtbot):
    """A box beside another field, in a window with the keys."""
    window = QWidget()
    column = QVBoxLayout(window)
    window.other = QLineEdit()
    window.box = NumberBox()
    column.addWidget(window.other)
    column.addWidget(window.box)
    qtbot.addWidget(window)
    window.show()
    qtbot.waitActive(window)
    window.other.setFocus()
    return window


@pytest.fixture
def box(desk):
    desk.box.set_shown(25.0, unit="mm", low=0.0, high=100.0)
    return desk.box


@pytest.fixture
def told(box):
    return Told(box)


def type_in(qtbot, box, text, *, end=Qt.Key.Key_Return):
    box.setFocus()
    box.selectAll()
    qtbot.keyClicks(box, text)
    if end is not None:
        qtbot.keyClick(box, end)


def mouse(box, kind, x, *, held=Qt.MouseButton.LeftButton, modifiers=NONE):
    button = Qt.MouseButton.NoButton if kind == QEvent.Type.MouseMove else Qt.MouseButton.LeftButton
    place = QPointF(x, 10.0)
    QApplication.sendEvent(
        box, QMouseEvent(kind, place, box.mapToGlobal(place), button, held, modifiers)
    )


def drag(qtbot, box, by, *, modifiers=NONE, release=True):
    qtbot.mousePress(box, Qt.MouseButton.LeftButton, pos=QPoint(20, 10))
    for share in (0.25, 0.5, 0.75, 1.0):
        mouse(box, QEvent.Type.MouseMove, 20.0 + share * by, modifiers=modifiers)
    if release:
        mouse(box, QEvent.Type.MouseButtonRelease, 20.0 + by, held=Qt.MouseButton.NoButton)


# --- showing -----------------------------------------------------------------------------


def test_rounded_for_the_eye_and_exact_for_the_hand(qtbot, desk):
    box = desk.box
    box.set_shown(28.6, unit="mm", units="in")
    assert box.text() == '1 1/8"'
    box.setFocus()
    assert box.text().startswith("1.12598")
    assert box.selectedText() == box.text()
    desk.other.setFocus()
    assert box.text() == '1 1/8"'


def test_a_number_left_out_shows_what_stands_for_it(box):
    box.set_shown(None, unit="mm", placeholder="as usual")
    assert (box.text(), box.placeholderText()) == ("", "as usual")
    assert box.accessibleDescription() == "empty"


@pytest.mark.parametrize(
    ("value", "unit", "units", "spoken"),
    [
        (3.0, "mm", "mm", "3 mm"),
        (28.575, "mm", "in", "1 1/8 inch"),
        (45.0, "deg", "mm", "45 degrees"),
        (1150.0, "degC", "mm", "1150 degrees Celsius"),
        (2.0, "", "mm", "2"),
    ],
)
def test_the_number_is_spoken_with_its_unit(box, value, unit, units, spoken):
    box.set_shown(value, unit=unit, units=units)
    assert box.accessibleDescription() == spoken


# --- typing ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "value"), [('1 1/8"', 28.575), ("28,6", 28.6), ("2*12.5", 25.0), ("3/16 in", 4.7625)]
)
def test_enter_takes_what_was_typed(qtbot, box, told, text, value):
    type_in(qtbot, box, text)
    assert box.value == value
    # What comes to the number that is stored already is no change.
    assert told.all == ([("committed", value)] if value != 25.0 else [])


def test_leaving_takes_what_was_typed(qtbot, desk, box, told):
    type_in(qtbot, box, "30", end=None)
    assert told.all == []
    desk.other.setFocus()
    assert told.all == [("committed", 30.0)]
    assert box.text() == "30"


def test_only_looking_in_changes_nothing(qtbot, desk, box, told):
    box.set_shown(28.6, unit="mm", units="in")
    box.setFocus()
    desk.other.setFocus()
    assert told.all == []
    assert box.value == 28.6


def test_esc_puts_the_number_back(qtbot, box, told):
    type_in(qtbot, box, "30", end=Qt.Key.Key_Escape)
    assert told.all == [("left_unchanged",)]
    assert box.text() == "25"
    assert not box.is_typed


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1,234.5", "more than one decimal mark"),
        ("101", "it must be at most 100 mm"),
        ("-1", "it must be at least 0 mm"),
        ("", "nothing is written"),
    ],
)
def test_what_cannot_be_stays_and_is_marked(qtbot, desk, box, told, text, words):
    box.setFocus()
    box.selectAll()
    qtbot.keyClick(box, Qt.Key.Key_Delete)
    qtbot.keyClicks(box, text)
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert len(told.of("refused")) == 1
    for said in (told.of("refused")[0], box.toolTip(), box.accessibleDescription(), box.trouble):
        assert words in said
    desk.other.setFocus()
    assert box.text() == text
    assert box.is_typed
    assert box.value == 25.0
    assert len(told.all) == 1  # told once, not again on leaving
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Escape)
    assert (box.text(), box.trouble, box.toolTip()) == ("25", "", "")
    assert box.accessibleDescription() == "25 mm"


def test_the_mark_of_what_cannot_be_is_seen(qtbot, desk, box):
    plain = box.grab().toImage()
    type_in(qtbot, box, "2x")
    desk.other.setFocus()
    marked = box.grab().toImage()
    assert marked.pixelColor(1, box.height() // 2) != plain.pixelColor(1, box.height() // 2)
    sign = [marked.pixelColor(x, box.height() // 2 - 4).name() for x in range(3, 24)]
    assert "#5e1049" in sign


def test_the_mark_goes_when_typing_goes_on(qtbot, box):
    type_in(qtbot, box, "2x")
    assert box.trouble
    qtbot.keyClick(box, Qt.Key.Key_End)
    qtbot.keyClick(box, Qt.Key.Key_Backspace)
    assert not box.trouble


def test_a_count_is_whole(qtbot, box, told):
    box.set_shown(3.0, kind="count", low=1, high=40)
    type_in(qtbot, box, "2.5")
    assert "no whole number" in told.of("refused")[0]
    type_in(qtbot, box, "2+2")
    assert told.of("committed") == [4.0]


def test_a_number_that_may_be_left_out_can_be_emptied(qtbot, box, told):
    box.set_shown(25.0, unit="mm", may_be_empty=True)
    type_in(qtbot, box, " ")
    assert told.all == [("cleared",)]
    assert box.value is None
    type_in(qtbot, box, " ")
    assert told.all == [("cleared",)]


def test_fahrenheit_is_turned_into_celsius(qtbot, box, told):
    box.set_shown(1150.0, unit="degC", low=700.0, high=1320.0)
    type_in(qtbot, box, "2192 F")
    assert told.of("committed") == [1200.0]


def test_what_is_typed_is_not_overwritten(qtbot, box, told):
    type_in(qtbot, box, "3", end=None)
    box.set_shown(26.0, unit="mm", low=0.0, high=100.0)
    assert box.text() == "3"
    qtbot.keyClicks(box, "0")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert told.of("committed") == [30.0]


def test_showing_the_same_again_keeps_the_place_in_the_text(qtbot, box):
    box.set_shown(28.6, unit="mm", low=0.0)
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Home)
    qtbot.keyClick(box, Qt.Key.Key_Right)
    box.set_shown(28.6, unit="mm", low=0.0)
    assert (box.cursorPosition(), box.selectedText()) == (1, "")


def test_a_changed_unit_is_shown_at_once(box):
    box.setFocus()
    box.set_shown(25.4, unit="mm", units="in")
    assert box.text() == "1"


# --- keys that belong to the window ------------------------------------------------------


def overridden(box, key, modifiers=NONE, text=""):
    """Tell whether the box keeps a key for itself."""
    event = QKeyEvent(QEvent.Type.ShortcutOverride, key, modifiers, text)
    event.ignore()
    QApplication.sendEvent(box, event)
    return event.isAccepted()


@pytest.mark.parametrize(
    ("key", "modifiers"), [(Qt.Key.Key_Z, CTRL), (Qt.Key.Key_Z, CTRL | SHIFT), (Qt.Key.Key_Y, CTRL)]
)
def test_undo_is_the_jobs_until_something_is_typed(qtbot, box, key, modifiers):
    box.setFocus()
    assert not overridden(box, key, modifiers)
    type_in(qtbot, box, "30", end=None)
    if (key, modifiers) == (Qt.Key.Key_Z, CTRL):
        assert overridden(box, key, modifiers)
        qtbot.keyClick(box, key, modifiers)
        assert box.text() != "30"
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert not overridden(box, key, modifiers)


@pytest.mark.parametrize("key", [Qt.Key.Key_PageDown, Qt.Key.Key_PageUp, Qt.Key.Key_F5])
def test_a_key_that_leads_elsewhere_finds_the_number_taken(qtbot, box, told, key):
    type_in(qtbot, box, "30", end=None)
    assert not overridden(box, key)
    assert told.all == [("committed", 30.0)]


def test_a_command_finds_the_number_taken(qtbot, box, told):
    type_in(qtbot, box, "30", end=None)
    overridden(box, Qt.Key.Key_S, CTRL, "\x13")
    assert told.all == [("committed", 30.0)]


@pytest.mark.parametrize(
    ("key", "modifiers", "text"),
    [
        (Qt.Key.Key_Control, NONE, ""),
        (Qt.Key.Key_Alt, NONE, ""),
        (Qt.Key.Key_5, NONE, "5"),
        (Qt.Key.Key_onehalf, CTRL | Qt.KeyboardModifier.AltModifier, "½"),
        (Qt.Key.Key_Left, NONE, ""),
        (Qt.Key.Key_C, CTRL, "\x03"),
    ],
)
def test_keys_of_typing_do_not_take_it(qtbot, box, told, key, modifiers, text):
    type_in(qtbot, box, "3", end=None)
    overridden(box, key, modifiers, text)
    assert told.all == []
    assert box.is_typed


def test_the_wheel_is_left_to_what_scrolls(desk, box, told):
    for focus in (desk.other, box):
        focus.setFocus()
        turn = QWheelEvent(
            QPointF(5, 5), box.mapToGlobal(QPointF(5, 5)), QPoint(0, 0), QPoint(0, 120),
            Qt.MouseButton.NoButton, NONE, Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QApplication.sendEvent(box, turn)
        assert not turn.isAccepted()
    assert (box.value, told.all) == (25.0, [])


# --- stepping ----------------------------------------------------------------------------


def test_steps_are_tried_at_once_and_taken_when_the_keys_rest(qtbot, box, told):
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Up)
    qtbot.keyClick(box, Qt.Key.Key_Up)
    assert told.all == [("scrubbed", 26.0), ("scrubbed", 27.0)]
    qtbot.waitUntil(lambda: told.of("committed") == [27.0], timeout=5 * IDLE_MS)
    assert box.value == 27.0


def test_a_step_is_ten_times_with_shift_and_a_tenth_with_ctrl(qtbot, box, told):
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Down, SHIFT)
    qtbot.keyClick(box, Qt.Key.Key_Up, CTRL)
    assert told.of("scrubbed") == [15.0, 15.1]


@pytest.mark.parametrize(
    ("value", "rule", "step"),
    [
        (40.0, {"unit": "mm"}, 1.0),
        (4.0, {"unit": "mm"}, 0.5),
        (0.5, {"unit": "mm"}, 0.05),
        (12.7, {"unit": "mm", "units": "in"}, 25.4 / 64),
        (50.8, {"unit": "mm", "units": "in"}, 25.4 / 32),
        (3.0, {"kind": "count"}, 1.0),
    ],
)
def test_steps_suit_the_size(value, rule, step):
    assert NumberKind(**rule).step(value, NONE) == pytest.approx(step)


def test_a_count_never_steps_by_parts():
    assert NumberKind(kind="count").step(3.0, CTRL) == 1.0
    assert NumberKind(kind="count").step(3.0, SHIFT) == 10.0


def test_steps_stop_at_the_limits(qtbot, box, told):
    box.set_shown(99.5, unit="mm", above=0.0, high=100.0)
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Up)
    qtbot.keyClick(box, Qt.Key.Key_Up)
    assert told.of("scrubbed") == [100.0]
    box.leave()
    box.set_shown(0.05, unit="mm", above=0.0, high=100.0)
    told.all.clear()
    qtbot.keyClick(box, Qt.Key.Key_Down)
    assert told.all == []


def test_steps_do_not_touch_what_is_typed(qtbot, box, told):
    type_in(qtbot, box, "30", end=Qt.Key.Key_Up)
    assert told.all == []
    assert box.text() == "30"


def test_a_tried_number_that_comes_back_as_shown_is_still_taken(qtbot, box, told):
    # The sheet shows the tried job while a number is stepped.
    box.scrubbed.connect(lambda value: box.set_shown(value, unit="mm", low=0.0, high=100.0))
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Up)
    qtbot.keyClick(box, Qt.Key.Key_Up)
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert told.of("committed") == [27.0]


def test_esc_calls_steps_off(qtbot, box, told):
    box.scrubbed.connect(lambda value: box.set_shown(value, unit="mm", low=0.0, high=100.0))
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Up)
    qtbot.keyClick(box, Qt.Key.Key_Escape)
    assert told.all == [("scrubbed", 26.0), ("scrubbed", 25.0), ("left_unchanged",)]
    assert (box.value, box.text()) == (25.0, "25")
    qtbot.wait(IDLE_MS + 100)
    assert told.of("committed") == []


def test_steps_there_and_back_change_nothing(qtbot, box, told):
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Up)
    qtbot.keyClick(box, Qt.Key.Key_Down)
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert told.of("committed") == []
    assert told.all[-1] == ("left_unchanged",)


def test_typing_takes_over_from_steps(qtbot, box, told):
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Up)
    type_in(qtbot, box, "40", end=None)
    qtbot.wait(IDLE_MS + 100)
    assert told.of("committed") == []
    qtbot.keyClick(box, Qt.Key.Key_Escape)
    assert box.value == 25.0


# --- dragging ----------------------------------------------------------------------------


def test_dragging_sideways_tries_and_letting_go_takes(qtbot, box, told):
    drag(qtbot, box, 10 * PX_A_STEP)
    assert told.of("scrubbed")[-1] == 35.0
    assert told.of("committed") == [35.0]
    assert told.all[-1][0] == "committed"


def test_a_drag_counts_from_where_it_began(qtbot, box, told):
    box.scrubbed.connect(lambda value: box.set_shown(value, unit="mm", low=0.0, high=100.0))
    drag(qtbot, box, 10 * PX_A_STEP)
    assert told.of("committed") == [35.0]


def test_a_click_marks_all_for_typing(qtbot, box, told):
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(20, 10))
    assert box.hasFocus()
    assert box.selectedText() == "25"
    qtbot.keyClicks(box, "31")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert told.all == [("committed", 31.0)]


def test_a_shaky_click_is_no_drag(qtbot, box, told):
    drag(qtbot, box, 5.0)
    assert told.all == []
    assert box.selectedText() == "25"


def test_in_the_box_being_edited_the_mouse_marks_text(qtbot, box, told):
    box.setFocus()
    drag(qtbot, box, 40.0)
    assert told.all == []
    assert box.value == 25.0


def test_esc_calls_a_drag_off(qtbot, box, told):
    drag(qtbot, box, 10 * PX_A_STEP, release=False)
    qtbot.keyClick(box, Qt.Key.Key_Escape)
    mouse(box, QEvent.Type.MouseButtonRelease, 80.0, held=Qt.MouseButton.NoButton)
    assert told.of("committed") == []
    assert told.of("scrubbed")[-1] == 25.0
    assert box.value == 25.0


def test_what_is_left_out_cannot_be_dragged(qtbot, box, told):
    box.set_shown(None, unit="mm", placeholder="as usual")
    drag(qtbot, box, 40.0)
    assert told.all == []


def test_large_enough_to_hit_and_to_read(large_text, qtbot):
    box = NumberBox()
    qtbot.addWidget(box)
    assert box.minimumHeight() >= 24
    assert box.sizeHint().height() >= box.fontMetrics().height()
