"""The five answers at a glance: a row of cards, each with a sign, a headline and a line of detail.

What the answers are is worked out elsewhere; a card that is chosen only says so.
"""

from __future__ import annotations

from functools import partial
from typing import Final

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QEnterEvent,
    QFont,
    QFontMetricsF,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from patternsim_app.shown import AnswerTile
from patternsim_app.theme import colour, em, sized, theme
from patternsim_app.views.lettering import (
    SMALL,
    broken_shrunk,
    caps_font,
    cut_off,
    draw_lines,
    paint_card,
    paint_focus,
    shrunk,
    width_of,
)
from patternsim_app.views.signs import SIGN_EM, paint_sign

HEADLINE = 1.3
"""Size of a headline, of the window's letters."""
PAD_EM, BRIEF_PAD_EM, GAP_EM = 0.6, 0.3, 0.45
LEAST_CARD_EM = 5.9
"""Narrower cards flow into another row."""
WIDE_CARD_EM = 11.0
"""From here on the sign has a column to itself."""
DETAIL_LINES = 2

_NAMES: Final = ("Tip", "Barbs", "Steel", "Press", "Risk")
NOT_YET: Final = tuple(
    AnswerTile(
        key=name.lower(),
        name=name,
        headline="not worked out",
        detail="",
        grade="unknown",
        spoken=f"{name}: not worked out yet.",
    )
    for name in _NAMES
)
"""What stands there before the first answer."""


class AnswersBar(QWidget):
    """The row of answers.

    Signals
    -------
    chosen(str)
        Key of the answer that was clicked, or chosen with Enter or Space.
    """

    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Answers")
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self._tiles: tuple[AnswerTile, ...] = ()
        self._cards: list[AnswerCard] = []
        self._waiting = self._brief = False
        self._rough = ""
        self._detail_lines = 1
        self.set_tiles(NOT_YET)

    @property
    def cards(self) -> tuple[AnswerCard, ...]:
        """The cards from left to right."""
        return tuple(self._cards)

    def set_tiles(self, tiles: tuple[AnswerTile, ...]) -> None:
        """Show these answers; none at all shows that nothing is worked out."""
        self._tiles = tiles or NOT_YET
        while len(self._cards) > len(self._tiles):
            self._cards.pop().deleteLater()
        while len(self._cards) < len(self._tiles):
            card = AnswerCard(self)
            card.clicked.connect(partial(self._choose, len(self._cards)))
            card.set_brief(self._brief)
            card.set_rough(self._rough)
            card.show()
            self._cards.append(card)
        for card, tile in zip(self._cards, self._tiles, strict=True):
            card.set_tile(tile)
        self._place()

    def set_waiting(self, waiting: bool) -> None:
        """Grey the answers while new ones are worked out; the last ones stay readable."""
        self._waiting = waiting
        for card in self._cards:
            card.set_waiting(waiting)

    def set_rough(self, words: str) -> None:
        """Say that the answers are rough, in these words; empty for answers of a job worked out."""
        self._rough = words
        for card in self._cards:
            card.set_rough(words)

    def set_brief(self, brief: bool) -> None:
        """Leave the details to the tips of the cards: large letters in a low window."""
        if brief != self._brief:
            self._brief = brief
            for card in self._cards:
                card.set_brief(brief)
            self._detail_lines = 0 if brief else 1
            self._place()

    def hasHeightForWidth(self) -> bool:
        """Narrow bars take a second row."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height all cards take at this width."""
        columns = self._columns(width)
        rows = -(-len(self._cards) // columns)
        lines = max(self._detail_lines, self._lines_wanted(width))
        return round(rows * self._card_height(lines) + (rows - 1) * self._gap())

    def sizeHint(self) -> QSize:
        """Return one row of comfortable cards."""
        width = round(len(self._cards) * 14.0 * em(self))
        return QSize(width, self.heightForWidth(width))

    def minimumSizeHint(self) -> QSize:
        """Return the least width, and the height at the width it has."""
        return QSize(round(LEAST_CARD_EM * em(self)), self.heightForWidth(max(1, self.width())))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the cards anew."""
        if event.oldSize().width() != event.size().width():
            self._detail_lines = 0 if self._brief else 1
        self._place()

    def changeEvent(self, event: QEvent) -> None:
        """Lay the cards anew when the letters change."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._detail_lines = 0 if self._brief else 1
            self._place()

    def _choose(self, index: int) -> None:
        self.chosen.emit(self._tiles[index].key)

    def _gap(self) -> float:
        return GAP_EM * em(self)

    def _columns(self, width: int) -> int:
        gap = self._gap()
        fit = int((width + gap) // (LEAST_CARD_EM * em(self) + gap))
        return max(1, min(len(self._cards), fit))

    def _card_height(self, detail_lines: int) -> float:
        font = self.font()
        heights = (
            QFontMetricsF(caps_font(font)).height(),
            QFontMetricsF(sized(font, HEADLINE, medium=True)).height(),
            detail_lines * QFontMetricsF(sized(font, SMALL)).height(),
        )
        return float(round(sum(heights) + 2 * (BRIEF_PAD_EM if self._brief else PAD_EM) * em(self)))

    def _lines_wanted(self, width: int) -> int:
        if self._brief:
            return 0
        columns = self._columns(width)
        each = (width - (columns - 1) * self._gap()) / columns
        small = sized(self.font(), SMALL)
        room = each - AnswerCard.beside_words(each, em(self))
        return DETAIL_LINES if any(width_of(tile.detail, small) > room for tile in self._tiles) else 1

    def _place(self) -> None:
        # Once there are two lines they stay until the width changes: a bar that jumps up and down
        # while a number is dragged takes the eye off the picture.
        self._detail_lines = max(self._detail_lines, self._lines_wanted(self.width()))
        columns, gap = self._columns(self.width()), self._gap()
        height = self._card_height(self._detail_lines)
        each = (self.width() - (columns - 1) * gap) / columns
        for index, card in enumerate(self._cards):
            row, column = divmod(index, columns)
            left, right = round(column * (each + gap)), round(column * (each + gap) + each)
            card.setGeometry(left, round(row * (height + gap)), right - left, round(height))
        self.updateGeometry()


class AnswerCard(QAbstractButton):
    """One answer: a button that reads like a label."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self._tile = NOT_YET[0]
        self._waiting = self._brief = False
        self._rough = ""

    @property
    def tile(self) -> AnswerTile:
        """The answer shown."""
        return self._tile

    def set_tile(self, tile: AnswerTile) -> None:
        """Show another answer."""
        self._tile = tile
        self.setAccessibleName(tile.spoken)
        self._tell()

    def set_waiting(self, waiting: bool) -> None:
        """Grey the card while its answer is worked out again."""
        self._waiting = waiting
        self._tell()

    def set_rough(self, words: str) -> None:
        """Say beside the name that the answer is rough."""
        if words != self._rough:
            self._rough = words
            self._tell()

    def _tell(self) -> None:
        said = "being worked out again" if self._waiting else self._rough
        self.setAccessibleDescription(said)
        self.setToolTip(f"{self._tile.spoken}\n{said}" if said else self._tile.spoken)
        self.update()

    def set_brief(self, brief: bool) -> None:
        """Show name and headline only."""
        self._brief = brief
        self.update()

    def sizeHint(self) -> QSize:
        """Return room for the words as they are."""
        line = em(self)
        words = max(
            width_of(self._tile.headline, self._headline_font()),
            width_of(self._tile.detail, sized(self.font(), SMALL)) / DETAIL_LINES,
        )
        return QSize(round(words + self.beside_words(14 * line, line)), round(5 * line))

    @staticmethod
    def beside_words(width: float, line: float) -> float:
        """Return what is left and right of the detail in a card of this width, pixels."""
        sign = SIGN_EM * line + 0.55 * line if width >= WIDE_CARD_EM * line else 0.0
        return 2 * PAD_EM * line + sign

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take Enter like Space."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        else:
            super().keyPressEvent(event)

    def enterEvent(self, event: QEnterEvent) -> None:
        """Show that it can be clicked."""
        super().enterEvent(event)
        self.update()

    def leaveEvent(self, event: QEvent) -> None:
        """Lie flat again."""
        super().leaveEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint ground, sign and words."""
        painter = QPainter(self)
        line, shown = em(self), theme()
        whole = QRectF(self.rect())
        paint_card(painter, whole, line, raised=self.underMouse())
        faint = colour(shown.faint)
        ink = faint if self._waiting or self._tile.grade == "unknown" else colour(shown.ink)
        pad, low = PAD_EM * line, (BRIEF_PAD_EM if self._brief else PAD_EM) * line
        inner = whole.adjusted(pad, low, -pad, -low)
        caps, headline = caps_font(self.font()), self._headline_font()
        name_height = QFontMetricsF(caps).height()
        head_height = QFontMetricsF(headline).height()
        words = inner.adjusted(self.beside_words(whole.width(), line) - 2 * PAD_EM * line, 0.0, 0.0, 0.0)
        if words.left() > inner.left():
            side = SIGN_EM * line
            sign = QRectF(inner.left(), inner.top() + (name_height + head_height - side) / 2, side, side)
            name_left = words.left()
        else:
            side = name_height
            sign = QRectF(inner.left(), inner.top(), side, side)
            name_left = inner.left() + side + 0.3 * line
        paint_sign(painter, sign, self._tile.grade, ink=faint if self._waiting else None)
        painter.setPen(faint)
        painter.setFont(caps)
        name = QRectF(name_left, inner.top(), inner.right() - name_left, name_height)
        said = self._name_said(caps, name.width())
        draw_lines(painter, name, (cut_off(said, caps, name.width()),))
        painter.setPen(ink)
        fitting = shrunk(self._tile.headline, headline, words.width())
        painter.setFont(fitting)
        row = QRectF(words.left(), name.bottom(), words.width(), head_height)
        painter.drawText(
            row,
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
            cut_off(self._tile.headline, fitting, words.width()),
        )
        if not self._brief:
            self._paint_detail(painter, QRectF(words.left(), row.bottom(), words.width(), 0.0), faint)
        if self.hasFocus():
            paint_focus(painter, whole, line)

    def _name_said(self, font: QFont, room: float) -> str:
        """Return the name, with a word or at least a sign beside it where the answer is rough."""
        name = self._tile.name
        if not self._rough or self._waiting:
            return name
        said = f"{name} · rough"
        return said if width_of(said, font) <= room else f"{name} ~"

    def _paint_detail(self, painter: QPainter, place: QRectF, tone: QColor) -> None:
        small, lines = broken_shrunk(
            self._tile.detail, sized(self.font(), SMALL), place.width(), DETAIL_LINES
        )
        painter.setPen(tone)
        painter.setFont(small)
        draw_lines(painter, place, lines)

    def _headline_font(self) -> QFont:
        return sized(self.font(), HEADLINE, medium=True)
