"""Paints the rows of the job card and keeps their layouts; how a row is laid out is `card_layout`'s."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import cast

from PySide6.QtCore import (
    QLineF,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QPointF,
    QRectF,
    QSize,
    Qt,
)
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from patternsim_app.models.steps_model import ROW_ROLE, is_step
from patternsim_app.painting import Picture, hatch, mixed
from patternsim_app.shown import Grade, StepRow, Units, Value
from patternsim_app.theme import colour, theme
from patternsim_app.views.card_folds import Folded
from patternsim_app.views.card_layout import (
    BAR_PX,
    FOLD,
    INSIDE,
    SIGN,
    Dress,
    RowLayout,
    Run,
    laid_out,
    laid_out_folded,
)
from patternsim_app.views.lettering import paint_focus
from patternsim_app.views.signs import paint_rough, paint_sign

Index = QModelIndex | QPersistentModelIndex
RADIUS = 4.0
"""Corner of a value's box, pixels."""
ROUGH = 0.6
"""How strongly the small section of a rough step is drawn."""


@dataclass(slots=True)
class Pointed:
    """What the pointer and the keyboard are at; the card sets it, the painting shows it.

    Attributes
    ----------
    key : str
        Step under the mouse; empty for none.
    token : int
        Value under the mouse, -1 for none.
    on_number : bool
        The mouse is where a step can be taken hold of.
    on_heading : bool
        The mouse is on the heading of a stage.
    current : str
        Step on the bench.
    ring : bool
        The keyboard acts on the card: a ring round the step on the bench.
    edited : (key, token)
        Value whose editor is open; its box is not painted.
    held : (key, field, value) or None
        A value being dragged.
    """

    key: str = ""
    token: int = -1
    on_number: bool = False
    on_heading: bool = False
    current: str = ""
    ring: bool = False
    edited: tuple[str, int] = ("", -1)
    held: tuple[str, str, Value] | None = None


@dataclass(slots=True)
class _Kept:
    """A layout, with what it was made for."""

    row: StepRow
    width: int
    layout: RowLayout
    thumb: Picture | None = field(default=None)
    folded: Folded | None = None


class CardDelegate(QStyledItemDelegate):
    """Rows of the job card."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.pointed = Pointed()
        self._units: Units = "mm"
        self._dress = Dress(QFont())
        self._kept: dict[str, _Kept] = {}
        self.folded: dict[str, Folded] = {}
        """Folded stages, by the keys of their first steps."""

    def set_units(self, units: Units) -> None:
        """Write lengths in these units."""
        self._units = units
        self._kept.clear()

    def set_font(self, font: QFont) -> None:
        """Set all rows in these letters."""
        self._dress = Dress(font)
        self._kept.clear()

    @property
    def em(self) -> float:
        """Height of a line of letters, pixels."""
        return self._dress.em

    def layout_of(self, row: StepRow, width: int) -> RowLayout:
        """Return how a row is laid out; worked out once for a row and a width."""
        held = self.pointed.held
        if held is not None and held[0] == row.key and row.key not in self.folded:
            self._kept.pop(row.key, None)
            return laid_out(row, width=width, dress=self._dress, units=self._units, held=held[1:])
        return self._keep(row, width).layout

    def forget_others(self, keys: set[str]) -> None:
        """Drop what is kept for steps that are gone."""
        self._kept = {key: kept for key, kept in self._kept.items() if key in keys}

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Return the height a row needs at the card's width."""
        row = cast("StepRow", index.data(ROW_ROLE))
        width = _width(option)
        return QSize(width, round(self.layout_of(row, width).height))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint a row."""
        row = cast("StepRow", index.data(ROW_ROLE))
        rect = QRectF(option.rect)
        layout = self.layout_of(row, int(rect.width()))
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.translate(rect.topLeft())
        selected = bool(option.state & QStyle.StateFlag.State_Selected)
        folded = self.folded.get(row.key)
        _Row(
            painter, row, layout, dress=self._dress, pointed=self.pointed, selected=selected,
            folded=folded,
        ).paint()  # fmt: skip
        self._paint_thumb(painter, row, layout)
        painter.restore()

    def _keep(self, row: StepRow, width: int) -> _Kept:
        kept, folded = self._kept.get(row.key), self.folded.get(row.key)
        if kept is None or kept.row is not row or kept.width != width or kept.folded != folded:
            thumb = kept.thumb if kept is not None and kept.row.thumb is row.thumb else None
            if folded is None:
                layout = laid_out(row, width=width, dress=self._dress, units=self._units)
            else:
                signed = folded.grade != "fine"
                layout = laid_out_folded(width=width, dress=self._dress, signed=signed)
            kept = self._kept[row.key] = _Kept(row, width, layout, thumb, folded)
        return kept

    def _paint_thumb(self, painter: QPainter, row: StepRow, layout: RowLayout) -> None:
        shown = theme()
        if layout.thumb.isEmpty():
            return
        if row.thumb is None:
            place = layout.thumb.adjusted(0.5, 0.5, -0.5, -0.5)
            painter.setPen(QPen(colour(shown.line), 1.0))
            painter.setBrush(_hatched(painter) if row.state == "unworked" else Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(place, 2.0, 2.0)
            return
        kept = self._keep(row, round(layout.body.width()))
        if kept.thumb is None:
            kept.thumb = Picture(row.thumb)
        picture = kept.thumb
        wide, high = picture.size
        side = layout.thumb.width() - 2.0  # a pixel of rim on both sides
        scale = side / max(wide, high)
        place = QRectF(0.0, 0.0, max(2.0, wide * scale), max(2.0, high * scale))
        place.moveCenter(layout.thumb.center())
        # Whole pixels keep fine layers sharp.
        place.moveTopLeft(QPointF(round(place.left()), round(place.top())))
        if row.state in ("skipped", "unworked"):
            painter.setOpacity(0.35)
        elif row.rough:
            painter.setOpacity(ROUGH)
        picture.draw(painter, place, rim=colour(shown.faint))
        painter.setOpacity(1.0)
        if row.rough:
            paint_rough(painter, layout.thumb, self._dress.value)


class _Row:
    """Paints one row once."""

    def __init__(
        self,
        painter: QPainter,
        row: StepRow,
        layout: RowLayout,
        *,
        dress: Dress,
        pointed: Pointed,
        selected: bool,
        folded: Folded | None = None,
    ) -> None:
        self._painter, self._row, self._layout = painter, row, layout
        self._dress, self._pointed, self._selected = dress, pointed, selected
        self._folded = folded
        self._current = pointed.current == row.key
        self._faint = row.state in ("skipped", "unworked")
        shown = theme()
        self._ground = colour(shown.chosen if self._current or selected else shown.panel)

    def paint(self) -> None:
        self._paint_ground()
        self._paint_heading()
        self._paint_number()
        self._paint_sentence()
        self._paint_sign()
        self._paint_reason()

    def _paint_ground(self) -> None:
        painter, body, shown = self._painter, self._layout.body, theme()
        if self._row.state == "unworked" and self._folded is None:
            painter.fillRect(body, _hatched(painter))
        if self._selected or self._current:
            painter.fillRect(body, self._ground)
        if self._current:
            painter.fillRect(QRectF(0.0, body.top(), BAR_PX, body.height()), colour(shown.chosen_line))
            if self._pointed.ring:
                paint_focus(painter, body, 0.5 * self._dress.em)

    def _paint_heading(self) -> None:
        place = self._layout.heading
        if place is None:
            return
        painter, shown, em = self._painter, theme(), self._dress.em
        painter.setFont(self._dress.caps)
        painter.setPen(colour(shown.faint))
        measure = QFontMetricsF(self._dress.caps)
        left = BAR_PX + 0.5 * em
        room = place.width() - left - (3.0 + (SIGN if self._layout.sign and self._folded else 0)) * em
        said = (
            self._row.heading if self._folded is None else f"{self._row.heading} · {self._folded.words}"
        )
        text = measure.elidedText(said, Qt.TextElideMode.ElideRight, room)
        base = place.bottom() - 0.55 * em
        painter.drawText(QPointF(left, base), text)
        y = round(base - measure.xHeight() * 0.75) + 0.5
        painter.setPen(QPen(colour(shown.line), 1.0))
        start = left + measure.horizontalAdvance(text) + 0.7 * em
        end = place.width() - 0.6 * em
        if is_step(self._row):
            end -= FOLD * em
            self._paint_fold(QPointF(end + 0.55 * em, y))
        if self._folded is not None and self._layout.sign is not None:
            end = self._layout.sign.left() - 0.3 * em
        painter.drawLine(QLineF(start, y, end, y))

    def _paint_fold(self, middle: QPointF) -> None:
        """Paint the mark at the end of a heading: down where its steps follow, aside where folded."""
        painter, reach = self._painter, 0.22 * self._dress.em
        tip, back = QPointF(0.0, reach * 0.6), QPointF(reach, -reach * 0.6)
        corners = [-QPointF(reach, reach * 0.6), tip, back]
        if self._folded is not None:
            corners = [QPointF(one.y(), one.x()) for one in corners]
        mine = self._pointed.key == self._row.key and self._pointed.on_heading
        painter.setPen(
            QPen(colour(theme().ink if mine else theme().faint), max(1.4, 0.1 * self._dress.em))
        )
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPolyline([middle + one for one in corners])
        painter.setPen(QPen(colour(theme().line), 1.0))

    def _paint_number(self) -> None:
        if not is_step(self._row) or self._folded is not None:
            return
        painter, place, shown = self._painter, self._layout.number, theme()
        pointed = self._pointed
        taken = pointed.key == self._row.key and pointed.on_number
        if taken:
            self._paint_grip()
        painter.setFont(self._dress.font)
        painter.setPen(colour(shown.ink if self._current or taken else shown.faint))
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(place, right | Qt.TextFlag.TextDontClip, str(self._row.number))

    def _paint_grip(self) -> None:
        """Paint two columns of dots: here the step can be taken hold of."""
        painter, em = self._painter, self._dress.em
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(theme().faint))
        place = self._layout.number
        size = max(1.5, 0.11 * em)
        for across in (0.0, 0.28):
            for down in (-0.28, 0.0, 0.28):
                x = place.left() + BAR_PX + (0.25 + across) * em
                painter.drawRect(QRectF(x, place.center().y() + down * em - size / 2, size, size))

    def _paint_sentence(self) -> None:
        painter, shown = self._painter, theme()
        for run in self._layout.runs:
            if run.token >= 0:
                self._paint_value(run)
                continue
            painter.setFont(self._struck(self._dress.font))
            painter.setPen(colour(shown.faint if self._faint else shown.ink))
            middle = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
            painter.drawText(run.place, middle | Qt.TextFlag.TextDontClip, run.lines[0])

    def _paint_value(self, run: Run) -> None:
        painter, shown, em = self._painter, theme(), self._dress.em
        mine = self._pointed.key == self._row.key and self._pointed.token == run.token
        if self._pointed.edited == (self._row.key, run.token):
            return
        held = self._pointed.held
        moved = (
            held is not None
            and held[0] == self._row.key
            and held[1] == self._row.tokens[run.token].field
        )
        line = shown.chosen_line if mine or moved else shown.box_line
        painter.setPen(QPen(colour(line), 2.0 if moved else 1.0))
        ground = colour(shown.box)
        if self._current or self._selected:
            ground = colour(shown.panel)
        painter.setBrush(ground)
        painter.drawRoundedRect(_crisp(run.place), RADIUS, RADIUS)
        painter.setFont(self._struck(self._dress.value))
        painter.setPen(colour(shown.faint if self._faint else shown.ink))
        inner = run.place.adjusted(INSIDE * em, 0.0, -INSIDE * em, 0.0)
        height = QFontMetricsF(self._dress.value).height()
        top = inner.center().y() - len(run.lines) * height / 2
        for at, text in enumerate(run.lines):
            line_place = QRectF(inner.left(), top + at * height, inner.width(), height)
            painter.drawText(line_place, Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextDontClip, text)

    def _paint_sign(self) -> None:
        if self._layout.sign is None:
            return
        grade: Grade = "unknown" if self._row.state == "unworked" else self._row.grade
        if self._folded is not None:
            grade = self._folded.grade
        paint_sign(self._painter, self._layout.sign, grade, ground=self._ground)

    def _paint_reason(self) -> None:
        place = self._layout.reason
        if place is None:
            return
        painter, shown, em = self._painter, theme(), self._dress.em
        ground = colour(shown.stop_ground)
        painter.setPen(QPen(mixed(colour(shown.stop), ground, 0.35), 1.0))
        painter.setBrush(ground)
        painter.drawRoundedRect(_crisp(place), RADIUS, RADIUS)
        height = QFontMetricsF(self._dress.small).height()
        side = SIGN * em
        sign = QRectF(place.left() + 0.3 * em, place.top() + 0.3 * em + (height - side) / 2, side, side)
        paint_sign(painter, sign, "stop", ground=ground)
        painter.setFont(self._dress.small)
        painter.setPen(colour(shown.ink))
        for at, text in enumerate(self._layout.reason_lines):
            line = QRectF(sign.right() + 0.3 * em, place.top() + 0.3 * em + at * height, 1.0, height)
            painter.drawText(line, Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextDontClip, text)

    def _struck(self, font: QFont) -> QFont:
        if self._row.state != "skipped":
            return font
        made = QFont(font)
        made.setStrikeOut(True)
        return made


def _crisp(place: QRectF) -> QRectF:
    """Return a rectangle whose hairline falls on pixels."""
    return QRectF(
        QPointF(round(place.left()) + 0.5, round(place.top()) + 0.5),
        QPointF(round(place.right()) - 0.5, round(place.bottom()) - 0.5),
    )


def _hatched(painter: QPainter) -> QBrush:
    shown = theme()
    faint: QColor = mixed(colour(shown.line), colour(shown.panel), 0.6)
    return hatch(faint, painter.device().devicePixelRatio())


def _width(option: QStyleOptionViewItem) -> int:
    widget = cast("QWidget | None", option.widget)
    viewport = getattr(widget, "viewport", None)
    return int(viewport().width()) if viewport is not None else 300
