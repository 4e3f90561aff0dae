"""The bench as a whole: how large the face is, what it says it shows, in which unit."""

import pytest
from PySide6.QtCore import QPointF
from PySide6.QtWidgets import QApplication, QWidget

from app import program_kit
from patternsim.job import starting_job
from patternsim_app.controllers.bench_mark import BLADE


@pytest.fixture(scope="module")
def program(qapp, tmp_path_factory):
    made = program_kit.made(tmp_path_factory.mktemp("own"))
    yield made
    program_kit.closed(made)


@pytest.fixture(autouse=True)
def nothing_is_left_over():
    """The program of this module outlives its tests on purpose."""
    return


@pytest.fixture
def bench(program):
    yield program.window.bench
    program.desk.bench.set_look("etched")
    program.desk.mark.move(BLADE)
    program.desk.looks.set_units("mm")
    program_kit.rest(program)


LEAST_SCALE = 2.3
"""Pixels a millimetre at 1280 x 800: layers of 1.3 mm are then three pixels wide."""


@pytest.mark.parametrize("strip", [True, False])
def test_the_face_is_large_at_1280_x_800(program, bench, strip):
    program.window.first_run.setVisible(strip)
    program_kit.rest(program)
    assert (program.window.width(), program.window.height()) == (1280, 800)
    face = bench.face
    assert face.frame.scale >= LEAST_SCALE
    whole = face.rect().toRectF()
    for x, y in face._shown.silhouette:
        assert whole.contains(face.frame.point(x, y))
    assert not bench._scrolled.verticalScrollBar().isVisible()
    parts = (bench.tip, bench.barbs, bench.stations)
    for part in parts:
        corner = part.mapTo(bench, QPointF(part.width(), part.height()).toPoint())
        assert corner.y() <= bench.height()
        assert part.height() >= part.heightForWidth(part.width()) - 1


def test_it_says_that_it_shows_the_finished_blade_whatever_step_is_chosen(program, bench):
    assert bench.caption.text() == "The blade, after step 32."
    program.desk.mark.move("split")
    assert bench.caption.text() == "The blade, after step 32. Step 26 itself is on the die."
    program.desk.mark.move("draw-blades")
    assert bench.caption.text() == "The blade, after step 32."


def test_on_the_die_it_says_after_which_step(program, bench):
    program.desk.mark.move("tall")
    program.desk.bench.set_look("die")
    program_kit.rest(program)
    assert bench.caption.text() == "After step 22, stack tall."
    program.desk.mark.move(BLADE)
    program_kit.rest(program)
    assert bench.caption.text().startswith("After step 32, draw")


def test_a_job_without_a_blade_says_so(program, bench):
    program.desk.files.may_leave = lambda: True
    program.desk.files.start("w-bar")
    assert bench.caption.text() == "", "nothing of the job before"
    program_kit.rest(program)
    assert bench.caption.text().startswith("The bar, after step 13.")
    program.desk.files.start("feather-from-w")
    program_kit.rest(program)
    assert program.desk.session.document.text == starting_job("feather-from-w")


def test_everything_on_the_bench_follows_the_unit(program, bench):
    program.desk.bench.set_look("die")
    program.desk.mark.move("clean-six")
    program.desk.looks.set_units("in")
    program_kit.rest(program)
    assert bench.billet.accessibleDescription().startswith("After step 21: 6 pieces, ")
    assert " mm" not in bench.billet.accessibleDescription()
    program.desk.bench.set_look("etched")
    program_kit.rest(program)
    told = [
        part.accessibleDescription()
        for part in (bench.face, bench.tip, bench.barbs, bench.stations, program.window.steel)
    ]
    for words in told:
        assert " mm" not in words, words
    assert '8 17/64" blade' in told[0] or '8 1/4" blade' in told[0]
    assert "0 in off" in told[1]
    for widget in program.window.answers.findChildren(QWidget):
        assert " mm" not in widget.accessibleName()
    program.desk.looks.set_units("mm")
    QApplication.processEvents()
    program_kit.rest(program)
    assert "0.0 mm off" in bench.tip.accessibleDescription()


# --- little room --------------------------------------------------------------------------


@pytest.fixture
def large_letters(program, bench):
    program.desk.looks.resize_letters(10)
    program.window.resize(1280, 800)
    program_kit.rest(program)
    yield program.window
    program.desk.looks.resize_letters(-10)
    program.window.first_run.hide()
    program.window.resize(1280, 800)
    program_kit.rest(program)


@pytest.mark.parametrize(("strip", "scale"), [(False, 2.8), (True, 1.0)])
def test_twenty_points_fit_on_1280_x_800_with_a_large_face(program, large_letters, strip, scale):
    window = large_letters
    window.first_run.setVisible(strip)
    program_kit.rest(program)
    assert (window.width(), window.height()) == (1280, 800)
    assert window.minimumSizeHint().height() <= 800
    face = window.bench.face
    assert face.frame.scale >= scale
    for x, y in face._shown.silhouette:
        assert face.rect().toRectF().contains(face.frame.point(x, y))
    # What has no room is told by the tips, and nothing is lost for those who cannot see.
    barbs = next(card for card in window.answers.cards if card.tile.key == "barbs")
    assert barbs.tile.detail in barbs.toolTip()
    assert window.bench.note.startswith("An estimate.")
    assert window.bench._note.toolTip() == window.bench.note


def test_usual_letters_have_all_their_room_again(program, bench):
    barbs = next(card for card in program.window.answers.cards if card.tile.key == "barbs")
    high = barbs.height()
    program.desk.looks.resize_letters(10)
    program_kit.rest(program)
    program.desk.looks.resize_letters(-10)
    program.window.resize(1280, 800)
    program_kit.rest(program)
    assert barbs.height() == high
    assert bench._scrolled.isVisible()
    assert bench._note.toolTip() == ""


def test_a_small_window_with_the_first_strip_still_shows_a_knife(program, bench):
    """1024 x 700: the width decides how large the knife is, not what stands around it."""
    window = program.window
    window.first_run.show()
    window.resize(1024, 700)
    program_kit.rest(program)
    face = bench.face
    knife = max(x for x, _ in face._shown.silhouette) - min(x for x, _ in face._shown.silhouette)
    assert face.frame.scale == pytest.approx(face.width() / (knife + 10.0), rel=0.05)
    window.first_run.hide()
    window.resize(1280, 800)
    program_kit.rest(program)


def test_menus_and_job_share_a_line(program, bench):
    window = program.window
    menus, header = window.menuBar(), window.header
    middle = menus.mapTo(window, menus.rect().center()).y()
    assert abs(header.mapTo(window, header.rect().center()).y() - middle) < 8
    assert [action.text() for action in menus.actions()][:2] == ["&File", "&Edit"]


def test_a_long_caption_never_widens_the_bench(program, bench):
    least = bench.minimumSizeHint().width()
    program.desk.bench.set_look("layers")
    program.desk.mark.move("split")
    program.window.resize(1024, 700)
    program_kit.rest(program)
    assert bench.minimumSizeHint().width() == least
    said = "The blade, after step 32. Step 26 itself is on the die."
    assert bench.caption.accessibleDescription() == said
    assert bench.caption.text() == said or bench.caption.toolTip() == said
    assert (
        bench.caption.fontMetrics().horizontalAdvance(bench.caption.text()) <= bench.caption.width() + 1
    )
    program.window.resize(1280, 800)
    program_kit.rest(program)
