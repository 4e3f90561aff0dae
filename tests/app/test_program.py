"""The whole window in use: real mouse, real keys, real threads."""

import threading
from functools import partial

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog

from app import program_kit
from patternsim import cli
from patternsim.job import starting_job
from patternsim_app.controllers.bench_mark import BLADE

START = starting_job("feather-from-w")


@pytest.fixture
def program(qapp, tmp_path):
    made = program_kit.made(tmp_path / "own")
    yield made
    program_kit.closed(made)


def text(program):
    return program.desk.session.document.text


def box_on_card(program, key, field):
    card = program.window.card
    row = next(row for row in card.rows if row.key == key)
    token = next(k for k, one in enumerate(row.tokens) if one.field == field)
    program.desk.mark.move(key)
    card.scrollTo(card.model().index(card.place_of(key), 0))
    QApplication.processEvents()
    return card.box_of(key, token)


def type_on_card(program, key, field, words):
    place = box_on_card(program, key, field).center().toPoint()
    QTest.mouseClick(program.window.card.viewport(), Qt.MouseButton.LeftButton, pos=place)
    editor = program.window.card.editor.widget
    assert editor is not None
    QTest.keyClicks(editor, words)
    QTest.keyClick(editor, Qt.Key.Key_Return)
    program_kit.rest(program)


def drag(program, by):
    face = program.window.bench.face
    start = face.frame.point(200.0, 0.0)
    QTest.mousePress(face, Qt.MouseButton.LeftButton, pos=start.toPoint())
    for share in (0.4, 0.8, 1.0):
        QTest.mouseMove(face, (start + QPointF(*by) * share).toPoint())
        QTest.qWait(20)
    QTest.mouseRelease(face, Qt.MouseButton.LeftButton, pos=(start + QPointF(*by)).toPoint())
    program_kit.rest(program)


def tile(program, key):
    return next(one for one in program.desk.answers.tiles if one.key == key)


def press(program, key, modifiers=Qt.KeyboardModifier.NoModifier):
    QTest.keyClick(program.window.bench.face, key, modifiers)
    program_kit.rest(program)


# --- numbers -----------------------------------------------------------------------------


@pytest.mark.parametrize(("words", "mm"), [('1 1/8"', 28.575), ("28,6", 28.6)])
def test_a_thickness_is_typed_on_the_card(program, words, mm):
    type_on_card(program, "stack", "strips.0.thickness_mm", words)
    stack = program.desk.session.document.job.bar[0].step[0]
    assert stack.strips[0].thickness_mm == mm
    assert "28" in program.desk.session.undo_stack.undoText()
    program.desk.session.undo_stack.undo()
    assert text(program) == START


def test_bad_text_is_told_and_nothing_is_lost(program):
    place = box_on_card(program, "stack", "strips.0.thickness_mm").center().toPoint()
    card = program.window.card
    QTest.mouseClick(card.viewport(), Qt.MouseButton.LeftButton, pos=place)
    QTest.keyClicks(card.editor.widget, "1,234.5")
    QTest.keyClick(card.editor.widget, Qt.Key.Key_Return)
    QApplication.processEvents()
    assert program.window.message.isVisible()
    assert card.editor.is_open
    assert text(program) == START
    QTest.keyClick(card.editor.widget, Qt.Key.Key_Escape)
    assert not card.editor.is_open


def test_keys_type_while_a_value_is_open(program):
    place = box_on_card(program, "stack", "strips.0.steel").center().toPoint()
    card = program.window.card
    QTest.mouseClick(card.viewport(), Qt.MouseButton.LeftButton, pos=place)
    QTest.keyClicks(card.editor.widget, "utof12")
    assert card.editor.widget.text() == "utof12"
    assert program.desk.looks.settings.units == "mm"
    QTest.keyClick(card.editor.widget, Qt.Key.Key_Escape)
    assert text(program) == START


def test_a_number_that_is_tried_and_put_back_leaves_no_trace(program):
    desk = program.desk
    desk.card.try_value("on-edge", "height_mm", 30.0)
    QTest.qWait(120)
    assert desk.working.dragging
    desk.card.try_value("on-edge", "height_mm", 26.0)
    program_kit.rest(program)
    assert not desk.working.dragging
    assert text(program) == START
    assert desk.session.undo_stack.count() == 0
    assert desk.working.done.worked.result.job == desk.session.document.job


# --- the outline -------------------------------------------------------------------------


def test_the_outline_is_dragged_and_put_on_the_line(program):
    drag(program, (0.0, -9.0))
    stack = program.desk.session.undo_stack
    assert stack.undoText() == "Move the outline"
    assert stack.count() == 1
    assert program.desk.session.document.job.blade.place.tip == "by-numbers"
    assert tile(program, "tip").grade in ("watch", "stop")
    press(program, Qt.Key.Key_T)
    assert program.desk.session.document.job.blade.place.tip == "on-line"
    assert tile(program, "tip").grade == "fine"
    stack.undo()
    stack.undo()
    program_kit.rest(program)
    assert text(program) == START


def test_pushes_that_follow_one_another_are_one_entry(program):
    for _ in range(4):
        QTest.keyClick(program.window.bench.face, Qt.Key.Key_Up)
    program_kit.rest(program)
    # The outline lay on the line, which the flow leaves a few hundredths off the middle.
    assert program.desk.session.document.job.blade.place.off_middle_mm == pytest.approx(2.0, abs=0.05)
    assert program.desk.session.undo_stack.count() == 1


def test_end_for_end_turns_the_barbs(program):
    assert program.desk.working.answers.barbs.towards == "tip"
    press(program, Qt.Key.Key_F)
    assert program.desk.session.document.job.blade.place.tip_end == "near"
    assert program.desk.working.answers.barbs.towards == "handle"
    assert tile(program, "barbs").grade == "watch"


# --- looking back ------------------------------------------------------------------------


def test_looking_never_edits(program):
    desk = program.desk
    for row in program.window.card.rows:
        desk.mark.move(row.key)
        QApplication.processEvents()
    for key in (Qt.Key.Key_3, Qt.Key.Key_PageUp, Qt.Key.Key_PageUp, Qt.Key.Key_2, Qt.Key.Key_O,
                Qt.Key.Key_1, Qt.Key.Key_U, Qt.Key.Key_U, Qt.Key.Key_O, Qt.Key.Key_Home,
                Qt.Key.Key_Plus, Qt.Key.Key_Minus):  # fmt: skip
        press(program, key)
    assert text(program) == START
    assert desk.session.undo_stack.count() == 0
    assert not desk.session.is_changed


def test_the_billet_is_the_one_of_the_chosen_step(program):
    program.desk.mark.move("split")
    press(program, Qt.Key.Key_3)
    shown = program.window.bench.billet._shown
    low, high = program.desk.working.done.worked.result.after("split").outcome.pieces[0].box()
    assert shown.size == pytest.approx([b - a for a, b in zip(low, high, strict=True)])
    assert [mark.name for mark in shown.marks] == ["nick"]


# --- steps -------------------------------------------------------------------------------


def test_steps_are_added_moved_skipped_and_removed(program):
    desk, card = program.desk, program.window.card
    desk.mark.move("draw-square")
    card.set_current("draw-square")
    card.setFocus()
    QTest.keyClick(card, Qt.Key.Key_Insert)
    QApplication.processEvents()
    popup = QApplication.activePopupWidget() or desk.adding._add
    line = popup.focusWidget() or popup
    QTest.keyClicks(line, "upset")
    QTest.keyClick(line, Qt.Key.Key_Return)
    program_kit.rest(program)
    ids = [step.id for step in desk.session.document.job.bar[0].step]
    assert ids[5] == "upset"
    assert desk.mark.key == "upset"
    card.setFocus()
    QTest.keyClick(card, Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    assert [step.id for step in desk.session.document.job.bar[0].step][4] == "upset"
    QTest.keyClick(card, Qt.Key.Key_Space)
    assert desk.session.document.job.bar[0].step[4].skip
    QTest.keyClick(card, Qt.Key.Key_Delete)
    assert "upset" not in text(program)
    while desk.session.undo_stack.canUndo():
        desk.session.undo_stack.undo()
    program_kit.rest(program)
    assert text(program) == START


def test_a_step_that_cannot_be_done_says_so_where_it_stands(program):
    desk = program.desk
    desk.card.change_value("first-weld", "height_mm", 660.0)
    program_kit.rest(program)
    row = next(row for row in program.window.card.rows if row.key == "first-weld")
    assert row.state == "refused"
    assert row.reason
    assert program.window.message.isVisible()
    assert program.window.bench.face._shown.outline == ()
    desk.session.undo_stack.undo()
    program_kit.rest(program)
    assert desk.working.answers.tip.verdict == "on"


# --- files -------------------------------------------------------------------------------


def test_save_open_and_export_like_the_command_line(program, tmp_path, monkeypatch):
    desk = program.desk
    file, picture, other = (tmp_path / name for name in ("mine.toml", "window.png", "cli.png"))
    desk.card.change_value("on-edge", "height_mm", 27.0)
    program_kit.rest(program)
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_a, **_k: (str(file), ""))
    QTest.keyClick(program.window, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    assert file.read_text(encoding="utf-8") == text(program)
    assert not desk.session.is_changed
    before = file.read_bytes()
    assert desk.files.open_path(str(file))
    assert desk.files.save()
    assert file.read_bytes() == before
    desk.exporting.open()
    dialog = desk.exporting._dialog
    dialog._path.setText(str(picture))
    dialog._touched = True
    dialog._large.set_dpi(150)
    QTest.mouseClick(dialog._go, Qt.MouseButton.LeftButton)
    program_kit.rest(program, 60.0)
    QTest.qWait(50)
    dialog.close()
    assert cli.main(["picture", str(file), "-o", str(other), "--dpi", "150"]) == 0
    assert picture.read_bytes() == other.read_bytes()


@pytest.mark.parametrize(
    "content", [b"", b"mine\n", b"\xff\xfe\x00", b"format = 1\n", b"[[bar]]\n" * 300_000]
)
def test_a_file_that_is_no_job_is_told_and_the_open_one_stays(program, tmp_path, content):
    file = tmp_path / "odd.toml"
    file.write_bytes(content)
    assert not program.desk.files.open_path(str(file))
    assert program.window.message.isVisible()
    assert text(program) == START
    assert file.read_bytes() == content


def test_a_job_of_a_newer_release_is_for_reading_only(program, tmp_path):
    file = tmp_path / "newer.toml"
    file.write_text(START.replace("format = 1", "format = 2"), encoding="utf-8")
    assert program.desk.files.open_path(str(file))
    program.desk.card.change_value("on-edge", "height_mm", 27.0)
    program_kit.rest(program)
    assert "height_mm = 26.0" in text(program)
    assert program.window.message.isVisible()


def test_what_was_not_saved_is_offered_after_a_crash(qapp, tmp_path):
    folder = tmp_path / "own"
    first = program_kit.made(folder)
    first.desk.card.change_value("on-edge", "height_mm", 27.5)
    program_kit.rest(first)
    unsaved = text(first)
    # As a killed process leaves it: the journal stays, its lock is void.
    for lock in first.desk.journal._locks.values():
        lock.unlock()
    second = program_kit.made(folder)
    try:
        assert second.window.recovery.isVisible()
        assert text(second) == START
        second.window.recovery.take_up_wanted.emit()
        program_kit.rest(second)
        assert text(second) == unsaved
        assert second.desk.session.is_changed
        assert not second.window.recovery.isVisible()
    finally:
        program_kit.closed(second)
        program_kit.closed(first)


# --- the rest ----------------------------------------------------------------------------


def test_undo_tells_what_it_undoes(program):
    program.desk.card.change_value("draw-square", "thickness_mm", 40.0)
    label = "Draw out: thickness 42 mm \u2192 40 mm"
    assert program.desk.session.undo_stack.undoText() == label
    assert label in program.desk.actions["undo"].text()
    assert label in program.window.header._undo.toolTip()


def test_every_look_comes_in_light_and_dark_and_large(program):
    for theme in ("dark", "light"):
        program.desk.looks.set_theme(theme)
        program_kit.rest(program)
        assert not program.window.grab().isNull()
    program.desk.looks.resize_letters(8)
    program_kit.rest(program)
    assert program.window.minimumSizeHint().height() <= 1080
    assert program.window.minimumSizeHint().width() <= 1920


def test_help_opens_at_the_page_of_the_step(program):
    program.desk.mark.move("split")
    program.desk.helping.open_here()
    window = program.desk.helping._help
    assert "Split" in window.windowTitle()
    window.close()


def test_no_thread_outlives_the_program(qapp, tmp_path):
    made = program_kit.made(tmp_path)
    program_kit.closed(made)
    names = [thread.name for thread in threading.enumerate() if thread.name.startswith("patternsim-")]
    assert names == []


def test_the_blade_and_the_shop_are_changed_like_steps(program):
    type_on_card(program, BLADE, "outline.length_mm", "240")
    assert program.desk.session.document.job.blade.outline["length_mm"] == 240.0
    program.desk.card.change_value(BLADE, "profile", "hunter")
    program_kit.rest(program)
    assert "tip_height_mm" not in program.desk.session.document.job.blade.outline
    assert program.desk.working.answers is not None


def test_a_wheel_over_the_sheet_changes_nothing(program):
    from PySide6.QtGui import QWheelEvent
    from PySide6.QtWidgets import QComboBox, QLineEdit

    for key in ("split", BLADE, "stack"):
        program.desk.mark.move(key)
        QApplication.processEvents()
        sheet = program.window.sheet
        boxes = [*sheet.findChildren(QComboBox), *sheet.findChildren(QLineEdit)]
        assert boxes
        for box in boxes:
            at = QPointF(5, 5)
            event = QWheelEvent(
                at, QPointF(box.mapToGlobal(QPoint(5, 5))), QPoint(), QPoint(0, -120),
                Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier,
                Qt.ScrollPhase.NoScrollPhase, False,
            )  # fmt: skip
            QApplication.sendEvent(box, event)
    assert text(program) == START


def test_a_job_from_my_bars_begins_with_their_stack(program):
    from patternsim_app.dialogs.new_job_dialog import BarsWish

    wish = BarsWish(
        first_steel="1084", first_mm=3.0, second_steel="15N20", second_mm=1.5, each=10,
        width_mm=40.0, length_mm=100.0,
    )  # fmt: skip
    program.desk.files.start_from_bars(wish)
    program_kit.rest(program)
    job = program.desk.session.document.job
    assert [step.id for step in job.bar[0].step] == ["stack"]
    assert program.desk.working.done.worked.result.steps[0].outcome.pieces[0].size == (100.0, 40.0, 45.0)
    assert program.window.bench.face._shown.outline == ()
    assert not program.desk.session.is_changed


def test_the_first_start_asks_nothing_that_must_be_answered(qapp, tmp_path):
    made = program_kit.made(tmp_path / "own")
    strip = made.window.first_run
    assert strip.isVisible()
    strip.units_chosen.emit("in")
    strip.press_chosen.emit(222.0)
    assert made.desk.looks.settings.units == "in"
    made.desk.answers.refresh()
    assert "222 kN" in tile(made, "press").detail
    made.desk.card.change_value("on-edge", "height_mm", 27.0)
    assert not strip.isVisible()
    program_kit.rest(made)
    program_kit.closed(made)
    again = program_kit.made(tmp_path / "own")
    assert not again.window.first_run.isVisible()
    assert again.desk.looks.settings.press_kn == 222.0
    program_kit.closed(again)


def test_files_opened_last_are_in_the_menu(program, tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text(START, encoding="utf-8")
    assert program.desk.files.open_path(str(file))
    entries = [action.text() for action in program.desk.recent._menu.actions()]
    assert entries == ["mine.toml"]
    program.desk.card.change_value("on-edge", "height_mm", 27.0)
    program_kit.rest(program)
    assert program.desk.files.save()
    assert "27" in file.read_text(encoding="utf-8")


def test_a_fault_is_told_and_the_job_is_kept(program, qtbot):
    program.desk.card.change_value("on-edge", "height_mm", 27.0)
    trace = "Traceback (most recent call last):\nRuntimeError: made up"
    QTimer.singleShot(0, partial(program.crashes.report, trace))
    qtbot.waitUntil(lambda: program.crashes.dialog is not None)
    dialog = program.crashes.dialog
    assert dialog.isVisible()
    dialog.reject()
    program_kit.rest(program)
    assert "27.0" in text(program)


def test_a_renamed_step_stays_on_the_bench(program):
    program.desk.mark.move("split")
    program.desk.card.change_value("split", "id", "wedge")
    program_kit.rest(program)
    assert program.desk.mark.key == "wedge"
    assert program.window.sheet.key == "wedge"
    program.desk.session.undo_stack.undo()
    program_kit.rest(program)
    assert program.desk.session.document.job.find_step(program.desk.mark.key) or (
        program.desk.mark.key == BLADE
    )


def test_a_file_changed_after_the_crash_is_not_written_over(qapp, tmp_path):
    folder, file = tmp_path / "own", tmp_path / "mine.toml"
    file.write_text(START, encoding="utf-8")
    first = program_kit.made(folder)
    assert first.desk.files.open_path(str(file))
    first.desk.card.change_value("on-edge", "height_mm", 27.5)
    program_kit.rest(first)
    for lock in first.desk.journal._locks.values():
        lock.unlock()
    QTest.qWait(30)
    file.write_text(START.replace("26.0", "25.0"), encoding="utf-8")
    second = program_kit.made(folder)
    try:
        second.window.recovery.take_up_wanted.emit()
        program_kit.rest(second)
        assert "27.5" in text(second)
        assert second.desk.session.document.path is None
        assert "mine.toml was changed" in second.window.message.text()
        assert "25.0" in file.read_text(encoding="utf-8")
    finally:
        program_kit.closed(second)
        program_kit.closed(first)


# --- what comes late, or at the wrong moment ---------------------------------------------


def test_lays_and_edits_follow_one_another_in_the_order_they_were_made(program):
    desk = program.desk
    desk.outline.end_for_end()
    desk.card.change_value(BLADE, "place.from_end_mm", 25.0)
    desk.outline.turn(0.25)
    desk.outline.end_for_end()
    program_kit.rest(program)
    place = desk.session.document.job.blade.place
    assert (place.tip_end, place.from_end_mm, place.turn_deg) == ("far", 25.0, 0.25)


def test_an_outline_in_the_hand_is_let_go_when_the_job_changes(program):
    desk, face = program.desk, program.window.bench.face
    start = face.frame.point(200.0, 0.0)
    QTest.mousePress(face, Qt.MouseButton.LeftButton, pos=start.toPoint())
    QTest.mouseMove(face, (start + QPointF(12, 4)).toPoint())
    desk.files.start("feather")
    QTest.mouseMove(face, (start + QPointF(20, 8)).toPoint())
    QTest.mouseRelease(face, Qt.MouseButton.LeftButton, pos=(start + QPointF(20, 8)).toPoint())
    program_kit.rest(program)
    assert text(program) == starting_job("feather")


def test_what_is_typed_for_one_job_does_not_land_in_another(program):
    card = program.window.card
    place = box_on_card(program, "split", "included_deg").center().toPoint()
    QTest.mouseClick(card.viewport(), Qt.MouseButton.LeftButton, pos=place)
    QTest.keyClicks(card.editor.widget, "50")
    program.desk.session.start("feather")
    program_kit.rest(program)
    assert not card.editor.is_open
    assert text(program) == starting_job("feather")


def test_undo_and_save_take_what_is_typed_first(program, tmp_path):
    desk, card = program.desk, program.window.card
    desk.card.change_value("split", "nose_mm", 3.0)
    place = box_on_card(program, "split", "included_deg").center().toPoint()
    QTest.mouseClick(card.viewport(), Qt.MouseButton.LeftButton, pos=place)
    QTest.keyClicks(card.editor.widget, "52")
    program.window.header.undo_wanted.emit()
    program_kit.rest(program)
    split = desk.session.document.job.find_step("split")
    step = split[0].step[split[1]]
    assert (step.nose_mm, step.included_deg) == (3.0, 45.0)
    assert desk.session.undo_stack.redoText().startswith("Split")


def test_keys_in_an_open_list_do_not_act_on_steps(program):
    card = program.window.card
    place = box_on_card(program, "part", "across").center().toPoint()
    QTest.mouseClick(card.viewport(), Qt.MouseButton.LeftButton, pos=place)
    QApplication.processEvents()
    view = card.editor.widget.view()
    for key in (Qt.Key.Key_Delete, Qt.Key.Key_Space):
        if card.editor.is_open:
            QTest.keyClick(view, key)
    QTest.keyClick(view, Qt.Key.Key_Escape)
    program_kit.rest(program)
    assert [step.id for step in program.desk.session.document.job.bar[0].step if step.skip] == []
    assert program.desk.session.document.job.find_step("part") is not None


def test_the_other_of_two_numbers_may_be_given_after_the_first_is_cleared(program):
    desk = program.desk
    desk.card.change_value("weld-tall", "down_pct", None)
    program_kit.rest(program)
    row = next(row for row in program.window.card.rows if row.key == "weld-tall")
    assert row.state == "refused"
    assert "height_mm" in row.reason
    desk.card.change_value("weld-tall", "height_mm", 86.0)
    program_kit.rest(program)
    assert desk.working.done.worked.refused is None


def test_the_profile_goes_back_to_usual(program):
    program.desk.card.change_value(BLADE, "profile", "hunter")
    program.desk.card.change_value(BLADE, "profile", None)
    program_kit.rest(program)
    assert program.desk.session.document.job.blade.profile == "chef"


def test_a_bad_file_at_the_start_is_told_and_a_job_is_there(qapp, tmp_path):
    from patternsim_app.startup import Program

    file = tmp_path / "empty.toml"
    file.write_text("", encoding="utf-8")
    made = Program(qapp, folder=tmp_path / "own")
    made.show(str(file))
    program_kit.rest(made)
    assert made.window.message.isVisible()
    assert "empty.toml" in made.window.message.text()
    assert text(made) == START
    program_kit.closed(made)


def test_answers_are_kept_with_the_job_they_are_of(program):
    from patternsim_app import stored

    program.desk.card.change_value(BLADE, "outline.length_mm", 255.0)
    program_kit.rest(program)
    QTest.qWait(100)
    kept = program.desk.keeping.kept()
    assert kept is not None
    steel = next(one for one in kept.tiles if one.key == "steel")
    assert steel.headline == tile(program, "steel").headline
    assert stored.load(program.desk.keeping._folder, text(program)).tiles == program.desk.answers.tiles


def test_nothing_of_a_job_for_reading_only_offers_to_be_changed(program, tmp_path):
    file = tmp_path / "newer.toml"
    file.write_text(START.replace("format = 1", "format = 2"), encoding="utf-8")
    before = file.read_bytes()
    assert program.desk.files.open_path(str(file))
    program_kit.rest(program)
    desk, card, sheet = program.desk, program.window.card, program.window.sheet
    offered = {name for name, entry in desk.actions.items() if entry.isEnabled()}
    assert not offered & {
        "save", "undo", "redo", "paste-steps", "add-step", "remove-steps", "skip-steps", "move-up",
        "move-down", "tip-to-line", "end-for-end", "turn-left", "turn-right",
    }  # fmt: skip
    assert {"save-as", "copy-steps", "step-back", "export", "units", "open"} <= offered
    desk.mark.move("on-edge")
    QApplication.processEvents()
    assert not any(row.box.isEnabled() for row in sheet._rows.values())
    assert not card.footer.isEnabled()
    program.window.message.hide()
    card.setFocus()
    for key in (Qt.Key.Key_F2, Qt.Key.Key_Space, Qt.Key.Key_Delete, Qt.Key.Key_Insert):
        QTest.keyClick(card, key)
        assert not card.editor.is_open
        assert QApplication.activePopupWidget() is None
    assert "newer release" in program.window.message.text()
    enabled = {one.text() for one in card.menu().actions() if one.isEnabled() and one.text()}
    assert enabled == {"Copy", "Fold the stage", "Unfold the stage", "Fold all stages", "Unfold all"}
    place = box_on_card(program, "on-edge", "height_mm").center().toPoint()
    QTest.mousePress(card.viewport(), Qt.MouseButton.LeftButton, pos=place)
    QTest.mouseMove(card.viewport(), place + QPoint(60, 0))
    QTest.mouseRelease(card.viewport(), Qt.MouseButton.LeftButton, pos=place + QPoint(60, 0))
    assert not card.editor.is_open
    assert not desk.working.dragging
    assert file.read_bytes() == before
    # The next job can be changed again.
    desk.session.start("feather-from-w")
    program_kit.rest(program)
    desk.mark.move("on-edge")
    QApplication.processEvents()
    assert card.footer.isEnabled()
    assert sheet.row("height_mm").box.isEnabled()
    type_on_card(program, "on-edge", "height_mm", "27")
    assert "height_mm = 27.0" in text(program)
