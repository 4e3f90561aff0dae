"""Strips above the bench: they tell and ask, and stop nobody from working."""

from itertools import pairwise

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QLabel, QPushButton, QToolButton, QVBoxLayout, QWidget

from patternsim_app.resources import USUAL_PT, use_font
from patternsim_app.theme import LIGHT, theme, use_theme
from patternsim_app.views.signs import Sign
from patternsim_app.views.strips import NEWS_MS, FirstRunStrip, MessageStrip, RecoveryStrip


def put_up(qtbot, strip, width=1240):
    """Show a strip at the top of a window, as it stands in the program."""
    window = QWidget()
    column = QVBoxLayout(window)
    column.addWidget(strip)
    column.addStretch(1)
    qtbot.addWidget(window)
    window.resize(width, 700)
    window.show()
    strip.window_kept = window
    return strip


@pytest.fixture
def first(qtbot):
    return put_up(qtbot, FirstRunStrip())


@pytest.fixture
def recovery(qtbot):
    return put_up(qtbot, RecoveryStrip())


@pytest.fixture
def message(qtbot):
    return put_up(qtbot, MessageStrip())


def button(strip, text):
    return next(one for one in strip.findChildren(QAbstractButton) if one.text() == text)


def words(strip):
    return " ".join(label.text() for label in strip.findChildren(QLabel))


# --- the first start


@pytest.mark.parametrize(
    ("text", "signal"),
    [
        ("Change this one", "change_wanted"),
        ("Start from my bars", "bars_wanted"),
        ("Open a job", "open_wanted"),
    ],
)
def test_three_ways_to_begin(first, qtbot, text, signal):
    with qtbot.waitSignal(getattr(first, signal)):
        button(first, text).click()


def test_the_questions_have_answers_from_the_start(first):
    assert first.units.value() == "mm"
    assert first.paper.value() == "A4"
    assert first.press.value is None
    assert first.press.placeholderText() == "not said"


def test_answers_are_told_by_their_keys(first, qtbot):
    with qtbot.waitSignal(first.units_chosen) as units:
        button(first, "inch").click()
    with qtbot.waitSignal(first.paper_chosen) as paper:
        button(first, "Letter").click()
    assert (units.args, paper.args) == (["in"], ["Letter"])


def enter(first, qtbot, text):
    first.press.setFocus()
    first.press.selectAll()
    if text:
        qtbot.keyClicks(first.press, text)
    else:
        qtbot.keyClick(first.press, Qt.Key.Key_Delete)
    qtbot.keyClick(first.press, Qt.Key.Key_Return)


def test_the_force_of_the_press_is_told_and_can_be_taken_back(first, qtbot):
    told = []
    first.press_chosen.connect(told.append)
    enter(first, qtbot, "222,5")
    enter(first, qtbot, "")
    assert told == [222.5, None]


@pytest.mark.parametrize("text", ["much", "0", "-5"])
def test_a_force_that_cannot_be_is_marked_and_stays_to_be_mended(first, qtbot, text):
    with qtbot.assertNotEmitted(first.press_chosen):
        enter(first, qtbot, text)
    assert first.press.trouble
    assert first.press.text() == text


# --- work that was not saved


def test_what_was_found_is_named(recovery):
    recovery.set_shown("Feather from W", "Draw out: thickness", "changed 14:32", 1)
    for part in ("Feather from W", "Draw out: thickness", "changed 14:32"):
        assert part in words(recovery)
    assert "more" not in words(recovery)
    recovery.set_shown("W bar", "", "changed 9:05", 3)
    assert "2 more" in words(recovery)
    assert "Last change" not in words(recovery)


@pytest.mark.parametrize(
    ("text", "signal"), [("Take it up", "take_up_wanted"), ("Put it aside", "throw_away_wanted")]
)
def test_found_work_is_taken_up_or_put_aside(recovery, qtbot, text, signal):
    with qtbot.waitSignal(getattr(recovery, signal)):
        button(recovery, text).click()


# --- messages


@pytest.mark.parametrize("grade", ["fine", "watch", "stop", "note"])
def test_a_message_shows_its_grade_by_a_sign(message, grade):
    message.hide()
    message.set_message(grade, "The stack is 118 mm high.")
    assert message.isVisible()
    assert message.text() == "The stack is 118 mm high."
    (sign,) = message.findChildren(Sign)
    assert sign.grade == grade


def test_a_message_is_there_for_screen_readers(message):
    message.set_message("stop", "There is no room left on the disk.")
    named = [one for one in message.findChildren(QLabel) if one.accessibleName()]
    assert [one.accessibleName() for one in named] == ["There is no room left on the disk."]


def test_good_news_go_by_themselves_and_bad_news_stay(message, qtbot):
    clock = message._clock
    assert 4000 <= NEWS_MS <= 10_000
    message.set_message("fine", "Saved.")
    assert clock.isActive()
    message.set_message("watch", "It may bow.")
    assert not clock.isActive()
    clock.setInterval(10)
    message.set_message("fine", "Saved.")
    qtbot.waitUntil(lambda: not message.isVisible())


# --- all of them


STRIPS = [FirstRunStrip, RecoveryStrip, MessageStrip]


@pytest.mark.parametrize("kind", STRIPS)
def test_esc_and_the_cross_close_a_strip_and_tell_so(qtbot, kind):
    strip = put_up(qtbot, kind())
    close = next(one for one in strip.findChildren(QToolButton) if one.text() == "×")
    with qtbot.waitSignal(strip.closed):
        close.click()
    assert not strip.isVisible()
    strip.show()
    with qtbot.waitSignal(strip.closed):
        qtbot.keyClick(close, Qt.Key.Key_Escape)
    assert not strip.isVisible()


@pytest.mark.parametrize("kind", STRIPS)
def test_every_control_of_a_strip_has_a_name_and_is_reached_by_keys(qtbot, kind):
    strip = put_up(qtbot, kind())
    controls = strip.findChildren(QAbstractButton)
    assert controls
    for one in controls:
        assert one.accessibleName(), one.text()
        assert one.focusPolicy() & Qt.FocusPolicy.TabFocus, one.text()
        assert min(one.height(), one.width()) >= 24, one.text()


@pytest.mark.parametrize("width", [700, 1240])
def test_no_words_of_a_strip_are_cut_off_at_double_text_size(qtbot, large_text, width):
    first = put_up(qtbot, FirstRunStrip(), width)
    for one in first.findChildren(QPushButton):
        assert one.width() >= one.fontMetrics().horizontalAdvance(one.text()), one.text()
        assert first.rect().contains(one.geometry().translated(one.parentWidget().pos())), one.text()
    message = put_up(qtbot, MessageStrip(), width)
    message.set_message("watch", "Step 6: the stack is 118 mm high on 38 mm width. It may bow. " * 3)
    qtbot.wait(1)
    (label,) = [one for one in message.findChildren(QLabel) if one.wordWrap()]
    assert label.height() >= label.heightForWidth(label.width())


def test_letters_may_grow_while_a_strip_is_there(first, qtbot, qapp):
    use_font(qapp, 2 * USUAL_PT)
    use_theme(LIGHT, qapp)
    qtbot.wait(1)
    for one in first.findChildren(QPushButton):
        assert one.width() >= one.fontMetrics().horizontalAdvance(one.text()), one.text()
        assert first.rect().contains(one.geometry().translated(one.parentWidget().pos())), one.text()
    words = first.press.placeholderText()
    assert first.press.width() >= 1.3 * first.press.fontMetrics().horizontalAdvance(words)


def test_what_stands_in_a_row_stands_on_one_line(qtbot, large_text):
    first = put_up(qtbot, FirstRunStrip(), 700)
    parts = [one.geometry() for one in first.findChild(QPushButton).parentWidget().children()
             if isinstance(one, QWidget)]  # fmt: skip
    rows = []
    for place in parts:
        if rows and place.left() > rows[-1][-1].right():
            rows[-1].append(place)
        else:
            rows.append([place])
    assert len(rows) >= 2
    for row in rows:
        middles = [place.center().y() for place in row]
        assert max(middles) - min(middles) <= 1
    for above, below in pairwise(rows):
        assert max(place.bottom() for place in above) < min(place.top() for place in below)


@pytest.mark.parametrize("kind", [RecoveryStrip, MessageStrip])
def test_names_are_shown_as_they_are_whatever_signs_they_hold(qtbot, kind):
    strip = kind()
    qtbot.addWidget(strip)
    (label,) = [one for one in strip.findChildren(QLabel) if one.wordWrap()]
    assert label.textFormat() == Qt.TextFormat.PlainText


def test_the_ground_of_a_message_follows_the_theme(message, dark):
    message.set_message("stop", "No room.")
    pixel = message.grab().toImage().pixelColor(message.width() // 2, 6)
    assert pixel.name() == theme().stop_ground.lower()
