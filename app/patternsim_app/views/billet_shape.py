"""Where the corners of a piece come to lie when it is drawn on the die: geometry only, nothing painted.

A parallel drawing: lines that are parallel on the piece are parallel here, so sizes can be read along
each of the three edges. Points are of the piece's frame (x along it from 0, y and z centred), mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPolygonF, QTransform

Triple = tuple[float, float, float]
Face = Literal["mark-side", "off-side", "low-edge", "high-edge", "near-end", "far-end"]

ALONG: Final = (0.985, 0.105)
ACROSS: Final = (0.50, -0.40)
UP: Final = (0.0, -0.84)
"""Window pixels a millimetre along x, y and z, before the scale."""
SEEN: Final = frozenset({"mark-side", "low-edge", "far-end"})
"""Faces towards the one who looks; the others are behind."""
LEAST_SHARE = 0.3
"""A long piece is drawn no shorter than this share of its length."""
WHOLE = 0.985
"""Drawn at so much of its length a piece counts as drawn whole."""
COPY_STEP = 1.25
"""Pieces alike lie so many widths apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lie:
    """How a piece lies in the drawing.

    Attributes
    ----------
    size : (x, y, z) mm
    scale : float
        Pixels a millimetre.
    share : float
        Of its length at which the piece is drawn; 1 for the true proportion.
    origin : QPointF
        Where (0, 0, 0) is drawn.
    copies : int
        Pieces alike drawn behind it.
    """

    size: Triple
    scale: float
    share: float
    origin: QPointF
    copies: int = 0

    @property
    def is_whole(self) -> bool:
        """True where the length is drawn in proportion."""
        return self.share >= WHOLE

    def at(self, x: float, y: float, z: float) -> QPointF:
        """Return where a point of the piece is drawn."""
        along = x * self.share
        right = along * ALONG[0] + y * ACROSS[0] + z * UP[0]
        down = along * ALONG[1] + y * ACROSS[1] + z * UP[1]
        return self.origin + QPointF(right, down) * self.scale

    def face(self, face: Face) -> tuple[QPointF, QPointF, QPointF, QPointF]:
        """Return the corners of a seen face as its picture has them: top left, then clockwise."""
        x, y, z = self.size[0], self.size[1] / 2, self.size[2] / 2
        corners = {
            "mark-side": ((0.0, y, z), (x, y, z), (x, -y, z), (0.0, -y, z)),
            "low-edge": ((0.0, -y, z), (x, -y, z), (x, -y, -z), (0.0, -y, -z)),
            "far-end": ((x, -y, z), (x, y, z), (x, y, -z), (x, -y, -z)),
        }[face]
        first, second, third, fourth = (self.at(*corner) for corner in corners)
        return first, second, third, fourth

    def hull(self, behind: int = 0) -> QPolygonF:
        """Return the outer border of the piece, or of the copy `behind` places farther back."""
        x, y, z = self.size[0], self.size[1] / 2, self.size[2] / 2
        shift = behind * COPY_STEP * self.size[1]
        corners = ((0.0, y, z), (x, y, z), (x, y, -z), (x, -y, -z), (0.0, -y, -z), (0.0, -y, z))
        return QPolygonF([self.at(a, b + shift, c) for a, b, c in corners])


def laid(size: Triple, room: QRectF, *, readable: float, copies: int = 0) -> Lie:
    """Lay a piece into the room there is, its section at least `readable` pixels high if that can be.

    Parameters
    ----------
    size : (x, y, z) mm
    room : QRectF
    readable : float
        Pixels across the larger side of the section, for which a long piece is drawn shorter.
    copies : int
        Pieces alike behind it.
    """
    x, y, z = (max(1e-3, side) for side in size)
    deep = y * (1.0 + copies * COPY_STEP)
    wide, high = max(1.0, room.width()), max(1.0, room.height())

    def spans(share: float) -> tuple[float, float]:
        return (
            share * x * ALONG[0] + deep * ACROSS[0],
            share * x * ALONG[1] - deep * ACROSS[1] - z * UP[1],
        )

    across, down = spans(1.0)
    scale, share = min(wide / across, high / down), 1.0
    wanted = readable / max(y, z)
    if scale < wanted:
        share = (wide / wanted - deep * ACROSS[0]) / (x * ALONG[0])
        share = min(1.0, max(LEAST_SHARE, share))
        across, down = spans(share)
        scale = min(wide / across, high / down)
        # Where the height is what lacks, drawing it shorter would win nothing.
        share = min(1.0, max(share, (wide / scale - deep * ACROSS[0]) / (x * ALONG[0])))
        down = spans(share)[1]
        scale = min(scale, high / down)
        across, down = spans(share)
    left = room.left() + (room.width() - scale * across) / 2
    top = room.top() + (room.height() - scale * down) / 2
    # The highest corner is the far back one at the near end, the leftmost the near front one.
    back = y / 2 + (deep - y)
    origin = QPointF(
        left - scale * (-y / 2 * ACROSS[0]), top - scale * (back * ACROSS[1] + z / 2 * UP[1])
    )
    return Lie(size=(x, y, z), scale=scale, share=share, origin=origin, copies=copies)


def onto(corners: tuple[QPointF, QPointF, QPointF, QPointF], width: float, height: float) -> QTransform:
    """Return the map from a picture `width` x `height` large to a face with these corners."""
    first, second, _, fourth = corners
    right, down = (second - first) / width, (fourth - first) / height
    return QTransform(right.x(), right.y(), down.x(), down.y(), first.x(), first.y())


def length_between(one: QPointF, other: QPointF) -> float:
    """Return the distance of two points, pixels."""
    gap = other - one
    return float((gap.x() ** 2 + gap.y() ** 2) ** 0.5)
