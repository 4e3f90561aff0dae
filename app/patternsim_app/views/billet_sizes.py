"""Dimension lines of the drawn piece: length, width and thickness, each along its own edge."""

from __future__ import annotations

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen

from patternsim.sizes import format_length
from patternsim_app.shown import Units
from patternsim_app.theme import colour, theme
from patternsim_app.views.billet_shape import ALONG, Lie
from patternsim_app.views.lettering import paint_pill

OFF_EM, TICK_EM = 0.95, 0.28
"""Distance of a dimension line from its edge, and half a tick, in letter heights."""


def size_words(size: tuple[float, float, float], units: Units) -> tuple[str, str, str]:
    """Return length, width and thickness in words; tenths of a millimetre are enough here."""
    x, y, z = (format_length(round(side, 1), units) for side in size)
    return x, y, z


def paint_sizes(painter: QPainter, lie: Lie, words: tuple[str, str, str], em_px: float) -> None:
    """Paint the three dimension lines with the painter's font."""
    x, y, z = lie.size[0], lie.size[1] / 2, lie.size[2] / 2
    off = OFF_EM * em_px
    height = QFontMetricsF(painter.font()).height()
    down = QPointF(0.0, off)
    beside = QPointF(off, off * ALONG[1] / ALONG[0])
    low, far, back = lie.at(0.0, -y, -z), lie.at(x, -y, -z), lie.at(x, y, -z)
    _paint_line(painter, low, far, down, em_px)
    middle = (low + far) / 2 + down
    now = theme()
    paint_pill(painter, words[0], middle, ink=colour(now.ink), ground=colour(now.panel, 235))
    _paint_line(painter, far, back, beside, em_px)
    at = (far + back) / 2 + beside
    _paint_words(
        painter, QRectF(at.x() + 0.55 * em_px, at.y() - 0.3 * height, 1e4, height), words[1], right=False
    )
    top = lie.at(0.0, -y, z)
    _paint_line(painter, top, low, -beside, em_px)
    at = (top + low) / 2 - beside
    _paint_words(
        painter, QRectF(0.0, at.y() - height / 2, at.x() - 0.45 * em_px, height), words[2], right=True
    )


def _paint_words(painter: QPainter, room: QRectF, words: str, *, right: bool) -> None:
    painter.setPen(colour(theme().ink))
    side = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft
    painter.drawText(room, side | Qt.AlignmentFlag.AlignVCenter, words)


def _paint_line(painter: QPainter, start: QPointF, end: QPointF, off: QPointF, em_px: float) -> None:
    """Paint a line beside an edge, with the lines that lead to its ends and slanting ticks."""
    faint = colour(theme().faint)
    painter.setPen(QPen(faint, 0.8))
    for corner in (start, end):
        painter.drawLine(QLineF(corner + off * 0.25, corner + off * 1.3))
    painter.setPen(QPen(faint, 1.2))
    painter.drawLine(QLineF(start + off, end + off))
    tick = min(TICK_EM * em_px, 0.3 * QLineF(start, end).length())
    for corner in (start, end):
        middle = corner + off
        painter.drawLine(QLineF(middle + QPointF(-tick, tick), middle + QPointF(tick, -tick)))
