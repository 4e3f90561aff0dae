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
    assert shown.spoken.startswith("After weld-tall")
    assert shown.notes[0] == "As it was before step 24."
    desk.mark.move("split")
    program_kit.rest(program)
    assert window.bench.billet.shown.spoken.startswith("After weld-tall")
    desk.mark.move("clean-six")
    program_kit.rest(program)
    assert "before step" not in " ".join(window.bench.billet.shown.notes)
