"""The tip gauge: a window on the tip, enlarged, with a plate that has a slot.

The slot is as wide as the band that counts as on: the line runs through it or meets the plate, so the
shape answers without colour.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from patternsim_app.painting import Picture, cased, polyline
from patternsim_app.shown import TipShown
from patternsim_app.theme import colour, em, sized, theme
from patternsim_app.views.lettering import (
    CAPS,
    RADIUS_EM,
    broken_shrunk,
    caps_font,
    cut_off,
    draw_lines,
    paint_card,
    width_of,
)
from patternsim_app.views.signs import SIGN_EM, paint_sign
from patternsim_app.views.tip_plate import PLATE_EM, PLATE_FROM_EM, SCALES, beyond, paint_plate

FAR_MM = 5.0
"""A line that passes farther off is pointed to."""
SEEN_MM = 5.7
"""The window shows so much to both sides."""
TIP_AT = 0.62
"""Of the window's width, where the tip lies when it points right."""
PAD_EM = 0.6
LOW_ASPECT, WINDOW_ASPECT = 2.1, 1.75
"""Cards lower than this have their words beside the window, which then is so wide for its height."""
BESIDE_EM, LOW_LINES = 9.0, 4
NOTHING = "No tip to look at yet."


class TipGauge(QWidget):
    """The tip gauge, a card."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        self.setAccessibleName("Tip gauge")
        self._shown: TipShown | None = None
        self._picture: Picture | None = None
        self.set_shown(None)

    def set_shown(self, shown: TipShown | None) -> None:
        """Show another tip; None where there is none."""
        self._shown = shown
        has = shown is not None and shown.picture is not None and shown.picture.size > 0
        self._picture = Picture(shown.picture) if has and shown and shown.picture is not None else None
        self.setAccessibleDescription(shown.words if shown is not None else NOTHING)
        self.setToolTip(shown.words if shown is not None else NOTHING)
        self.update()

    def sizeHint(self) -> QSize:
        """Return a card about as large as a matchbox."""
        return QSize(round(17 * em(self)), round(13 * em(self)))

    def minimumSizeHint(self) -> QSize:
        """Return what still shows the scale."""
        return QSize(round(13 * em(self)), round(7 * em(self)))

    def window_box(self) -> QRectF:
        """Return where the enlarged tip is drawn: over the words, or beside them in a low card."""
        line = em(self)
        pad = PAD_EM * line
        inner = QRectF(pad, pad, self.width() - 2 * pad, max(2.0, self.height() - 2 * pad))
        if self._is_low():
            inner.setWidth(min(WINDOW_ASPECT * inner.height(), inner.width() - BESIDE_EM * line))
            return inner
        lines = self._broken_words()[1]
        words = len(lines) * QFontMetricsF(self.font()).height() + QFontMetricsF(self._small()).height()
        inner.setHeight(max(2.0, inner.height() - words - 0.45 * line))
        return inner

    def point_of(self, along: float, across: float) -> QPointF:
        """Return where a place is drawn: mm from the tip, along the blade and towards the spine."""
        box, scale = self.window_box(), self._scale()
        right = self._shown is None or self._shown.tip_right
        # Plate and scale must find room beyond the tip.
        behind = min(TIP_AT * box.width(), box.width() - beyond(box.width(), em(self), self.font()))
        tip_x = box.left() + behind if right else box.right() - behind
        sign = 1.0 if right else -1.0
        return QPointF(tip_x + sign * along * scale, box.center().y() - across * scale)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the card, the window on the tip and the words."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint_card(painter, QRectF(self.rect()), em(self))
        box = self.window_box()
        clip = QPainterPath()
        clip.addRoundedRect(box, 0.6 * RADIUS_EM * em(self), 0.6 * RADIUS_EM * em(self))
        painter.save()
        painter.setClipPath(clip)
        painter.fillPath(clip, colour(theme().box))
        if self._shown is not None:
            self._paint_steel(painter)
            self._paint_outline(painter)
            self._paint_plate(painter)
            self._paint_line(painter)
        painter.restore()
        painter.setPen(QPen(colour(theme().line), 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(clip)
        self._paint_words(painter)

    def _small(self) -> QFont:
        return sized(self.font(), CAPS)

    def _is_low(self) -> bool:
        """True where there is more room for words beside the window than under it."""
        return self.width() > LOW_ASPECT * self.height()

    def _words_box(self) -> QRectF:
        line, pad = em(self), PAD_EM * em(self)
        box = self.window_box()
        if not self._is_low():
            return QRectF(box.left(), box.bottom() + 0.3 * line, box.width(), 0.0)
        left = box.right() + 0.7 * line
        return QRectF(left, box.top(), self.width() - pad - left, 0.0)

    def _broken_words(self) -> tuple[QFont, tuple[str, ...]]:
        """The words, with the font in which they fit beside the sign."""
        line = em(self)
        words = self._shown.words if self._shown is not None else NOTHING
        is_known = self._shown is not None and self._shown.offset_mm is not None
        font = sized(self.font(), 1.0, medium=is_known)
        if self._is_low():
            room = self._words_box().width() - (SIGN_EM + 0.4) * line
            return broken_shrunk(words, font, room, LOW_LINES)
        room = self.width() - (2 * PAD_EM + SIGN_EM + 0.4) * line
        return broken_shrunk(words, font, room, 2)

    def _scale(self) -> float:
        """Window pixels a millimetre."""
        return self.window_box().height() / (2 * SEEN_MM)

    def _paint_steel(self, painter: QPainter) -> None:
        shown = self._shown
        if shown is None or self._picture is None:
            return
        grown = self._scale() / shown.pixels_per_mm
        width, height = self._picture.size
        tip = self.point_of(0.0, 0.0)
        corner = QPointF(tip.x() - shown.centre[0] * grown, tip.y() - shown.centre[1] * grown)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        self._picture.draw(painter, QRectF(corner.x(), corner.y(), width * grown, height * grown))

    def _paint_outline(self, painter: QPainter) -> None:
        shown = self._shown
        if shown is None or len(shown.outline) < 2:
            return
        points = [self.point_of(*place) for place in shown.outline]
        beyond, body = QPainterPath(), QPainterPath()
        beyond.addRect(self.window_box())
        body.addPolygon(QPolygonF(points))
        body.closeSubpath()
        painter.fillPath(beyond.subtracted(body), colour(theme().box, 150))
        cased(painter, polyline(points), colour(theme().outline), colour(theme().casing), width=2.2)

    def _paint_plate(self, painter: QPainter) -> None:
        if self._shown is not None:
            paint_plate(
                painter, self._shown, box=self.window_box(), tip=self.point_of(0.0, 0.0),
                scale=self._scale(), em_px=em(self), font=self.font(),
            )  # fmt: skip

    def _paint_line(self, painter: QPainter) -> None:
        shown = self._shown
        if shown is None:
            return
        bar = max(3.0, 0.26 * em(self))
        if len(shown.line) >= 2:
            points = [self.point_of(*place) for place in self._line_to_plate(shown)]
            cased(
                painter,
                polyline(points),
                colour(theme().centre),
                colour(theme().casing),
                width=bar,
                edge=1.5,
            )
        if shown.offset_mm is not None and abs(shown.offset_mm) > FAR_MM:
            self._paint_pointer(painter, up=shown.offset_mm > 0)

    def _line_to_plate(self, shown: TipShown) -> list[tuple[float, float]]:
        """The centre line, led straight on through the plate from where it passes the tip.

        Only what lies before the tip is steel of the blade; beyond it the bar points at the scale.
        """
        if shown.offset_mm is None:
            return list(shown.line)
        before = [place for place in shown.line if place[0] < 0.0]
        through = (PLATE_FROM_EM + PLATE_EM + 0.1) * em(self) / self._scale()
        return [*before, (0.0, shown.offset_mm), (through, shown.offset_mm)]

    def _paint_pointer(self, painter: QPainter, *, up: bool) -> None:
        """Point to where the line passes, beyond the window."""
        box, size, tip = self.window_box(), 0.7 * em(self), self.point_of(0.0, 0.0)
        sign = -1.0 if up else 1.0
        edge = box.top() + 3 if up else box.bottom() - 3
        base = edge - sign * size
        arrow = QPolygonF(
            [QPointF(tip.x(), edge), QPointF(tip.x() - size, base), QPointF(tip.x() + size, base)]
        )
        path = QPainterPath()
        path.addPolygon(arrow)
        path.closeSubpath()
        cased(painter, path, colour(theme().centre), colour(theme().casing), width=1.0)
        painter.fillPath(path, colour(theme().centre))

    def _paint_words(self, painter: QPainter) -> None:
        now, line = theme(), em(self)
        small, caps = self._small(), caps_font(self.font())
        place = self._words_box()
        painter.setFont(caps)
        painter.setPen(colour(now.faint))
        top = draw_lines(painter, place, ("Tip",))
        if self._shown is not None:
            beside = 0.0 if self._is_low() else width_of("TIP", caps) + 0.6 * line
            painter.setFont(small)
            ticks = f"ticks {SCALES[self._shown.units][2]}; in the slot is on"
            told = cut_off(ticks, small, place.width() - beside)
            row = QRectF(
                place.left() + beside, top if self._is_low() else place.top(), place.width(), 0.0
            )
            top = max(top, draw_lines(painter, row, (told,)))
        top += 0.3 * line if self._is_low() else 0.0
        side = SIGN_EM * line
        grade = self._shown.grade if self._shown is not None else "unknown"
        height = QFontMetricsF(self.font()).height()
        paint_sign(painter, QRectF(place.left(), top + (height - side) / 2, side, side), grade)
        room = QRectF(place.left() + side + 0.4 * line, top, place.width() - side - 0.4 * line, 0.0)
        font, lines = self._broken_words()
        is_known = self._shown is not None and self._shown.offset_mm is not None
        painter.setFont(font)
        painter.setPen(colour(now.ink if is_known else now.faint))
        draw_lines(painter, room, lines)
