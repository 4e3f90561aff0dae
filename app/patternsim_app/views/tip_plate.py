"""The plate of the tip gauge: two jaws with a slot between, and a scale in the unit of the words."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen

from patternsim.units import MM_PER_INCH
from patternsim_app.shown import TipShown, Units
from patternsim_app.theme import colour, sized, theme
from patternsim_app.views.lettering import width_of

SCALES: Final[dict[Units, tuple[float, int, str, str]]] = {
    "mm": (1.0, 5, "1 mm", "5 mm"),
    "in": (MM_PER_INCH / 32, 6, '1/32"', '3/16"'),
}
"""The scale to both sides of the tip: a part in mm, how many, and both in words."""
SIDES: Final = ("spine", "edge")
PLATE_FROM_EM, PLATE_EM = 0.4, 1.1
"""Where the plate begins beyond the tip, and its width."""
LETTERS = 0.78
"""Size of the words on the scale, of the window's letters."""


def beyond(width: float, em_px: float, font: QFont) -> float:
    """Return the room that plate and words take beyond the tip in a window so wide, pixels."""
    words = width_of(SIDES[0], sized(font, LETTERS)) + 0.9 * em_px
    return (PLATE_FROM_EM + PLATE_EM) * em_px + min(words, 0.3 * width)


def paint_plate(
    painter: QPainter, shown: TipShown, *, box: QRectF, tip: QPointF, scale: float, em_px: float,
    font: QFont,
) -> None:  # fmt: skip
    """Paint the plate beyond the tip.

    Parameters
    ----------
    box : QRectF
        The window on the tip.
    tip : QPointF
        Where the tip is drawn.
    scale, em_px : float
        Pixels a millimetre; height of a letter.
    font : QFont
        Of the widget.
    """
    sign = 1.0 if shown.tip_right else -1.0
    near, wide = tip.x() + sign * PLATE_FROM_EM * em_px, sign * PLATE_EM * em_px
    slot = max(1.5, shown.allowed_mm * scale)
    ink = colour(theme().ink)
    for top, bottom in ((box.top(), tip.y() - slot), (tip.y() + slot, box.bottom())):
        jaw = QRectF(near, top, wide, bottom - top).normalized()
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(theme().panel, 238))
        painter.drawRect(jaw)
        painter.setPen(QPen(ink, 1.4))
        mouth = bottom if top == box.top() else top
        painter.drawLine(QLineF(jaw.left(), mouth, jaw.right(), mouth))
        for x in (jaw.left(), jaw.right()):
            painter.drawLine(QLineF(x, jaw.top(), x, jaw.bottom()))
    painter.setPen(QPen(ink, 1.0))
    part, many, *_ = SCALES[shown.units]
    for place in range(-many, many + 1):
        if abs(place) * part * scale <= slot:
            continue
        reach = 0.62 if abs(place) == many else 0.34
        y = tip.y() - place * part * scale
        painter.drawLine(QLineF(near, y, near + reach * wide, y))
    _paint_words(
        painter, box=box, beside=near + wide, sign=sign, font=sized(font, LETTERS),
        rows=tuple(tip.y() - side * part * many * scale for side in (1.0, -1.0)),
        told=SCALES[shown.units][3], em_px=em_px,
    )  # fmt: skip


def _paint_words(
    painter: QPainter, *, box: QRectF, beside: float, sign: float, font: QFont,
    rows: tuple[float, ...], told: str, em_px: float,
) -> None:  # fmt: skip
    """Write at both ends of the scale how far it reaches, to the spine and to the edge."""
    painter.setFont(font)
    height = QFontMetricsF(font).height()
    for y, side in zip(rows, SIDES, strict=True):
        for words in (f"{told}, {side}", side):
            wide = width_of(words, font) + 0.5 * em_px
            left = beside + 0.2 * em_px if sign > 0 else beside - 0.2 * em_px - wide
            pill = QRectF(left, y - 0.56 * height, wide, 1.12 * height)
            if pill.left() >= box.left() and pill.right() <= box.right():
                break
        pill.moveTop(min(max(pill.top(), box.top() + 2), box.bottom() - 2 - pill.height()))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(theme().panel, 225))
        painter.drawRoundedRect(pill, 0.25 * height, 0.25 * height)
        painter.setPen(colour(theme().ink))
        painter.drawText(pill, Qt.AlignmentFlag.AlignCenter, words)
