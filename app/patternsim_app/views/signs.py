"""The signs of good and bad news: shapes that are told apart without colour.

A ring is fine, a triangle is to watch, a full square with a bar is stop, a small diamond is a note
and a dash is what is not worked out. What they stand beside says the same in words.
"""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from patternsim_app.shown import Grade
from patternsim_app.theme import colour, em, theme

GRADE_WORDS: Final[dict[Grade, str]] = {
    "fine": "fine",
    "watch": "to watch",
    "stop": "stop",
    "note": "note",
    "unknown": "not worked out",
}
SIGN_EM = 1.15
"""Side of a sign beside a line of words, in letter heights."""
STROKE = 0.14
"""Of the side."""


def paint_sign(
    painter: QPainter,
    place: QRectF,
    grade: Grade,
    *,
    ink: QColor | None = None,
    ground: QColor | None = None,
) -> None:
    """Paint the sign of a grade, as large as fits the middle of `place`.

    Parameters
    ----------
    painter : QPainter
    place : QRectF
    grade : str
    ink : QColor, optional
        Instead of the colour of the grade: greyed while waiting.
    ground : QColor, optional
        What it stands on, for the bar in the square; the panel's by default.
    """
    side = min(place.width(), place.height())
    box = QRectF(0.0, 0.0, side, side)
    box.moveCenter(place.center())
    paint = ink if ink is not None else colour(theme().grade(grade))
    below = ground if ground is not None else colour(theme().panel)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    _SHAPES[grade](painter, box, paint, below)
    painter.restore()


class Sign(QWidget):
    """A sign by itself, beside words that stand in another widget.

    Parameters
    ----------
    grade : str
    parent : QWidget, optional
    """

    def __init__(self, grade: Grade = "unknown", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._grade: Grade = grade
        self.set_grade(grade)

    @property
    def grade(self) -> Grade:
        """The grade it shows."""
        return self._grade

    def set_grade(self, grade: Grade) -> None:
        """Show another grade."""
        self._grade = grade
        self.setAccessibleName(GRADE_WORDS[grade])
        self.setToolTip(GRADE_WORDS[grade])
        self.update()

    def sizeHint(self) -> QSize:
        """Return a square a little higher than a line of letters."""
        side = round(SIGN_EM * em(self))
        return QSize(side, side)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the shape."""
        paint_sign(
            QPainter(self), QRectF(self.rect()), self._grade, ground=self.palette().window().color()
        )


def _pen(paint: QColor, box: QRectF, times: float = 1.0) -> QPen:
    pen = QPen(paint, max(1.6, STROKE * times * box.width()))
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    return pen


def _ring(painter: QPainter, box: QRectF, paint: QColor, _ground: QColor) -> None:
    pen = _pen(paint, box)
    inset = pen.widthF() / 2 + 0.06 * box.width()
    painter.setPen(pen)
    painter.drawEllipse(box.adjusted(inset, inset, -inset, -inset))


def _triangle(painter: QPainter, box: QRectF, paint: QColor, _ground: QColor) -> None:
    pen = _pen(paint, box)
    inset = pen.widthF() / 2 + 0.03 * box.width()
    inner = box.adjusted(inset, inset + 0.03 * box.height(), -inset, -inset)
    painter.setPen(pen)
    painter.drawPolygon(
        QPolygonF([QPointF(box.center().x(), inner.top()), inner.bottomRight(), inner.bottomLeft()])
    )


def _square(painter: QPainter, box: QRectF, paint: QColor, ground: QColor) -> None:
    inset = 0.07 * box.width()
    inner = box.adjusted(inset, inset, -inset, -inset)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(paint)
    painter.drawRoundedRect(inner, 0.12 * box.width(), 0.12 * box.width())
    bar = QRectF(0.0, 0.0, 0.56 * inner.width(), 0.2 * inner.height())
    bar.moveCenter(inner.center())
    painter.setBrush(ground)
    painter.drawRect(bar)


def _diamond(painter: QPainter, box: QRectF, paint: QColor, _ground: QColor) -> None:
    middle, reach = box.center(), 0.27 * box.width()
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(paint)
    painter.drawPolygon(
        QPolygonF(
            [
                middle + QPointF(0.0, -reach),
                middle + QPointF(reach, 0.0),
                middle + QPointF(0.0, reach),
                middle + QPointF(-reach, 0.0),
            ]
        )
    )


def _dash(painter: QPainter, box: QRectF, paint: QColor, _ground: QColor) -> None:
    painter.setPen(_pen(paint, box))
    reach = QPointF(0.3 * box.width(), 0.0)
    painter.drawLine(box.center() - reach, box.center() + reach)


_SHAPES: Final = {
    "fine": _ring,
    "watch": _triangle,
    "stop": _square,
    "note": _diamond,
    "unknown": _dash,
}


def paint_rough(painter: QPainter, place: QRectF, font: QFont) -> None:
    """Paint the sign of what is only known roughly into the lower right corner of a place."""
    measure = QFontMetricsF(font)
    side = max(measure.horizontalAdvance("~"), measure.xHeight()) + 0.4 * measure.height()
    plate = QRectF(0.0, 0.0, side, side)
    plate.moveBottomRight(place.bottomRight())
    painter.setFont(font)
    painter.setPen(QPen(colour(theme().line), 1.0))
    painter.setBrush(colour(theme().panel))
    painter.drawEllipse(plate)
    painter.setPen(colour(theme().ink))
    painter.drawText(plate, Qt.AlignmentFlag.AlignCenter, "~")
