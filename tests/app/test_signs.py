import itertools

import numpy as np
import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from patternsim_app.painting import array_of
from patternsim_app.theme import DARK, LIGHT, use_theme
from patternsim_app.views.signs import GRADE_WORDS, Sign, paint_sign

GRADES = tuple(GRADE_WORDS)


def drawn(grade, *, side=24, ink="black", ground="white"):
    image = QImage(side, side, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor(ground))
    painter = QPainter(image)
    paint_sign(painter, QRectF(0, 0, side, side), grade, ink=QColor(ink), ground=QColor(ground))
    painter.end()
    return array_of(image)[..., 0] < 128


@pytest.mark.parametrize("side", [14, 18, 24, 40])
def test_shapes_are_told_apart_without_colour(side):
    for one, other in itertools.combinations(GRADES, 2):
        differs = (drawn(one, side=side) ^ drawn(other, side=side)).mean()
        assert differs > 0.08, f"{one} and {other} look alike at {side} pixels"


@pytest.mark.parametrize("grade", GRADES)
def test_a_sign_keeps_inside_its_place(grade):
    inked = drawn(grade, side=30)
    assert inked.any()
    assert not inked[0].any()
    assert not inked[:, 0].any()


def test_a_ring_and_a_triangle_are_hollow_and_a_square_has_a_bar():
    for grade in ("fine", "watch"):
        inked = drawn(grade, side=41)
        assert not inked[24, 20]
    square = drawn("stop", side=41)
    assert not square[20, 20]
    assert square[12, 20]
    assert square[28, 20]


def test_a_ring_stays_hollow_after_something_full_was_painted():
    image = QImage(41, 41, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor("white"))
    painter = QPainter(image)
    painter.setBrush(QColor("black"))
    paint_sign(painter, QRectF(0, 0, 41, 41), "fine", ink=QColor("black"))
    painter.end()
    assert array_of(image)[20, 20, 0] == 255


def test_a_sign_in_a_wide_place_stands_in_its_middle():
    image = QImage(60, 20, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor("white"))
    painter = QPainter(image)
    paint_sign(painter, QRectF(0, 0, 60, 20), "stop", ink=QColor("black"))
    painter.end()
    columns = np.flatnonzero((array_of(image)[..., 0] < 128).any(axis=0))
    assert columns.min() > 18
    assert columns.max() < 42


@pytest.mark.parametrize("grade", GRADES)
def test_a_sign_says_what_it_means(qtbot, grade):
    sign = Sign(grade)
    qtbot.addWidget(sign)
    assert sign.accessibleName() == GRADE_WORDS[grade]
    assert sign.toolTip()


def test_a_sign_follows_its_grade_and_the_ground(qtbot, qapp):
    sign = Sign("fine")
    qtbot.addWidget(sign)
    sign.set_grade("stop")
    assert sign.grade == "stop"
    light = array_of(sign.grab().toImage())
    use_theme(DARK, qapp)
    dark = array_of(sign.grab().toImage())
    assert not np.array_equal(light, dark)
    assert QColor(LIGHT.stop).red() in light[..., 0]


def test_a_sign_grows_with_the_letters(qtbot, large_text):
    large = Sign()
    qtbot.addWidget(large)
    assert large.sizeHint().width() > 30
