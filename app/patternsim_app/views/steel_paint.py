"""The steel line painted: columns, caps, signs, numbers, the level of what is needed, and words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from patternsim_app.painting import hatch, mixed
from patternsim_app.theme import colour, sized, theme
from patternsim_app.views.lettering import (
    CAPS,
    SMALL,
    broken,
    caps_font,
    cut_off,
    draw_lines,
    shrunk,
    width_of,
)
from patternsim_app.views.signs import paint_sign
from patternsim_app.views.steel_places import LEAST_PX, LEFT_EM, SteelPlaces

THIN_OUT: Final = (1, 2, 5, 10, 20, 50, 100)
"""Only every so manyth number is written where columns are narrow."""
HATCH_FROM_PX = 4.0
"""Lower caps are too thin to be hatched."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SteelDrawing:
    """One drawing of the steel line.

    Attributes
    ----------
    painter : QPainter
    places : SteelPlaces
    font : QFont
    ground : QColor
        What it is drawn on.
    current, hovered : int
        Index of the emphasised column and of the one under the mouse; -1 for none.
    """

    painter: QPainter
    places: SteelPlaces
    font: QFont
    ground: QColor
    current: int
    hovered: int

    def paint(self) -> None:
        """Paint all of it."""
        self._start()
        for index in range(len(self.places.shown.columns)):
            self._column(index)
        if self.places.shown.columns:
            self._numbers()
        self._need_and_words()

    def _start(self) -> None:
        painter, shown, line = self.painter, self.places.shown, self.places.em_px
        pad, width = self.places.pad, LEFT_EM * line - 1.4 * self.places.pad
        painter.setPen(colour(theme().faint))
        painter.setFont(caps_font(self.font))
        top = self.places.plot().top() - 0.2 * line
        below = draw_lines(painter, QRectF(pad, top, width, 0.0), ("Steel",))
        words = f"{shown.start_kg:.2f} kg" if shown.columns else "none yet"
        painter.setPen(colour(theme().ink))
        painter.setFont(shrunk(words, sized(self.font, 1.1, medium=True), width))
        below = draw_lines(painter, QRectF(pad, below, width, 0.0), (words,))
        if shown.columns:
            painter.setPen(colour(theme().faint))
            painter.setFont(sized(self.font, CAPS))
            draw_lines(painter, QRectF(pad, below, width, 0.0), ("at the start",))

    def _column(self, index: int) -> None:
        painter, now = self.painter, theme()
        column, place = self.places.shown.columns[index], self.places.place(index)
        ratio = painter.device().devicePixelRatioF()
        painter.setPen(Qt.PenStyle.NoPen)
        if index == self.hovered:
            painter.setBrush(colour(now.box))
            painter.drawRoundedRect(place.adjusted(-2, -2, 2, 2 + 1.2 * self.places.em_px), 3.0, 3.0)
        if not column.worked:
            painter.fillRect(place, hatch(colour(now.box_line), ratio))
            painter.setPen(QPen(colour(now.box_line), 1.0, Qt.PenStyle.DashLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(place.adjusted(0.5, 0.5, -0.5, -0.5))
        else:
            body = self.places.column(index)
            top = body.top()
            if column.lost_kg > 0:
                # A cap of a hair is still a cap: the eye looks for where steel goes.
                top = min(self.places.level(column.kg + column.lost_kg), top - LEAST_PX)
                cap = QRectF(place.left(), top, place.width(), body.top() - top)
                painter.fillRect(cap, colour(now.steel_lost))
                if cap.height() >= HATCH_FROM_PX:
                    painter.fillRect(cap, hatch(colour(now.steel), ratio, gap=5))
            painter.fillRect(body, colour(now.chosen_line if index == self.current else now.steel))
            place.setTop(top)
        if column.grade in ("watch", "stop"):
            self._sign(index, place)

    def _sign(self, index: int, column: QRectF) -> None:
        side = 0.9 * self.places.em_px
        # A column that is not worked out reaches to the top: its sign keeps inside the strip.
        top = max(0.25 * self.places.pad, column.top() - side - 0.12 * self.places.em_px)
        box = QRectF(column.center().x() - side / 2, top, side, side)
        paint_sign(self.painter, box, self.places.shown.columns[index].grade, ground=self.ground)

    def _numbers(self) -> None:
        painter, now, places = self.painter, theme(), self.places
        columns, line, pitch = places.shown.columns, places.em_px, places.pitch()
        small = sized(self.font, CAPS)
        painter.setFont(small)
        high = 1.12 * QFontMetricsF(small).height()
        top = places.plot().bottom() + 0.12 * line
        widest = width_of(str(max(column.number for column in columns)), small) + 0.5 * line
        every = next((n for n in THIN_OUT if n * pitch >= widest), THIN_OUT[-1])
        pill = self._pill_width(small) if self.current >= 0 else 0.0
        painter.setPen(colour(now.faint))
        for index, column in enumerate(columns):
            words = str(column.number)
            room = (width_of(words, small) + pill) / 2 + 0.2 * line
            is_hidden = self.current >= 0 and abs(index - self.current) * pitch < room
            if is_hidden or not (every == 1 or column.number % every == 0 or index == 0):
                continue
            middle = places.place(index).center().x()
            row = QRectF(middle - widest, top, 2 * widest, high)
            painter.drawText(row, Qt.AlignmentFlag.AlignCenter, words)
        if self.current >= 0:
            middle = places.place(self.current).center().x()
            box = QRectF(middle - pill / 2, top, pill, high)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(colour(now.chosen_line))
            painter.drawRoundedRect(box, 0.28 * high, 0.28 * high)
            painter.setPen(colour(now.ground))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, str(columns[self.current].number))

    def _pill_width(self, small: QFont) -> float:
        height = QFontMetricsF(small).height()
        words = str(self.places.shown.columns[self.current].number)
        return max(1.12 * height, width_of(words, small) + 0.7 * height)

    def _need_and_words(self) -> None:
        painter, places, line = self.painter, self.places, self.places.em_px
        plot, need = places.plot(), places.shown.need_kg
        left = plot.right() + 0.6 * line
        room = QRectF(left, plot.top() - 0.6 * line, places.width - places.pad - left, 0.0)
        room.setBottom(places.height - 0.7 * places.pad)
        small = sized(self.font, SMALL)
        height = QFontMetricsF(small).height()
        most = room.height() // height
        if need is not None and places.shown.columns:
            label = self._need(need, room, height)
            # The words take the larger room over or under the label.
            if label.top() - room.top() >= room.bottom() - label.bottom():
                room.setBottom(label.top())
                most = room.height() // height
                count = len(broken(places.shown.words, small, room.width(), max(1, int(most))))
                room.setTop(max(room.top(), room.bottom() - count * height - 0.15 * line))
            else:
                room.setTop(label.bottom())
                most = room.height() // height
        painter.setPen(colour(theme().faint))
        painter.setFont(small)
        draw_lines(painter, room, broken(places.shown.words, small, room.width(), max(1, int(most))))

    def _need(self, need: float, room: QRectF, height: float) -> QRectF:
        """Paint the level of what the blade needs; return where its words stand."""
        painter, now, places = self.painter, theme(), self.places
        level, small = places.level(need), sized(self.font, SMALL)
        end = QPointF(room.left() - 0.25 * places.em_px, level)
        for paint, width in ((mixed(self.ground, colour(now.steel), 0.85), 3.4), (colour(now.ink), 1.4)):
            pen = QPen(paint, width)
            pen.setDashPattern([5.0 * 1.4 / width, 3.0 * 1.4 / width])
            painter.setPen(pen)
            painter.drawLine(QLineF(QPointF(places.plot().left(), level), end))
        label = QRectF(room.left(), level - height / 2, room.width(), height)
        label.moveTop(min(max(label.top(), room.top()), room.bottom() - height))
        words = f"{self.places.shown.need_words} {need:.2f} kg"
        painter.setPen(colour(now.ink))
        painter.setFont(shrunk(words, small, label.width()))
        draw_lines(painter, label, (cut_off(words, painter.font(), label.width()),))
        return label
