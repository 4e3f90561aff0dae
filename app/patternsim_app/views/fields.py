"""Boxes of the sheet that hold no number: a choice, a line of text, and the dot that puts it back."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QPainter, QPaintEvent, QPen, QWheelEvent
from PySide6.QtWidgets import QComboBox, QToolButton, QWidget

from patternsim_app.shown import Value
from patternsim_app.theme import colour, em, theme
from patternsim_app.views.entry import Entry
from patternsim_app.views.number_entry import paint_edge


class TextBox(Entry):
    """A line of text that is given when another was typed."""

    entered = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMinimumHeight(24)
        self._text = ""

    def show_text(self, text: str) -> None:
        """Show what is stored; what is being typed stays."""
        # Where nothing is new, the place in the text and what is marked stay.
        same = text == self._text == self.text()
        self._text = text
        if not same and not self.is_typed:
            self.setText(text)

    def take(self) -> bool:
        """Take what was typed."""
        if not self.is_typed:
            return True
        text = self.text().strip()
        changed, self._text = text != self._text, text
        self.setText(text)
        self.setModified(False)
        if changed:
            self.entered.emit(text)
        return True

    def leave(self) -> None:
        """Put back what is stored."""
        self.setText(self._text)
        self.setModified(False)
        self.selectAll()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Take what was typed."""
        super().focusOutEvent(event)
        if event.reason() != Qt.FocusReason.PopupFocusReason:
            self.take()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Mark where the keys go."""
        super().paintEvent(event)
        if self.hasFocus():
            paint_edge(self)


class Choice(QComboBox):
    """A list of choices that is not turned by the wheel; None among them is what is left out."""

    def __init__(self, choices: tuple[tuple[Value, str], ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._values = [value for value, _ in choices]
        self.addItems([words for _, words in choices])
        self.setMinimumHeight(24)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)  # the wheel must not give it the keys

    def show_value(self, value: Value) -> None:
        """Choose a value without a signal; one that is not offered leaves the box empty."""
        self.setCurrentIndex(self._values.index(value) if value in self._values else -1)

    def value(self) -> Value:
        """Return the chosen value."""
        return self._values[self.currentIndex()] if self.currentIndex() >= 0 else None

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to what scrolls."""
        event.ignore()


class Dot(QToolButton):
    """A dot: this value is not as usual; a click puts that right."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        side = max(24, round(1.2 * em()))
        self.setFixedSize(side, side)
        self.setAutoRaise(True)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        policy = self.sizePolicy()
        policy.setRetainSizeWhenHidden(True)
        self.setSizePolicy(policy)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the dot, and a ring where the keys go."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.hasFocus():
            painter.setPen(QPen(colour(theme().chosen_line), 2.0))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(2, 2, -2, -2), 3, 3)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(theme().barb))
        size = (0.26 if self.underMouse() else 0.21) * em()
        painter.drawEllipse(QPointF(self.width() / 2, self.height() / 2), size, size)
