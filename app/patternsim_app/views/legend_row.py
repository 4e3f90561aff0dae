"""What the tones of the layer drawing stand for: a rimmed square a steel, with its letter and name."""

from __future__ import annotations

import math

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from patternsim_app.painting import mixed
from patternsim_app.shown import Legend
from patternsim_app.theme import colour, em, theme
from patternsim_app.views.lettering import width_of

SIDE_EM, GAP_EM, APART_EM = 0.75, 0.35, 1.1
RIM_SHARE = 0.6
"""Of the ink in the rim: dark steel must not run into a dark ground."""


class LegendRow(QWidget):
    """The steels side by side."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Preferred)
        self.setAccessibleName("What the tones stand for")
        self._legend = Legend()

    def set_shown(self, legend: Legend) -> None:
        """Show other steels."""
        self._legend = legend
        self.setAccessibleDescription(", ".join(self._words()))
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Return room for all steels."""
        words = sum(width_of(one, self.font()) for one in self._words())
        many = len(self._legend.steels)
        squares = many * (SIDE_EM + GAP_EM) + max(many - 1, 0) * APART_EM
        return QSize(math.ceil(words + squares * em(self)) + 2, self.fontMetrics().height())

    def minimumSizeHint(self) -> QSize:
        """Return the same: nothing of it can be left out."""
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint squares and words."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        line, left = em(self), 1.0
        side = SIDE_EM * line
        rim = mixed(colour(theme().ink), colour(theme().panel), RIM_SHARE)
        for (_, _, tone), words in zip(self._legend.steels, self._words(), strict=True):
            painter.setPen(QPen(rim, 1.0))
            painter.setBrush(colour(tone))
            painter.drawRect(QRectF(left, (self.height() - side) / 2, side, side))
            left += side + GAP_EM * line
            painter.setPen(colour(theme().ink))
            wide = width_of(words, self.font())
            place = QRectF(left, 0.0, wide + 2.0, self.height())
            painter.drawText(place, Qt.AlignmentFlag.AlignVCenter, words)
            left += wide + APART_EM * line

    def _words(self) -> tuple[str, ...]:
        return tuple(f"{letter} {steel}" for letter, steel, _ in self._legend.steels)
