"""Finding steps and values on the card, by a smith's words for them."""

import time

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app import program_kit
from patternsim.job import copied, parse, pasted, starting_job
from patternsim.kinds import step_kinds
from patternsim_app.controllers.finding import findables
from patternsim_app.views.find_on_card import FoundModel

JOB = parse(starting_job("feather-from-w"))
CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def model(qapp):
    made = FoundModel()
    made.set_kinds(findables(JOB, "mm"))
    return made


def found(model, typed):
    model.set_typed(typed)
    rows = (model.kind(model.index(at)) for at in range(model.rowCount()))
    return [row for row in rows if row is not None]


def best(model, typed):
    model.set_typed(typed)
    return model.kind(model.index(model.best()))


@pytest.fixture
def program(qapp, tmp_path):
    made = program_kit.made(tmp_path / "own")
    yield made
    program_kit.closed(made)


def test_untyped_it_is_the_contents_of_the_card(model):
    rows = found(model, "")
    steps = [step.id for bar in JOB.bar for step in bar.step]
    assert sorted(row.key for row in rows) == sorted([*steps, "blade:", "shop:"])
    assert not any(row.field for row in rows)


@pytest.mark.parametrize("kind", [one for one in step_kinds() if one.words], ids=lambda one: one.kind)
def test_every_other_word_for_a_kind_finds_its_steps(model, kind):
    """The words themselves are told in `patternsim.kinds`, the one list of them."""
    there = {step.id for bar in JOB.bar for step in bar.step if step.kind == kind.kind}
    for word in kind.words:
        keys = {row.key for row in found(model, word.upper()) if not row.field}
        assert there <= keys


@pytest.mark.parametrize(
    ("typed", "key", "field"),
    [
        ("fire weld", "weld-stack", ""),
        ("step 26", "split", ""),
        ("nose", "split", "nose_mm"),
        ("hot cut", "split", ""),
        ("saw kerf", "shop:", "kerf_mm"),
        ("tang", "blade:", "outline.tang_mm"),
        ("blade", "blade:", ""),
    ],
)
def test_the_best_is_what_was_meant(model, typed, key, field):
    one = best(model, typed)
    kinds = {step.id: step.kind for bar in JOB.bar for step in bar.step}
    if typed == "fire weld":
        assert kinds[one.key] == "forge-weld"
    else:
        assert (one.key, one.field) == (key, field)


def test_a_value_is_told_with_its_step_and_number(model):
    one = next(row for row in found(model, "nose radius") if row.field == "nose_mm")
    assert one.about.startswith("Step 26, ")
    assert "mm" in one.about
    inch = next(row for row in findables(JOB, "in") if row.key == "split" and row.field == "nose_mm")
    assert '"' in inch.about


def test_found_from_the_keyboard_alone(program):
    card = program.window.card
    card.setFocus()
    QTest.keyClick(card, Qt.Key.Key_K, CTRL)
    popup = program.desk.finding._list
    assert popup.isVisible()
    QTest.keyClicks(popup.focusWidget(), "hot cut")
    QTest.keyClick(popup.focusWidget(), Qt.Key.Key_Return)
    QApplication.processEvents()
    assert not popup.isVisible()
    assert program.desk.mark.key == "split"
    assert card.current == "split"


def test_a_value_found_is_ready_to_be_typed(program):
    card, sheet, desk = program.window.card, program.window.sheet, program.desk
    desk.finding._found("on-edge", "height_mm")
    assert card.editor.target == ("on-edge", "height_mm")
    QTest.keyClicks(card.editor.widget, "27")
    QTest.keyClick(card.editor.widget, Qt.Key.Key_Return)
    program_kit.rest(program)
    assert "height_mm = 27.0" in desk.session.document.text
    desk.finding._found("on-edge", "temperature_c")  # the sheet alone has it
    QApplication.processEvents()
    assert sheet.key == "on-edge"
    assert QApplication.focusWidget() is sheet.row("temperature_c").box
    box = sheet.row("temperature_c").box
    assert sheet.viewport().rect().contains(box.mapTo(sheet.viewport(), box.rect().center()))


def test_what_is_typed_is_taken_before_looking(program):
    desk = program.desk
    desk.mark.move("on-edge")
    box = program.window.sheet.row("height_mm").box
    box.setFocus()
    QTest.keyClicks(box, "28")
    QTest.keyClick(box, Qt.Key.Key_K, CTRL)
    assert desk.finding._list.isVisible()
    desk.finding._list.close()
    program_kit.rest(program)
    assert "height_mm = 28.0" in desk.session.document.text


def test_looking_changes_nothing(program):
    before = program.desk.session.document.text
    for one in findables(JOB, "mm"):
        if not one.field:
            program.desk.finding._found(one.key, "")
    assert program.desk.session.document.text == before
    assert not program.desk.session.is_changed


def test_hundreds_of_steps_are_listed_soon(qapp):
    text = starting_job("feather")
    bar = parse(text).bar[0]
    text = pasted(text, bar.name, len(bar.step), "\n".join([copied(text, [bar.step[-1].id])] * 300))
    begun = time.process_time()
    model = FoundModel()
    model.set_kinds(findables(parse(text), "mm"))
    model.set_typed("temp")
    assert time.process_time() - begun < 1.0
    assert model.rowCount() > 300
