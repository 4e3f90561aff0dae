"""From arrays to pictures on the screen, and a few strokes all painted views share.

Colours are handed in: nothing here knows the theme, the steel or what a picture stands for.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QImage, QPainter, QPainterPath, QPen, QPixmap

from patternsim_app.shown import Rgba

HATCH_GAP = 6
"""Pixels between the lines of a hatch, before the screen's own scale."""
RIM_STEPS = tuple(
    QPointF(x, y) for x in (-1.0, 0.0, 1.0) for y in (-1.0, 0.0, 1.0) if (x, y) != (0.0, 0.0)
)


def image_of(rgba: Rgba) -> QImage:
    """Return a picture of an array, with a copy of its pixels.

    Parameters
    ----------
    rgba : (h, w, 4) uint8
        sRGB with straight alpha.

    Raises
    ------
    ValueError
        If it is no such array, or has no pixels.
    """
    if rgba.ndim != 3 or rgba.shape[2] != 4 or rgba.dtype != np.uint8 or not rgba.size:
        raise ValueError(
            f"a picture is (h, w, 4) bytes and not empty; this is {rgba.shape} {rgba.dtype}"
        )
    whole = np.ascontiguousarray(rgba)
    height, width = whole.shape[:2]
    seen = QImage(whole.data, width, height, 4 * width, QImage.Format.Format_RGBA8888)
    # Converting copies, so the picture no longer hangs on the array's memory.
    return seen.convertToFormat(QImage.Format.Format_ARGB32_Premultiplied)


def array_of(image: QImage) -> Rgba:
    """Return the pixels of a picture as (h, w, 4) uint8, sRGB with straight alpha."""
    plain = image.convertToFormat(QImage.Format.Format_RGBA8888)
    rows = np.frombuffer(plain.constBits(), dtype=np.uint8).reshape(plain.height(), -1)
    return rows[:, : 4 * plain.width()].reshape(plain.height(), plain.width(), 4).copy()


def shaded(rgba: Rgba, factor: float) -> Rgba:
    """Return the picture `factor` times as light (in its sRGB values); what is clear stays clear."""
    made: NDArray[np.uint8] = rgba.copy()
    made[..., :3] = np.clip(np.rint(rgba[..., :3] * factor), 0, 255).astype(np.uint8)
    return made


class Picture:
    """A picture that is drawn again and again at the same size: scaled once, by averaging.

    The painter's own scaling looks at four pixels only, and fine layers would flicker.

    Parameters
    ----------
    rgba : (h, w, 4) uint8
    """

    def __init__(self, rgba: Rgba) -> None:
        self.whole = image_of(rgba)
        self._scaled: QImage | None = None
        self._asked = (QSize(), 0.0)

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the whole picture, pixels."""
        return self.whole.width(), self.whole.height()

    def at(self, width: float, height: float, ratio: float) -> QImage:
        """Return the picture `width` x `height` window pixels large, sharp at `ratio` dots each."""
        dots = QSize(max(1, round(width * ratio)), max(1, round(height * ratio)))
        if self._scaled is None or self._asked != (dots, ratio):
            self._scaled = self.whole.scaled(
                dots, Qt.AspectRatioMode.IgnoreAspectRatio, Qt.TransformationMode.SmoothTransformation
            )
            self._scaled.setDevicePixelRatio(ratio)
            self._asked = (dots, ratio)
        return self._scaled

    def draw(self, painter: QPainter, place: QRectF, rim: QColor | None = None) -> None:
        """Draw the picture into `place`, window pixels, with a `rim` of a pixel round its shape."""
        ratio = painter.device().devicePixelRatioF()
        image = self.at(place.width(), place.height(), ratio)
        if rim is not None:
            shape = image.copy()
            dye = QPainter(shape)
            dye.setCompositionMode(QPainter.CompositionMode.CompositionMode_SourceIn)
            dye.fillRect(QRectF(0.0, 0.0, place.width() + 1.0, place.height() + 1.0), rim)
            dye.end()
            for step in RIM_STEPS:
                painter.drawImage(place.topLeft() + step, shape)
        painter.drawImage(place.topLeft(), image)


def cased(
    painter: QPainter,
    path: QPainterPath,
    colour: QColor,
    casing: QColor,
    *,
    width: float,
    edge: float = 2.0,
) -> None:
    """Stroke a path with a casing on both sides, so that it shows on dark and on bright steel."""
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for paint, thick in ((casing, width + 2.0 * edge), (colour, width)):
        pen = QPen(paint, thick)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.setPen(pen)
        painter.drawPath(path)


def polyline(points: list[QPointF]) -> QPainterPath:
    """Return a path through some points; an empty one for none."""
    path = QPainterPath()
    for index, point in enumerate(points):
        if index:
            path.lineTo(point)
        else:
            path.moveTo(point)
    return path


def hatch(colour: QColor, ratio: float = 1.0, gap: int = HATCH_GAP) -> QBrush:
    """Return slanting lines with nothing between them, a pixel wide at any screen scale."""
    tile = QPixmap(round(gap * ratio), round(gap * ratio))
    tile.setDevicePixelRatio(ratio)
    tile.fill(Qt.GlobalColor.transparent)
    painter = QPainter(tile)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colour, 1.2))
    side = float(tile.width()) / ratio
    # The corners belong to the neighbouring lines; without them the hatch would be dotted.
    for shift in (-side, 0.0, side):
        painter.drawLine(QLineF(shift - 1.0, side + 1.0, shift + side + 1.0, -1.0))
    painter.end()
    return QBrush(tile)


def mixed(one: QColor, other: QColor, share: float) -> QColor:
    """Return `share` of `one` with the rest of `other`, both opaque."""
    return QColor.fromRgbF(
        *(
            share * a + (1.0 - share) * b
            for a, b in (
                (one.redF(), other.redF()),
                (one.greenF(), other.greenF()),
                (one.blueF(), other.blueF()),
            )
        )
    )
