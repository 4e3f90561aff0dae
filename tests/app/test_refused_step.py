"""A step that cannot be done, as the whole window shows it."""

import pytest

from app import program_kit
from patternsim.job import starting_job

TOO_MANY = starting_job("feather-from-w").replace("pieces = 6", "pieces = 60")


@pytest.fixture
def program(qapp, tmp_path):
    file = tmp_path / "job.toml"
    file.write_text(TOO_MANY, encoding="utf-8")
    made = program_kit.made(tmp_path / "own")
    made.desk.files.open_path(str(file))
    program_kit.rest(made)
    yield made
    program_kit.closed(made)


def tiles_of(program):
    return [card.tile for card in program.window.answers.cards]


def test_the_window_says_what_is_shown_instead(program):
    window, desk = program.window, program.desk
    assert desk.working.done.worked.refused.step == "nick"
    line = window.steel
    columns = line.places().shown.columns
    assert [(one.number, one.grade) for one in columns if one.refused] == [(24, "stop")]
    assert [one.worked for one in columns] == [True] * 23 + [False] * 9
    assert "as it was before step 24" in line.accessibleDescription().lower()
    assert window.bench.note.startswith("As it was before step 24.")
    desk.bench.set_look("die")
    desk.mark.move("nick")
    program_kit.rest(program)
    shown = window.bench.billet.shown
    assert shown.spoken.startswith("After step 23: ")
    assert shown.notes[0] == "As it was before step 24."
    desk.mark.move("split")
    program_kit.rest(program)
    assert window.bench.billet.shown.spoken.startswith("After step 23: ")
    desk.mark.move("clean-six")
    program_kit.rest(program)
    assert "before step" not in " ".join(window.bench.billet.shown.notes)


def test_reasons_are_in_inches_where_lengths_are(program):
    desk = program.desk
    desk.looks.set_units("in")
    program_kit.rest(program)
    row = next(row for row in program.window.card.rows if row.key == "nick")
    assert '34 1/16" x ' in row.reason
    assert " mm" not in row.reason
    desk.mark.move("nick")
    program_kit.rest(program)
    assert " mm" not in program.window.message.text()
    risk = next(tile for tile in tiles_of(program) if tile.key == "risk")
    assert " mm" not in risk.spoken


def test_all_steps_skipped_is_said_plainly(program):
    desk = program.desk
    keys = tuple(step.id for bar in desk.session.document.job.bar for step in bar.step)
    desk.card.skip(keys)
    program_kit.rest(program)
    tiles = tiles_of(program)
    assert [tile.headline for tile in tiles] == ["not worked out"] * 5
    assert {tile.detail for tile in tiles} == {"all steps are skipped"}
    assert {tile.grade for tile in tiles} == {"unknown"}
    assert "All steps are skipped" in program.window.message.text()
    assert program.window.steel.accessibleDescription() == "no steel yet"
    assert program.window.bench.note == "", "there is no picture to speak of"
    desk.card.skip(keys)
    program_kit.rest(program)
    assert [tile.headline for tile in tiles_of(program)] != ["not worked out"] * 5


def test_a_refusal_names_the_step_and_no_line(program):
    desk = program.desk
    desk.card.change_value("split", "id", "tall")
    assert "line" not in desk.telling.last
    assert desk.telling.last.startswith("Step ")
    assert "two steps have" in desk.telling.last
