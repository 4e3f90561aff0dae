"""Work that is called off or fails: the window says so and offers to go on."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app import program_kit
from patternsim_app import tasks


@pytest.fixture
def program(qapp, tmp_path):
    made = program_kit.made(tmp_path / "own")
    program_kit.rest(made)
    yield made
    program_kit.closed(made)


@pytest.fixture
def slow(monkeypatch):
    """Work that lasts until it is called off, while `slow` holds something."""
    real, waits = tasks.work, []

    def work(given, progress):
        while waits:
            progress.at(0.3, "working")
            QTest.qSleep(2)
        return real(given, progress)

    monkeypatch.setattr(tasks, "work", work)
    return waits


def button(program):
    return program.window.header._go_on


def states(program):
    return {row.state for row in program.window.card.rows if row.number}


def test_stopped_work_is_offered_and_taken_up_again(program, slow, qtbot):
    desk = program.desk
    assert not button(program).isVisible()
    slow.append("on")
    desk.card.change_value("stack", "width_mm", 41.0)
    qtbot.waitUntil(lambda: not desk.jobs.is_idle)
    QTest.keyClick(program.window.card, Qt.Key.Key_F5, Qt.KeyboardModifier.ShiftModifier)
    qtbot.waitUntil(lambda: desk.jobs.is_idle)
    assert button(program).isVisible()
    assert "waiting" in states(program)
    assert desk.actions["go-on"].isEnabled()
    slow.clear()
    QTest.keyClick(program.window.card, Qt.Key.Key_F5)
    program_kit.rest(program)
    assert not button(program).isVisible()
    assert states(program) == {"worked"}
    assert desk.working.done.job == desk.session.document.job
    assert desk.working.answers is not None
    assert not desk.actions["go-on"].isEnabled()


def test_the_button_does_the_same_and_is_reached_by_tab(program, slow, qtbot):
    slow.append("on")
    program.desk.card.change_value("stack", "width_mm", 41.0)
    qtbot.waitUntil(lambda: not program.desk.jobs.is_idle)
    program.desk.working.stop()
    qtbot.waitUntil(lambda: program.desk.jobs.is_idle)
    slow.clear()
    assert button(program).focusPolicy() & Qt.FocusPolicy.TabFocus
    button(program).setFocus()
    QTest.keyClick(button(program), Qt.Key.Key_Space)
    program_kit.rest(program)
    assert states(program) == {"worked"}


def test_the_next_edit_works_all_of_it(program, slow, qtbot):
    slow.append("on")
    program.desk.card.change_value("stack", "width_mm", 41.0)
    qtbot.waitUntil(lambda: not program.desk.jobs.is_idle)
    program.desk.working.stop()
    slow.clear()
    program.desk.card.change_value("stack", "width_mm", 42.0)
    program_kit.rest(program)
    assert not button(program).isVisible()
    assert states(program) == {"worked"}


def test_stopping_an_export_alone_leaves_nothing_off(program, qtbot):
    def writing(given, progress):
        while True:
            progress.at(0.3, "drawing")
            QTest.qSleep(2)

    jobs = program.desk.jobs
    jobs.start("export", writing, None, done=print, failed=print, background=True)
    qtbot.waitUntil(lambda: not jobs.is_idle)
    program.desk.working.stop()
    qtbot.waitUntil(lambda: jobs.is_idle)
    assert not button(program).isVisible()
    assert program.desk.working.answers is not None


def test_judging_called_off_is_offered_too(program, monkeypatch, qtbot):
    held = [1]

    def judge(given, progress):
        while held:
            progress.at(0.5, "judging")
            QTest.qSleep(2)
        return real(given, progress)

    real = tasks.judge
    monkeypatch.setattr(tasks, "judge", judge)
    program.desk.card.change_value("stack", "width_mm", 41.0)
    qtbot.waitUntil(lambda: program.desk.jobs.is_busy("judge"))
    program.desk.working.stop()
    qtbot.waitUntil(lambda: program.desk.jobs.is_idle)
    assert button(program).isVisible()
    held.clear()
    button(program).click()
    program_kit.rest(program)
    QApplication.processEvents()
    assert program.desk.working.answers is not None


@pytest.mark.filterwarnings("ignore")
def test_a_fault_of_the_program_leaves_the_job_to_be_worked_out(program, monkeypatch, qtbot):
    real = tasks.work

    def broken(given, progress):
        raise RuntimeError("broken on purpose")

    monkeypatch.setattr(tasks, "work", broken)
    program.desk.jobs.crashed.disconnect()
    program.desk.card.change_value("stack", "width_mm", 41.0)
    qtbot.waitUntil(lambda: button(program).isVisible())
    monkeypatch.setattr(tasks, "work", real)
    button(program).click()
    program_kit.rest(program)
    assert states(program) == {"worked"}
