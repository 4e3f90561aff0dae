"""How the outline, its grips, its allowance, the centre line and the ruler are drawn on the face."""

from __future__ import annotations

import math
from collections.abc import Iterator

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
from patternsim_app.painting import hatch
from patternsim_app.shown import FaceShown, Points, Units
from patternsim_app.theme import colour, em, theme
from patternsim_app.views.face_frame import FaceFrame

FADED = 0.34
"""How strongly the bar shows round the blade."""
RULER_EM = 2.1
"""Room for the ruler under the knife."""
MISSING = "#5E1049"
"""Of steel that is not there, on both grounds: its own ground is light."""
GRIP_EM = 0.42
"""Radius of a grip, in letter heights."""
MOST_GRIP_PX = 10.0
"""A larger grip would hide the knife."""


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
    """Hatch the steel that is not there, draw its border thick, and write how much is missing."""
    runs = _stretches(shown)
    if not runs:
        return
    _hatch_missing(painter, shown, turn, room)
    for _, run in runs:
        for tone, width in ((theme().casing, 6.0), (MISSING, 3.4)):
            painter.setPen(QPen(colour(tone), width, c=Qt.PenCapStyle.RoundCap))
            painter.drawPolyline(_mapped(run, turn))
    for text, place in missing_labels(shown, turn, units, room, QFontMetricsF(painter.font())):
        painter.setPen(QPen(colour(theme().stop), 1.2))
        painter.setBrush(colour(theme().stop_ground))
        painter.drawRoundedRect(place, 4, 4)
        painter.setPen(colour(theme().stop))
        painter.drawText(place, Qt.AlignmentFlag.AlignCenter, text)


def _stretches(shown: FaceShown) -> list[tuple[float, Points]]:
    """Return how much is missing and along which stretch, the most first."""
    made = _along(shown.outline, shown.lacking) + _along(shown.silhouette, shown.tang_lacking)
    return sorted(made, key=lambda one: -one[0])


def _along(line: Points, runs: tuple[tuple[int, int, float], ...]) -> list[tuple[float, Points]]:
    """Return the stretches of a closed line; one that runs over its seam is one."""
    made = [(lack, line[first : last + 1]) for first, last, lack in runs]
    if len(runs) > 1 and runs[0][0] == 0 and runs[-1][1] == len(line) - 1:
        (lack, begins), (more, ends) = made[0], made.pop()
        made[0] = (max(lack, more), ends + begins)
    return made


def _hatch_missing(painter: QPainter, shown: FaceShown, turn: QTransform, room: QRectF) -> None:
    """Hatch what blade, tang and allowance take outside the bar."""
    x0, y0, x1, y1 = shown.box
    bar = turn.mapRect(QRectF(x0, y0, x1 - x0, y1 - y0))
    beyond = QPainterPath()
    beyond.addRect(room)
    inner = QPainterPath()
    inner.addRect(bar)
    painter.save()
    painter.setClipPath(beyond.subtracted(inner))
    outline, whole = (outline_path(line, turn) for line in (shown.outline, shown.silhouette))
    lines = hatch(colour(MISSING), painter.device().devicePixelRatioF())
    width = 2.0 * shown.allowance_mm * abs(turn.m11())
    for brush in (QBrush(colour("#FFFFFF", 205)), lines):
        if width >= 1.0:
            painter.strokePath(outline, QPen(brush, width, j=Qt.PenJoinStyle.RoundJoin))
        painter.fillPath(whole, brush)
    painter.restore()


def missing_labels(
    shown: FaceShown, turn: QTransform, units: Units, room: QRectF, font: QFontMetricsF
) -> list[tuple[str, QRectF]]:
    """Return what is written of missing steel, and where: the most first, none crowding another."""
    made: list[tuple[str, QRectF]] = []
    gap = 0.6 * font.height()
    taken: list[QRectF] = []
    for lack, run in _stretches(shown):
        text = f"{format_length(round(lack, 1), units)} missing"
        box = QRectF(0, 0, font.horizontalAdvance(text) + 10, font.height() + 4)
        places = _beside(_mapped(run, turn), box, room)
        place = next((one for one in places if not any(map(one.intersects, taken))), None)
        if place is not None:  # the hatch shows the rest
            taken.append(place.adjusted(-gap, -gap, gap, gap))
            made.append((text, place))
    return made


def _mapped(points: Points, turn: QTransform) -> QPolygonF:
    return turn.map(QPolygonF([QPointF(x, y) for x, y in points]))


def _beside(line: QPolygonF, box: QRectF, room: QRectF) -> Iterator[QRectF]:
    """Yield places for a label beside a stretch, the best first: within, at the middle."""
    many = line.size()
    inwards = 1.0 if line.at(many // 2).y() < room.center().y() else -1.0
    for side in (inwards, -inwards):
        for share in (0.5, 0.25, 0.75, 0.0, 1.0):
            at = line.at(min(many - 1, round(share * (many - 1))))
            place = QRectF(box)
            place.moveCenter(QPointF(at.x(), at.y() + side * 1.15 * box.height()))
            place.moveTop(min(max(place.top(), room.top() + 2), room.bottom() - box.height() - 2))
            place.moveLeft(min(max(place.left(), room.left() + 2), room.right() - box.width() - 2))
            yield place


def draw_grip(painter: QPainter, at: QPointF, *, hot: bool) -> None:
    """Draw a grip: a white disc with a dark rim, filled where the pointer is."""
    radius = min(GRIP_EM * em(), MOST_GRIP_PX) * (1.15 if hot else 1.0)
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
