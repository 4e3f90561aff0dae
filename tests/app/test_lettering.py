import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication

from patternsim_app.views.lettering import broken, broken_shrunk, caps_font, cut_off, shrunk, width_of

WORDS = "96 % of the blade, 31 deg at mid-width"


def font():
    return QApplication.font()


def test_words_that_fit_stay_whole():
    assert cut_off(WORDS, font(), width_of(WORDS, font())) == WORDS
    assert broken(WORDS, font(), 1000.0, 2) == (WORDS,)
    assert shrunk(WORDS, font(), 1000.0).pointSizeF() == font().pointSizeF()


def test_words_that_do_not_fit_end_in_dots():
    short = cut_off(WORDS, font(), 80.0)
    assert short.endswith("…")
    assert width_of(short, font()) <= 81.0


@given(width=st.floats(30.0, 500.0), most=st.integers(1, 4))
def test_lines_fit_and_no_word_is_lost_without_dots(width, most):
    lines = broken(WORDS, font(), width, most)
    assert 1 <= len(lines) <= most
    assert all(width_of(line, font()) <= width + 1.0 for line in lines)
    assert " ".join(lines) == WORDS or any(line.endswith("…") for line in lines)


def test_nothing_makes_no_lines():
    assert broken("", font(), 100.0, 2) == ()


def test_a_headline_shrinks_by_a_little_only():
    small = shrunk("not worked out at all", font(), 10.0)
    assert small.pointSizeF() == pytest.approx(0.78 * font().pointSizeF(), rel=1e-3)


def test_lines_shrink_before_they_are_cut_off():
    width = 0.5 * width_of(WORDS, font())
    plain = broken(WORDS, font(), width, 2)
    made, lines = broken_shrunk(WORDS, font(), width, 2)
    assert plain[-1].endswith("…")
    assert " ".join(lines) == WORDS
    assert made.pointSizeF() < font().pointSizeF()


def test_small_capitals_are_capitals_in_smaller_letters():
    caps = caps_font(font())
    assert caps.capitalization() == QFont.Capitalization.AllUppercase
    assert caps.pointSizeF() < font().pointSizeF()


def test_a_figure_stays_with_its_unit():
    for width in range(40, 400, 7):
        lines = broken("off side: on the line, 0.0 mm off by .016 in or 5 kg", font(), width, 9)
        for line in lines:
            assert not line.endswith(("0.0", ".016", "5"))
    assert broken("turn it 3 inches in", font(), 900, 2) == ("turn it 3 inches in",)
