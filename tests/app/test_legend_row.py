"""The legend of the layer drawing: told, and seen on both grounds."""

import numpy as np
import pytest
from PySide6.QtGui import QColor

from patternsim_app.painting import array_of
from patternsim_app.shown import Legend
from patternsim_app.theme import DARK, LIGHT, use_theme
from patternsim_app.views.legend_row import SIDE_EM, LegendRow

STEELS = (("A", "1084", "#3C424A"), ("B", "15N20", "#C9CDD2"))


@pytest.fixture
def row(qtbot):
    made = LegendRow()
    qtbot.addWidget(made)
    made.set_shown(Legend(steels=STEELS))
    made.resize(made.sizeHint())
    made.show()
    return made


def test_the_steels_are_read_out(row):
    assert row.accessibleDescription() == "A 1084, B 15N20"


@pytest.mark.parametrize("theme", [LIGHT, DARK])
def test_every_tone_has_a_rim_that_shows_on_its_ground(row, qapp, theme):
    use_theme(theme, qapp)
    seen = array_of(row.grab().toImage()).astype(int)[..., 0]
    middle = seen[seen.shape[0] // 2]
    side = round(SIDE_EM * row.fontMetrics().height())
    ground = seen[0, 0]
    assert abs(middle[: side // 2] - ground).max() > 60
    assert middle[5] == QColor(STEELS[0][2]).red()


def test_nothing_is_cut_off(row):
    seen = array_of(row.grab().toImage()).astype(int)
    inked = np.abs(seen - seen[0, 0]).max(axis=2) > 40
    assert not inked[:, -1].any()
    wider = row.sizeHint().width()
    row.resize(wider + 60, row.height())
    again = array_of(row.grab().toImage()).astype(int)
    inked = np.abs(again - again[0, 0]).max(axis=2) > 40
    assert np.flatnonzero(inked.any(axis=0)).max() < wider
