"""The steel line painted: columns, caps, signs, numbers, the level of what is needed, and words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from patternsim_app.painting import hatch
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
from patternsim_app.views.steel_places import SteelPlaces

THIN_OUT: Final = (1, 2, 5, 10, 20, 50, 100)
"""Only every so manyth number is written where columns are narrow."""
LEAST_CAP_PX = 3.0
"""What is lost has at least this height, or its hatch could not be seen."""
HATCH_GAP = 4


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
        low = self._start()
        if self.places.shown.columns:
            self._need(low)
        for index in range(len(self.places.shown.columns)):
            self._column(index)
        if self.places.shown.columns:
            self._numbers()
        self._words()

    def _start(self) -> float:
        """Paint what there is at the start; return the y below it."""
        painter, shown, line = self.painter, self.places.shown, self.places.em_px
        pad, width = self.places.pad, self.places.plot().left() - 1.6 * self.places.pad
        painter.setPen(colour(theme().faint))
        heading = "Steel at the start" if shown.columns else "Steel"
        painter.setFont(shrunk(heading, caps_font(self.font), width))
        below = draw_lines(painter, QRectF(pad, 0.25 * line, width, 0.0), (heading,))
        words = f"{shown.start_kg:.2f} kg" if shown.columns else "none yet"
        painter.setPen(colour(theme().ink))
        painter.setFont(shrunk(words, sized(self.font, 1.1, medium=True), width))
        return draw_lines(painter, QRectF(pad, below, width, 0.0), (words,))

    def _column(self, index: int) -> None:
        painter, now = self.painter, theme()
        column, place = self.places.shown.columns[index], self.places.place(index)
        ratio = painter.device().devicePixelRatioF()
        painter.setPen(Qt.PenStyle.NoPen)
        if index == self.hovered:
            painter.setBrush(colour(now.box))
            painter.drawRoundedRect(place.adjusted(-2, -2, 2, 2 + 1.2 * self.places.em_px), 3.0, 3.0)
        if not column.worked:
            edge = colour(now.stop if column.refused else now.box_line)
            painter.fillRect(place, hatch(edge, ratio))
            painter.setPen(QPen(edge, 1.0, Qt.PenStyle.DashLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(place.adjusted(0.5, 0.5, -0.5, -0.5))
        else:
            body = self.places.column(index)
            top = body.top()
            if column.lost_kg > 0:
                # A cap of a hair is still a cap: the eye looks for where steel goes.
                top = min(self.places.level(column.kg + column.lost_kg), top - LEAST_CAP_PX)
                cap = QRectF(place.left(), top, place.width(), body.top() - top)
                painter.fillRect(cap, colour(now.steel_lost))
                painter.fillRect(cap, hatch(colour(now.steel), ratio, gap=HATCH_GAP))
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

    def _words(self) -> None:
        painter, places, line = self.painter, self.places, self.places.em_px
        left = places.plot().right() + 0.6 * line
        if places.shown.detail:
            self._spare(QRectF(left, 0.25 * line, places.width - places.pad - left, 0.0))
            return
        room = QRectF(left, 0.25 * line, places.width - places.pad - left, 0.0)
        room.setBottom(places.height - 0.25 * line)
        small = sized(self.font, SMALL)
        most = max(1, int(room.height() // QFontMetricsF(small).height()))
        painter.setPen(colour(theme().ink))
        painter.setFont(small)
        draw_lines(painter, room, broken(places.shown.words, small, room.width(), most))

    def _spare(self, place: QRectF) -> None:
        """Paint what is spare of the bar, each part on a line of its own."""
        painter, now, shown = self.painter, theme(), self.places.shown
        rows = (
            ("Length of the bar", caps_font(self.font), now.faint),
            (shown.words, sized(self.font, 1.1, medium=True), now.ink),
            (shown.detail, sized(self.font, SMALL), now.ink),
        )
        for words, font, tone in rows:
            painter.setFont(shrunk(words, font, place.width()))
            painter.setPen(colour(tone))
            place.setTop(draw_lines(painter, place, (cut_off(words, painter.font(), place.width()),)))

    def _need(self, low: float) -> None:
        """Paint the level of what the blade needs, its words at the left, under `low`."""
        painter, now, places = self.painter, theme(), self.places
        need, plot, line = places.shown.need_kg, places.plot(), places.em_px
        if need is None:
            return
        level, small = places.level(need), sized(self.font, SMALL)
        words = f"{places.shown.need_words} {need:.2f} kg"
        width = plot.left() - 1.6 * places.pad
        height = QFontMetricsF(small).height()
        label = QRectF(places.pad, level - height / 2, width, height)
        label.moveTop(max(low, min(label.top(), places.height - height)))
        painter.setPen(colour(now.ink))
        painter.setFont(shrunk(words, small, width))
        draw_lines(painter, label, (cut_off(words, painter.font(), width),))
        pen = QPen(colour(now.ink), 1.4)
        pen.setDashPattern([5.0, 3.0])
        painter.setPen(pen)
        start = label.left() + min(width, width_of(words, painter.font())) + 0.4 * line
        painter.drawLine(QLineF(QPointF(start, level), QPointF(plot.right() + 0.2 * line, level)))
