import random
import time
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QMimeData, QPoint, QPointF, Qt
from PySide6.QtGui import QDragMoveEvent, QDropEvent, QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit

from app.card_rows import job_rows, numbered, plain_row, plain_rows, with_value
from patternsim_app.painting import array_of
from patternsim_app.shown import Token
from patternsim_app.theme import DARK, LIGHT, colour, em, use_theme
from patternsim_app.views.card_wishes import WISHES
from patternsim_app.views.job_card import JobCard

KEY, LEFT = Qt.Key, Qt.MouseButton.LeftButton
NONE, SHIFT, CTRL, ALT = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.AltModifier,
)


def shown(qtbot, rows, *, width=300, height=700):
    card = JobCard()
    qtbot.addWidget(card)
    card.resize(width, height)
    with qtbot.waitActive(card):
        card.show()
    card.set_rows(rows)
    card.setFocus()
    return card


@pytest.fixture
def card(qtbot):
    return shown(qtbot, job_rows())


@pytest.fixture
def plain(qtbot):
    return shown(qtbot, plain_rows("abcdef"))


def press(card, key, modifier=NONE):
    QTest.keyClick(card, key, modifier)


def row_rect(card, key):
    return card.visualRect(card.model().index(card.place_of(key), 0))


def number_place(card, key):
    rect = row_rect(card, key)
    number = card.hit(QPointF(rect.left() + 2, rect.bottom() - 2)).layout.number
    return number.center().toPoint() + QPoint(0, rect.top())


def value_place(card, key, token):
    return card.box_of(key, token).center().toPoint()


def click(card, place, modifier=NONE):
    QTest.mouseClick(card.viewport(), LEFT, modifier, place)


def typed(card, text):
    QTest.keyClicks(card.editor.widget, text)


def heard(signal):
    got = []
    signal.connect(lambda *args: got.append(args))
    return got


# --- looking ---------------------------------------------------------------------------------


def test_a_click_on_a_row_puts_the_bench_mark_there_and_changes_nothing(card):
    chosen, changed = heard(card.step_chosen), heard(card.value_changed)
    place = row_rect(card, "square").center()
    click(card, QPoint(card.viewport().width() - 10, place.y()))
    assert chosen == [("square",)]
    assert card.current == "square"
    assert not changed


def test_up_down_and_page_keys_move_the_bench_mark_by_one(card):
    card.set_current("corners")
    chosen = heard(card.step_chosen)
    for key in (KEY.Key_Down, KEY.Key_PageDown, KEY.Key_PageUp, KEY.Key_Up):
        press(card, key)
    assert chosen == [("square",), ("on-edge",), ("square",), ("corners",)]
    card.set_current("stack")
    press(card, KEY.Key_PageUp)
    assert card.current == "stack"


def test_setting_the_current_step_tells_nobody(card):
    chosen = heard(card.step_chosen)
    card.set_current("split")
    assert card.current == "split"
    assert card.chosen_keys() == ("split",)
    assert card.viewport().rect().intersects(row_rect(card, "split"))
    card.set_current("")
    assert card.current == ""
    assert not chosen


def test_shift_and_ctrl_choose_several_steps(plain):
    click(plain, number_place(plain, "b"))
    click(plain, number_place(plain, "d"), SHIFT)
    assert plain.chosen_keys() == ("b", "c", "d")
    click(plain, number_place(plain, "c"), CTRL)
    assert plain.chosen_keys() == ("b", "d")


def test_new_rows_keep_choice_bench_mark_and_place(card):
    rows = job_rows()
    card.set_current("draw-two")
    chosen = heard(card.step_chosen)
    card.verticalScrollBar().setValue(card.verticalScrollBar().value() + 40)
    before = row_rect(card, "draw-two").top()
    new = plain_row("new", bar="feather")
    card.set_rows(numbered((*rows[:2], new, *rows[2:])))
    assert card.current == "draw-two"
    assert card.chosen_keys() == ("draw-two",)
    assert row_rect(card, "draw-two").top() == before
    assert not chosen


def test_a_list_that_is_scrolled_away_from_the_bench_mark_stays_where_it_is(card):
    rows = job_rows()
    card.set_current("stack")
    card.verticalScrollBar().setValue(600)
    key = card.hit(QPointF(150, 5)).row.key
    before = row_rect(card, key).top()
    longer = replace(rows[0], state="refused", reason="long words " * 20)
    card.set_rows((longer, *rows[1:]))
    assert row_rect(card, key).top() == before


# --- asking ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "modifier", "signal", "args"),
    [
        (KEY.Key_Insert, NONE, "add_wanted", ("c",)),
        (KEY.Key_Delete, NONE, "remove_wanted", (("b", "c"),)),
        (KEY.Key_Space, NONE, "skip_wanted", (("b", "c"),)),
        (KEY.Key_Up, ALT, "nudge_wanted", (("b", "c"), -1)),
        (KEY.Key_Down, ALT, "nudge_wanted", (("b", "c"), 1)),
        (KEY.Key_C, CTRL, "copy_wanted", (("b", "c"),)),
        (KEY.Key_V, CTRL, "paste_wanted", ("c",)),
    ],
)
def test_keys_ask_for_what_the_chosen_steps_are_to_do(plain, key, modifier, signal, args):
    click(plain, number_place(plain, "b"))
    click(plain, number_place(plain, "c"), SHIFT)
    got = heard(getattr(plain, signal))
    press(plain, key, modifier)
    assert got == [args]
    assert plain.chosen_keys() == ("b", "c")


def test_the_menu_asks_for_the_same_in_words(plain, qtbot):
    plain.set_current("c")
    menu = plain.menu()
    actions = {action.text(): action for action in menu.actions() if action.text()}
    assert list(actions) == [
        "Change the first value",
        "Add a step below …",
        "Skip this step",
        "Move up",
        "Move down",
        "Copy",
        "Paste below",
        "Remove this step",
        "Fold the stage",
        "Unfold the stage",
        "Fold all stages",
        "Unfold all",
    ]
    assert all(not action.shortcut().isEmpty() for action in actions.values())
    got = heard(plain.nudge_wanted)
    actions["Move up"].trigger()
    assert got == [(("c",), -1)]
    menu.close()


def test_the_menu_offers_to_use_skipped_steps_again(qtbot):
    card = shown(qtbot, (plain_row("a", state="skipped"),))
    card.set_current("a")
    assert "Use this step again" in [action.text() for action in card.menu().actions()]


def test_without_steps_the_card_can_still_add_and_paste(qtbot):
    card = shown(qtbot, ())
    added, removed = heard(card.add_wanted), heard(card.remove_wanted)
    press(card, KEY.Key_Insert)
    press(card, KEY.Key_Delete)
    press(card, KEY.Key_F2)
    assert added == [("",)]
    assert not removed
    enabled = {action.text() for action in card.menu().actions() if action.isEnabled() and action.text()}
    assert enabled == {"Add a step below …", "Paste below"}


def test_the_line_under_the_rows_adds_at_the_end(card):
    got = heard(card.add_wanted)
    assert card.footer.accessibleName() == "Add a step"
    QTest.keyClick(card.footer, KEY.Key_Space)
    QTest.mouseClick(card.footer, LEFT)
    assert got == [("draw-blades",)] * 2


def test_the_line_under_the_rows_follows_a_short_list_and_stays_under_a_long_one(plain, card):
    last = row_rect(plain, "f").bottom() + plain.viewport().y()
    assert plain.footer.geometry().top() == last + 1
    assert card.footer.geometry().bottom() == card.rect().bottom()
    assert card.viewport().geometry().bottom() < card.footer.geometry().top()


def test_letters_are_left_to_the_window(plain):
    event = QKeyEvent(QEvent.Type.KeyPress, KEY.Key_T, NONE, "t")
    QApplication.sendEvent(plain, event)
    assert not event.isAccepted()
    assert not plain.editor.is_open


def test_its_own_keys_are_kept_from_the_window(plain):
    for wish in WISHES:
        pressed = wish.keys[0]
        event = QKeyEvent(QEvent.Type.ShortcutOverride, pressed.key(), pressed.keyboardModifiers())
        event.ignore()
        QApplication.sendEvent(plain, event)
        assert event.isAccepted(), wish.name


# --- rows that are no steps ------------------------------------------------------------------


@pytest.fixture
def with_blade(qtbot):
    blade = plain_row("blade:", title="Blade", heading="Blade", spoken="210 mm chef", number=0)
    shop = plain_row("shop:", bar="", title="Shop", heading="Shop", spoken="Shop: saw 2 mm", number=0)
    return shown(qtbot, (*plain_rows("abc"), blade, shop))


def test_blade_and_shop_can_be_looked_at_and_changed(with_blade):
    got, chosen = heard(with_blade.value_changed), heard(with_blade.step_chosen)
    with_blade.edit_value("blade:", 1)
    assert with_blade.editor.widget.accessibleName() == "Height, Blade"
    typed(with_blade, "25")
    QTest.keyClick(with_blade.editor.widget, KEY.Key_Return)
    assert got == [("blade:", "height_mm", 25.0)]
    assert chosen == [("blade:",)]
    assert with_blade.accessibleDescription() == "3 steps; Blade is on the bench"


def test_blade_and_shop_cannot_be_moved_skipped_or_removed(with_blade):
    signals = ("remove_wanted", "skip_wanted", "nudge_wanted", "copy_wanted")
    got = [heard(getattr(with_blade, name)) for name in signals]
    with_blade.set_current("shop:")
    for key, modifier in ((KEY.Key_Delete, NONE), (KEY.Key_Space, NONE), (KEY.Key_Up, ALT)):
        press(with_blade, key, modifier)
    assert got == [[], [], [], []]
    with_blade.selectAll()
    press(with_blade, KEY.Key_Delete)
    assert got[0] == [(("a", "b", "c"),)]
    enabled = {action.text() for action in with_blade.menu().actions() if action.isEnabled()}
    assert "Change the first value" in enabled


def test_steps_are_not_dropped_among_blade_and_shop(with_blade):
    got = heard(with_blade.move_wanted)
    landing = drop(with_blade, ["a"], row_rect(with_blade, "shop:").center())
    assert landing.y == row_rect(with_blade, "c").bottom() + 1
    assert got == [(("a",), "bar", 2)]


def test_no_step_is_added_below_the_blade(with_blade):
    got = heard(with_blade.add_wanted)
    QTest.mouseClick(with_blade.footer, LEFT)
    assert got == [("c",)]
    QTest.mouseMove(with_blade.viewport(), row_rect(with_blade, "shop:").bottomLeft() + QPoint(150, -2))
    assert with_blade.seam is None


def test_blade_and_shop_have_no_picture_and_more_room_for_words(with_blade):
    step = with_blade.hit(QPointF(row_rect(with_blade, "a").center())).layout
    blade = with_blade.hit(QPointF(row_rect(with_blade, "blade:").center())).layout
    assert blade.thumb.width() == 0
    assert step.thumb.width() > 24


# --- seams -----------------------------------------------------------------------------------


def test_the_plus_on_a_seam_adds_between_two_steps(plain):
    got = heard(plain.add_wanted)
    seam_y = row_rect(plain, "c").top()
    QTest.mouseMove(plain.viewport(), QPoint(200, seam_y + 2))
    assert plain.seam.lit
    assert not plain.seam.pressed_here
    place = QPoint(round(plain.seam.plus.x()), seam_y)
    QTest.mouseMove(plain.viewport(), place)
    assert plain.seam.pressed_here
    click(plain, place)
    assert got == [("b",)]


def test_the_seam_at_the_top_adds_before_the_first_step(plain):
    got = heard(plain.add_wanted)
    QTest.mouseMove(plain.viewport(), QPoint(200, 8))
    click(plain, QPoint(round(plain.seam.plus.x()), 2))
    assert got == [("",)]


def test_the_middle_of_a_row_lights_no_seam(plain):
    QTest.mouseMove(plain.viewport(), QPoint(5, row_rect(plain, "c").center().y()))
    assert not plain.seam.lit


def test_a_list_of_steps_can_open_right_under_a_step(plain):
    point = plain.viewport().mapFromGlobal(plain.place_below("c"))
    assert point.y() == row_rect(plain, "c").bottom() + 1
    assert plain.viewport().mapFromGlobal(plain.place_below("")).y() == 0


# --- values ----------------------------------------------------------------------------------


def test_a_click_on_a_value_opens_it_and_enter_takes_it(card):
    got = heard(card.value_changed)
    click(card, value_place(card, "corners", 1))
    assert card.editor.is_open
    assert card.current == "corners"
    typed(card, "17.5")
    QTest.keyClick(card.editor.widget, KEY.Key_Return)
    assert got == [("corners", "flat_mm", 17.5)]
    assert not card.editor.is_open
    assert card.hasFocus()


def test_a_count_is_told_as_a_whole_number(plain):
    got = heard(plain.value_changed)
    plain.edit_value("b", 3)
    typed(plain, "4")
    QTest.keyClick(plain.editor.widget, KEY.Key_Return)
    assert got == [("b", "heats", 4)]
    assert isinstance(got[0][2], int)


def test_an_entry_in_inches_is_told_in_millimetres(plain):
    plain.set_units("in")
    got = heard(plain.value_changed)
    plain.edit_value("b", 1)
    typed(plain, '1 1/8"')
    QTest.keyClick(plain.editor.widget, KEY.Key_Return)
    assert got == [("b", "height_mm", 28.575)]  # 1 1/8 x 25.4, exact by definition of the inch


def test_esc_leaves_a_value_unchanged(plain):
    got = heard(plain.value_changed)
    plain.edit_value("b", 1)
    typed(plain, "33")
    QTest.keyClick(plain.editor.widget, KEY.Key_Escape)
    assert not got
    assert not plain.editor.is_open
    assert plain.hasFocus()


def test_enter_without_a_change_tells_nothing(plain):
    got = heard(plain.value_changed)
    plain.edit_value("b", 1)
    QTest.keyClick(plain.editor.widget, KEY.Key_Return)
    assert not got
    assert not plain.editor.is_open


@pytest.mark.parametrize("key", [KEY.Key_F2, KEY.Key_Return, KEY.Key_Enter])
def test_f2_or_enter_opens_the_first_value_of_the_step(plain, key):
    plain.set_current("d")
    press(plain, key)
    assert plain.editor.target == ("d", "height_mm")


def test_tab_takes_a_value_and_goes_to_the_next_then_to_the_next_step(plain):
    got, chosen = heard(plain.value_changed), heard(plain.step_chosen)
    plain.edit_value("b", 1)
    typed(plain, "31")
    QTest.keyClick(plain.editor.widget, KEY.Key_Tab)
    assert got == [("b", "height_mm", 31.0)]
    assert plain.editor.target == ("b", "heats")
    QTest.keyClick(plain.editor.widget, KEY.Key_Tab)
    assert plain.editor.target == ("c", "height_mm")
    assert chosen == [("b",), ("c",)]
    QTest.keyClick(plain.editor.widget, KEY.Key_Backtab, SHIFT)
    assert plain.editor.target == ("b", "heats")
    assert len(got) == 1


def test_tab_passes_over_steps_without_values_and_ends_after_the_last(qtbot):
    words = replace(plain_row("w"), tokens=(Token(text="Stack all pieces tall"),))
    card = shown(qtbot, numbered((plain_row("a"), words, plain_row("z"))))
    card.edit_value("a", 3)
    QTest.keyClick(card.editor.widget, KEY.Key_Tab)
    assert card.editor.target == ("z", "height_mm")
    QTest.keyClick(card.editor.widget, KEY.Key_Tab)
    QTest.keyClick(card.editor.widget, KEY.Key_Tab)
    assert not card.editor.is_open
    assert card.hasFocus()


def test_tab_goes_on_when_the_taken_value_brings_new_rows(plain):
    def work_out(key, field, value):
        rows = [with_value(row, field, value) if row.key == key else row for row in plain.rows]
        plain.set_rows(numbered([plain_row("new"), *rows]))

    plain.value_changed.connect(work_out)
    plain.edit_value("b", 1)
    typed(plain, "31")
    QTest.keyClick(plain.editor.widget, KEY.Key_Tab)
    assert plain.editor.target == ("b", "heats")
    assert plain.editor.widget.accessibleName() == "Heats, step 3"


def test_what_cannot_be_read_stays_open_and_says_why(plain):
    got, refused = heard(plain.value_changed), heard(plain.refused)
    plain.edit_value("b", 1)
    typed(plain, "thick")
    QTest.keyClick(plain.editor.widget, KEY.Key_Return)
    assert plain.editor.is_open
    assert plain.editor.widget.text() == "thick"
    assert len(refused) == 1
    assert not plain.edit_value("c", 1)
    assert plain.editor.target == ("b", "height_mm")
    click(plain, number_place(plain, "e"))
    assert plain.editor.widget.text() == "thick"
    assert len(refused) == 1
    assert not got
    plain.editor.drop()


def test_going_elsewhere_takes_the_entry(plain, qtbot):
    got = heard(plain.value_changed)
    plain.edit_value("b", 1)
    typed(plain, "44")
    plain.footer.setFocus()
    qtbot.waitUntil(lambda: not plain.editor.is_open)
    assert got == [("b", "height_mm", 44.0)]
    assert plain.footer.hasFocus()


def test_a_value_stepped_by_keys_is_put_back_by_esc(plain):
    changed, moved = heard(plain.value_changed), heard(plain.value_scrubbed)
    plain.edit_value("b", 1)
    QTest.keyClick(plain.editor.widget, KEY.Key_Up)
    QTest.keyClick(plain.editor.widget, KEY.Key_Up)
    assert [args[2] for args in moved] == [21.0, 22.0]
    QTest.keyClick(plain.editor.widget, KEY.Key_Escape)
    assert moved[-1] == ("b", "height_mm", 20.0)
    assert not changed
    assert not plain.editor.is_open


def test_a_value_stepped_by_keys_is_taken_by_enter(plain):
    changed = heard(plain.value_changed)
    plain.edit_value("b", 1)
    QTest.keyClick(plain.editor.widget, KEY.Key_Down)
    QTest.keyClick(plain.editor.widget, KEY.Key_Return)
    assert changed == [("b", "height_mm", 19.0)]
    assert not plain.editor.is_open


def test_dragging_and_stepping_by_keys_go_the_same_way(qtbot):
    for value in (1.5, 5.0, 50.0):
        for units in ("mm", "in"):
            card = shown(qtbot, (plain_row("a", value=value),))
            card.set_units(units)
            moved = heard(card.value_scrubbed)
            start = value_place(card, "a", 1)
            drag_to(card, start, start + QPoint(8, 0))
            press(card, KEY.Key_Escape)
            QTest.mouseRelease(card.viewport(), LEFT, NONE, start)
            card.edit_value("a", 1)
            QTest.keyClick(card.editor.widget, KEY.Key_Up)
            QTest.keyClick(card.editor.widget, KEY.Key_Up)
            dragged, back, _once, twice = (args[2] for args in moved)
            assert dragged == pytest.approx(twice, abs=1e-6)
            assert back == value
            card.editor.drop()


def test_typing_goes_on_while_rows_change_around_it(plain):
    plain.edit_value("d", 1)
    typed(plain, "12")
    widget = plain.editor.widget
    rows = [with_value(row, "height_mm", 55.0) for row in plain_rows("dcxyf")]
    plain.set_rows(numbered(rows))
    assert plain.editor.widget is widget
    assert widget.text() == "12"
    assert widget.accessibleName() == "Height, step 1"
    box = plain.box_of("d", 1)
    assert abs(widget.geometry().center().y() - box.center().y()) <= 1
    got = heard(plain.value_changed)
    QTest.keyClick(widget, KEY.Key_Return)
    assert got == [("d", "height_mm", 12.0)]


def test_an_open_value_that_nobody_typed_in_shows_the_new_one(plain):
    plain.edit_value("d", 1)
    plain.set_rows(tuple(with_value(row, "height_mm", 55.0) for row in plain.rows))
    assert plain.editor.widget.text().startswith("55")
    plain.editor.drop()


@pytest.mark.parametrize("rows", [plain_rows("abcef"), plain_rows("abcdef", field="width_mm")])
def test_an_open_value_closes_when_its_step_or_field_is_gone(plain, rows):
    got = heard(plain.value_changed)
    plain.edit_value("d", 1)
    typed(plain, "12")
    plain.set_rows(rows)
    assert not plain.editor.is_open
    assert not got


def test_an_open_value_goes_along_when_the_card_scrolls(card):
    card.edit_value("corners", 1)
    before = card.editor.widget.y()
    card.verticalScrollBar().setValue(card.verticalScrollBar().value() + 30)
    assert card.editor.widget.y() == before - 30
    card.editor.drop()


def test_a_choice_opens_at_once_and_tells_its_value(card, qtbot):
    got = heard(card.value_changed)
    card.edit_value("nick", 1)
    qtbot.wait(30)  # it stays open once the keyboard has arrived in the list
    box = card.editor.widget
    assert isinstance(box, QComboBox)
    assert box.view().isVisible()
    assert box.currentData() == "high-edge"
    QTest.keyClick(box.view(), KEY.Key_Up)
    QTest.keyClick(box.view(), KEY.Key_Return)
    assert len(got) == 1
    assert got[0][:2] == ("nick", "face")
    assert got[0][2] in [box.itemData(at) for at in range(box.count())]
    assert got[0][2] != "high-edge"
    assert not card.editor.is_open
    assert card.hasFocus()


def test_esc_in_an_open_list_leaves_the_choice(card, qtbot):
    got = heard(card.value_changed)
    card.edit_value("nick", 1)
    QTest.keyClick(card.editor.widget.view(), KEY.Key_Down)
    QTest.keyClick(card.editor.widget.view(), KEY.Key_Escape)
    qtbot.waitUntil(lambda: not card.editor.is_open)
    assert not got


def test_tab_in_an_open_list_takes_the_marked_line_and_goes_on(card):
    got = heard(card.value_changed)
    card.edit_value("nick", 1)
    view = card.editor.widget.view()
    view.setCurrentIndex(view.model().index(0, 0))
    wanted = card.editor.widget.itemData(0)
    QTest.keyClick(view, KEY.Key_Tab)
    assert got == [("nick", "face", wanted)]
    assert card.editor.target == ("nick", "along_mm")
    card.editor.drop()


def test_a_text_is_typed_in_its_place(card):
    got = heard(card.value_changed)
    card.edit_value("stack", 3)
    assert isinstance(card.editor.widget, QLineEdit)
    typed(card, "1095")
    QTest.keyClick(card.editor.widget, KEY.Key_Return)
    assert got == [("stack", "strips.0.steel", "1095")]


@pytest.mark.parametrize(("key", "token"), [("corners", 1), ("nick", 1)])
def test_an_open_value_leaves_the_wheel_to_the_card(card, key, token):
    got = heard(card.value_changed)
    card.edit_value(key, token)
    widget = card.editor.widget
    text = widget.currentText if isinstance(widget, QComboBox) else widget.text
    before = text()
    spot, none = QPointF(5, 5), Qt.MouseButton.NoButton
    phase = Qt.ScrollPhase.NoScrollPhase
    wheel = QWheelEvent(spot, spot, QPoint(), QPoint(0, -120), none, NONE, phase, False)
    widget.wheelEvent(wheel)
    assert not wheel.isAccepted()
    assert text() == before
    card.editor.drop()
    assert not got


# --- dragging values -------------------------------------------------------------------------


def drag_to(card, start, *stops, modifier=NONE):
    QTest.mousePress(card.viewport(), LEFT, modifier, start)
    for stop in stops:
        _mouse(card, QEvent.Type.MouseMove, stop, modifier)


def _mouse(card, kind, place, modifier):
    spot = QPointF(place)
    event = QMouseEvent(
        kind, spot, QPointF(card.viewport().mapToGlobal(place)), Qt.MouseButton.NoButton, LEFT, modifier
    )
    QApplication.sendEvent(card.viewport(), event)


def test_dragging_a_value_sideways_changes_it_step_by_step(plain):
    changed, moved = heard(plain.value_changed), heard(plain.value_scrubbed)
    start = value_place(plain, "b", 1)
    drag_to(plain, start, *(start + QPoint(by, 0) for by in (4, 8, 12, 20)))
    assert [args[:2] for args in moved] == [("b", "height_mm")] * 3
    values = [args[2] for args in moved]
    assert values == sorted(values)
    assert values[0] > 20.0
    assert not changed
    assert not plain.editor.is_open
    QTest.mouseRelease(plain.viewport(), LEFT, NONE, start + QPoint(20, 0))
    assert changed == [("b", "height_mm", values[-1])]
    assert not plain.editor.is_open


def test_a_drag_to_the_left_stops_at_the_limit(plain):
    moved = heard(plain.value_scrubbed)
    start = value_place(plain, "b", 1)
    drag_to(plain, start, start - QPoint(3000, 0))
    assert moved[-1] == ("b", "height_mm", 1.0)
    QTest.mouseRelease(plain.viewport(), LEFT, NONE, start - QPoint(3000, 0))


def test_shift_drags_ten_times_as_far_and_ctrl_a_tenth(plain):
    moved = heard(plain.value_scrubbed)
    start = value_place(plain, "b", 1)
    drag_to(plain, start, start + QPoint(8, 0))
    _mouse(plain, QEvent.Type.MouseMove, start + QPoint(8, 0), SHIFT)
    _mouse(plain, QEvent.Type.MouseMove, start + QPoint(8, 0), CTRL)
    plainly, fast, slow = (args[2] - 20.0 for args in moved)
    assert fast == pytest.approx(10 * plainly)
    assert slow == pytest.approx(plainly / 10)
    press(plain, KEY.Key_Escape)
    QTest.mouseRelease(plain.viewport(), LEFT, NONE, start)


def test_a_count_is_dragged_in_whole_numbers(plain):
    moved = heard(plain.value_scrubbed)
    start = value_place(plain, "b", 3)
    drag_to(plain, start, start + QPoint(9, 0), start + QPoint(13, 0))
    assert [args[2] for args in moved] == [4, 5]
    press(plain, KEY.Key_Escape)
    QTest.mouseRelease(plain.viewport(), LEFT, NONE, start)


def test_esc_during_a_drag_puts_the_value_back(plain):
    changed, moved = heard(plain.value_changed), heard(plain.value_scrubbed)
    start = value_place(plain, "b", 1)
    drag_to(plain, start, start + QPoint(30, 0))
    press(plain, KEY.Key_Escape)
    assert moved[-1] == ("b", "height_mm", 20.0)
    _mouse(plain, QEvent.Type.MouseMove, start + QPoint(60, 0), NONE)
    QTest.mouseRelease(plain.viewport(), LEFT, NONE, start + QPoint(60, 0))
    assert len(moved) == 2
    assert not changed
    assert not plain.editor.is_open


def test_a_dragged_value_is_shown_whatever_rows_come_meanwhile(plain):
    start = value_place(plain, "b", 1)
    wide = plain.box_of("b", 1).width()
    drag_to(plain, start, start + QPoint(3000, 0))
    assert plain.box_of("b", 1).width() > wide  # 100 is wider than 20
    plain.set_rows(plain_rows("abcdef", state="worked"))
    assert plain.box_of("b", 1).width() > wide
    press(plain, KEY.Key_Escape)
    assert plain.box_of("b", 1).width() == wide
    QTest.mouseRelease(plain.viewport(), LEFT, NONE, start)


def test_a_step_that_goes_while_its_value_is_dragged_ends_the_drag(plain):
    changed, moved = heard(plain.value_changed), heard(plain.value_scrubbed)
    start = value_place(plain, "b", 1)
    drag_to(plain, start, start + QPoint(20, 0))
    plain.set_rows(plain_rows("acdef"))
    count = len(moved)
    _mouse(plain, QEvent.Type.MouseMove, start + QPoint(60, 0), NONE)
    QTest.mouseRelease(plain.viewport(), LEFT, NONE, start + QPoint(60, 0))
    assert len(moved) == count
    assert not changed


# --- dragging steps --------------------------------------------------------------------------


def drop(card, keys, place, *, source=None):
    """Drag steps over the card and let go; return the landing shown on the way."""
    data = card.model().mimeData([card.model().index(card.place_of(key), 0) for key in keys])
    return _drop_data(card, data, place, source=source)


def _drop_data(card, data, place, *, source):
    spot = QPointF(place)
    actions = Qt.DropAction.MoveAction
    move = QDragMoveEvent(place, actions, data, LEFT, NONE)
    end = QDropEvent(spot, actions, data, LEFT, NONE)
    for event in (move, end):
        event.source = lambda: card if source is None else source
    card.dragMoveEvent(move)
    landing = card.landing
    card.dropEvent(end)
    assert card.landing is None
    return landing


def test_steps_dropped_below_a_row_ask_for_the_move(plain):
    got = heard(plain.move_wanted)
    rect = row_rect(plain, "e")
    landing = drop(plain, ["b"], QPoint(50, rect.bottom() - 3))
    assert landing.y == rect.bottom() + 1
    assert got == [(("b",), "bar", 4)]  # a c d e, then b
    assert [row.key for row in plain.rows] == list("abcdef")


def test_the_index_is_counted_without_the_moved_steps(plain):
    got = heard(plain.move_wanted)
    drop(plain, ["b", "e"], QPoint(50, row_rect(plain, "d").top() + 3))
    assert got == [(("b", "e"), "bar", 2)]  # a c, then b e


def test_a_drop_where_the_step_already_is_asks_for_nothing(plain):
    got = heard(plain.move_wanted)
    drop(plain, ["b"], QPoint(50, row_rect(plain, "a").bottom() - 3))
    drop(plain, ["b"], QPoint(50, row_rect(plain, "b").center().y()))
    drop(plain, ["b"], QPoint(50, row_rect(plain, "c").top() + 3))
    assert not got


def test_a_drop_into_another_bar_names_it(qtbot):
    rows = (*plain_rows("abc", bar="one"), *plain_rows("xyz", bar="two"))
    card = shown(qtbot, numbered(rows))
    got = heard(card.move_wanted)
    drop(card, ["a"], QPoint(50, row_rect(card, "x").top() + 3))
    drop(card, ["y"], QPoint(50, row_rect(card, "c").bottom() - 3))
    assert got == [(("a",), "two", 0), (("y",), "one", 3)]


def test_below_the_last_row_is_the_end(plain):
    got = heard(plain.move_wanted)
    drop(plain, ["a"], QPoint(50, plain.viewport().height() - 2))
    assert got == [(("a",), "bar", 5)]


def test_what_comes_from_elsewhere_is_not_let_in(plain):
    got = heard(plain.move_wanted)
    data = QMimeData()
    data.setText("a")
    _drop_data(plain, data, QPoint(50, row_rect(plain, "e").bottom() - 3), source=None)
    other = JobCard()
    drop(plain, ["a"], QPoint(50, row_rect(plain, "e").bottom() - 3), source=other)
    other.deleteLater()
    assert not got


def test_only_the_number_takes_hold_of_steps(plain, monkeypatch):
    taken = []
    monkeypatch.setattr(JobCard, "startDrag", lambda card, actions: taken.append(card.chosen_keys()))
    middle = QPoint(plain.viewport().width() - 20, row_rect(plain, "b").center().y())
    drag_to(plain, middle, middle + QPoint(0, 60))
    QTest.mouseRelease(plain.viewport(), LEFT, NONE, middle)
    assert not taken
    assert plain.chosen_keys() == ("b",)
    click(plain, number_place(plain, "b"))
    click(plain, number_place(plain, "d"), SHIFT)
    start = number_place(plain, "c")
    drag_to(plain, start, start + QPoint(0, 60))
    QTest.mouseRelease(plain.viewport(), LEFT, NONE, start)
    assert taken == [("b", "c", "d")]


# --- looks -----------------------------------------------------------------------------------


def pixels(card):
    return array_of(card.viewport().grab().toImage())[..., :3].astype(int)


def has_colour(pixels, name, least=20):
    wanted = np.array(colour(name).getRgb()[:3])
    return (np.abs(pixels - wanted).max(axis=2) <= 2).sum() >= least


@pytest.mark.parametrize("theme", [LIGHT, DARK])
def test_the_bench_mark_is_a_bar_on_its_own_ground(card, qapp, theme):
    use_theme(theme, qapp)
    card.set_current("corners")
    rect = row_rect(card, "corners")
    seen = pixels(card)
    bar = seen[rect.center().y(), 1]
    assert np.abs(bar - colour(theme.chosen_line).getRgb()[:3]).max() <= 2
    assert np.abs(seen[rect.center().y(), 8] - colour(theme.chosen).getRgb()[:3]).max() <= 2
    assert has_colour(seen, theme.ink)


def test_each_state_of_a_row_looks_different(qtbot):
    pictures = {}
    for state in ("waiting", "refused", "unworked", "skipped"):
        reason = "too thin" if state == "refused" else ""
        card = shown(qtbot, (plain_row("a", state=state, reason=reason),))
        pictures[state] = pixels(card)
        card.close()
    names = list(pictures)
    for at, one in enumerate(names):
        for other in names[at + 1 :]:
            assert (pictures[one] != pictures[other]).any(axis=2).sum() > 100, (one, other)


def test_a_finding_has_a_sign_and_a_fine_step_has_none(qtbot):
    seen = {}
    for grade in ("fine", "watch", "stop"):
        card = shown(qtbot, (plain_row("a", state="worked", grade=grade),))
        seen[grade] = has_colour(pixels(card), LIGHT.grade(grade))
        card.close()
    assert seen == {"fine": False, "watch": True, "stop": True}


@pytest.mark.parametrize("width", [240, 300, 420])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_nothing_overlaps_and_nothing_is_cut_off(qtbot, width, units):
    card = shown(qtbot, job_rows(), width=width)
    card.set_units(units)
    _check_layouts(card)


def test_nothing_overlaps_in_large_letters(large_text, qtbot):
    card = shown(qtbot, job_rows(), width=420)
    _check_layouts(card)
    assert card.hit(QPointF(200, 60)).layout.pitch >= em(card)


def _check_layouts(card):
    for row in card.rows:
        index = card.model().index(card.place_of(row.key), 0)
        card.scrollTo(index)
        rect = card.visualRect(index)
        layout = card.hit(QPointF(rect.left() + 2, rect.bottom() - 1)).layout
        assert rect.height() >= 24
        right = layout.sign.left() if layout.sign else layout.thumb.left()
        for run in layout.runs:
            assert run.place.right() <= right + 0.5, (row.key, run.lines)
            assert layout.body.contains(run.place)
            if run.token >= 0:
                target = layout.target(run)
                assert target.height() >= 24
                assert target.width() >= 24
        places = [run.place for run in layout.runs]
        for at, one in enumerate(places):
            for other in places[at + 1 :]:
                shared = one.intersected(other)
                assert shared.width() < 0.5 or shared.height() < 0.5, row.key
        values = {run.token for run in layout.runs if run.token >= 0}
        assert values == {at for at, token in enumerate(row.tokens) if token.kind != "words"}


def test_inches_and_millimetres_are_written_as_set(card):
    def words(key):
        rect = row_rect(card, key)
        layout = card.hit(QPointF(2, rect.bottom() - 1)).layout
        return " ".join(line for run in layout.runs for line in run.lines)

    assert words("corners") == "Crush corners to flats of 16 , 2 heats"
    card.set_units("in")
    assert words("corners").count('"') == 1
    card.set_units("mm")
    assert words("corners") == "Crush corners to flats of 16 , 2 heats"


def test_a_long_text_is_broken_into_lines_inside_its_box(qtbot):
    look = "cold edges and ends; tap it; grind an open line to clean metal before the next squeeze"
    row = replace(
        plain_row("a"), tokens=(Token(text="Check "), Token(field="look", value=look, kind="text"))
    )
    card = shown(qtbot, (row,))
    layout = card.hit(QPointF(2, 20)).layout
    box = next(run for run in layout.runs if run.token == 1)
    assert " ".join(box.lines) == look
    assert len(box.lines) > 1
    assert layout.body.contains(box.place)


def test_a_theme_change_repaints_in_its_colours(card, qapp):
    assert has_colour(pixels(card), LIGHT.box, 200)
    use_theme(DARK, qapp)
    assert has_colour(pixels(card), DARK.box, 200)


def test_screen_readers_hear_the_card_its_rows_and_its_values(card):
    card.set_current("split")
    assert card.accessibleName() == "Job card"
    assert card.accessibleDescription() == f"{len(job_rows())} steps; step 26 is on the bench"
    assert (
        card.model().index(25, 0).data(Qt.ItemDataRole.AccessibleTextRole).startswith("step 26: Split")
    )
    card.edit_value("split", 1)
    assert card.editor.widget.accessibleName().endswith(", step 26")
    card.editor.drop()
    card.set_rows(())
    assert card.accessibleDescription() == "no steps yet"


def test_the_ring_is_shown_for_the_keyboard_and_not_for_the_mouse(plain):
    click(plain, number_place(plain, "b"))
    mouse = pixels(plain)
    press(plain, KEY.Key_Down)
    press(plain, KEY.Key_Up)
    rect = row_rect(plain, "b")
    changed = (pixels(plain) != mouse).any(axis=2)
    assert changed[rect.top() + 1, 60:-20].all()


# --- speed -----------------------------------------------------------------------------------


def test_two_hundred_rows_scroll_without_stutter(qtbot):
    """A frame of a sixtieth of a second, for the painting alone, with room for a slow machine."""
    one = job_rows()
    rows = numbered(replace(row, key=f"{row.key}-{turn}") for turn in range(7) for row in one)[:200]
    card = shown(qtbot, rows)
    bar = card.verticalScrollBar()
    card.grab()
    chance = random.Random(1)
    spent = []
    for _ in range(40):
        bar.setValue(bar.value() + chance.randrange(20, 90))
        began = time.perf_counter()
        card.viewport().grab()
        spent.append(time.perf_counter() - began)
    assert sorted(spent)[len(spent) // 2] < 3 / 60
