import itertools

import numpy as np
import pytest
from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QColor, QIcon, QImage, QPainter

from patternsim_app.icons import icon, names, paint_icon
from patternsim_app.painting import array_of
from patternsim_app.theme import DARK, LIGHT, use_theme

WANTED = (
    "open", "save", "undo", "redo", "export", "add-step", "remove", "up", "down", "skip", "fit",
    "zoom-in", "zoom-out", "mark-side", "off-side", "layers", "etched", "tip-to-line",
    "end-for-end", "help",
)  # fmt: skip


def drawn(name, side=32):
    image = QImage(side, side, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor("white"))
    painter = QPainter(image)
    paint_icon(painter, QRectF(0, 0, side, side), name, QColor("black"))
    painter.end()
    return array_of(image)[..., 0] < 128


def pixmap(name, size=24, mode=QIcon.Mode.Normal, state=QIcon.State.Off):
    return array_of(icon(name).pixmap(QSize(size, size), 1.0, mode, state).toImage())


def test_every_action_that_wants_one_has_a_pictogram():
    assert set(WANTED) <= set(names())


def test_an_unknown_name_is_refused_with_those_there_are():
    with pytest.raises(KeyError, match="help"):
        icon("no such thing")


@pytest.mark.parametrize("name", WANTED)
def test_a_pictogram_shows_and_keeps_inside(name):
    for side in (16, 24, 48):
        inked = drawn(name, side)
        assert 0.04 < inked.mean() < 0.5
        border = np.concatenate((inked[0], inked[-1], inked[:, 0], inked[:, -1]))
        assert not border.any()


def test_pictograms_are_told_apart():
    for one, other in itertools.combinations(WANTED, 2):
        # Plus and minus differ by one short stroke.
        assert (drawn(one) ^ drawn(other)).mean() > 0.012, (one, other)


@pytest.mark.parametrize("size", [16, 20, 24, 32, 48])
def test_they_are_sharp_at_any_size_and_clear_behind(size):
    made = pixmap("save", size)
    assert made.shape[:2] == (size, size)
    assert made[0, 0, 3] == 0
    assert made[..., 3].max() > 200


def test_they_follow_the_ground(qapp):
    def ink():
        made = pixmap("up", 48).astype(int)
        return made[made[..., 3] > 250][:, :3].mean()

    light = ink()
    use_theme(DARK, qapp)
    assert light < 60
    assert ink() > 200


def test_disabled_and_chosen_ones_look_different():
    usual = pixmap("fit")
    off = pixmap("fit", mode=QIcon.Mode.Disabled)
    on = pixmap("fit", state=QIcon.State.On)
    assert off[..., 3].max() < usual[..., 3].max()
    solid = on[on[..., 3] > 250][0, :3]
    assert np.abs(solid.astype(int) - QColor(LIGHT.chosen_line).toTuple()[:3]).max() <= 3


def test_a_copy_of_an_icon_still_paints():
    copy = QIcon(icon("help"))
    copy.addFile("")
    assert not copy.pixmap(24, 24).isNull()
    assert np.array_equal(pixmap("help"), pixmap("help"))
