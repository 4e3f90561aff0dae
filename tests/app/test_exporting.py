"""Pictures from the window: how they will look, how large they come to, what they are drawn from."""

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app import program_kit
from patternsim import cli, run
from patternsim.errors import PatternSimError
from patternsim.job import parse, starting_job
from patternsim.pictures import KINDS, picture
from patternsim.progress import Silent
from patternsim_app import tasks
from patternsim_app.export_tasks import ExportGiven, PreviewGiven, export, preview

QUIET = Silent()


@pytest.fixture(scope="module")
def result():
    return run(parse(starting_job("feather-from-w")))


@pytest.fixture
def program(qapp, tmp_path):
    made = program_kit.made(tmp_path / "own")
    yield made
    program_kit.closed(made)


def test_an_exported_picture_is_the_command_lines(result, tmp_path):
    path, other = tmp_path / "window.png", tmp_path / "cli.png"
    file = tmp_path / "job.toml"
    file.write_text(starting_job("feather-from-w"), encoding="utf-8")
    given = ExportGiven(result=result, what="mark-side", path=str(path), dpi=100.0)
    assert export(given, QUIET) == str(path)
    assert cli.main(["picture", str(file), "-o", str(other), "--dpi", "100"]) == 0
    assert path.read_bytes() == other.read_bytes()


@pytest.mark.parametrize("what", KINDS)
@pytest.mark.parametrize("dpi", [100.0, 300.0])
def test_the_size_told_beforehand_is_that_of_the_picture(result, what, dpi):
    told = preview(PreviewGiven(result=result, what=what), QUIET)
    height, width = picture(result, what, dpi=dpi).pixels.shape[:2]
    # Told to the ten; every margin of a picture is rounded to whole pixels by itself.
    assert told.size_mm[0] / 25.4 * dpi == pytest.approx(width, abs=5)
    assert told.size_mm[1] / 25.4 * dpi == pytest.approx(height, abs=5)


def test_the_preview_looks_like_the_picture(result):
    """The outside scaling of Pillow brings the large picture down to the small one."""
    told = preview(PreviewGiven(result=result, what="mark-side"), QUIET)
    large = Image.fromarray(picture(result, "mark-side", dpi=300.0).pixels)
    height, width = told.picture.shape[:2]
    small = np.asarray(large.resize((width, height), Image.Resampling.BOX), dtype=float)
    alike = np.corrcoef(small.mean(axis=2).ravel(), told.picture[..., :3].mean(axis=2).ravel())
    assert alike[0, 1] > 0.9


def test_what_cannot_be_drawn_says_why(result):
    with pytest.raises(PatternSimError, match="nowhere"):
        preview(PreviewGiven(result=result, what="section", after="nowhere"), QUIET)


def test_a_change_made_just_before_is_in_the_picture(program, tmp_path):
    """Typed, and Write pressed before anything of it is worked out."""
    desk, path, other = program.desk, tmp_path / "window.png", tmp_path / "cli.png"
    desk.exporting.open()
    dialog = desk.exporting._dialog
    dialog._path.setText(str(path))
    dialog._touched = True
    dialog._large.set_dpi(150)
    desk.card.change_value("on-edge", "height_mm", 30.0)
    assert desk.working.done.job != desk.session.document.job
    dialog._go.click()
    assert "last change" in dialog._state.text()
    program_kit.rest(program, 60.0)
    QTest.qWait(50)
    dialog.close()
    file = tmp_path / "job.toml"
    file.write_text(desk.session.document.text, encoding="utf-8")
    assert cli.main(["picture", str(file), "-o", str(other), "--dpi", "150"]) == 0
    assert path.read_bytes() == other.read_bytes()


def test_a_number_typed_and_not_taken_is_taken_first(program):
    desk = program.desk
    desk.mark.move("on-edge")
    box = program.window.sheet.row("height_mm").box
    box.setFocus()
    QTest.keyClicks(box, "30")
    desk.exporting.open()
    desk.exporting._dialog.close()
    assert "height_mm = 30.0" in desk.session.document.text
    QTest.keyClicks(box, "no number")
    desk.exporting.open()
    assert not desk.exporting._dialog.isVisible()
    QTest.keyClick(box, Qt.Key.Key_Escape)
    program_kit.rest(program)


def test_waiting_for_the_job_can_be_called_off(program, tmp_path, monkeypatch, qtbot):
    held, real = [1], tasks.work

    def work(given, progress):
        while held:
            progress.at(0.5, "working")
            QTest.qSleep(2)
        return real(given, progress)

    desk = program.desk
    desk.exporting.open()
    dialog = desk.exporting._dialog
    dialog._path.setText(str(tmp_path / "x.png"))
    monkeypatch.setattr(tasks, "work", work)
    desk.card.change_value("on-edge", "height_mm", 30.0)
    dialog._go.click()
    dialog._cancel.click()
    assert "nothing was written" in dialog._state.text()
    held.clear()
    program_kit.rest(program)
    assert not (tmp_path / "x.png").exists()
    dialog.close()


def test_the_dialog_shows_the_picture_and_follows_the_choice(program, qtbot):
    desk = program.desk
    desk.mark.move("split")
    desk.exporting.open()
    dialog = desk.exporting._dialog
    qtbot.waitUntil(lambda: dialog._look.has_picture and not dialog._look.words)
    first = dialog._comes_to.text()
    assert "pixels" in first
    at = dialog._what.findText("Section after step", Qt.MatchFlag.MatchStartsWith)
    assert at >= 0
    dialog._what.setCurrentIndex(at)
    qtbot.waitUntil(lambda: not dialog._look.words)
    assert dialog._comes_to.text() != first
    dialog.close()
    program_kit.rest(program)
