"""Words on the drawn piece: which end is which, which side is seen, how many there are; the wedge."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPolygonF

from patternsim_app.painting import cased, polyline
from patternsim_app.shown import BilletShown, Pose
from patternsim_app.theme import colour, theme
from patternsim_app.views.billet_shape import Lie, length_between
from patternsim_app.views.lettering import paint_pill, width_of

END_WORDS: dict[Pose, tuple[str, str]] = {
    "lying": ("near end", "far end"),
    "standing": ("bottom", "top"),
    "head-down": ("far end", "near end"),
}
"""Words at the left or lower, and at the right or upper end."""
WEDGE_EM = 1.5
"""Room over a split block for the wedge, in letter heights."""


def paint_ends(painter: QPainter, lie: Lie, shown: BilletShown, em_px: float, width: float) -> None:
    """Say which end is which, which side is seen and how many pieces there are."""
    now, font = theme(), painter.font()
    height = QFontMetricsF(font).height()
    along, y, z = lie.block[0], lie.block[1] / 2, lie.block[2] / 2
    painter.setPen(colour(now.faint))
    low, high = END_WORDS[lie.pose]
    near = lie.on_block(0.0, -y, z if lie.pose == "lying" else -z)
    far = lie.on_block(along, y, z) + lie.behind(lie.copies)
    lift, off = (1.6, 0.3) if lie.pose == "lying" else (0.6, 1.5)
    painter.drawText(
        QRectF(0.0, near.y() - lift * height, near.x() - off * em_px, height),
        Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter,
        low,
    )
    painter.drawText(
        QRectF(far.x() + 0.5 * em_px, far.y() - 0.9 * height, width, height),
        Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
        high,
    )
    ground, ink = colour(now.panel, 228), colour(now.ink)
    corners = lie.face("mark-side")
    wide = width_of("mark side", font) + height
    across = corners[1] if lie.pose == "lying" else corners[3]
    if not shown.outlines and length_between(corners[0], across) > 1.3 * wide:
        if lie.pose == "lying":
            middle = lie.on_block(0.0, y, z) + QPointF(0.5 * wide + 0.3 * em_px, 0.15 * height)
            if lie.copies == 0:
                middle -= QPointF(0.0, 0.7 * height)
            elif near.y() - middle.y() > 3.0 * height:
                # The copies lie behind that corner: the words stand beside it.
                middle -= QPointF(wide + 1.1 * em_px, 0.0)
        else:
            middle = lie.on_block(along / 2, -y, -z) - QPointF(0.0, 1.1 * height)
        paint_pill(painter, "mark side", middle, ink=ink, ground=ground)
    if shown.pieces > 1:
        words = f"\u00d7 {shown.pieces} each"
        last = lie.hull(lie.copies).at(1)
        middle = last + QPointF(0.5 * width_of(words, font) + 0.6 * em_px, 1.2 * height)
        paint_pill(painter, words, middle, ink=ink, ground=ground, edge=colour(now.box_line))


def paint_wedge(painter: QPainter, lie: Lie, at: tuple[float, float], em_px: float) -> None:
    """Paint the wedge over the place where it went in, and which way it ran."""
    now, font = theme(), painter.font()
    end = lie.at(at[0], at[1], lie.corners[1][2])
    block = length_between(lie.on_block(0.0, 0.0, 0.0), lie.on_block(0.0, 0.0, lie.block[2]))
    into = min(0.9 * em_px, 0.2 * block)
    tall, half = WEDGE_EM * em_px + into, 0.36 * em_px
    tip = end + QPointF(0.0, into)
    top = tip - QPointF(0.0, tall)
    shaft = polyline([top, tip])
    shaft.addPolygon(
        QPolygonF([tip + QPointF(-half, -1.4 * half), tip, tip + QPointF(half, -1.4 * half)])
    )
    cased(painter, shaft, colour(now.barb), colour(now.panel), width=2.2)
    words = "wedge"
    middle = top + QPointF(0.0, -0.2 * em_px)
    middle.setX(middle.x() + 0.5 * width_of(words, font) + 0.9 * em_px)
    painter.setPen(colour(now.ink))
    paint_pill(painter, words, middle, ink=colour(now.ink), ground=colour(now.panel, 228))
