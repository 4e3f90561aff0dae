"""Which way the barbs lean, as a drawn feather with words beneath.

A barb that leans to the tip leaves the centre line and runs outwards towards the tip, as on a bird's
feather held by the quill. The bare quill is drawn at the handle's end, and both ends bear their names.
"""

from __future__ import annotations

import math
from itertools import pairwise

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from patternsim_app.shown import BarbsShown
from patternsim_app.theme import colour, em, sized, theme
from patternsim_app.views.lettering import SMALL, broken, draw_lines, width_of
from patternsim_app.views.signs import SIGN_EM, paint_sign

STEEPEST_DEG, FLATTEST_DEG = 75.0, 18.0
"""Steeper or flatter barbs would not be seen as such."""
USUAL_DEG = 35.0
"""Where the angle is not known."""
HIGH_EM, LONG_EM = 2.9, 10.5
"""Height of the feather, and its length where there is room."""
LEAST_LONG_EM = 6.0
"""A shorter feather could not be read: the handle's name is left out first."""
REACH_EM = 2.2
"""A barb runs no farther than so much along the shaft."""
PITCH_EM, TURN_EM = 0.62, 0.35
"""From barb to barb; from the last barb to where the lean turns round."""
BARE_EM = 1.5
"""The quill, held at the handle's end."""
SHORT = 0.72
"""The barbs at both ends of the feather, of the longest."""
BOW = 0.13
"""How far a barb bends, of its length: it leaves the shaft flat, as feathers do."""
THICK_EM, THIN_EM = 0.12, 0.05
"""Half the shaft's width at the quill and at the point."""
MOST_LINES = 2
"""Of each of the words."""
ENDS = ("handle", "tip")
NOTHING = ("Barbs not worked out",)


class BarbMark(QWidget):
    """A feather and words about the barbs."""

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
        """Return what feather and words take."""
        below = self._words_top()
        for font, lines in self._broken(width):
            below += len(lines) * QFontMetricsF(font).height()
        return math.ceil(below + 0.2 * em(self))

    def sizeHint(self) -> QSize:
        """Return a feather with words in about two lines each."""
        width = round(15 * em(self))
        return QSize(width, self.heightForWidth(width))

    def minimumSizeHint(self) -> QSize:
        """Return what still shows the feather."""
        return QSize(round(9 * em(self)), self.heightForWidth(max(self.width(), round(9 * em(self)))))

    def shaft(self) -> tuple[QPointF, QPointF]:
        """Return the ends of the shaft: at the handle, and at the tip."""
        line, right = em(self), self._shown is None or self._shown.tip_right
        small = sized(self.font(), SMALL)
        words = [width_of(word, small) + 0.5 * line for word in ENDS]
        room = self.width() - sum(words)
        if room < LEAST_LONG_EM * line:
            words[0] = 0.0
            room = self.width() - words[1]
        long = max(3.0 * line, min(LONG_EM * line, room))
        left = 0.1 * line + (words[0] if right else words[1])
        ends = (QPointF(left, self._middle()), QPointF(left + long - 0.2 * line, self._middle()))
        return ends if right else (ends[1], ends[0])

    def strokes(self) -> tuple[tuple[QPointF, QPointF, QPointF], ...]:
        """Return the barbs from left to right, each as outer end, place on the shaft, other end."""
        shown = self._shown
        if shown is None or shown.towards == "none":
            return ()
        line = em(self)
        angle = USUAL_DEG if shown.angle_deg is None else shown.angle_deg
        slope = math.tan(math.radians(min(STEEPEST_DEG, max(FLATTEST_DEG, angle))))
        # A barb keeps within the height, and a flat one runs along only so far.
        reach = min(HIGH_EM / 2 * line / slope, REACH_EM * line)
        handle, tip = self.shaft()
        bare = math.copysign(BARE_EM * line, tip.x() - handle.x())
        low, high = sorted((handle.x() + bare, tip.x()))
        reach = min(reach, (0.25 if shown.towards == "mixed" else 0.5) * (high - low))
        if shown.towards == "mixed":
            turn = (low + high) / 2
            roots = [(x, -1.0) for x in self._roots(low + reach, turn - TURN_EM * line)]
            roots += [(x, 1.0) for x in self._roots(turn + TURN_EM * line, high - reach)]
        else:
            to_right = (shown.towards == "tip") == shown.tip_right
            span = (low, high - reach) if to_right else (low + reach, high)
            roots = [(x, 1.0 if to_right else -1.0) for x in self._roots(*span)]
        made, y = [], self._middle()
        for index, (x, sign) in enumerate(roots):
            # Shorter towards both ends, as the vane of a feather is.
            out = 2.0 * index / (len(roots) - 1) - 1.0
            along = reach * (1.0 - (1.0 - SHORT) * out * out)
            outer, rise = x + sign * along, along * slope
            made.append((QPointF(outer, y - rise), QPointF(x, y), QPointF(outer, y + rise)))
        return tuple(made)

    def _roots(self, first: float, last: float) -> list[float]:
        """Return where barbs leave the shaft, evenly from `first` to `last`."""
        many = max(3, round((last - first) / (PITCH_EM * em(self))) + 1)
        return [first + k * (last - first) / (many - 1) for k in range(many)]

    def _middle(self) -> float:
        return (HIGH_EM / 2 + 0.1) * em(self)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the feather with the names of its ends, and words."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_feather(painter)
        self._paint_words(painter)

    def _words(self) -> tuple[str, ...]:
        return self._shown.words if self._shown is not None else NOTHING

    def _words_top(self) -> float:
        return (HIGH_EM + 0.45) * em(self)

    def _words_left(self) -> float:
        return (SIGN_EM + 0.4) * em(self)

    def _broken(self, width: float) -> list[tuple[QFont, tuple[str, ...]]]:
        made = []
        for index, words in enumerate(self._words()):
            font = sized(self.font(), SMALL) if index else sized(self.font(), 1.0, medium=True)
            room = width - (0.0 if index else self._words_left())
            made.append((font, broken(words, font, room, MOST_LINES)))
        return made

    def _paint_feather(self, painter: QPainter) -> None:
        line, now = em(self), theme()
        strokes = self.strokes()
        if not strokes:
            pen = QPen(colour(now.faint), 0.16 * line)
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.setPen(pen)
            painter.drawLine(QLineF(0.3 * line, self._middle(), 3.3 * line, self._middle()))
            return
        pen = QPen(colour(now.barb), max(1.4, 0.115 * line))
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for outer, root, other in strokes:
            for end in (outer, other):
                painter.drawPath(_barb(root, end))
        if self._shown is not None and self._shown.towards == "mixed":
            x = self._turn(strokes)
            painter.setPen(QPen(colour(now.ink), 1.2, Qt.PenStyle.DashLine))
            reach = HIGH_EM / 2 * line
            painter.drawLine(QLineF(x, self._middle() - reach, x, self._middle() + reach))
        handle, tip = self.shaft()
        thick, thin = QPointF(0.0, THICK_EM * line), QPointF(0.0, THIN_EM * line)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(now.ink))
        painter.drawPolygon(QPolygonF([handle - thick, tip - thin, tip + thin, handle + thick]))
        self._paint_ends(painter, handle, tip)

    def _turn(self, strokes: tuple[tuple[QPointF, QPointF, QPointF], ...]) -> float:
        """Return where the lean turns round: half way between the barbs that turn their backs."""
        pairs = pairwise(strokes)
        before, after = next(
            (a[1], b[1]) for a, b in pairs if a[0].x() < a[1].x() and b[0].x() > b[1].x()
        )
        return (before.x() + after.x()) / 2

    def _paint_ends(self, painter: QPainter, handle: QPointF, tip: QPointF) -> None:
        """Name both ends, so that the feather can be read by itself."""
        line, small = em(self), sized(self.font(), SMALL)
        height = QFontMetricsF(small).height()
        painter.setFont(small)
        painter.setPen(colour(theme().faint))
        right = handle.x() < tip.x()
        for word, end, beyond in zip(ENDS, (handle, tip), (not right, right), strict=True):
            wide = width_of(word, small)
            left = end.x() + 0.35 * line if beyond else end.x() - 0.35 * line - wide
            if left < -0.5 or left + wide > self.width() + 0.5:
                continue  # no room for the handle's name; the tip's always has it
            room = QRectF(left, self._middle() - height / 2, wide + 2.0, height)
            painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, word)

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


def _barb(root: QPointF, end: QPointF) -> QPainterPath:
    """Return a barb from the shaft outwards: it leaves the shaft flat and bends away from it."""
    run = end - root
    # Square to the barb, on the side of the shaft.
    side = QPointF(-run.y(), run.x()) if run.x() * run.y() < 0 else QPointF(run.y(), -run.x())
    if side.y() * run.y() > 0:
        side = -side
    path = QPainterPath(root)
    path.quadTo(root + run * 0.5 + side * BOW, end)
    return path
