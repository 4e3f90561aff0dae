"""The window where it is low for its letters: it fits, and what has no room is rolled."""

import pytest
from PySide6.QtCore import QPoint
from PySide6.QtWidgets import QApplication

from app import program_kit
from patternsim_app.resources import USUAL_PT, use_font
from patternsim_app.theme import LIGHT, use_theme


@pytest.fixture
def program(qapp, tmp_path):
    made = program_kit.made(tmp_path / "own")
    yield made
    use_font(qapp, USUAL_PT)
    program_kit.closed(made)


def dress(program, qapp, points, size=(1280, 800)):
    use_font(qapp, points)
    use_theme(LIGHT, qapp)
    program.window.letters_changed()
    program.window.resize(*size)
    for _ in range(5):
        QApplication.processEvents()
    return program.window


@pytest.mark.parametrize("strip", [True, False])
def test_twice_the_usual_letters_fit_on_a_small_screen(program, qapp, strip):
    program.window.first_run.setVisible(strip)
    window = dress(program, qapp, 20)
    assert (window.width(), window.height()) == (1280, 800)
    inside = window.rect()
    for part in (window.header, window.answers, window.card, window.sheet, window._bench_area):
        corner = part.mapTo(window, QPoint(0, 0))
        assert inside.contains(part.rect().translated(corner))
        assert part.height() >= 24
    # The steel line gives way to a strip, and comes back when that is closed.
    assert window.steel.isVisible() != strip
    window.first_run.leave()
    QApplication.processEvents()
    assert window.steel.isVisible()
    assert (window.width(), window.height()) == (1280, 800)


def test_all_of_the_bench_can_be_rolled_into_sight(program, qapp):
    window = dress(program, qapp, 20)
    window.resize(1280, 600)
    for _ in range(5):
        QApplication.processEvents()
    bar = window._bench_area.verticalScrollBar()
    assert bar.maximum() > 0
    assert window.bench.height() >= window.bench.minimumSizeHint().height()
    assert window.bench.width() >= window.bench.minimumSizeHint().width()
    bar.setValue(bar.maximum())
    lower = window.bench.mapTo(window._bench_area, QPoint(0, window.bench.height()))
    assert lower.y() == window._bench_area.height()


@pytest.mark.parametrize("size", [(1280, 800), (1024, 700)])
def test_nothing_is_rolled_at_the_usual_size_of_letters(program, qapp, size):
    window = dress(program, qapp, USUAL_PT, size)
    assert not window._bench_area.verticalScrollBar().isVisible()
    assert window.bench.size() == window._bench_area.size()
