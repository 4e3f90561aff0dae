"""The line '+ add a step' under the rows of the job card."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QWidget

from patternsim_app.theme import colour, em, theme
from patternsim_app.views.card_layout import BAR_PX, LEAST_TARGET_PX, LEFT, NUMBER, sentence_left
from patternsim_app.views.lettering import paint_focus

_WORDS = "add a step"


class AddButton(QAbstractButton):
    """A quiet button as wide as the card; it looks like a row to come."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setText(_WORDS)
        self.setAccessibleName("Add a step")
        self.setToolTip("Add a step at the end; Insert adds one below the step on the bench")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self._pinned = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def set_pinned(self, pinned: bool) -> None:
        """Set off from rows that go on beneath it."""
        if pinned != self._pinned:
            self._pinned = pinned
            self.update()

    def sizeHint(self) -> QSize:
        """Return the height of a row of one line."""
        return QSize(round(12 * em(self)), round(max(2.2 * em(self), LEAST_TARGET_PX)))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint a plus where numbers stand and the words where sentences begin."""
        painter, shown, letter = QPainter(self), theme(), em(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        place = QRectF(self.rect())
        painter.fillRect(place, colour(shown.panel))
        lit = self.isEnabled() and (self.underMouse() or self.isDown())
        if lit:
            painter.fillRect(place, colour(shown.box))
        if self._pinned:
            painter.fillRect(QRectF(0.0, 0.0, place.width(), 1.0), colour(shown.line))
        middle, reach = BAR_PX + (LEFT + NUMBER - 0.3) * letter, 0.28 * letter
        ink = colour(shown.chosen_line if self.isEnabled() else shown.faint)
        painter.setPen(QPen(ink, max(1.5, 0.1 * letter)))
        y = place.center().y()
        painter.drawLine(round(middle - reach), round(y), round(middle + reach), round(y))
        painter.drawLine(round(middle), round(y - reach), round(middle), round(y + reach))
        painter.setPen(ink)
        painter.setFont(self.font())
        painter.drawText(
            place.adjusted(sentence_left(letter), 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, self.text()
        )
        if self.hasFocus():
            paint_focus(painter, place, 0.5 * letter)
