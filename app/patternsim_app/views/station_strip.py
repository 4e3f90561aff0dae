"""Sections side by side, to one common scale, each with where it was taken."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QEvent, QLineF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from patternsim.sizes import format_length, told_in
from patternsim.units import MM_PER_INCH
from patternsim_app.painting import Picture, mixed
from patternsim_app.shown import StationShown, Units
from patternsim_app.theme import colour, em, sized, theme
from patternsim_app.views.lettering import SMALL, caps_font, cut_off, draw_lines, width_of

MOST_HIGH_EM, LEAST_WIDE_EM = 5.5, 4.0
"""The highest picture is at most so high; the widest at least so wide, or the row is broken."""
GAP_EM = 1.4
ROUND: Final[dict[Units, tuple[float, ...]]] = {
    "mm": (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0),
    "in": tuple(inches * MM_PER_INCH for inches in (0.0625, 0.125, 0.25, 0.5, 1.0, 2.0, 4.0)),
}
"""Lengths a scale bar may have, mm."""
OUTLINE_SHARE = 0.75
"""Of the ink in the line round a section: dark steel must not run into a dark ground."""


@dataclass(frozen=True, slots=True)
class _Row:
    """Stations from `first` to before `last`, with pictures `high` pixels at most."""

    first: int
    last: int
    high: float


class StationStrip(QWidget):
    """A row of sections; what does not fit goes into another row."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName("Sections")
        self._stations: tuple[StationShown, ...] = ()
        self._pictures: tuple[Picture, ...] = ()
        self._heading = "Sections"
        self._units: Units = "mm"

    def set_shown(self, stations: tuple[StationShown, ...], heading: str) -> None:
        """Show other sections under a heading."""
        self._stations = stations
        self._pictures = tuple(Picture(station.picture) for station in stations)
        self._heading = heading
        self.setAccessibleName(heading)
        self._tell()

    def set_units(self, units: Units) -> None:
        """Tell lengths in mm or inch."""
        self._units = units
        self._tell()

    def _caption(self, index: int) -> str:
        return told_in(self._stations[index].caption, self._units)

    def _tell(self) -> None:
        captions = "; ".join(self._caption(index) for index in range(len(self._stations)))
        told = captions or "no sections to show"
        drawn = self._drawn_words()
        self.setAccessibleDescription(f"{told}. {drawn.capitalize()}." if drawn else f"{told}.")
        self.updateGeometry()
        self.update()

    def hasHeightForWidth(self) -> bool:
        """Narrow strips take more rows."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height all rows take."""
        rows, _ = self._rows(width)
        each = sum(row.high + self._caption_height() for row in rows)
        return math.ceil(self._heading_height() + each + max(0, len(rows) - 1) * 0.6 * em(self))

    def sizeHint(self) -> QSize:
        """Return one row."""
        width = round(max(20.0, 9.0 * len(self._stations)) * em(self))
        return QSize(width, self.heightForWidth(width))

    def minimumSizeHint(self) -> QSize:
        """Return one picture's width and the height at the width it has."""
        least = round((LEAST_WIDE_EM + 5.0) * em(self))
        return QSize(least, self.heightForWidth(max(least, self.width())))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Ask for the height of the new width."""
        super().resizeEvent(event)
        self.updateGeometry()

    def changeEvent(self, event: QEvent) -> None:
        """Ask for the height of the new letters."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self.updateGeometry()

    def picture_boxes(self) -> tuple[QRectF, ...]:
        """Return where each section is drawn."""
        rows, scale = self._rows(self.width())
        boxes, top = [], self._heading_height()
        for row in rows:
            left = 0.0
            for index in range(row.first, row.last):
                wide, high = self._drawn_size(index, scale)
                boxes.append(QRectF(left, top + (row.high - high) / 2, wide, high))
                left += self._cell(index, scale) + GAP_EM * em(self)
            top += row.high + self._caption_height() + 0.6 * em(self)
        return tuple(boxes)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint heading, pictures and captions."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        _, scale = self._rows(self.width())
        self._paint_heading(painter, scale)
        small = sized(self.font(), SMALL)
        if not self._stations:
            painter.setFont(small)
            painter.setPen(colour(theme().faint))
            room = QRectF(0.0, self._heading_height(), self.width(), 0.0)
            draw_lines(painter, room, ("No sections to show yet.",))
            return
        rows, _ = self._rows(self.width())
        bottoms = {}
        top = self._heading_height()
        for row in rows:
            bottoms.update(dict.fromkeys(range(row.first, row.last), top + row.high))
            top += row.high + self._caption_height() + 0.6 * em(self)
        painter.setPen(colour(theme().faint))
        painter.setFont(small)
        rim = mixed(colour(theme().ink), colour(theme().panel), OUTLINE_SHARE)
        for index, box in enumerate(self.picture_boxes()):
            self._pictures[index].draw(painter, box, rim=rim)
            below = QRectF(box.left(), bottoms[index] + 0.25 * em(self), self._cell(index, scale), 0.0)
            draw_lines(painter, below, (self._caption(index),))

    def _drawn_words(self) -> str:
        """How much thicker than true the sections are drawn, if they are."""
        thick = {station.thick for station in self._stations}
        if len(thick) == 1 and thick != {1.0}:
            return f"drawn {thick.pop():g} times as thick as true"
        return "" if thick <= {1.0} else "some drawn thicker than true"

    def _heading_height(self) -> float:
        return QFontMetricsF(caps_font(self.font())).height() + 0.35 * em(self)

    def _caption_height(self) -> float:
        return QFontMetricsF(sized(self.font(), SMALL)).height() + 0.25 * em(self)

    def _drawn_size(self, index: int, scale: float) -> tuple[float, float]:
        station = self._stations[index]
        wide, high = station.size_mm
        return max(1.0, wide * scale), max(1.0, high * station.thick * scale)

    def _caption_width(self, index: int) -> float:
        # One line whatever the width: words that break anew while a number is dragged would flicker.
        return width_of(self._caption(index), sized(self.font(), SMALL))

    def _cell(self, index: int, scale: float) -> float:
        return max(self._drawn_size(index, scale)[0], self._caption_width(index))

    def _rows(self, width: float) -> tuple[list[_Row], float]:
        """Return the rows and the common scale, pixels a millimetre."""
        if not self._stations:
            return [_Row(0, 0, QFontMetricsF(self.font()).height())], 1.0
        line = em(self)
        tallest = max(station.size_mm[1] * station.thick for station in self._stations)
        widest = max(station.size_mm[0] for station in self._stations)
        scale = min(MOST_HIGH_EM * line / tallest, width / widest)
        least = min(scale, LEAST_WIDE_EM * line / widest)
        while scale > least and len(self._broken_at(width, scale)) > 1:
            scale = max(least, 0.93 * scale)
        made = []
        for first, last in self._broken_at(width, scale):
            high = max(self._drawn_size(index, scale)[1] for index in range(first, last))
            made.append(_Row(first, last, high))
        return made, scale

    def _broken_at(self, width: float, scale: float) -> list[tuple[int, int]]:
        rows, first, used, gap = [], 0, 0.0, GAP_EM * em(self)
        for index in range(len(self._stations)):
            cell = self._cell(index, scale)
            if index > first and used + gap + cell > width + 0.5:
                rows.append((first, index))
                first, used = index, cell
            else:
                used += cell + (gap if index > first else 0.0)
        return [*rows, (first, len(self._stations))]

    def _paint_heading(self, painter: QPainter, scale: float) -> None:
        caps, small = caps_font(self.font()), sized(self.font(), SMALL)
        painter.setFont(caps)
        painter.setPen(colour(theme().faint))
        lengths = ROUND[self._units]
        bar_mm = max((mm for mm in lengths if mm * scale <= 5.0 * em(self)), default=lengths[0])
        reach = bar_mm * scale if self._stations else 0.0
        words = ", ".join(
            part for part in (format_length(bar_mm, self._units), self._drawn_words()) if part
        )
        right = reach + 0.4 * em(self) + width_of(words, small) if self._stations else 0.0
        heading = cut_off(self._heading, caps, self.width() - right - em(self))
        draw_lines(painter, QRectF(0.0, 0.0, self.width(), 0.0), (heading,))
        if not self._stations:
            return
        height = QFontMetricsF(caps).height()
        left, middle = self.width() - right, height / 2
        if left < width_of(heading, caps) + 0.5 * em(self):
            return  # The heading is worth more than the scale where there is room for one.
        painter.setPen(QPen(colour(theme().faint), 1.4))
        painter.drawLine(QLineF(left, middle, left + reach, middle))
        for x in (left, left + reach):
            painter.drawLine(QLineF(x, middle - 0.2 * em(self), x, middle + 0.2 * em(self)))
        painter.setFont(small)
        painter.drawText(
            QRectF(left + reach + 0.4 * em(self), 0.0, right, height),
            Qt.AlignmentFlag.AlignVCenter,
            words,
        )
