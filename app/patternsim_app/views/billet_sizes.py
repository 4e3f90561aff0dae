"""Dimension lines of the drawn piece: length, width and thickness, each along its own edge."""

from __future__ import annotations

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen

from patternsim.sizes import format_length
from patternsim_app.shown import Units
from patternsim_app.theme import colour, theme
from patternsim_app.views.billet_shape import ALONG, Lie, Triple
from patternsim_app.views.lettering import paint_pill

OFF_EM, TICK_EM = 0.95, 0.28
"""Distance of a dimension line from its edge, and half a tick, in letter heights."""


def size_words(size: tuple[float, float, float], units: Units) -> tuple[str, str, str]:
    """Return length, width and thickness in words; tenths of a millimetre are enough here."""
    x, y, z = (format_length(round(side, 1), units) for side in size)
    return x, y, z


def paint_sizes(
    painter: QPainter, lie: Lie, size: Triple, words: tuple[str, str, str], em_px: float
) -> None:
    """Paint the three dimension lines with the painter's font.

    `size` is what was measured, about the piece's own axis: the box round it may be larger.
    """
    (left, near, foot), (right, back, top) = _measured(lie, size)
    off = OFF_EM * em_px
    height = QFontMetricsF(painter.font()).height()
    down = QPointF(0.0, off)
    beside = QPointF(off, off * ALONG[1] / ALONG[0])
    # Length, width and thickness go where they lie on the die.
    along, deep, up = words if lie.pose == "lying" else (words[1], words[2], words[0])
    low, far = lie.on_block(left, near, foot), lie.on_block(right, near, foot)
    _paint_line(painter, low, far, down, em_px)
    now = theme()
    middle = (low + far) / 2 + down
    paint_pill(painter, along, middle, ink=colour(now.ink), ground=colour(now.panel, 235))
    end = lie.on_block(right, back, foot)
    _paint_line(painter, far, end, beside, em_px)
    at = (far + end) / 2 + beside
    _paint_words(
        painter, QRectF(at.x() + 0.55 * em_px, at.y() - 0.3 * height, 1e4, height), deep, right=False
    )
    # Beside all of the piece, even where it is wider above.
    high, low = lie.on_block(0.0, near, top), lie.on_block(0.0, near, foot)
    _paint_line(painter, high, low, -beside, em_px)
    at = (high + low) / 2 - beside
    _paint_words(
        painter, QRectF(0.0, at.y() - height / 2, at.x() - 0.45 * em_px, height), up, right=True
    )


def _measured(lie: Lie, size: Triple) -> tuple[Triple, Triple]:
    """Return the low and the high corner on the block of what was measured."""
    middle = tuple((a + b) / 2 for a, b in zip(*lie.corners, strict=True))
    ends = ((0.0, -size[1] / 2, -size[2] / 2), (size[0], size[1] / 2, size[2] / 2))
    one, other = (lie.turned(*(v - m for v, m in zip(corner, middle, strict=True))) for corner in ends)
    half = lie.block[0] / 2
    one, other = (one[0] + half, *one[1:]), (other[0] + half, *other[1:])
    low, high = (tuple(pick(pair) for pair in zip(one, other, strict=True)) for pick in (min, max))
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


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
