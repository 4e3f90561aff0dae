"""Chisel nicks on the drawn piece: the stroke, the line that leads to it, and where its words stand."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPainterPath, QPen

from patternsim_app.painting import cased
from patternsim_app.shown import MarkShown, Pose
from patternsim_app.theme import colour, theme
from patternsim_app.views.billet_shape import SEEN, Lie, length_between
from patternsim_app.views.lettering import cut_off, paint_pill, width_of

FACE_WORDS = {
    "mark-side": "mark side",
    "off-side": "off side",
    "low-edge": "low edge",
    "high-edge": "high edge",
    "near-end": "near end",
    "far-end": "far end",
}
BELOW = frozenset({"off-side", "low-edge"})
"""Marks there have their words under the piece, all others over it."""
PILL = 1.12
"""Height of the ground under words, of their letters."""
LOST_SHARE = 0.75
REACH = 0.55
"""Half a nick as drawn, of a line of letters: large enough to be found."""


@dataclass(frozen=True, slots=True)
class Note:
    """A mark with its words: where the mark is drawn, and the rectangle of the words."""

    mark: MarkShown
    words: str
    at: QPointF
    box: QRectF
    half: QPointF
    """From the middle of the nick to its end as it is drawn, a line of letters long."""
    is_seen: bool


def mark_words(mark: MarkShown, pose: Pose = "lying") -> str:
    """Return what stands beside a mark: 'nick, mark side' or 'nick, off side, behind'."""
    parts = [mark.name, FACE_WORDS[mark.face]]
    if mark.lost:
        parts.append("lost")
    elif mark.face not in SEEN[pose]:
        parts.append("behind")
    return ", ".join(parts)


def noted(
    marks: tuple[MarkShown, ...], lie: Lie, room: QRectF, font: QFont, *, over: float, under: float
) -> tuple[Note, ...]:
    """Return the marks with places for their words that do not overlap.

    Parameters
    ----------
    marks : tuple of MarkShown
    lie : Lie
    room : QRectF
        Words keep to its left and right.
    font : QFont
    over, under : float
        y of the middle of the words over and under the piece; further rows go outwards.
    """
    made: list[Note] = []
    for is_below in (False, True):
        group = [mark for mark in marks if (mark.face in BELOW) == is_below]
        middle, step = (under, 1.0) if is_below else (over, -1.0)
        made += _in_rows(group, lie, room, font, middle=middle, step=step)
    return tuple(made)


def rows_of(notes: tuple[Note, ...], *, below: bool) -> int:
    """Return in how many rows the words over or under the piece stand."""
    return len({round(note.box.top()) for note in notes if (note.mark.face in BELOW) == below})


def paint_lead(painter: QPainter, note: Note) -> None:
    """Paint the line that leads from the words to the mark."""
    now, box = theme(), note.box
    is_over = box.center().y() < note.at.y()
    inset = min(box.width() / 2, 0.5 * box.height())
    x = min(max(note.at.x(), box.left() + inset), box.right() - inset)
    start = QPointF(x, box.bottom() if is_over else box.top())
    lead = QLineF(start, note.at)
    if note.mark.lost:
        # The ring stays hollow.
        lead.setLength(max(0.0, lead.length() - LOST_SHARE * REACH * box.height() / PILL))
    for paint, width in ((colour(now.panel, 190), 3.4), (colour(now.ink), 1.1)):
        painter.setPen(QPen(paint, width))
        painter.drawLine(lead)


def paint_note(painter: QPainter, note: Note, font: QFont) -> None:
    """Paint the nick and the words of a mark."""
    now = theme()
    height = QFontMetricsF(font).height()
    _paint_nick(painter, note, height)
    painter.setFont(font)
    paint_pill(
        painter,
        cut_off(note.words, font, note.box.width() - 0.6 * height),
        note.box.center(),
        ink=colour(now.faint if note.mark.lost else now.ink),
        ground=colour(now.panel),
        edge=colour(now.box_line),
    )


def _in_rows(
    marks: list[MarkShown], lie: Lie, room: QRectF, font: QFont, *, middle: float, step: float
) -> list[Note]:
    """Words from left to right, moved a little where they would meet, or into a row farther out."""
    height = PILL * QFontMetricsF(font).height()
    made: list[Note] = []
    reached: list[float] = []
    for mark in sorted(marks, key=lambda one: lie.at(*one.at).x()):
        at, words = lie.at(*mark.at), mark_words(mark, lie.pose)
        wide = min(room.width(), width_of(words, font) + 0.7 * height)
        left = min(max(at.x() - wide / 2, room.left()), room.right() - wide)
        # As long as the words still stand over their mark.
        most = min(room.right(), at.x() + wide - 0.5 * height) - wide
        row = next((r for r, end in enumerate(reached) if end + 0.3 * height <= most), len(reached))
        if row == len(reached):
            reached.append(room.left())
        left = max(left, reached[row] + 0.3 * height)
        reached[row] = left + wide
        y = middle + step * row * 1.2 * height
        box = QRectF(left, y - height / 2, wide, height)
        made.append(Note(mark, words, at, box, _stroke(mark, lie), mark.face in SEEN[lie.pose]))
    return made


def _stroke(mark: MarkShown, lie: Lie) -> QPointF:
    """Return the way of a nick as it is drawn, a pixel long."""
    # A chisel is held across the bar on its flat sides, upright on its edges and ends.
    y, z = (1.0, 0.0) if mark.face in ("mark-side", "off-side") else (0.0, 1.0)
    x, b, c = mark.at
    way = lie.at(x, b + y, c + z) - lie.at(x, b, c)
    return way / max(length_between(QPointF(), way), 1e-9)


def _paint_nick(painter: QPainter, note: Note, height: float) -> None:
    now, mark = theme(), note.mark
    reach = REACH * height
    if mark.lost:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for pen in (QPen(colour(now.casing), 4.0), QPen(colour(now.outline), 1.5, Qt.PenStyle.DashLine)):
            painter.setPen(pen)
            painter.drawEllipse(note.at, LOST_SHARE * reach, LOST_SHARE * reach)
        return
    half = note.half * reach
    if not note.is_seen:
        dotted = QPen(colour(now.casing), 5.0)
        dotted.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(dotted)
        painter.drawLine(QLineF(note.at - half, note.at + half))
        dotted = QPen(colour(now.outline), 2.4)
        dotted.setCapStyle(Qt.PenCapStyle.RoundCap)
        dotted.setDashPattern([0.01, 1.9])
        painter.setPen(dotted)
        painter.drawLine(QLineF(note.at - half, note.at + half))
        return
    stroke = QPainterPath(note.at - half)
    stroke.lineTo(note.at + half)
    cased(painter, stroke, colour(now.outline), colour(now.casing), width=max(2.6, 0.22 * height))
