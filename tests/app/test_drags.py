"""Numbers that the mouse drags in the whole window, while something else happens to the job."""

import time

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app import program_kit
from patternsim.job import copied, starting_job

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def program(qapp, tmp_path):
    made = program_kit.made(tmp_path / "own")
    yield made
    program_kit.closed(made)


def text(program):
    return program.desk.session.document.text


def move(widget, place):
    spot, none = QPointF(place), Qt.MouseButton.NoButton
    event = QMouseEvent(
        QEvent.Type.MouseMove, spot, QPointF(widget.mapToGlobal(place)), none, LEFT, NONE
    )
    QApplication.sendEvent(widget, event)
    QTest.qWait(30)


class OnCard:
    """The height of the pressing on edge, on the card."""

    def __init__(self, program):
        card = program.window.card
        self.view, row = card.viewport(), next(row for row in card.rows if row.key == "on-edge")
        token = next(k for k, one in enumerate(row.tokens) if one.field == "height_mm")
        program.desk.mark.move("on-edge")
        card.scrollTo(card.model().index(card.place_of("on-edge"), 0))
        QApplication.processEvents()
        card.setFocus()
        self.start = card.box_of("on-edge", token).center().toPoint()
        self.keys = card


class OnSheet:
    """The same on the sheet."""

    def __init__(self, program):
        program.desk.mark.move("on-edge")
        QApplication.processEvents()
        self.view = self.keys = program.window.sheet.row("height_mm").box
        self.start = self.view.rect().center()


@pytest.fixture(params=[OnCard, OnSheet])
def hand(request, program):
    """A number held by the mouse, 10 steps to the right of what it was."""
    made = request.param(program)
    program.window.activateWindow()
    QTest.mousePress(made.view, LEFT, NONE, made.start)
    move(made.view, made.start + QPoint(40, 0))
    assert program.desk.working.dragging
    return made


def let_go(program, hand, by):
    move(hand.view, hand.start + QPoint(by, 0))
    QTest.mouseRelease(hand.view, LEFT, NONE, hand.start + QPoint(by, 0))
    program_kit.rest(program)


def test_undo_under_a_drag_puts_the_number_back_and_ends_the_drag(program, hand):
    before = text(program)
    QTest.keyClick(hand.keys, Qt.Key.Key_Z, CTRL)
    assert not program.desk.working.dragging
    let_go(program, hand, 120)
    assert text(program) == before
    assert not program.desk.working.dragging
    assert program.desk.session.undo_stack.count() == 0
    assert program.desk.working.done.job == program.desk.session.document.job


def test_undo_under_a_drag_leaves_the_edit_before_it(program, tmp_path):
    program.desk.card.change_value("stack", "width_mm", 41.0)
    program_kit.rest(program)
    before = text(program)
    hand = OnCard(program)
    QTest.mousePress(hand.view, LEFT, NONE, hand.start)
    move(hand.view, hand.start + QPoint(40, 0))
    program.desk.typing.undo()
    let_go(program, hand, 80)
    assert text(program) == before
    program.desk.typing.undo()
    program_kit.rest(program)
    assert text(program) == starting_job("feather-from-w")


def test_another_job_under_a_drag_gets_nothing_of_it(program, hand):
    program.desk.session.start("feather-from-w")
    other = text(program)
    let_go(program, hand, 120)
    assert text(program) == other
    assert program.desk.session.undo_stack.count() == 0
    assert program.desk.working.done.worked.result.job == program.desk.session.document.job
    program.desk.mark.move("on-edge")
    assert program.window.sheet.row("height_mm").box.value == 26.0


def test_saving_under_a_drag_takes_the_number_as_it_is(program, hand, tmp_path):
    assert program.desk.typing.settled()
    taken = program.desk.session.document.job.find_step("on-edge")
    height = taken[0].step[taken[1]].height_mm
    assert height == 36.0  # ten steps of 1 mm more than 26
    let_go(program, hand, 120)
    assert program.desk.session.undo_stack.count() == 1
    assert f"height_mm = {height}" in text(program)


def test_no_message_comes_and_goes_under_a_drag(program, hand):
    seen = []
    program.desk.telling.told.connect(lambda *told: seen.append(told))
    box = program.window.message
    for height in (60.0, 26.5, 60.0, 27.0):  # a bar cannot be pressed to more than it is high
        program.desk.card.try_value("on-edge", "height_mm", height)
        QTest.qWait(120)
        assert not box.isVisible()
    assert not seen
    program.desk.typing.undo()
    let_go(program, hand, 0)


def test_a_number_that_cannot_be_is_told_of_when_the_hand_lets_go(program, qtbot):
    program.desk.card.try_value("on-edge", "height_mm", 60.0)
    qtbot.waitUntil(lambda: program.desk.working.done.worked.refused is not None)
    assert not program.window.message.isVisible()
    program.desk.card.change_value("on-edge", "height_mm", 60.0)
    program_kit.rest(program)
    assert program.window.message.isVisible()


def test_turning_the_piece_over_under_a_dragged_outline_says_so(program):
    before, face = text(program), program.window.bench.face
    start = face.frame.point(200.0, 0.0)
    QTest.mousePress(face, LEFT, NONE, start.toPoint())
    QTest.mouseMove(face, (start + QPointF(12, 6)).toPoint())
    QTest.qWait(30)
    QTest.keyClick(face, Qt.Key.Key_O)
    QApplication.processEvents()
    assert "turned over" in program.window.message.text()
    assert program.window.message.isVisible()
    QTest.mouseRelease(face, LEFT, NONE, start.toPoint())
    program_kit.rest(program)
    assert text(program) == before


def test_up_in_a_text_on_the_card_leaves_the_mark_where_it_is(program):
    card = program.window.card
    row = next(row for row in card.rows if row.key == "stack")
    token = next(k for k, one in enumerate(row.tokens) if one.kind == "text")
    card.edit_value("stack", token)
    QTest.keyClick(card.editor.widget, Qt.Key.Key_Down)
    QTest.keyClick(card.editor.widget, Qt.Key.Key_Up)
    assert program.desk.mark.key == "stack"
    assert card.editor.is_open
    QTest.keyClicks(card.editor.widget, "1095")
    QTest.keyClick(card.editor.widget, Qt.Key.Key_Return)
    program_kit.rest(program)
    assert program.desk.session.document.job.bar[0].step[0].strips[0].steel == "1095"
    assert program.desk.session.undo_stack.count() == 1


def test_hundreds_of_steps_are_skipped_at_once(program, qapp):
    """A job of over 300 steps; what the window does at once, without the working out behind it."""
    desk = program.desk
    one = copied(text(program), [check_of(program)])
    QApplication.clipboard().setText("\n".join([one] * 300))
    desk.mark.move("stack")
    desk.adding.paste("")
    program_kit.rest(program)
    ids = tuple(s.id for s in desk.session.document.job.bar[0].step if s.kind == "check")
    assert len(ids) > 300
    before = text(program)
    begun = time.process_time()
    desk.card.skip(ids)
    QApplication.processEvents()
    # It took ten seconds when the text was followed anew for every step.
    assert time.process_time() - begun < 1.5
    program_kit.rest(program)
    desk.typing.undo()
    program_kit.rest(program)
    assert text(program) == before


def check_of(program):
    steps = program.desk.session.document.job.bar[0].step
    return next(step.id for step in steps if step.kind == "check")
