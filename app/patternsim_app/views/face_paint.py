"""How the outline, its grips, its allowance, the centre line and the ruler are drawn on the face."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
    QTransform,
)

from patternsim.sizes import format_length
from patternsim_app.shown import FaceShown, Points, Units
from patternsim_app.theme import colour, em, theme
from patternsim_app.views.face_frame import FaceFrame

FADED = 0.34
"""How strongly the bar shows round the blade."""
RULER_EM = 2.1
"""Room for the ruler under the knife."""
GRIP_EM = 0.42
"""Radius of a grip, in letter heights."""


def outline_path(points: Points, turn: QTransform) -> QPainterPath:
    """Return a closed line of the bar (mm) on the widget."""
    path = QPainterPath()
    path.addPolygon(turn.map(QPolygonF([QPointF(x, y) for x, y in points])))
    path.closeSubpath()
    return path


def draw_allowance(painter: QPainter, outline: QPainterPath, width: float) -> None:
    """Hatch the band of steel that is ground off round the outline, `width` points wide.

    The half of the line that lies inside is for the blade to cover: paths cut from one another take
    twenty times as long.
    """
    if width < 1.5:
        return
    painter.setBrush(Qt.BrushStyle.NoBrush)
    hatch = QBrush(colour(theme().note, 190), Qt.BrushStyle.BDiagPattern)
    for brush in (QBrush(colour(theme().panel, 120)), hatch):
        pen = QPen(brush, 2 * width, j=Qt.PenJoinStyle.RoundJoin)
        painter.strokePath(outline, pen)


def draw_outline(painter: QPainter, path: QPainterPath) -> None:
    """Draw the outline as the edge of a paper template: a dark line between light ones."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(colour(theme().casing), 4.0, j=Qt.PenJoinStyle.RoundJoin))
    painter.drawPath(path)
    painter.setPen(QPen(colour(theme().outline), 1.8, j=Qt.PenJoinStyle.RoundJoin))
    painter.drawPath(path)


def draw_line(painter: QPainter, points: Points, turn: QTransform) -> None:
    """Draw the centre line, dashed, with a light casing."""
    if len(points) < 2:
        return
    line = turn.map(QPolygonF([QPointF(x, y) for x, y in points]))
    painter.setPen(QPen(colour(theme().casing, 200), 3.6))
    painter.drawPolyline(line)
    # The darker blue of the light ground: the casing is light on both.
    pen = QPen(colour("#005A9C"), 1.8)
    pen.setDashPattern([5.0, 3.5])
    painter.setPen(pen)
    painter.drawPolyline(line)


def draw_lacking(
    painter: QPainter, shown: FaceShown, turn: QTransform, units: Units, room: QRectF
) -> None:
    """Draw thick where the allowance reaches out of the bar, and write how much is missing."""
    font = QFontMetricsF(painter.font())
    taken: list[QRectF] = []
    runs = [(lack, shown.outline[first : last + 1]) for first, last, lack in shown.lacking]
    runs += [(lack, shown.silhouette[first : last + 1]) for first, last, lack in shown.tang_lacking]
    for lack, run in sorted(runs, key=lambda one: -one[0]):
        line = turn.map(QPolygonF([QPointF(x, y) for x, y in run]))
        painter.setPen(QPen(colour(theme().casing), 8.0, c=Qt.PenCapStyle.RoundCap))
        painter.drawPolyline(line)
        painter.setPen(QPen(colour("#5E1049"), 5.0, c=Qt.PenCapStyle.RoundCap))
        painter.drawPolyline(line)
        text = f"{format_length(round(lack, 1), units)} missing"
        at = line.at(len(run) // 2)
        box = QRectF(0, 0, font.horizontalAdvance(text) + 10, font.height() + 4)
        outwards = -1.0 if at.y() < room.center().y() else 1.0
        box.moveCenter(QPointF(at.x(), at.y() + outwards * 1.2 * font.height()))
        box.moveTop(min(max(box.top(), room.top() + 2), room.bottom() - box.height() - 2))
        box.moveLeft(min(max(box.left(), room.left() + 2), room.right() - box.width() - 2))
        if any(box.intersects(other) for other in taken):
            continue  # the longest lacks are written; the thick line shows the rest
        taken.append(box)
        painter.setPen(QPen(colour(theme().stop), 1.2))
        painter.setBrush(colour(theme().stop_ground))
        painter.drawRoundedRect(box, 4, 4)
        painter.setPen(colour(theme().stop))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def draw_grip(painter: QPainter, at: QPointF, *, hot: bool) -> None:
    """Draw a grip: a white disc with a dark rim, filled where the pointer is."""
    radius = GRIP_EM * em() * (1.15 if hot else 1.0)
    painter.setPen(QPen(colour(theme().casing), 4.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawEllipse(at, radius, radius)
    painter.setPen(QPen(colour(theme().outline), 2.0))
    painter.setBrush(colour("#A9CCEB" if hot else "#FFFFFF"))
    painter.drawEllipse(at, radius, radius)


def draw_ruler(painter: QPainter, shown: FaceShown, frame: FaceFrame, units: Units) -> None:
    """Draw a ruler from the heel along the blade, under the bar."""
    dx, dy = shown.tip[0] - shown.heel[0], 0.0
    if abs(dx) < 1e-6:
        return
    forward = math.copysign(1.0, dx)
    low = frame.point(shown.heel[0], shown.box[1]).y()
    top = min(low + 0.5 * em(), frame.height - (RULER_EM - 0.15) * em())
    if low > top - 0.3 * em():
        # The bar goes on under the ruler: figures would be lost on its layers.
        ground = QRectF(0.0, top - 0.3 * em(), frame.width, frame.height)
        painter.fillRect(ground, colour(theme().panel))
    step, many = _ruler_step(units, frame.scale)
    painter.setPen(QPen(colour(theme().faint), 1.0))
    metrics = QFontMetricsF(painter.font())
    count = int(shown.length_mm / step + 1e-6)
    for k in range(count + 1):
        at = frame.point(shown.heel[0] + forward * k * step, shown.box[1] + dy)
        painter.drawLine(QPointF(at.x(), top), QPointF(at.x(), top + 0.35 * em()))
        text = "heel" if k == 0 else f"{k * many:g}"
        if k == count:
            text += " mm" if units == "mm" else " in"
        wide = metrics.horizontalAdvance(text)
        painter.drawText(QPointF(at.x() - wide / 2, top + 0.45 * em() + metrics.ascent()), text)


def _ruler_step(units: Units, scale: float) -> tuple[float, float]:
    """Return the step of the ruler in mm, and in what is written."""
    one = 1.0 if units == "mm" else 25.4
    steps = (1, 2, 5, 10, 20, 50, 100, 200) if units == "mm" else (0.25, 0.5, 1, 2, 5, 10)
    for step in steps:
        if step * one * scale >= 3.2 * em():
            return step * one, step
    return steps[-1] * one, steps[-1]
