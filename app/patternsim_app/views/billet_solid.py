"""A piece that is no plain box, painted: its mark side, and the walls under its outlines.

Straight down from the mark side: walls turned away are not painted, nearer ones over farther ones, and
the mark side last. Nothing rises over the mark side, so this order is always right.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPainterPath, QPen, QPolygonF, QTransform

from patternsim_app.painting import image_of
from patternsim_app.shown import BilletShown, OutlineShown, Rgba
from patternsim_app.views.billet_shape import TOWARDS, Lie, length_between, onto

LIGHT_ALONG, LIGHT_DEEP, LIGHT_UP, LIGHT_UNDER = 0.66, 0.8, 1.0, 0.5
"""Light of what faces right, forwards, upwards and downwards, as if it came from above and the left."""
CORNER = math.cos(math.radians(25.0))
"""Walls that meet more sharply have an edge between them."""
LEAST_PX = 0.05


@dataclass(frozen=True, slots=True)
class _Wall:
    """A strip of a wall: its quad in the drawing, and its part of the wall's picture (shares)."""

    outline: int
    first: float
    last: float
    quad: tuple[QPointF, QPointF, QPointF, QPointF]
    light: float
    nearness: float


class Solid:
    """A piece with outlines, ready to be painted.

    Parameters
    ----------
    shown : BilletShown
    """

    def __init__(self, shown: BilletShown) -> None:
        self._shown = shown
        self._top = image_of(shown.top)
        self._walls = tuple(image_of(_filled(outline.wall)) for outline in shown.outlines)

    def paint(self, painter: QPainter, lie: Lie, edge: QColor) -> None:
        """Paint walls and mark side, with edges of this colour."""
        painter.save()
        # Neighbouring strips share a border: softened, the ground would shine through it.
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        pen = QPen(edge, 1.1)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        walls = self._facing(lie)
        for wall in walls:
            self._paint_wall(painter, wall)
            painter.strokePath(_edges(wall, walls), pen)
        self._paint_top(painter, lie)
        painter.restore()
        painter.strokePath(self.top_path(lie), pen)

    def top_path(self, lie: Lie, side: float = 1.0) -> QPainterPath:
        """Return the outlines as they are drawn, on the mark side or (-1) on the off side."""
        path = QPainterPath()
        for outline in self._shown.outlines:
            path.addPolygon(QPolygonF([self._at(lie, x, y, side) for x, y in outline.points]))
        return path

    def foot(self, lie: Lie) -> QPolygonF:
        """Return the outline of what stands on the die."""
        if lie.pose == "lying":
            return self.top_path(lie, -1.0).toFillPolygon()
        x, y, z = self._shown.size
        base = lie.corners[0][0] if lie.pose == "standing" else x
        corners = ((y / 2, z / 2), (-y / 2, z / 2), (-y / 2, -z / 2), (y / 2, -z / 2))
        return QPolygonF([lie.at(base, a, b) for a, b in corners])

    # --- places ------------------------------------------------------------------------------

    def _half(self, x: float) -> float:
        """Return half the thickness at a place along the piece."""
        rows = self._shown.profile
        if x <= rows[0][0]:
            return rows[0][1]
        for (x0, h0), (x1, h1) in itertools.pairwise(rows):
            if x <= x1:
                return h0 + (h1 - h0) * (x - x0) / max(x1 - x0, 1e-9)
        return rows[-1][1]

    def _at(self, lie: Lie, x: float, y: float, side: float) -> QPointF:
        return lie.at(x, y, side * self._half(x))

    def _facing(self, lie: Lie) -> list[_Wall]:
        """Return the walls turned to the one who looks, farthest first."""
        found: list[_Wall] = []
        for number, outline in enumerate(self._shown.outlines):
            found += self._walls_of(lie, number, outline)
        return sorted(found, key=lambda wall: wall.nearness)

    def _walls_of(self, lie: Lie, number: int, outline: OutlineShown) -> list[_Wall]:
        points = outline.points
        lengths = [math.dist(a, b) for a, b in itertools.pairwise(points)]
        whole, reached, found = max(sum(lengths), 1e-9), 0.0, []
        for (x0, y0), (x1, y1), length in zip(points, points[1:], lengths, strict=False):
            first, reached = reached, reached + length
            # Steel lies on the left of the line, so that its right looks outwards.
            way = lie.turned(y1 - y0, x0 - x1, 0.0)
            towards = sum(a * b for a, b in zip(way, TOWARDS, strict=True))
            if length <= 0.0 or towards <= 0.0:
                continue
            place = lie.turned((x0 + x1) / 2, (y0 + y1) / 2, 0.0)
            found.append(
                _Wall(
                    outline=number,
                    first=first / whole,
                    last=reached / whole,
                    quad=(
                        self._at(lie, x0, y0, 1.0), self._at(lie, x1, y1, 1.0),
                        self._at(lie, x1, y1, -1.0), self._at(lie, x0, y0, -1.0),
                    ),
                    light=_light(way),
                    nearness=sum(a * b for a, b in zip(place, TOWARDS, strict=True)),
                )
            )  # fmt: skip
        return found

    # --- strokes -----------------------------------------------------------------------------

    def _paint_wall(self, painter: QPainter, wall: _Wall) -> None:
        image = self._walls[wall.outline]
        left = wall.first * image.width()
        wide, high = max(1e-3, (wall.last - wall.first) * image.width()), float(image.height())
        if length_between(wall.quad[0], wall.quad[1]) < LEAST_PX:
            return
        source = QPolygonF(
            [
                QPointF(left, 0.0),
                QPointF(left + wide, 0.0),
                QPointF(left + wide, high),
                QPointF(left, high),
            ]
        )
        turn = QTransform()
        if not QTransform.quadToQuad(source, QPolygonF(list(wall.quad)), turn):
            return
        painter.save()
        painter.setTransform(turn, True)
        part = QRectF(left, 0.0, wide, high)
        painter.drawImage(part, image, part)
        painter.fillRect(part, QColor(0, 0, 0, round(255 * (1.0 - wall.light))))
        painter.restore()

    def _paint_top(self, painter: QPainter, lie: Lie) -> None:
        (x0, y0, _), (x1, y1, _) = lie.corners
        path = self.top_path(lie)
        painter.save()
        painter.setClipPath(path, Qt.ClipOperation.IntersectClip)
        light = LIGHT_UP if lie.pose == "lying" else LIGHT_DEEP
        rows = [(x, h) for x, h in self._shown.profile if x0 < x < x1]
        stops = [(x0, self._half(x0)), *rows, (x1, self._half(x1))]
        scaled = self._scaled(lie, y1 - y0)
        for (xa, ha), (xb, hb) in itertools.pairwise(stops):
            corners = (lie.at(xa, y1, ha), lie.at(xb, y1, hb), lie.at(xb, y0, hb), lie.at(xa, y0, ha))
            first, last = ((x - x0) / (x1 - x0) * scaled.width() for x in (xa, xb))
            part = QRectF(first, 0.0, last - first, scaled.height())
            painter.save()
            painter.setTransform(onto(corners, last - first, scaled.height()), True)
            painter.drawImage(QRectF(0.0, 0.0, last - first, scaled.height()), scaled, part)
            painter.restore()
        painter.fillPath(path, QColor(0, 0, 0, round(255 * (1.0 - light))))
        painter.restore()

    def _scaled(self, lie: Lie, across_mm: float) -> QImage:
        """Return the mark side about as many pixels large as it is drawn."""
        (x0, y0, z), (x1, _, _) = lie.corners
        wide = length_between(lie.at(x0, y0, z), lie.at(x1, y0, z))
        high = length_between(lie.at(x0, y0, z), lie.at(x0, y0 + across_mm, z))
        return self._top.scaled(
            max(1, round(wide)), max(1, round(high)), Qt.AspectRatioMode.IgnoreAspectRatio,
            Qt.TransformationMode.SmoothTransformation,
        )  # fmt: skip


def _edges(wall: _Wall, walls: Sequence[_Wall]) -> QPainterPath:
    """Return the lower border of a wall, and its ends where none goes on from it smoothly."""
    path = QPainterPath(wall.quad[3])
    path.lineTo(wall.quad[2])
    same = [other for other in walls if other.outline == wall.outline]
    before = next((other for other in same if _meets(other, wall)), None)
    after = next((other for other in same if _meets(wall, other)), None)
    for neighbour, top, foot in ((before, 0, 3), (after, 1, 2)):
        if neighbour is None or _is_sharp(neighbour, wall):
            path.moveTo(wall.quad[top])
            path.lineTo(wall.quad[foot])
    return path


def _meets(one: _Wall, other: _Wall) -> bool:
    return abs(one.last - other.first) < 1e-9 or abs(one.last - other.first - 1.0) < 1e-9


def _is_sharp(one: _Wall, other: _Wall) -> bool:
    a, b = one.quad[1] - one.quad[0], other.quad[1] - other.quad[0]
    sizes = length_between(QPointF(), a) * length_between(QPointF(), b)
    return sizes > 0.0 and (a.x() * b.x() + a.y() * b.y()) / sizes < CORNER


def _light(way: tuple[float, float, float]) -> float:
    """Return the light of a wall that looks this way on the block."""
    along, deep, up = way
    whole = along**2 + deep**2 + up**2
    if whole <= 0.0:
        return LIGHT_DEEP
    shares = (
        (along**2, LIGHT_ALONG), (deep**2, LIGHT_DEEP), (up**2, LIGHT_UP if up > 0 else LIGHT_UNDER),
    )  # fmt: skip
    return sum(share * light for share, light in shares) / whole


def _filled(wall: Rgba) -> Rgba:
    """Return a wall without the clear pixels of its border: the nearest row of steel instead."""
    made = wall.copy()
    made[..., 3] = 255
    clear = wall[..., 3] < 128
    middle = wall[wall.shape[0] // 2]
    made[clear] = middle[clear.nonzero()[1]]
    made[..., 3] = 255
    return made
