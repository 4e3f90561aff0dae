"""What tests of the window share: no display, own settings, the program's letters and colours."""

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pytest
from PySide6.QtWidgets import QApplication

from patternsim_app.resources import USUAL_PT, load_fonts, use_font
from patternsim_app.theme import DARK, LIGHT, use_theme


@pytest.fixture(scope="session", autouse=True)
def letters(qapp):
    load_fonts()


@pytest.fixture(autouse=True)
def _plain_dress(qapp):
    use_font(qapp, USUAL_PT)
    use_theme(LIGHT, qapp)


@pytest.fixture
def dark(qapp):
    use_theme(DARK, qapp)


@pytest.fixture
def large_text(qapp):
    use_font(qapp, 2 * USUAL_PT)


@pytest.fixture(autouse=True)
def nothing_is_left_over(qapp):
    """A widget that outlives its test would meet the next one."""
    yield
    qapp.sendPostedEvents(None, 52)  # deferred deletes
    left = [w for w in QApplication.topLevelWidgets() if w.parent() is None and w.isVisible()]
    assert not left, f"still open: {left}"
