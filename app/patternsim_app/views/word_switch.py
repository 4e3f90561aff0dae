"""A row of words of which one is chosen: the way the bench is looked at, mm or inch."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QEnterEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QHBoxLayout, QWidget

from patternsim_app.theme import colour, em, sized, theme


class WordButton(QAbstractButton):
    """A word that can be chosen, underlined where it is."""

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setText(text)
        self.setCheckable(True)
        self.setAccessibleName(text)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def sizeHint(self) -> QSize:
        """Return room for the word and its underline."""
        wide = self.fontMetrics().horizontalAdvance(self.text())
        wide = max(wide, round(wide * 1.06)) + round(1.1 * em(self))
        return QSize(wide, max(24, round(1.75 * em(self))))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the word."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        chosen = self.isChecked()
        painter.setFont(sized(self.font(), 1.0, medium=chosen))
        faint = not chosen and not self.underMouse()
        painter.setPen(colour(theme().faint if faint else theme().ink))
        painter.drawText(self.rect().adjusted(0, 0, 0, -3), Qt.AlignmentFlag.AlignCenter, self.text())
        if chosen:
            painter.setPen(QPen(colour(theme().chosen_line), 2.5, c=Qt.PenCapStyle.RoundCap))
            y = self.height() - 2.5
            pad = 0.55 * em(self)
            painter.drawLine(QPointF(pad, y), QPointF(self.width() - pad, y))
        if self.hasFocus():
            painter.setPen(QPen(colour(theme().chosen_line), 2.0))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 4, 4)

    def enterEvent(self, event: QEnterEvent) -> None:
        """Come forward under the pointer."""
        self.update()

    def leaveEvent(self, event: QEvent) -> None:
        """Step back."""
        self.update()


class WordSwitch(QWidget):
    """Words side by side; exactly one is chosen."""

    chosen = Signal(str)

    def __init__(
        self, words: tuple[tuple[str, str, str], ...], name: str, parent: QWidget | None = None
    ) -> None:
        """Make the row of (key, word, tip)."""
        super().__init__(parent)
        self.setAccessibleName(name)
        self._group = QButtonGroup(self)
        self._group.setExclusive(True)
        self._buttons: dict[str, WordButton] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        for key, word, tip in words:
            button = WordButton(word)
            button.setToolTip(tip)
            button.setAccessibleDescription(tip)
            self._group.addButton(button)
            self._buttons[key] = button
            row.addWidget(button)
        self._group.buttonClicked.connect(self._clicked)
        next(iter(self._buttons.values())).setChecked(True)

    def set_chosen(self, key: str) -> None:
        """Choose a word without a signal."""
        self._buttons[key].setChecked(True)

    def value(self) -> str:
        """Return the key of the chosen word."""
        return next(key for key, button in self._buttons.items() if button.isChecked())

    def _clicked(self, button: QAbstractButton) -> None:
        self.chosen.emit(next(key for key, one in self._buttons.items() if one is button))
