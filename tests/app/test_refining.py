"""A rough result first, then the flow of the steel worked out behind it; what is said meanwhile."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app import program_kit
from patternsim import run
from patternsim.errors import FlowError
from patternsim.job import changed, parse, starting_job
from patternsim.progress import Silent
from patternsim_app import tasks
from patternsim_app.roughness import rough_steps
from patternsim_app.tasks import WorkGiven

QUIET = Silent()
HEIGHT = ("bar", 0, "step", 7, "height_mm")


@pytest.fixture(scope="module")
def fine():
    return run(parse(starting_job("feather-from-w")))


@pytest.fixture
def program(qapp, tmp_path):
    made = program_kit.made(tmp_path / "own")
    yield made
    program_kit.closed(made)


@pytest.fixture
def slow(monkeypatch):
    """The flow takes until `slow` is emptied, or it is called off."""
    real, waits = tasks.refine, []

    def refine(given, progress):
        while waits:
            progress.at(0.3, "step 13 of 32: draw out, pass 3")
            QTest.qSleep(2)
        return real(given, progress)

    monkeypatch.setattr(tasks, "refine", refine)
    return waits


def refining(program, qtbot):
    qtbot.waitUntil(
        lambda: program.desk.working.is_refining and not program.desk.jobs.is_waited_for, timeout=60_000
    )


def rough_rows(program):
    return [row.number for row in program.window.card.rows if row.rough]


# --- what is rough -----------------------------------------------------------------------


def test_only_what_follows_a_change_is_rough(fine):
    job = parse(changed(starting_job("feather-from-w"), HEIGHT, 27.0))
    done = tasks.work(WorkGiven(job=job, like=fine), QUIET)
    assert done.is_rough
    ids = [step.id for step in job.bar[0].step]
    assert done.rough == set(ids[7:])
    kept = zip(fine.steps[:7], done.worked.result.steps[:7], strict=True)
    assert all(one is other for one, other in kept)


def test_nothing_is_rough_where_no_step_has_changed(fine):
    text = starting_job("feather-from-w").replace("210.0", "200.0")
    job = parse(text)
    assert job.blade != fine.job.blade
    done = tasks.work(WorkGiven(job=job, like=fine), QUIET)
    assert not done.is_rough
    assert done.rough == frozenset()


def test_without_a_result_before_all_that_is_pressed_is_rough():
    job = parse(starting_job("feather-from-w"))
    done = tasks.work(WorkGiven(job=job), QUIET)
    first = next(row.step.id for row in done.worked.result.steps if row.outcome.source == "quick")
    ids = [row.step.id for row in done.worked.result.steps]
    assert done.rough == set(ids[ids.index(first) :])
    assert rough_steps(done.worked.result, done.worked.result) == frozenset()


def test_what_is_worked_out_is_the_command_lines(fine):
    done = tasks.refine(WorkGiven(job=fine.job), QUIET)
    assert not done.is_rough
    sizes = [row.outcome.pieces[0].size for row in done.worked.result.steps]
    assert sizes == [row.outcome.pieces[0].size for row in fine.steps]


# --- in the window -----------------------------------------------------------------------


def test_the_window_comes_to_rest_on_what_is_worked_out(program):
    working = program.desk.working
    assert not working.is_rough
    assert working.answers.level == "fine"
    assert rough_rows(program) == []
    assert "ough" not in program.window.bench.caption.text()
    assert {card.accessibleDescription() for card in program.window.answers.cards} == {""}


def test_a_change_is_rough_until_it_is_worked_out(program, slow, qtbot):
    slow.append("on")
    desk = program.desk
    desk.card.change_value("on-edge", "height_mm", 27.0)
    refining(program, qtbot)
    assert rough_rows(program) == list(range(8, 33))
    caption = program.window.bench.caption
    assert "Rough, being worked out." in caption.accessibleDescription()
    qtbot.waitUntil(lambda: desk.working.answers is not None, timeout=60_000)
    assert {card.accessibleDescription() for card in program.window.answers.cards} == {
        "Rough, being worked out."
    }
    header = program.window.header
    qtbot.waitUntil(lambda: header._doing.text().startswith("Step 13 of 32: draw out"), timeout=60_000)
    slow.clear()
    program_kit.rest(program)
    assert rough_rows(program) == []
    assert "ough" not in caption.accessibleDescription()
    assert desk.working.answers.level == "fine"
    assert not header._doing.isVisible()


def test_rough_work_is_called_off_and_taken_up(program, slow, qtbot):
    slow.append("on")
    desk = program.desk
    desk.card.change_value("on-edge", "height_mm", 27.0)
    refining(program, qtbot)
    QTest.keyClick(program.window.card, Qt.Key.Key_F5, Qt.KeyboardModifier.ShiftModifier)
    qtbot.waitUntil(lambda: desk.jobs.is_idle, timeout=60_000)
    QApplication.processEvents()
    assert program.window.header._go_on.isVisible()
    assert program.window.bench.caption.accessibleDescription().endswith("Rough.")
    assert rough_rows(program)
    slow.clear()
    QTest.keyClick(program.window.card, Qt.Key.Key_F5)
    program_kit.rest(program)
    assert not program.window.header._go_on.isVisible()
    assert not desk.working.is_rough


def test_the_newest_change_wins(program, slow, qtbot):
    slow.append("on")
    for height in (27.0, 28.0):
        program.desk.card.change_value("on-edge", "height_mm", height)
        refining(program, qtbot)
    slow.clear()
    program_kit.rest(program)
    assert program.desk.working.done.job == program.desk.session.document.job
    assert not program.desk.working.is_rough


def test_a_dragged_number_shows_rough_results_only(program, monkeypatch, qtbot):
    asked = []
    monkeypatch.setattr(tasks, "refine", lambda given, progress: asked.append(given))
    desk, seen = program.desk, []
    desk.working.worked.connect(lambda done: seen.append(done.is_rough))
    for height in (26.5, 27.0, 27.5):
        desk.card.try_value("on-edge", "height_mm", height)
        qtbot.waitUntil(lambda: desk.jobs.is_idle, timeout=60_000)
    assert seen
    assert all(seen)
    assert asked == []
    desk.working.drop_preview()
    program_kit.rest(program)
    assert not desk.working.is_rough, "back where it was: nothing has to be worked out"
    assert asked == []


def test_a_flow_that_gives_out_leaves_the_rough_result_and_says_so(program, monkeypatch, qtbot):
    def gives_out(given, progress):
        raise FlowError("step on-edge of bar feather, lay on edge and press: folded")

    monkeypatch.setattr(tasks, "refine", gives_out)
    program.desk.card.change_value("on-edge", "height_mm", 27.0)
    qtbot.waitUntil(
        lambda: program.desk.working.is_given_up and program.desk.jobs.is_idle, timeout=60_000
    )
    assert "stays rough" in program.desk.telling.last
    assert rough_rows(program)
    assert program.window.bench.caption.accessibleDescription().endswith("Rough.")
    assert program.desk.working.answers.level == "quick"
    assert program.desk.answers.tiles == (), "what is rough is not kept for the next start"


# --- forces ------------------------------------------------------------------------------


def test_forces_stand_on_rows_sheet_and_answer(program, fine):
    row = fine.after("on-edge").outcome
    low, high = row.measures["force_low_kn"], row.measures["force_high_kn"]
    assert low < row.force_kn < high
    shown = next(one for one in program.window.card.rows if one.key == "on-edge")
    assert shown.force.startswith("about ")
    told = float(shown.force.split()[1])
    assert told == pytest.approx(row.force_kn, rel=0.05)
    assert not next(one for one in program.window.card.rows if one.key == "stack").force
    program.desk.mark.move("on-edge")
    assert ("Force", shown.force) in program.window.sheet._sheet.facts


def test_a_press_that_is_too_weak_is_told_at_once(program, fine, qtbot):
    def codes():
        return {(one.code, one.step) for one in program.desk.working.answers.findings}

    heavy = {row.step.id for row in fine.steps if (row.outcome.force_kn or 0.0) > 100.0}
    assert heavy
    program.desk.looks.change(press_kn=100.0)
    program_kit.rest(program)
    assert {step for code, step in codes() if code == "force-beyond-press"} == heavy
    press = next(card.tile for card in program.window.answers.cards if card.tile.key == "press")
    assert press.grade == "watch"
    assert "of your 100 kN" in press.detail
    program.desk.looks.change(press_kn=None)
    program_kit.rest(program)
    assert "force-beyond-press" not in {code for code, _ in codes()}
