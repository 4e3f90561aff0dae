"""Which way the barbs lean, as drawn chevrons with words beneath.

A barb that leans to the tip leaves the centre line and runs outwards towards the tip; the chevrons do
the same, and an arrow says where the tip is.
"""

from __future__ import annotations

import math

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from patternsim_app.painting import polyline
from patternsim_app.shown import BarbsShown
from patternsim_app.theme import colour, em, sized, theme
from patternsim_app.views.lettering import SMALL, broken, draw_lines, width_of
from patternsim_app.views.signs import SIGN_EM, paint_sign

CHEVRONS = 4
STEEPEST_DEG, FLATTEST_DEG = 75.0, 18.0
"""Steeper or flatter chevrons would not be seen as such."""
USUAL_DEG = 35.0
"""Where the angle is not known."""
HIGH_EM = 3.2
PITCH_EM = 0.95
ARROW_EM = 1.1
MOST_LINES = 2
"""Of each of the words."""
NOTHING = ("Barbs not worked out",)


class BarbMark(QWidget):
    """Chevrons and words about the barbs."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName("Barbs")
        self._shown: BarbsShown | None = None
        self.set_shown(None)

    def set_shown(self, shown: BarbsShown | None) -> None:
        """Show other barbs; None where they are not worked out."""
        self._shown = shown
        told = ", ".join(self._words())
        self.setAccessibleDescription(told)
        self.setToolTip(told)
        self.updateGeometry()
        self.update()

    def hasHeightForWidth(self) -> bool:
        """Narrow words take more lines."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return what chevrons and words take."""
        below = self._words_top()
        for font, lines in self._broken(width):
            below += len(lines) * QFontMetricsF(font).height()
        return math.ceil(below + 0.2 * em(self))

    def sizeHint(self) -> QSize:
        """Return chevrons with words in about two lines each."""
        width = round(15 * em(self))
        return QSize(width, self.heightForWidth(width))

    def minimumSizeHint(self) -> QSize:
        """Return what still shows the chevrons."""
        return QSize(round(9 * em(self)), self.heightForWidth(max(self.width(), round(9 * em(self)))))

    def strokes(self) -> tuple[tuple[QPointF, QPointF, QPointF], ...]:
        """Return the chevrons from left to right, each as outer, inner and other outer end."""
        shown = self._shown
        if shown is None or shown.towards == "none":
            return ()
        line = em(self)
        half = HIGH_EM / 2 * line
        angle = USUAL_DEG if shown.angle_deg is None else shown.angle_deg
        angle = min(STEEPEST_DEG, max(FLATTEST_DEG, angle))
        # The arm keeps within the height, and a flat one within the pitch of three.
        reach = min(half / math.tan(math.radians(angle)), 2.4 * line)
        rise = min(half, reach * math.tan(math.radians(angle)))
        towards_right = (shown.towards == "tip") == shown.tip_right
        made = []
        left, middle = 0.15 * line, half + 0.2 * line
        turning = shown.towards == "mixed"
        if not turning and not shown.tip_right:
            left += self._arrow_width() + 0.6 * line
        for index in range(CHEVRONS):
            to_right = (index >= CHEVRONS // 2) if turning else towards_right
            x = left + index * PITCH_EM * line
            if turning and index >= CHEVRONS // 2:
                x += reach + 0.5 * line
            inner, outer = (x, x + reach) if to_right else (x + reach, x)
            made.append(
                (QPointF(outer, middle - rise), QPointF(inner, middle), QPointF(outer, middle + rise))
            )
        return tuple(made)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint chevrons, arrow to the tip, and words."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_strokes(painter)
        self._paint_words(painter)

    def _words(self) -> tuple[str, ...]:
        return self._shown.words if self._shown is not None else NOTHING

    def _words_top(self) -> float:
        return (HIGH_EM + 0.75) * em(self)

    def _words_left(self) -> float:
        return (SIGN_EM + 0.4) * em(self)

    def _broken(self, width: float) -> list[tuple[QFont, tuple[str, ...]]]:
        made = []
        for index, words in enumerate(self._words()):
            font = sized(self.font(), SMALL) if index else sized(self.font(), 1.0, medium=True)
            room = width - (0.0 if index else self._words_left())
            made.append((font, broken(words, font, room, MOST_LINES)))
        return made

    def _paint_strokes(self, painter: QPainter) -> None:
        line, now = em(self), theme()
        middle = HIGH_EM / 2 * line + 0.2 * line
        strokes = self.strokes()
        if not strokes:
            pen = QPen(colour(now.faint), 0.16 * line)
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.setPen(pen)
            painter.drawLine(QLineF(0.3 * line, middle, 3.3 * line, middle))
            return
        ends = [point.x() for stroke in strokes for point in stroke]
        pen = QPen(colour(now.barb), 0.19 * line)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for stroke in strokes:
            painter.drawPath(polyline(list(stroke)))
        if self._shown is not None and self._shown.towards == "mixed":
            turn = (strokes[1][1].x() + strokes[2][1].x()) / 2
            painter.setPen(QPen(colour(now.ink), 1.2, Qt.PenStyle.DashLine))
            painter.drawLine(QLineF(turn, middle - 1.7 * line, turn, middle + 1.7 * line))
            return  # Which half lies at the tip is in the words.
        right = self._shown is None or self._shown.tip_right
        self._paint_arrow(painter, max(ends) + 0.6 * line if right else min(ends) - 0.6 * line, middle)

    def _arrow_width(self) -> float:
        return (ARROW_EM + 0.3) * em(self) + width_of("tip", sized(self.font(), SMALL))

    def _paint_arrow(self, painter: QPainter, beside: float, middle: float) -> None:
        """Say where the tip is, so that the chevrons can be read by themselves."""
        line, now = em(self), theme()
        small = sized(self.font(), SMALL)
        right = self._shown is None or self._shown.tip_right
        sign = 1.0 if right else -1.0
        end, head = beside + sign * ARROW_EM * line, 0.3 * line
        height, wide = QFontMetricsF(small).height(), width_of("tip", small)
        left = end + 0.3 * line if right else end - 0.3 * line - wide
        painter.setFont(small)
        painter.setPen(colour(now.faint))
        room = QRectF(left, middle - height / 2, wide + 2.0, height)
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, "tip")
        painter.setPen(QPen(colour(now.faint), 1.4))
        painter.drawLine(QLineF(beside, middle, end, middle))
        painter.setBrush(colour(now.faint))
        base = end - sign * head
        painter.drawPolygon(
            QPolygonF(
                [
                    QPointF(end, middle),
                    QPointF(base, middle - 0.7 * head),
                    QPointF(base, middle + 0.7 * head),
                ]
            )
        )

    def _paint_words(self, painter: QPainter) -> None:
        line, now = em(self), theme()
        top = self._words_top()
        grade = self._shown.grade if self._shown is not None else "unknown"
        side = SIGN_EM * line
        for index, (font, lines) in enumerate(self._broken(self.width())):
            left = 0.0 if index else self._words_left()
            if not index:
                height = QFontMetricsF(font).height()
                paint_sign(painter, QRectF(0.0, top + (height - side) / 2, side, side), grade)
            painter.setFont(font)
            painter.setPen(colour(now.faint if index or self._shown is None else now.ink))
            top = draw_lines(painter, QRectF(left, top, self.width() - left, 0.0), lines)
