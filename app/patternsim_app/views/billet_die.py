"""The lower die under the piece: a plain steel block that fades out downwards, and a soft shadow."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QColor, QImage, QLinearGradient, QPainter, QPainterPath, QPen, QPolygonF

from patternsim_app.painting import mixed
from patternsim_app.theme import colour, theme
from patternsim_app.views.billet_shape import COPY_STEP, Lie

LONG_SHARE, LONG_WIDTHS = 0.66, 2.2
"""The die's face under a lying piece: of its length as drawn, and at most of its larger side."""
LONG_STANDING = 1.7
"""The same under a standing piece, of its width."""
DEEP = 1.35
"""The die's depth, of all that lies on it."""
SOFT = 0.22
"""Width of the border of the shadow, of the piece's smaller side."""
LIGHT_SHADOW, DARK_SHADOW = 80, 150
LIGHT_DIE, DARK_DIE = 0.2, 0.52
"""How much of the steel's colour the die has on a light and on a dark ground: the piece stands out."""


def die_corners(lie: Lie) -> tuple[QPointF, QPointF, QPointF, QPointF]:
    """Return the corners of the die's face: far left, far right, near right, near left."""
    along, y, up = lie.block
    long = min(LONG_SHARE * along, LONG_WIDTHS * max(y, up))
    if lie.pose != "lying":
        long = LONG_STANDING * along
    deep = y * (1.0 + COPY_STEP * lie.copies)
    middle, back = along / 2, -y / 2 + deep
    near, far = -y / 2 - (DEEP - 1.0) * y, back + (DEEP - 1.0) * y
    low = -up / 2
    return (
        lie.on_block(middle - long / 2, far, low),
        lie.on_block(middle + long / 2, far, low),
        lie.on_block(middle + long / 2, near, low),
        lie.on_block(middle - long / 2, near, low),
    )


def paint_die(painter: QPainter, lie: Lie, *, floor: float, ground: QColor) -> None:
    """Paint the die; its flanks fade into `ground` above `floor`."""
    now = theme()
    far_left, far_right, near_right, near_left = die_corners(lie)
    steel = mixed(colour(now.steel), ground, DARK_DIE if now.dark else LIGHT_DIE)
    down = max(8.0, floor - near_left.y())
    for edge, share in (((near_left, near_right), 0.82), ((near_right, far_right), 0.68)):
        drop = QPointF(0.0, down)
        flank = QPolygonF([edge[0], edge[1], edge[1] + drop, edge[0] + drop])
        fade = QLinearGradient(edge[0], edge[0] + drop)
        tone = mixed(steel, colour(now.ground if now.dark else now.faint), share)
        fade.setColorAt(0.0, tone)
        clear = QColor(tone)
        clear.setAlpha(0)
        fade.setColorAt(0.85, clear)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(fade)
        painter.drawPolygon(flank)
    painter.setBrush(steel)
    painter.setPen(QPen(mixed(colour(now.steel), ground, 0.6), 1.0))
    painter.drawPolygon(QPolygonF([far_left, far_right, near_right, near_left]))


def paint_shadow(painter: QPainter, lie: Lie, foot: QPolygonF) -> None:
    """Paint the soft shadow of a piece that stands on the die with this foot."""
    face = QPainterPath()
    face.addPolygon(QPolygonF(list(die_corners(lie))))
    foot = QPolygonF(foot)
    soft = max(3.0, SOFT * min(lie.size[1], 2 * lie.size[2]) * lie.scale)
    foot.translate(0.0, 0.4 * soft)
    # Drawn in few pixels and enlarged smoothly it has no hard border.
    room = foot.boundingRect().adjusted(-2 * soft, -2 * soft, 2 * soft, 2 * soft)
    few = QSize(max(4, round(room.width() / soft)), max(4, round(room.height() / soft)))
    small = QImage(few, QImage.Format.Format_ARGB32_Premultiplied)
    small.fill(Qt.GlobalColor.transparent)
    shading = QPainter(small)
    shading.setRenderHint(QPainter.RenderHint.Antialiasing)
    shading.scale(few.width() / room.width(), few.height() / room.height())
    shading.translate(-room.topLeft())
    shading.setPen(Qt.PenStyle.NoPen)
    shading.setBrush(QColor(0, 0, 0, DARK_SHADOW if theme().dark else LIGHT_SHADOW))
    shading.drawPolygon(foot)
    shading.end()
    painter.save()
    painter.setClipPath(face, Qt.ClipOperation.IntersectClip)
    painter.drawImage(room, small.scaled(few * 4, mode=Qt.TransformationMode.SmoothTransformation))
    painter.restore()
