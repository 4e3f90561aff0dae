"""Where the corners of a piece come to lie when it is drawn on the die: geometry only, nothing painted.

A parallel drawing: lines that are parallel on the piece are parallel here, so sizes can be read along
each of the three edges. Points are of the piece's frame (x along it from 0, y and z centred), mm; a
*block* is the piece as it stands on the die: along to the right, deep to the back, up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPolygonF, QTransform

from patternsim_app.shown import Pose

Triple = tuple[float, float, float]
Face = Literal["mark-side", "off-side", "low-edge", "high-edge", "near-end", "far-end"]

ALONG: Final = (0.985, 0.105)
ACROSS: Final = (0.50, -0.40)
UP: Final = (0.0, -0.84)
"""Window pixels a millimetre to the right, to the back and up on the block, before the scale."""
TOWARDS: Final = (0.5076, -1.0, 0.5397)
"""The way of the block (along, deep, up) that points at the one who looks."""
SEEN: Final[dict[Pose, tuple[Face, Face, Face]]] = {
    "lying": ("mark-side", "low-edge", "far-end"),
    "standing": ("far-end", "mark-side", "low-edge"),
    "head-down": ("near-end", "mark-side", "high-edge"),
}
"""Faces towards the one who looks: on top, in front, at the right; the others are behind."""
LEAST_SHARE, LEAST_STANDING = 0.3, 0.85
"""A long piece is drawn no shorter than this share of its length; a standing one is to look tall."""
WHOLE = 0.985
"""Drawn at so much of its length a piece counts as drawn whole."""
COPY_STEP = 1.25
"""Pieces alike lie so many widths apart."""
HALVINGS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Lie:
    """How a piece lies in the drawing.

    Attributes
    ----------
    size : (x, y, z) mm
        Of the box round the piece.
    scale : float
        Pixels a millimetre.
    share : float
        Of its length at which the piece is drawn; 1 for the true proportion.
    origin : QPointF
        Where the left end of the block's middle is drawn.
    copies : int
        Pieces alike drawn behind it.
    low : (x, y, z) mm or None
        Low corner of the box; None where x begins at 0 and y and z are centred.
    pose : str
        'lying', 'standing' (the far end up) or 'head-down' (the near end up).
    """

    size: Triple
    scale: float
    share: float
    origin: QPointF
    copies: int = 0
    low: Triple | None = None
    pose: Pose = "lying"

    @property
    def is_whole(self) -> bool:
        """True where the length is drawn in proportion."""
        return self.share >= WHOLE

    @property
    def block(self) -> Triple:
        """Size of the block as it is drawn: along, deep, up."""
        return _block(self.size, self.share, self.pose)

    @property
    def corners(self) -> tuple[Triple, Triple]:
        """Low and high corner of the box round the piece."""
        x, y, z = self.size
        low = (0.0, -y / 2, -z / 2) if self.low is None else self.low
        return low, (low[0] + x, low[1] + y, low[2] + z)

    def turned(self, x: float, y: float, z: float) -> Triple:
        """Return a way of the piece as a way of the block: along, deep, up."""
        x *= self.share
        if self.pose == "lying":
            return x, y, z
        return (-y, -z, x) if self.pose == "standing" else (y, -z, -x)

    def on_block(self, along: float, deep: float, up: float) -> QPointF:
        """Return where a point of the block is drawn: along from 0, deep and up centred."""
        right = along * ALONG[0] + deep * ACROSS[0] + up * UP[0]
        down = along * ALONG[1] + deep * ACROSS[1] + up * UP[1]
        return self.origin + QPointF(right, down) * self.scale

    def at(self, x: float, y: float, z: float) -> QPointF:
        """Return where a point of the piece is drawn."""
        low, high = self.corners
        middle = ((a + b) / 2 for a, b in zip(low, high, strict=True))
        along, deep, up = self.turned(*(v - m for v, m in zip((x, y, z), middle, strict=True)))
        return self.on_block(along + self.block[0] / 2, deep, up)

    def face(self, face: Face) -> tuple[QPointF, QPointF, QPointF, QPointF]:
        """Return the corners of a face as its picture has them: top left, then clockwise."""
        (x0, y0, z0), (x1, y1, z1) = self.corners
        corners = {
            "mark-side": ((x0, y1, z1), (x1, y1, z1), (x1, y0, z1), (x0, y0, z1)),
            "low-edge": ((x0, y0, z1), (x1, y0, z1), (x1, y0, z0), (x0, y0, z0)),
            "far-end": ((x1, y0, z1), (x1, y1, z1), (x1, y1, z0), (x1, y0, z0)),
        }[face]
        first, second, third, fourth = (self.at(*corner) for corner in corners)
        return first, second, third, fourth

    def behind(self, places: int) -> QPointF:
        """Return how far a piece alike `places` farther back is drawn from the piece."""
        return self.on_block(0.0, places * COPY_STEP * self.block[1], 0.0) - self.origin

    def hull(self, behind: int = 0) -> QPolygonF:
        """Return the outer border of the piece, or of the copy `behind` places farther back."""
        x, y, z = self.block[0], self.block[1] / 2, self.block[2] / 2
        corners = ((0.0, y, z), (x, y, z), (x, y, -z), (x, -y, -z), (0.0, -y, -z), (0.0, -y, z))
        return QPolygonF([self.on_block(*corner) + self.behind(behind) for corner in corners])


def laid(
    size: Triple,
    room: QRectF,
    *,
    readable: float,
    copies: int = 0,
    low: Triple | None = None,
    pose: Pose = "lying",
) -> Lie:
    """Lay a piece into the room there is, its section at least `readable` pixels high if that can be.

    Parameters
    ----------
    size : (x, y, z) mm
    room : QRectF
    readable : float
        Pixels across the larger side of the section, for which a long piece is drawn shorter.
    copies : int
        Pieces alike behind it.
    low, pose
        See `Lie`.
    """
    size = (max(1e-3, size[0]), max(1e-3, size[1]), max(1e-3, size[2]))
    wide, high = max(1.0, room.width()), max(1.0, room.height())

    def spans(share: float) -> tuple[float, float]:
        along, deep, up = _block(size, share, pose)
        deep *= 1.0 + copies * COPY_STEP
        return along * ALONG[0] + deep * ACROSS[0], along * ALONG[1] - deep * ACROSS[1] - up * UP[1]

    def scale_at(share: float) -> float:
        across, down = spans(share)
        return min(wide / across, high / down)

    share = 1.0
    shortest = LEAST_SHARE if pose == "lying" else LEAST_STANDING
    # Where drawing it shorter wins nothing, it is drawn as long as there is room for.
    wanted = min(readable / max(size[1:]), scale_at(shortest) * (1.0 - 1e-9))
    if scale_at(share) < wanted:
        least, share = 1.0, shortest
        for _ in range(HALVINGS):
            middle = (least + share) / 2
            least, share = (middle, share) if scale_at(middle) < wanted else (least, middle)
    scale = scale_at(share)
    across, down = spans(share)
    _, deep, up = _block(size, share, pose)
    # The highest corner is the far back one at the left end, the leftmost the near front one.
    back = deep / 2 + copies * COPY_STEP * deep
    left = room.left() + (room.width() - scale * across) / 2
    top = room.top() + (room.height() - scale * down) / 2
    origin = QPointF(
        left + scale * deep / 2 * ACROSS[0], top - scale * (back * ACROSS[1] + up / 2 * UP[1])
    )
    return Lie(size=size, scale=scale, share=share, origin=origin, copies=copies, low=low, pose=pose)


def onto(corners: tuple[QPointF, QPointF, QPointF, QPointF], width: float, height: float) -> QTransform:
    """Return the map from a picture `width` x `height` large to a face with these corners."""
    first, second, _, fourth = corners
    right, down = (second - first) / width, (fourth - first) / height
    return QTransform(right.x(), right.y(), down.x(), down.y(), first.x(), first.y())


def length_between(one: QPointF, other: QPointF) -> float:
    """Return the distance of two points, pixels."""
    gap = other - one
    return float((gap.x() ** 2 + gap.y() ** 2) ** 0.5)


def _block(size: Triple, share: float, pose: Pose) -> Triple:
    x, y, z = size
    return (x * share, y, z) if pose == "lying" else (y, z, x * share)
