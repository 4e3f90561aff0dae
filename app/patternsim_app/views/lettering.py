"""Fitting words into the room there is, and the grounds that words stand on.

Shrinking a little, breaking into lines, cutting off with dots; cards, focus rings and pills. No view
is in here.
"""

from __future__ import annotations

import re

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from patternsim_app.theme import colour, sized, theme

CAPS, SMALL = 0.82, 0.9
"""Size of small capitals and of lesser words, of the window's letters."""
RADIUS_EM = 0.4
"""Corner of a card, in letter heights."""
FIGURE = re.compile(r"(\d) (mm|in|kg|kN|%)(?![a-z])")
"""A figure before its unit."""
RING = 2.0
"""Width of the focus ring, pixels."""


def caps_font(font: QFont) -> QFont:
    """Return the letters of small headings: capitals, a little apart."""
    made = sized(font, CAPS, medium=True)
    made.setCapitalization(QFont.Capitalization.AllUppercase)
    made.setLetterSpacing(QFont.SpacingType.PercentageSpacing, 104.0)
    return made


def width_of(text: str, font: QFont) -> float:
    """Return how wide the words are, pixels."""
    return QFontMetricsF(font).horizontalAdvance(text)


def cut_off(text: str, font: QFont, width: float) -> str:
    """Return the words, or as many as fit with dots behind them."""
    # A hair more, or words would be cut that fit exactly.
    return QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, width + 0.5)


def shrunk(text: str, font: QFont, width: float, least: float = 0.78) -> QFont:
    """Return the font, smaller by as much as lets the words fit, but not under `least` of it."""
    factor = 1.0
    while factor > least and width_of(text, sized_from(font, factor)) > width:
        factor = max(least, factor - 0.04)
    return sized_from(font, factor)


def sized_from(font: QFont, factor: float) -> QFont:
    """Return the same font `factor` times as large, weight and all."""
    made = QFont(font)
    made.setPointSizeF(font.pointSizeF() * factor)
    return made


def broken(text: str, font: QFont, width: float, most: int) -> tuple[str, ...]:
    """Return the words broken into lines that fit; the last of `most` is cut off with dots."""
    lines: list[str] = []
    words = _words(text)
    while words:
        if len(lines) == most - 1:
            lines.append(cut_off(" ".join(words), font, width))
            break
        count = 1
        while count < len(words) and width_of(" ".join(words[: count + 1]), font) <= width:
            count += 1
        lines.append(cut_off(" ".join(words[:count]), font, width))
        del words[:count]
    return tuple(lines)


def _words(text: str) -> list[str]:
    """Return the words; a figure and its unit are one, which no line break comes between."""
    return [one.replace("\0", " ") for one in FIGURE.sub("\\1\0\\2", text).split()]


def broken_shrunk(
    text: str, font: QFont, width: float, most: int, least: float = 0.85
) -> tuple[QFont, tuple[str, ...]]:
    """Return the lines, and the font smaller by as much as spares them from being cut off."""
    whole = " ".join(text.split())
    factor = 1.0
    while True:
        tried = sized_from(font, factor)
        lines = broken(text, tried, width, most)
        if factor <= least or " ".join(lines) == whole:
            return tried, lines
        factor = max(least, factor - 0.05)


def draw_lines(painter: QPainter, place: QRectF, lines: tuple[str, ...]) -> float:
    """Draw lines of words from the top of `place` with the painter's font; return the y below them."""
    height = QFontMetricsF(painter.font()).height()
    side = Qt.AlignmentFlag.AlignLeft
    for index, line in enumerate(lines):
        row = QRectF(place.left(), place.top() + index * height, place.width(), height)
        painter.drawText(row, side | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextDontClip, line)
    return place.top() + len(lines) * height


def paint_card(painter: QPainter, place: QRectF, em_px: float, *, raised: bool = False) -> None:
    """Paint the ground of a card, `raised` where the mouse is over it."""
    shown = theme()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colour(shown.box_line if raised else shown.line), 1.0))
    painter.setBrush(colour(shown.panel))
    radius = RADIUS_EM * em_px
    painter.drawRoundedRect(place.adjusted(0.5, 0.5, -0.5, -0.5), radius, radius)


def paint_focus(painter: QPainter, place: QRectF, em_px: float) -> None:
    """Paint the ring round what the keyboard acts on."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colour(theme().chosen_line), RING))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    radius = RADIUS_EM * em_px
    inset = RING / 2
    painter.drawRoundedRect(place.adjusted(inset, inset, -inset, -inset), radius, radius)


def paint_pill(
    painter: QPainter,
    text: str,
    centre: QPointF,
    *,
    ink: QColor,
    ground: QColor,
    edge: QColor | None = None,
) -> QRectF:
    """Paint words with the painter's font on a rounded ground of their own; return its rectangle."""
    measure = QFontMetricsF(painter.font())
    box = QRectF(
        0.0, 0.0, measure.horizontalAdvance(text) + 0.7 * measure.height(), 1.12 * measure.height()
    )
    box.moveCenter(centre)
    painter.setPen(QPen(edge, 1.0) if edge is not None else QPen(Qt.PenStyle.NoPen))
    painter.setBrush(ground)
    painter.drawRoundedRect(box, 0.3 * measure.height(), 0.3 * measure.height())
    painter.setPen(ink)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
    return box
