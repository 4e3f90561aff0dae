import dataclasses
from itertools import pairwise

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QVBoxLayout, QWidget

from patternsim_app.painting import array_of
from patternsim_app.shown import AnswerTile
from patternsim_app.theme import DARK, em, use_theme
from patternsim_app.views.answers_bar import NOT_YET, AnswersBar


def tile(key, headline, detail, grade="fine"):
    name = key.capitalize()
    return AnswerTile(
        key=key,
        name=name,
        headline=headline,
        detail=detail,
        grade=grade,
        spoken=f"{name}: {headline}, {detail}.",
    )


TILES = (
    tile("tip", "0.4 mm", "to the spine: on, both sides"),
    tile("barbs", "lean to the tip", "96 % of the blade, 31 deg at mid-width"),
    tile("steel", "45 mm longer", "than needed (low -54, high +91)", "watch"),
    tile("press", "not worked out", "your press gives 222 kN", "unknown"),
    tile("risk", "1 to stop at", "steps 12 and 16", "stop"),
)


@pytest.fixture
def bar(qtbot):
    made = AnswersBar()
    qtbot.addWidget(made)
    made.set_tiles(TILES)
    made.resize(1240, made.heightForWidth(1240))
    made.show()
    return made


def rows(bar):
    return sorted({card.y() for card in bar.cards})


def test_five_equal_cards_stand_in_one_row(bar):
    assert len(bar.cards) == 5
    assert len(rows(bar)) == 1
    widths = [card.width() for card in bar.cards]
    assert max(widths) - min(widths) <= 1
    assert bar.cards[-1].geometry().right() < bar.width()


def test_cards_do_not_overlap_and_are_wide_apart(bar):
    for one, other in pairwise(bar.cards):
        assert other.x() - one.geometry().right() >= 0.3 * em(bar)


@pytest.mark.parametrize(("width", "count"), [(1240, 1), (880, 2)])
def test_double_letters_flow_into_two_rows_where_it_is_narrow(qtbot, large_text, width, count):
    bar = AnswersBar()
    qtbot.addWidget(bar)
    bar.set_tiles(TILES)
    bar.resize(width, bar.heightForWidth(width))
    bar.show()
    assert len(rows(bar)) == count
    bottoms = [card.geometry().bottom() for card in bar.cards]
    assert max(bottoms) < bar.height() + 1


def test_a_layout_gives_the_bar_the_height_it_wants(qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    column = QVBoxLayout(window)
    bar = AnswersBar()
    bar.set_tiles(TILES)
    column.addWidget(bar)
    column.addStretch(1)
    window.resize(420, 700)
    window.show()
    qtbot.waitUntil(lambda: bar.height() == bar.heightForWidth(bar.width()))
    assert len(rows(bar)) > 1


def test_a_second_line_stays_while_answers_change(bar):
    bar.resize(1000, 200)
    before = bar.cards[0].height()
    bar.set_tiles(tuple(dataclasses.replace(one, detail="short") for one in TILES))
    assert bar.cards[0].height() == before


@pytest.mark.parametrize("key", [Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space])
def test_keys_choose_a_card(bar, qtbot, key):
    bar.cards[2].setFocus()
    with qtbot.waitSignal(bar.chosen) as caught:
        qtbot.keyClick(bar.cards[2], key)
    assert caught.args == ["steel"]


def test_a_click_chooses_a_card(bar, qtbot):
    with qtbot.waitSignal(bar.chosen) as caught:
        qtbot.mouseClick(bar.cards[4], Qt.MouseButton.LeftButton)
    assert caught.args == ["risk"]


def test_every_card_is_reached_by_tab_and_says_its_answer(bar):
    for card, one in zip(bar.cards, TILES, strict=True):
        assert card.focusPolicy() & Qt.FocusPolicy.TabFocus
        assert card.accessibleName() == one.spoken
        assert card.toolTip() == one.spoken
        assert min(card.width(), card.height()) >= 24


def test_waiting_keeps_the_words_and_greys_them(bar):
    before = array_of(bar.grab().toImage())
    bar.set_waiting(True)
    after = array_of(bar.grab().toImage())
    assert bar.cards[0].tile == TILES[0]
    assert bar.cards[0].accessibleDescription()
    assert not np.array_equal(before, after)
    black = [(seen[..., :3].max(axis=2) < 60).sum() for seen in (before, after)]
    assert black[0] > 100
    assert black[1] == 0
    bar.set_waiting(False)
    assert np.array_equal(array_of(bar.grab().toImage()), before)


def test_without_answers_nothing_is_pretended(bar):
    bar.set_tiles(())
    assert [card.tile for card in bar.cards] == list(NOT_YET)
    assert all(card.tile.grade == "unknown" for card in bar.cards)
    assert [one.key for one in NOT_YET] == ["tip", "barbs", "steel", "press", "risk"]


def test_fewer_and_more_answers_are_shown_too(bar):
    bar.set_tiles(TILES[:3])
    assert len(bar.cards) == 3
    bar.set_tiles(TILES)
    assert [card.tile.key for card in bar.cards] == [one.key for one in TILES]


def test_the_focus_ring_shows(bar):
    bar.cards[1].setFocus()
    flat = array_of(bar.cards[0].grab().toImage())
    bar.cards[0].setFocus()
    ringed = array_of(bar.cards[0].grab().toImage())
    assert not np.array_equal(flat, ringed)


def test_a_change_of_ground_repaints(bar, qapp):
    light = array_of(bar.grab().toImage())
    use_theme(DARK, qapp)
    dark = array_of(bar.grab().toImage())
    assert light[..., :3].mean() > 200
    assert dark[..., :3].mean() < 90
