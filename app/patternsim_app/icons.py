"""Pictograms of the window's actions, painted in the colours of the ground: sharp at any size.

All are drawn on a field of 24 by 24. What an action does is not known here.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, partial

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QIcon, QIconEngine, QPainter, QPainterPath, QPen, QPixmap, QPolygonF

from patternsim_app.theme import colour, theme

FIELD = 24.0
STROKE = 1.8

Draw = Callable[[QPainter], None]


def icon(name: str) -> QIcon:
    """Return the pictogram of that name.

    Raises
    ------
    KeyError
        If there is none; `names` lists them.
    """
    if name not in _DRAWN:
        raise KeyError(f"there is no pictogram {name!r}; there are: {', '.join(names())}")
    return _made(name)


def names() -> tuple[str, ...]:
    """Return the names of all pictograms."""
    return tuple(sorted(_DRAWN))


def paint_icon(painter: QPainter, place: QRectF, name: str, ink: QColor) -> None:
    """Paint a pictogram as large as fits the middle of `place`."""
    side = min(place.width(), place.height())
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(place.center() - QPointF(side / 2, side / 2))
    painter.scale(side / FIELD, side / FIELD)
    pen = QPen(ink, STROKE)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    _DRAWN[name](painter)
    painter.restore()


class _Engine(QIconEngine):
    """Paints a pictogram when it is wanted, so that a change of colours shows at once."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self._name = name

    def paint(self, painter: QPainter, rect: QRect, mode: QIcon.Mode, state: QIcon.State) -> None:
        now = theme()
        ink = colour(now.faint, 120) if mode == QIcon.Mode.Disabled else colour(now.ink)
        if state == QIcon.State.On and mode != QIcon.Mode.Disabled:
            ink = colour(now.chosen_line)
        paint_icon(painter, QRectF(rect), self._name, ink)

    def pixmap(self, size: QSize, mode: QIcon.Mode, state: QIcon.State) -> QPixmap:
        made = QPixmap(size)
        made.fill(Qt.GlobalColor.transparent)
        painter = QPainter(made)
        self.paint(painter, QRect(0, 0, size.width(), size.height()), mode, state)
        painter.end()
        return made

    def clone(self) -> QIconEngine:
        made = _Engine(self._name)
        _KEPT.append(made)
        return made


_KEPT: list[_Engine] = []
"""Qt holds the engines without saying so to Python."""


@cache
def _made(name: str) -> QIcon:
    engine = _Engine(name)
    _KEPT.append(engine)
    return QIcon(engine)


# --- strokes -----------------------------------------------------------------------------


def _lines(painter: QPainter, *lines: tuple[tuple[float, float], ...]) -> None:
    for line in lines:
        painter.drawPolyline(QPolygonF([QPointF(x, y) for x, y in line]))


def _filled(painter: QPainter, *corners: tuple[float, float]) -> None:
    painter.save()
    painter.setBrush(painter.pen().color())
    painter.drawPolygon(QPolygonF([QPointF(x, y) for x, y in corners]))
    painter.restore()


def _open(painter: QPainter) -> None:
    _lines(painter, ((3, 19), (3, 5), (9, 5), (11.5, 8), (19, 8), (19, 11)))
    _lines(painter, ((3, 19), (6.2, 11), (22, 11), (18.8, 19), (3, 19)))


def _save(painter: QPainter) -> None:
    _lines(painter, ((12, 3), (12, 14)), ((7.5, 9.8), (12, 14.3), (16.5, 9.8)))
    _lines(painter, ((3.5, 14), (3.5, 20), (20.5, 20), (20.5, 14)))


def _export(painter: QPainter) -> None:
    _lines(painter, ((13, 4), (4, 4), (4, 20), (20, 20), (20, 11)))
    _lines(painter, ((11, 13), (20.5, 3.5)), ((14.8, 3.5), (20.5, 3.5), (20.5, 9.2)))


def _turn_back(painter: QPainter, *, on: bool) -> None:
    painter.save()
    if on:
        painter.translate(FIELD, 0.0)
        painter.scale(-1.0, 1.0)
    path = QPainterPath(QPointF(4.5, 9.0))
    path.lineTo(14.5, 9.0)
    path.cubicTo(22.0, 9.0, 22.0, 19.5, 14.5, 19.5)
    path.lineTo(9.0, 19.5)
    painter.drawPath(path)
    _lines(painter, ((8.7, 4.6), (4.2, 9.0), (8.7, 13.4)))
    painter.restore()


def _rows(painter: QPainter) -> None:
    _lines(painter, ((4, 5), (20, 5)), ((4, 10), (20, 10)))


def _add_step(painter: QPainter) -> None:
    _rows(painter)
    _lines(painter, ((4, 15), (10, 15)), ((17, 13.2), (17, 21.2)), ((13, 17.2), (21, 17.2)))


def _remove(painter: QPainter) -> None:
    _lines(painter, ((4, 5), (20, 5)), ((4, 19), (20, 19)))
    _lines(painter, ((8.6, 8.6), (15.4, 15.4)), ((15.4, 8.6), (8.6, 15.4)))


def _arrow(painter: QPainter, *, down: bool) -> None:
    painter.save()
    if down:
        painter.translate(0.0, FIELD)
        painter.scale(1.0, -1.0)
    _lines(painter, ((12, 20), (12, 5)), ((6.5, 10.5), (12, 5), (17.5, 10.5)))
    painter.restore()


def _skip(painter: QPainter) -> None:
    _lines(painter, ((3, 17), (7, 17)), ((17, 17), (21, 17)))
    path = QPainterPath(QPointF(4.5, 12.5))
    path.cubicTo(7.0, 3.5, 17.0, 3.5, 19.5, 12.5)
    painter.drawPath(path)
    _lines(painter, ((14.7, 10.2), (19.6, 12.7), (21.5, 7.6)))


def _fit(painter: QPainter) -> None:
    for x, y in ((4, 4), (20, 4), (20, 20), (4, 20)):
        in_x, in_y = (5 if x < 12 else -5), (5 if y < 12 else -5)
        _lines(painter, ((x + in_x, y), (x, y), (x, y + in_y)))
    painter.drawRect(QRectF(8.5, 10.0, 7.0, 4.0))


def _zoom(painter: QPainter, *, nearer: bool) -> None:
    painter.drawEllipse(QPointF(10.5, 10.5), 6.7, 6.7)
    _lines(painter, ((15.4, 15.4), (20.5, 20.5)), ((7.6, 10.5), (13.4, 10.5)))
    if nearer:
        _lines(painter, ((10.5, 7.6), (10.5, 13.4)))


def _blade(painter: QPainter) -> None:
    path = QPainterPath(QPointF(2.5, 9.5))
    path.lineTo(13.0, 9.5)
    path.cubicTo(17.5, 9.7, 20.0, 11.0, 21.5, 13.0)
    path.cubicTo(18.0, 15.6, 12.0, 16.0, 2.5, 15.6)
    path.closeSubpath()
    painter.drawPath(path)


def _side(painter: QPainter, *, mark: bool) -> None:
    _blade(painter)
    if mark:
        _lines(painter, ((6.5, 11.2), (6.5, 13.9)))
    _lines(painter, ((6, 5.5), (18, 5.5)) if mark else ((6, 20), (18, 20)))
    if mark:
        _lines(painter, ((15, 2.7), (18, 5.5), (15, 8.0)))
    else:
        _lines(painter, ((9, 17.4), (6, 20), (9, 22.6)))


def _layers(painter: QPainter) -> None:
    painter.drawRect(QRectF(3.5, 5.0, 17.0, 14.0))
    _lines(painter, ((3.5, 9.7), (20.5, 9.7)), ((3.5, 14.3), (20.5, 14.3)))


def _etched(painter: QPainter) -> None:
    painter.drawRect(QRectF(3.5, 5.0, 17.0, 14.0))
    for top in (8.2, 11.9, 15.6):
        path = QPainterPath(QPointF(3.5, top))
        path.cubicTo(8.5, top - 3.4, 15.5, top + 3.4, 20.5, top)
        painter.drawPath(path)


def _tip_to_line(painter: QPainter) -> None:
    _lines(painter, ((3, 6), (15, 12), (3, 18)))
    pen = QPen(painter.pen())
    painter.save()
    pen.setDashPattern([1.6, 2.0])
    painter.setPen(pen)
    _lines(painter, ((3, 12), (21.5, 12)))
    painter.restore()
    _filled(painter, (15, 12), (12.6, 10.8), (12.6, 13.2))


def _end_for_end(painter: QPainter) -> None:
    path = QPainterPath(QPointF(4.0, 10.0))
    path.cubicTo(7.0, 4.2, 17.0, 4.2, 20.0, 10.0)
    painter.drawPath(path)
    _lines(painter, ((15.6, 8.8), (20.1, 10.2), (21.3, 5.7)))
    back = QPainterPath(QPointF(20.0, 14.0))
    back.cubicTo(17.0, 19.8, 7.0, 19.8, 4.0, 14.0)
    painter.drawPath(back)
    _lines(painter, ((8.4, 15.2), (3.9, 13.8), (2.7, 18.3)))


def _help(painter: QPainter) -> None:
    painter.drawEllipse(QPointF(12.0, 12.0), 9.2, 9.2)
    path = QPainterPath(QPointF(9.2, 9.6))
    path.cubicTo(9.4, 5.9, 15.0, 6.0, 14.9, 9.6)
    path.cubicTo(14.8, 11.6, 12.0, 11.8, 12.0, 14.0)
    painter.drawPath(path)
    painter.drawPoint(QPointF(12.0, 17.2))


_DRAWN: dict[str, Draw] = {
    "open": _open,
    "save": _save,
    "undo": partial(_turn_back, on=False),
    "redo": partial(_turn_back, on=True),
    "export": _export,
    "add-step": _add_step,
    "remove": _remove,
    "up": partial(_arrow, down=False),
    "down": partial(_arrow, down=True),
    "skip": _skip,
    "fit": _fit,
    "zoom-in": partial(_zoom, nearer=True),
    "zoom-out": partial(_zoom, nearer=False),
    "mark-side": partial(_side, mark=True),
    "off-side": partial(_side, mark=False),
    "layers": _layers,
    "etched": _etched,
    "tip-to-line": _tip_to_line,
    "end-for-end": _end_for_end,
    "help": _help,
}
