"""Stages of the job card folded: one line each; nothing of the job is changed by it."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app import program_kit
from app.card_rows import numbered, plain_row
from patternsim_app.models.steps_model import is_step
from patternsim_app.views.card_folds import Folds, stage_around
from patternsim_app.views.job_card import JobCard

KEY, LEFT, NONE = Qt.Key, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
SHIFT, CTRL = Qt.KeyboardModifier.ShiftModifier, Qt.KeyboardModifier.ControlModifier


def rows(**changes):
    """Steps a to g in stages One (a, b, c) and Two (d, e), a bar that begins at f, and the shop."""
    heads = {"a": "One", "d": "Two", "f": "other"}
    made = [
        plain_row(key, heading=heads.get(key, ""), bar="other" if key in "fg" else "bar")
        for key in "abcdefg"
    ]
    made = [replace(row, **changes.get(row.key, {})) for row in numbered(made)]
    return (*made, replace(plain_row("shop:", heading="Shop"), number=0, title="Shop"))


@pytest.fixture
def card(qtbot):
    made = JobCard()
    qtbot.addWidget(made)
    made.resize(300, 900)
    made.set_rows(rows())
    made.show()
    qtbot.waitExposed(made)
    made.set_current("b")
    return made


def seen(card):
    return "".join(row.key for at, row in enumerate(card.rows) if not card.isRowHidden(at))[:7]


def heading(card, key):
    rect = card.visualRect(card.model().index(card.place_of(key), 0))
    return QPoint(rect.left() + 40, rect.top() + round(card._look.em))


def spoken(card, key):
    index = card.model().index(card.place_of(key), 0)
    return index.data(Qt.ItemDataRole.AccessibleTextRole)


def heard(signal):
    got = []
    signal.connect(lambda *args: got.append(args))
    return got


def test_a_stage_goes_from_its_heading_to_before_the_next():
    assert [stage_around(rows(), at) for at in range(8)] == [
        (0, 2), (0, 2), (0, 2), (3, 4), (3, 4), (5, 6), (5, 6), None,
    ]  # fmt: skip
    assert stage_around(rows()[1:3], 0) is None
    assert stage_around((), 0) is None


def test_a_click_on_the_heading_folds_and_unfolds(card):
    high = card.visualRect(card.model().index(3, 0)).top()
    QTest.mouseClick(card.viewport(), LEFT, NONE, heading(card, "a"))
    assert seen(card).startswith("adefg")
    assert card.current == "a"
    assert card.visualRect(card.model().index(3, 0)).top() < high / 2
    assert spoken(card, "a") == "stage One, folded, 3 steps"
    assert spoken(card, "d").startswith("step 4")
    QTest.mouseClick(card.viewport(), LEFT, NONE, heading(card, "a"))
    assert seen(card) == "abcdefg"
    assert spoken(card, "a").startswith("step 1")


def test_a_hand_that_trembles_on_a_heading_chooses_nothing(card):
    chosen = heard(card.step_chosen)
    card.set_current("g")
    start = heading(card, "a")
    QTest.mousePress(card.viewport(), LEFT, NONE, start)
    spot = QPointF(start + QPoint(2, 25))
    moved = QMouseEvent(
        QEvent.Type.MouseMove, spot, QPointF(card.viewport().mapToGlobal(spot.toPoint())),
        Qt.MouseButton.NoButton, LEFT, NONE,
    )  # fmt: skip
    QApplication.sendEvent(card.viewport(), moved)
    QTest.mouseRelease(card.viewport(), LEFT, NONE, spot.toPoint())
    assert card.current == "g"
    assert not chosen


def test_left_and_right_fold_and_unfold_and_with_shift_all(card):
    card.setFocus()
    QTest.keyClick(card, KEY.Key_Left)
    assert seen(card).startswith("adefg")
    QTest.keyClick(card, KEY.Key_Down)
    assert card.current == "d"
    QTest.keyClick(card, KEY.Key_Up)
    QTest.keyClick(card, KEY.Key_PageDown)
    assert card.current == "d"
    QTest.keyClick(card, KEY.Key_PageUp)
    QTest.keyClick(card, KEY.Key_Right)
    assert seen(card) == "abcdefg"
    QTest.keyClick(card, KEY.Key_Left, SHIFT)
    assert seen(card).startswith("adf")
    assert not card.isRowHidden(7)
    QTest.keyClick(card, KEY.Key_Right, SHIFT)
    assert seen(card) == "abcdefg"


def test_a_folded_stage_is_chosen_with_all_its_steps(card):
    card.fold("b", on=True)
    removed, added = heard(card.remove_wanted), heard(card.add_wanted)
    card.setFocus()
    QTest.keyClick(card, KEY.Key_Delete)
    assert removed == [(("a", "b", "c"),)]
    QTest.keyClick(card, KEY.Key_Insert)
    assert added == [("c",)]


def test_what_lands_below_a_folded_stage_lands_behind_it(card):
    card.fold("a", on=True)
    rect = card.visualRect(card.model().index(0, 0))
    landing = card.landing_at(rect.bottomLeft().toPointF() - QPoint(0, 2).toPointF(), {"e"})
    assert (landing.bar, landing.index, landing.moves) == ("bar", 3, True)
    above = card.landing_at(rect.topLeft().toPointF(), {"e"})
    assert above.index == 0


def test_new_rows_leave_it_folded_and_a_step_that_comes_is_hidden_with_it(card):
    card.fold("a", on=True)
    new = [*rows()[:2], plain_row("x"), *rows()[2:7]]
    card.set_rows((*numbered(new), rows()[-1]))
    assert seen(card).startswith("adefg")
    assert spoken(card, "a") == "stage One, folded, 4 steps"
    card.set_rows(rows()[3:])  # the stage is gone
    assert seen(card).startswith("defg")
    card.set_rows(rows())
    assert seen(card) == "abcdefg"


def test_the_worst_of_its_steps_shows_on_the_folded_line():
    folds = Folds()
    for changes, grade in (
        ({}, "fine"),
        ({"b": {"grade": "watch"}}, "watch"),
        ({"b": {"grade": "watch"}, "c": {"grade": "stop"}}, "stop"),
        ({"c": {"state": "refused"}}, "stop"),
        ({"d": {"grade": "stop"}}, "fine"),
    ):
        folds.follow(rows(**changes))
        folds.fold_all(rows(**changes), on=False)
        folds.fold(rows(**changes), 1, on=True)
        assert folds.folded["a"].grade == grade


def test_a_step_that_is_looked_for_comes_into_sight(card):
    card.fold_all(on=True)
    card.set_current("e")
    assert card.current == "e"
    assert seen(card) == "adef" + seen(card)[4:]
    card.edit_value("a", 1)  # its first step stands behind the folded line
    assert card.editor.is_open
    assert seen(card).startswith("abcdef")
    card.editor.drop()


@pytest.fixture
def program(qapp, tmp_path):
    made = program_kit.made(tmp_path / "own")
    yield made
    program_kit.closed(made)


def test_folding_changes_nothing_of_the_job_and_works_on_it_all(program):
    desk, card = program.desk, program.window.card
    before = desk.session.document.text
    card.fold_all(on=True)
    heads = [row.key for row in card.rows if row.heading and is_step(row)]
    assert len(heads) >= 3
    assert not desk.session.is_changed
    assert desk.session.document.text == before
    desk.mark.move("split")  # as the steel line and the answers do
    QApplication.processEvents()
    assert not card.isRowHidden(card.place_of("split"))
    card.fold("split", on=True)
    head = card.current
    stage = card.folds.folded[head]
    keys = {row.key for row in card.rows[stage.first : stage.last + 1]}
    QTest.keyClick(card, KEY.Key_Space)
    program_kit.rest(program)
    skipped = {step.id for bar in desk.session.document.job.bar for step in bar.step if step.skip}
    assert skipped == keys
    desk.session.undo_stack.undo()
    program_kit.rest(program)
    assert desk.session.document.text == before


def test_walking_the_steps_passes_folded_ones(program):
    desk, card = program.desk, program.window.card
    card.fold_all(on=True)
    desk.mark.move(card.rows[0].key)
    walked = []
    for _ in range(12):
        walked.append(desk.mark.key)
        desk.card.look(1)
    heads = [row.key for row in card.rows if row.heading and is_step(row)]
    assert walked[: len(heads)] == heads
    assert walked[-1] == card.rows[-1].key
