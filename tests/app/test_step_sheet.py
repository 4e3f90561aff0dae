"""The sheet shows one step; what is typed on it is neither lost nor taken for another step's."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QKeyEvent, QWheelEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QCheckBox,
    QComboBox,
    QFrame,
    QLabel,
    QLineEdit,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from patternsim_app.resources import use_font
from patternsim_app.shown import FieldRow, FindingNote, Sheet
from patternsim_app.theme import DARK, LIGHT, em, use_theme
from patternsim_app.views.number_box import NumberBox
from patternsim_app.views.step_sheet import StepSheet

WEDGE = FieldRow(
    field="included_deg", label="Wedge, included", unit="deg", reason="both flanks together",
    kind="number", value=45.0, default=45.0, low=5.0, high=120.0,
)  # fmt: skip
NOSE = FieldRow(
    field="nose_mm", label="Nose radius", unit="mm", reason="rounded, of the wedge",
    kind="number", value=4.0, default=3.0, low=0.0, high=30.0,
)  # fmt: skip
BITE = FieldRow(
    field="bite_mm", label="Bite", unit="mm", reason="length of bar under the die",
    kind="number", value=None, above=0.0, high=500.0,
)  # fmt: skip
HEATS = FieldRow(
    field="heats", label="Heats", unit="", reason="each costs a skin of scale",
    kind="count", value=2, default=1, low=1, high=40,
)  # fmt: skip
RUNS = FieldRow(
    field="travel", label="Wedge runs", unit="", reason="down: towards the near end",
    kind="choice", value="down", default="down", choices=(("down", "down"), ("up", "up")),
)  # fmt: skip
OVER = FieldRow(
    field="lay_over", label="Lay over first", unit="", reason="off where they stand already",
    kind="switch", value=True, default=True,
)  # fmt: skip
NAME = FieldRow(
    field="id", label="Name of the step", unit="", reason="small letters", kind="text",
    value="split", required=True,
)  # fmt: skip
POCKET = FindingNote(
    key="pocket", code="nose-pocket", title="Nose pocket near the heel", grade="watch", step="split",
    place="6 mm inside", text="It ends 6 mm inside the blade.", remedy="crop 3 mm more",
    source="common practice, no source",
)  # fmt: skip
SPLIT = Sheet(
    key="split", number=13, title="Split down the middle", kind="split",
    sentence="Split with a 45 deg wedge", rows=(WEDGE, NOSE, BITE, HEATS, RUNS, OVER, NAME),
    facts=(("Force", "176 kN"), ("Lost here", "0.03 kg")), findings=(POCKET,),
    caution="a wedge can spring out",
)  # fmt: skip
OTHER = replace(SPLIT, key="split-again", number=14, rows=(WEDGE, NOSE, NAME), findings=())


@pytest.fixture
def sheet(qtbot):
    window = QWidget()
    column = QVBoxLayout(window)
    sheet = StepSheet()
    window.below = QLineEdit()
    column.addWidget(sheet)
    column.addWidget(window.below)
    window.resize(round(17.5 * em()), 900)
    qtbot.addWidget(window)
    window.show()
    qtbot.waitActive(window)
    sheet.window_ = window
    sheet.set_shown(SPLIT)
    sheet.told = []
    sheet.changed.connect(lambda field, value: sheet.told.append((field, value)))
    return sheet


def box(sheet, field):
    return sheet.row(field).box


def type_in(qtbot, sheet, field, text, *, end=Qt.Key.Key_Return):
    editor = box(sheet, field)
    editor.setFocus()
    editor.selectAll()
    qtbot.keyClicks(editor, text)
    if end is not None:
        qtbot.keyClick(editor, end)


def with_value(sheet, field, value):
    return replace(
        sheet, rows=tuple(replace(r, value=value) if r.field == field else r for r in sheet.rows)
    )


def words(sheet):
    return [one.text() for one in sheet.findChildren(QLabel) if one.isVisible()]


def settle(qtbot):
    QApplication.sendPostedEvents(None, 52)  # deferred deletes
    QApplication.sendPostedEvents()


def button(sheet, text):
    found = [one for one in sheet.findChildren(QPushButton) if one.isVisible() and text in one.text()]
    assert len(found) == 1
    return found[0]


# --- what is shown -----------------------------------------------------------------------


def test_the_sheet_says_it_all(sheet):
    said = " | ".join(words(sheet))
    for expected in (
        "13", "Split down the middle", "Wedge, included", "both flanks together", "176 kN",
        "Nose pocket near the heel", "It ends 6 mm inside the blade.", "crop 3 mm more",
        "a wedge can spring out",
    ):  # fmt: skip
        assert expected in said
    assert sheet.accessibleDescription() == "Split with a 45 deg wedge"


def test_values_stand_in_their_boxes(sheet):
    assert box(sheet, "nose_mm").text() == "4"
    assert (box(sheet, "bite_mm").text(), box(sheet, "bite_mm").placeholderText()) == ("", "as usual")
    assert box(sheet, "heats").text() == "2"
    assert box(sheet, "travel").currentText() == "down"
    assert box(sheet, "lay_over").isChecked()
    assert box(sheet, "id").text() == "split"


def test_inches_are_shown_and_only_lengths_change(sheet):
    sheet.set_units("in")
    assert box(sheet, "nose_mm").text() == '5/32"'
    assert box(sheet, "included_deg").text() == "45"
    sheet.set_units("mm")
    assert box(sheet, "nose_mm").text() == "4"


def test_what_stops_the_step_stands_above_the_values(qtbot, sheet):
    sheet.set_shown(replace(SPLIT, trouble="the block is 30 mm wide"))
    settle(qtbot)
    QApplication.processEvents()
    stop = next(one for one in sheet.findChildren(QLabel) if "30 mm wide" in one.text())
    inner = sheet.widget()
    top = stop.mapTo(inner, QPoint(0, 0)).y()
    assert top < box(sheet, "included_deg").mapTo(inner, QPoint(0, 0)).y()
    sheet.set_shown(SPLIT)
    settle(qtbot)
    assert not any("30 mm wide" in one for one in words(sheet))


def test_no_step_shows_nothing(qtbot, sheet):
    sheet.set_shown(None)
    assert sheet.key == ""
    assert words(sheet) == []
    sheet.set_shown(SPLIT)
    assert sheet.key == "split"
    qtbot.waitUntil(box(sheet, "nose_mm").isVisible)


def test_everything_that_takes_keys_has_a_name(sheet):
    for one in sheet.widget().findChildren(QWidget):
        if one.isVisible() and one.focusPolicy() & Qt.FocusPolicy.TabFocus:
            assert one.accessibleName().strip(), one
            assert one.height() >= 24 or isinstance(one, QCheckBox), one


# --- changing ----------------------------------------------------------------------------


def test_a_number_typed_is_told_exactly(qtbot, sheet):
    type_in(qtbot, sheet, "nose_mm", '1/8"')
    assert sheet.told == [("nose_mm", 3.175)]


def test_a_count_is_told_as_a_whole_number(qtbot, sheet):
    type_in(qtbot, sheet, "heats", "3")
    assert sheet.told == [("heats", 3)]
    assert isinstance(sheet.told[0][1], int)


def test_choices_switches_and_texts_are_told(qtbot, sheet):
    choice = box(sheet, "travel")
    choice.setCurrentIndex(1)
    choice.activated.emit(1)
    qtbot.mouseClick(box(sheet, "lay_over"), Qt.MouseButton.LeftButton, pos=QPoint(8, 12))
    type_in(qtbot, sheet, "id", "feather-split")
    assert sheet.told == [("travel", "up"), ("lay_over", False), ("id", "feather-split")]


def test_a_dot_marks_what_is_not_as_usual_and_puts_it_back(qtbot, sheet):
    buttons = sheet.findChildren(QToolButton)
    dots = [one for one in buttons if one.isVisible() and "back to" in one.accessibleName()]
    assert [one.accessibleName() for one in dots] == [
        "Nose radius: back to usual: 3 mm",
        "Heats: back to usual: 1",
    ]
    qtbot.mouseClick(dots[0], Qt.MouseButton.LeftButton)
    assert sheet.told == [("nose_mm", None)]
    sheet.set_shown(with_value(SPLIT, "nose_mm", 3.0))
    assert not dots[0].isVisible()


def test_stepping_is_told_while_it_lasts(qtbot, sheet):
    tried = []
    sheet.scrubbed.connect(lambda field, value: tried.append((field, value)))
    box(sheet, "heats").setFocus()
    qtbot.keyClick(box(sheet, "heats"), Qt.Key.Key_Up)
    assert tried == [("heats", 3)]
    assert sheet.told == []


def test_what_cannot_be_is_told_and_changes_nothing(qtbot, sheet):
    with qtbot.waitSignal(sheet.refused) as told:
        type_in(qtbot, sheet, "nose_mm", "31")
    assert "it must be at most 30 mm" in told.args[0]
    assert sheet.told == []
    assert box(sheet, "nose_mm").text() == "31"


def test_a_finding_is_accepted_and_taken_back(qtbot, sheet):
    with qtbot.waitSignal(sheet.accept_wanted) as told:
        qtbot.mouseClick(button(sheet, "accept"), Qt.MouseButton.LeftButton)
    assert told.args == ["nose-pocket", True]
    sheet.set_shown(replace(SPLIT, findings=(replace(POCKET, grade="note", accepted=True),)))
    settle(qtbot)
    with qtbot.waitSignal(sheet.accept_wanted) as told:
        qtbot.mouseClick(button(sheet, "Take back"), Qt.MouseButton.LeftButton)
    assert told.args == ["nose-pocket", False]


def test_help_is_asked_for_the_kind_of_step(qtbot, sheet):
    help_ = next(one for one in sheet.findChildren(QAbstractButton) if one.text() == "?")
    with qtbot.waitSignal(sheet.help_wanted) as told:
        qtbot.mouseClick(help_, Qt.MouseButton.LeftButton)
    assert told.args == ["split"]


def test_the_wheel_changes_no_value(qtbot, sheet):
    for field in ("nose_mm", "heats", "travel"):
        editor = box(sheet, field)
        editor.setFocus()
        before = editor.currentText() if isinstance(editor, QComboBox) else editor.text()
        turn = QWheelEvent(
            QPointF(5, 5), editor.mapToGlobal(QPointF(5, 5)), QPoint(0, 0), QPoint(0, -120),
            Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier,
            Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QApplication.sendEvent(editor, turn)
        assert not turn.isAccepted()
        assert (editor.currentText() if isinstance(editor, QComboBox) else editor.text()) == before
    assert sheet.told == []


# --- what the job does not take, and what is left out ---------------------------------------


def test_what_the_job_does_not_take_does_not_stay_on_the_sheet(qtbot, sheet):
    # Nothing is shown anew here, as when the job refuses a change.
    type_in(qtbot, sheet, "nose_mm", "12")
    type_in(qtbot, sheet, "id", "Not A Name")
    qtbot.mouseClick(box(sheet, "lay_over"), Qt.MouseButton.LeftButton, pos=QPoint(8, 12))
    choice = box(sheet, "travel")
    choice.setCurrentIndex(1)
    choice.activated.emit(1)
    assert [field for field, _ in sheet.told] == ["nose_mm", "id", "lay_over", "travel"]
    assert box(sheet, "nose_mm").text() == "4"
    assert box(sheet, "id").text() == "split"
    assert box(sheet, "lay_over").isChecked()
    assert choice.currentText() == "down"


def test_what_the_job_takes_stays_on_the_sheet(qtbot, sheet):
    sheet.changed.connect(lambda field, value: sheet.set_shown(with_value(sheet._sheet, field, value)))
    type_in(qtbot, sheet, "nose_mm", "12")
    type_in(qtbot, sheet, "id", "wedge")
    assert box(sheet, "nose_mm").text() == "12"
    assert box(sheet, "id").text() == "wedge"


@pytest.mark.parametrize("field", ["nose_mm", "heats"])
def test_an_emptied_box_goes_back_to_what_is_usual(qtbot, sheet, field):
    refused = []
    sheet.refused.connect(refused.append)
    type_in(qtbot, sheet, field, " ")
    assert sheet.told == [(field, None)]
    assert refused == []


def test_an_emptied_box_that_is_as_usual_already_shows_its_number_again(qtbot, sheet):
    type_in(qtbot, sheet, "included_deg", " ")
    assert box(sheet, "included_deg").text() == "45"


def test_what_the_job_must_have_cannot_be_emptied(qtbot, sheet):
    sheet.set_shown(replace(SPLIT, rows=(replace(NOSE, required=True, default=None),)))
    assert box(sheet, "nose_mm").placeholderText() == ""
    type_in(qtbot, sheet, "nose_mm", " ")
    assert sheet.told == []
    assert "nothing is written" in box(sheet, "nose_mm").trouble


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("points", [10, 20])
def test_the_words_of_an_empty_box_have_room_in_it(qtbot, qapp, units, points):
    use_font(qapp, points)
    sheet = StepSheet()
    qtbot.addWidget(sheet)
    sheet.set_units(units)
    long = replace(NOSE, field="long_mm", default=1234.567)
    sheet.set_shown(replace(SPLIT, rows=(WEDGE, NOSE, BITE, long)))
    for field in ("included_deg", "nose_mm", "bite_mm", "long_mm"):
        editor = box(sheet, field)
        assert editor.fontMetrics().horizontalAdvance(editor.placeholderText()) < editor.width()
    # A fraction of an inch has no room for the words beside it; the figure is what counts.
    shown = {"mm": "usual: 3", "in": '~1/8"'}
    assert box(sheet, "nose_mm").placeholderText() == shown[units]
    assert box(sheet, "bite_mm").placeholderText() == "as usual"


def test_the_usual_temperature_is_told_with_its_sign(qtbot, sheet):
    heat = replace(
        NOSE, field="temperature_c", label="Temperature", unit="degC", value=1200.0, default=1150.0
    )
    turn = replace(NOSE, field="turn_deg", label="Turned", unit="deg", value=2.0, default=0.5)
    sheet.set_shown(replace(SPLIT, rows=(heat, turn)))
    dots = [one.accessibleName() for one in sheet.findChildren(QToolButton)]
    assert "Temperature: back to usual: 1150 °C" in dots
    assert "Turned: back to usual: 0.5°" in dots
    assert "1150" in box(sheet, "temperature_c").placeholderText()


def test_what_a_value_left_out_comes_to_is_told(qtbot, sheet):
    sheet.set_shown(replace(SPLIT, rows=(replace(BITE, comes_to=21.5),)))
    assert box(sheet, "bite_mm").placeholderText() == "21.5"  # the unit stands beside it
    sheet.set_units("in")
    assert '27/32"' in box(sheet, "bite_mm").placeholderText()


def test_a_choice_may_be_left_out(qtbot, sheet):
    grind = replace(
        RUNS, field="grind.kind", value=None, default=None,
        choices=((None, "as usual"), ("flat", "flat bevels")),
    )  # fmt: skip
    sheet.set_shown(replace(SPLIT, rows=(grind,)))
    sheet.changed.connect(lambda field, value: sheet.set_shown(with_value(sheet._sheet, field, value)))
    choice = box(sheet, "grind.kind")
    assert choice.currentText() == "as usual"
    for index in (1, 0):
        choice.setCurrentIndex(index)
        choice.activated.emit(index)
    assert sheet.told == [("grind.kind", "flat"), ("grind.kind", None)]


def test_a_choice_that_is_not_offered_is_not_shown_as_another(sheet):
    sheet.set_shown(with_value(SPLIT, "travel", "sideways"))
    assert box(sheet, "travel").currentText() == ""
    assert box(sheet, "travel").value() is None


def test_esc_puts_a_text_back(qtbot, sheet):
    type_in(qtbot, sheet, "id", "wedge", end=Qt.Key.Key_Escape)
    assert box(sheet, "id").text() == "split"
    sheet.window_.below.setFocus()
    assert sheet.told == []


def test_leaving_takes_a_text(qtbot, sheet):
    type_in(qtbot, sheet, "id", " wedge ", end=None)
    sheet.window_.below.setFocus()
    assert sheet.told == [("id", "wedge")]


@pytest.mark.parametrize("field", ["nose_mm", "id"])
def test_undo_is_the_jobs_until_something_is_typed(qtbot, sheet, field):
    def is_kept(key):
        event = QKeyEvent(QEvent.Type.ShortcutOverride, key, Qt.KeyboardModifier.ControlModifier, "")
        event.ignore()
        QApplication.sendEvent(box(sheet, field), event)
        return event.isAccepted()

    box(sheet, field).setFocus()
    assert not is_kept(Qt.Key.Key_Z)
    assert not is_kept(Qt.Key.Key_Y)
    type_in(qtbot, sheet, field, "7", end=None)
    assert is_kept(Qt.Key.Key_Z)


def test_a_command_finds_a_text_taken(qtbot, sheet):
    type_in(qtbot, sheet, "id", "wedge", end=None)
    save = QKeyEvent(
        QEvent.Type.ShortcutOverride, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier, "\x13"
    )
    save.ignore()
    QApplication.sendEvent(box(sheet, "id"), save)
    assert sheet.told == [("id", "wedge")]


# --- how it is put in order ------------------------------------------------------------------


def tops(sheet, qtbot):
    settle(qtbot)
    QApplication.processEvents()
    return lambda one: one.mapTo(sheet.widget(), QPoint(0, 0)).y()


def test_the_caution_stands_between_title_and_values(qtbot, sheet):
    top = tops(sheet, qtbot)
    said = next(one for one in sheet.findChildren(QLabel) if "spring out" in one.text())
    title = next(one for one in sheet.findChildren(QLabel) if one.text() == SPLIT.title)
    assert top(title) < top(said) < top(box(sheet, "included_deg"))


def test_groups_have_a_heading_and_a_line_parts_what_follows(qtbot, sheet):
    rows = (
        replace(NOSE, field="outline.length_mm", label="Length"),
        replace(NOSE, field="place.turn_deg", label="Turned"),
        replace(NOSE, field="allowance_mm", label="Allowance"),
    )
    sheet.set_shown(replace(SPLIT, rows=rows, facts=()))
    top = tops(sheet, qtbot)
    heads = {one.text(): one for one in sheet.findChildren(QLabel) if one.text().isupper()}
    assert {"OUTLINE", "PLACE IN THE BAR"} <= heads.keys()
    lines = [
        one for one in sheet.findChildren(QFrame)
        if one.frameShape() == QFrame.Shape.HLine and one.isVisible()
    ]  # fmt: skip
    assert len(lines) == 1
    order = [
        heads["OUTLINE"], box(sheet, "outline.length_mm"), heads["PLACE IN THE BAR"],
        box(sheet, "place.turn_deg"), lines[0], box(sheet, "allowance_mm"),
    ]  # fmt: skip
    assert [top(one) for one in order] == sorted({top(one) for one in order})


def test_where_there_is_no_reason_there_is_no_hole(qtbot, sheet):
    sheet.set_shown(replace(SPLIT, rows=(NAME, replace(NAME, field="bar", reason=""))))
    tops(sheet, qtbot)
    assert sheet.row("bar").height() < sheet.row("id").height()


def test_the_dot_shows_where_the_keys_go(qtbot, sheet):
    dot = next(
        one for one in sheet.findChildren(QToolButton)
        if one.isVisible() and one.accessibleName().startswith("Nose radius")
    )  # fmt: skip
    before = dot.grab().toImage()
    dot.setFocus()
    after = dot.grab().toImage()
    middle = dot.height() // 2
    assert after.pixelColor(2, middle).name() == LIGHT.chosen_line.lower()
    assert before.pixelColor(2, middle).name() != LIGHT.chosen_line.lower()


# --- showing again -----------------------------------------------------------------------


def test_the_same_step_keeps_its_boxes_the_keys_and_what_is_typed(qtbot, sheet):
    type_in(qtbot, sheet, "nose_mm", "1", end=None)
    editor = box(sheet, "nose_mm")
    sheet.set_shown(with_value(with_value(SPLIT, "nose_mm", 5.0), "included_deg", 50.0))
    assert box(sheet, "nose_mm") is editor
    assert editor.hasFocus()
    assert editor.text() == "1"
    assert box(sheet, "included_deg").text() == "50"
    qtbot.keyClicks(editor, "2")
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    assert sheet.told == [("nose_mm", 12.0)]


def test_a_new_result_leaves_the_keys_on_a_finding(qtbot, sheet):
    accept = button(sheet, "accept")
    accept.setFocus()
    sheet.set_shown(replace(SPLIT, facts=(("Force", "180 kN"),)))
    settle(qtbot)
    assert button(sheet, "accept") is accept
    assert accept.hasFocus()
    assert "180 kN" in words(sheet)
    assert "176 kN" not in words(sheet)


def test_what_is_typed_is_never_taken_for_another_step(qtbot, sheet):
    # Both steps have a nose radius: a value given by a box that goes would land in the wrong one.
    type_in(qtbot, sheet, "nose_mm", "12", end=None)
    sheet.set_shown(OTHER)
    settle(qtbot)
    assert sheet.told == []
    assert box(sheet, "nose_mm").text() == "4"
    assert sheet.key == "split-again"


def test_what_was_typed_is_there_again_when_its_step_comes_back(qtbot, sheet):
    type_in(qtbot, sheet, "nose_mm", "12", end=None)
    type_in(qtbot, sheet, "id", "wedge", end=None)
    box(sheet, "nose_mm").setModified(True)
    sheet.set_shown(OTHER)
    assert box(sheet, "id").text() == "split"
    sheet.set_shown(SPLIT)
    assert box(sheet, "id").text() == "wedge"
    box(sheet, "id").setFocus()
    qtbot.keyClick(box(sheet, "id"), Qt.Key.Key_Return)
    assert ("id", "wedge") in sheet.told


def test_a_number_that_cannot_be_is_kept_while_another_step_is_looked_at(qtbot, sheet):
    type_in(qtbot, sheet, "nose_mm", "1,234.5", end=None)
    sheet.set_shown(OTHER)
    sheet.set_shown(SPLIT)
    editor = box(sheet, "nose_mm")
    assert editor.text() == "1,234.5"
    assert editor.is_typed
    editor.setFocus()
    qtbot.keyClick(editor, Qt.Key.Key_Escape)
    assert editor.text() == "4"
    sheet.set_shown(OTHER)
    sheet.set_shown(SPLIT)
    assert box(sheet, "nose_mm").text() == "4"


def test_no_box_of_the_next_step_gets_the_keys_by_itself(qtbot, sheet):
    box(sheet, "nose_mm").setFocus()
    sheet.set_shown(OTHER)
    settle(qtbot)
    qtbot.keyClicks(QApplication.focusWidget(), "9")
    assert not any(isinstance(QApplication.focusWidget(), kind) for kind in (QLineEdit, QComboBox))
    assert box(sheet, "nose_mm").text() == "4"


def test_a_changed_list_of_values_is_shown_anew(qtbot, sheet):
    sheet.set_shown(replace(SPLIT, rows=(WEDGE, NAME)))
    settle(qtbot)
    assert "Nose radius" not in words(sheet)
    with pytest.raises(KeyError):
        sheet.row("nose_mm")


# --- keys, letters, colours --------------------------------------------------------------


def walk(qtbot, sheet, start, count):
    """Return the names of what Tab leads to from a box."""
    start.setFocus()
    names = []
    for _ in range(count):
        qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        names.append(QApplication.focusWidget().accessibleName())
    return names


def test_tab_walks_down_the_sheet(qtbot, sheet):
    expected = [
        "Nose radius: back to usual: 3 mm", "Nose radius", "Bite", "Heats: back to usual: 1",
        "Heats", "Wedge runs", "Lay over first", "Name of the step",
        "I accept this: Nose pocket near the heel",
    ]  # fmt: skip
    assert walk(qtbot, sheet, box(sheet, "included_deg"), len(expected)) == expected


def test_tab_leads_out_below_the_sheet_though_its_boxes_are_new(qtbot, sheet):
    sheet.window_.below.setAccessibleName("below")
    sheet.set_shown(OTHER)
    settle(qtbot)
    names = walk(qtbot, sheet, box(sheet, "included_deg"), 4)
    assert names[-2:] == ["Name of the step", "below"]


def test_letters_of_another_size_fit_the_whole_sheet(qtbot, qapp, sheet):
    title = next(one for one in sheet.findChildren(QLabel) if one.text() == SPLIT.title)
    reason = next(one for one in sheet.findChildren(QLabel) if one.text() == NOSE.reason)
    before = title.font().pointSizeF(), reason.font().pointSizeF()
    type_in(qtbot, sheet, "nose_mm", "12", end=None)
    use_font(qapp, 20)
    use_theme(LIGHT, qapp)
    qtbot.waitUntil(lambda: title.font().pointSizeF() == pytest.approx(2 * before[0]))
    settle(qtbot)
    assert sheet.told == []
    reason = next(
        one for one in sheet.findChildren(QLabel) if one.text() == NOSE.reason and one.isVisible()
    )
    assert reason.font().pointSizeF() == pytest.approx(2 * before[1])
    assert box(sheet, "nose_mm").text() == "12"


@pytest.mark.parametrize("points", [9, 10, 20])
def test_nothing_is_wider_than_the_sheet(qtbot, qapp, points):
    use_font(qapp, points)
    sheet = StepSheet()
    qtbot.addWidget(sheet)
    sheet.resize(round(17.5 * em()), 700)
    sheet.set_shown(SPLIT)
    sheet.show()
    qtbot.waitExposed(sheet)
    room = sheet.viewport().width()
    assert sheet.widget().minimumSizeHint().width() <= room
    for one in sheet.widget().findChildren(QWidget):
        if one.isVisible() and one.window() is sheet:
            assert one.mapTo(sheet.widget(), QPoint(one.width(), 0)).x() <= room, one


def test_boxes_take_the_colours_of_the_ground(qtbot, qapp, sheet):
    number = box(sheet, "included_deg")
    for ground in (DARK, LIGHT):
        use_theme(ground, qapp)
        qtbot.wait(1)  # the window is dressed first
        assert number.grab().toImage().pixelColor(8, 8).name() == ground.box.lower()
    assert isinstance(number, NumberBox)
