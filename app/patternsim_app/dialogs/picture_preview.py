"""The picture that would be written, drawn small."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from patternsim_app.painting import Picture
from patternsim_app.shown import Rgba
from patternsim_app.theme import colour, em, theme

WIDE_EM, HIGH_EM = 38.0, 13.0
"""Usual size, in letter heights; where there is less room it makes do with that."""
LEAST_EM = 5.0


class PicturePreview(QWidget):
    """Shows one picture as large as there is room, or words in its place."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("How it will look")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self._picture: Picture | None = None
        self._words = ""

    @property
    def words(self) -> str:
        """What is said in place of a picture."""
        return self._words

    @property
    def has_picture(self) -> bool:
        """Whether a picture is shown."""
        return self._picture is not None

    def show_picture(self, picture: Rgba, told: str) -> None:
        """Show a picture; `told` is what a screen reader hears of it."""
        self._picture, self._words = Picture(picture), ""
        self.setAccessibleDescription(told)
        self.update()

    def show_words(self, words: str, *, keep: bool = False) -> None:
        """Say something in place of the picture; with `keep` the picture before stays, fainter."""
        self._picture = self._picture if keep else None
        self._words = words
        self.setAccessibleDescription(words)
        self.update()

    def sizeHint(self) -> QSize:
        """Return the usual size, less where the screen is small for the letters."""
        letter = em(self)
        screen = self.screen().availableSize()
        high = min(HIGH_EM * letter, 0.28 * screen.height())
        return QSize(round(min(WIDE_EM * letter, 0.7 * screen.width())), round(high))

    def minimumSizeHint(self) -> QSize:
        """Return how small it may become."""
        return QSize(round(10 * em(self)), round(LEAST_EM * em(self)))

    def changeEvent(self, event: QEvent) -> None:
        """Follow the letters."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.updateGeometry()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the picture with a line round it, or the words."""
        painter, shown = QPainter(self), theme()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        room = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        if self._picture is None:
            painter.setPen(QPen(colour(shown.line), 1.0))
            painter.drawRoundedRect(room, 4, 4)
        else:
            wide, high = self._picture.size
            scale = min(room.width() / wide, room.height() / high)
            place = QRectF(0, 0, round(wide * scale), round(high * scale))
            place.moveCenter(room.center())
            place.moveTopLeft(place.topLeft().toPoint())
            painter.setOpacity(0.5 if self._words else 1.0)
            self._picture.draw(painter, place)
            painter.setOpacity(1.0)
            painter.setPen(QPen(colour(shown.line), 1.0))
            painter.drawRect(place.adjusted(-0.5, -0.5, 0.5, 0.5))
        if self._words and self._picture is None:
            painter.setPen(colour(shown.faint))
            inner = room.adjusted(em(self), 0, -em(self), 0)
            flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(inner, flags, self._words)
