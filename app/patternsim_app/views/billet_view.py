"""The piece as it lies on the lower die of a press, with its marks and its three sizes.

The pictures of its faces come ready; here they are only laid on the drawn faces and shaded.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from patternsim_app.painting import Picture, mixed, shaded
from patternsim_app.shown import BilletShown, Units
from patternsim_app.theme import colour, em, sized, theme
from patternsim_app.views.billet_die import paint_die, paint_shadow
from patternsim_app.views.billet_marks import PILL, Note, noted, paint_lead, paint_note, rows_of
from patternsim_app.views.billet_shape import Face, Lie, laid, length_between, onto
from patternsim_app.views.billet_sizes import paint_sizes, size_words
from patternsim_app.views.lettering import SMALL, broken, cut_off, draw_lines, paint_pill, width_of

LIGHT_OF: dict[Face, float] = {"mark-side": 1.0, "low-edge": 0.8, "far-end": 0.66}
"""Light of the faces, as if it came from above and a little from the left."""
READABLE_EM = 4.4
"""A section smaller than this is hard to read: longer pieces are drawn shorter."""
MOST_COPIES = 2
NOTE_LINES = 2
SHORTER = "Length drawn shorter."
NOTHING = "No steel on the die yet."


class BilletView(QWidget):
    """The piece on the die."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Piece on the die")
        self._shown: BilletShown | None = None
        self._pictures: dict[Face, Picture] = {}
        self._units: Units = "mm"
        self.set_shown(None)

    def set_shown(self, shown: BilletShown | None) -> None:
        """Show another piece; None where there is none."""
        self._shown = shown
        self._pictures = {}
        if shown is not None:
            faces: tuple[tuple[Face, object], ...] = (
                ("mark-side", shown.top), ("low-edge", shown.side), ("far-end", shown.end),
            )  # fmt: skip
            for face, picture in faces:
                self._pictures[face] = Picture(shaded(picture, LIGHT_OF[face]))  # type: ignore[arg-type]
        self.setAccessibleDescription(shown.spoken if shown is not None else NOTHING)
        self.update()

    def set_units(self, units: Units) -> None:
        """Write sizes in mm or inches."""
        self._units = units
        self.update()

    def sizeHint(self) -> QSize:
        """Return a comfortable bench."""
        return QSize(round(50 * em(self)), round(24 * em(self)))

    def minimumSizeHint(self) -> QSize:
        """Return what still shows the piece with its sizes."""
        return QSize(round(18 * em(self)), round(9 * em(self)))

    def lie(self) -> Lie | None:
        """Return how the piece lies in the drawing; None without one."""
        return self._laid()[0] if self._shown is not None else None

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint die, shadow, piece, marks, sizes and words."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        if self._shown is None:
            painter.setPen(colour(theme().faint))
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, NOTHING)
            return
        lie, notes = self._laid()
        floor = self._captions_top()
        paint_die(painter, lie, floor=floor, ground=self._ground())
        self._paint_copies(painter, lie)
        paint_shadow(painter, lie)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(mixed(colour(theme().outline), colour(theme().casing), 0.8))  # gaps are dark
        painter.drawPolygon(lie.hull())
        for face in LIGHT_OF:
            self._paint_face(painter, lie, face)
        self._paint_edges(painter, lie)
        for note in notes:
            paint_lead(painter, note)
        painter.setFont(self._small())
        paint_sizes(painter, lie, self._size_words(), em(self))
        self._paint_ends(painter, lie)
        for note in notes:
            paint_note(painter, note, self._small())
        self._paint_captions(painter, lie)

    # --- places ------------------------------------------------------------------------------

    def _ground(self) -> QColor:
        return self.palette().color(self.backgroundRole())

    def _small(self) -> QFont:
        return sized(self.font(), SMALL)

    def _size_words(self) -> tuple[str, str, str]:
        assert self._shown is not None
        return size_words(self._shown.size, self._units)

    def _laid(self) -> tuple[Lie, tuple[Note, ...]]:
        """Return how the piece lies, and its marks with their words round it."""
        assert self._shown is not None
        over = under = 0
        if self._shown.marks:
            # How many rows the words take is known once the piece lies; then it lies anew.
            notes = self._noted(self._lie(1, 1))
            over, under = rows_of(notes, below=False), rows_of(notes, below=True)
        lie = self._lie(over, under)
        return lie, self._noted(lie)

    def _lie(self, over: int, under: int) -> Lie:
        assert self._shown is not None
        room, readable = self._room(over, under), READABLE_EM * em(self)
        most = min(MOST_COPIES, self._shown.pieces - 1)
        lies = [laid(self._shown.size, room, readable=readable, copies=n) for n in range(most + 1)]
        # The second copy only where it takes no room from the piece.
        return lies[-1] if most < 2 or lies[2].scale >= 0.92 * lies[1].scale else lies[1]

    def _noted(self, lie: Lie) -> tuple[Note, ...]:
        assert self._shown is not None
        line = em(self)
        return noted(
            self._shown.marks,
            lie,
            QRectF(0.3 * line, 0.0, self.width() - 0.6 * line, self.height()),
            self._small(),
            over=lie.hull(lie.copies).boundingRect().top() - 1.75 * line,
            under=lie.hull().boundingRect().bottom() + 2.4 * line,
        )

    def _room(self, over: int, under: int) -> QRectF:
        """Where the piece itself may lie: round it stand sizes, ends and rows of words."""
        line, small = em(self), self._small()
        _, across, thick = self._size_words()
        left = max(width_of(thick, small) + 2.4 * line, width_of("near end", small) + 0.8 * line)
        right = max(width_of(across, small) + 2.2 * line, width_of("far end", small) + 1.2 * line)
        row = 1.2 * PILL * QFontMetricsF(small).height()
        top = 1.7 * line + over * row
        bottom = 2.2 * line + under * row
        return QRectF(
            left,
            top,
            max(8.0, self.width() - left - right),
            max(8.0, self._captions_top() - top - bottom),
        )

    def _note_lines(self, *, whole: bool) -> tuple[str, ...]:
        assert self._shown is not None
        notes = " ".join((*self._shown.notes, *(() if whole else (SHORTER,))))
        return broken(notes, self._small(), self.width() - 0.4 * em(self), NOTE_LINES)

    def _captions_top(self) -> float:
        lines = len(self._note_lines(whole=False))
        heights = QFontMetricsF(self.font()).height() + lines * QFontMetricsF(self._small()).height()
        return self.height() - heights - 0.2 * em(self)

    # --- drawing -----------------------------------------------------------------------------

    def _paint_face(self, painter: QPainter, lie: Lie, face: Face) -> None:
        corners = lie.face(face)
        wide, high = length_between(corners[0], corners[1]), length_between(corners[0], corners[3])
        if wide < 1.0 or high < 1.0:
            return
        image = self._pictures[face].at(wide, high, self.devicePixelRatioF())
        size = image.deviceIndependentSize()
        painter.save()
        painter.setTransform(onto(corners, size.width(), size.height()), True)
        painter.drawImage(QPointF(0.0, 0.0), image)
        painter.restore()

    def _paint_edges(self, painter: QPainter, lie: Lie) -> None:
        x, y, z = lie.size[0], lie.size[1] / 2, lie.size[2] / 2
        painter.setBrush(Qt.BrushStyle.NoBrush)
        pen = QPen(colour(theme().outline, 215), 1.2)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.setPen(pen)
        painter.drawPolygon(lie.hull())
        inner = lie.at(x, -y, z)
        painter.setPen(QPen(colour(theme().outline, 120), 1.0))
        for corner in ((0.0, -y, z), (x, y, z), (x, -y, -z)):
            painter.drawLine(inner, lie.at(*corner))

    def _paint_copies(self, painter: QPainter, lie: Lie) -> None:
        now = theme()
        for behind in range(lie.copies, 0, -1):
            painter.setPen(QPen(colour(now.faint, 150), 1.0))
            painter.setBrush(mixed(colour(now.steel), self._ground(), 0.22))
            painter.drawPolygon(lie.hull(behind))

    def _paint_ends(self, painter: QPainter, lie: Lie) -> None:
        """Say which end is which, and which side is up."""
        assert self._shown is not None
        line, now = em(self), theme()
        height = QFontMetricsF(self._small()).height()
        x, y, z = lie.size[0], lie.size[1] / 2, lie.size[2] / 2
        painter.setFont(self._small())
        painter.setPen(colour(now.faint))
        near, far = lie.at(0.0, -y, z), lie.at(x, y, z)
        painter.drawText(
            QRectF(0.0, near.y() - 1.6 * height, near.x() - 0.2 * line, height),
            Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter,
            "near end",
        )
        painter.drawText(
            QRectF(far.x() + 0.5 * line, far.y() - 0.9 * height, self.width(), height),
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
            "far end",
        )
        corners = lie.face("mark-side")
        ground, ink = colour(now.panel, 228), colour(now.ink)
        wide = width_of("mark side", self._small()) + height
        if length_between(corners[0], corners[1]) > 1.3 * wide:
            middle = lie.at(0.0, y, z) + QPointF(0.5 * wide + 0.3 * line, 0.15 * height)
            if lie.copies == 0:
                middle -= QPointF(0.0, 0.7 * height)
            paint_pill(painter, "mark side", middle, ink=ink, ground=ground)
        if self._shown.pieces > 1:
            last = lie.hull(lie.copies).at(1)
            words = f"{self._shown.pieces} alike"
            middle = last - QPointF(0.5 * width_of(words, self._small()), 0.75 * height)
            paint_pill(painter, words, middle, ink=ink, ground=ground)

    def _paint_captions(self, painter: QPainter, lie: Lie) -> None:
        assert self._shown is not None
        line, now = em(self), theme()
        medium = sized(self.font(), 1.0, medium=True)
        place = QRectF(0.2 * line, self._captions_top(), self.width() - 0.4 * line, 0.0)
        painter.setFont(medium)
        painter.setPen(colour(now.ink))
        top = draw_lines(painter, place, (cut_off(self._shown.words, medium, place.width()),))
        painter.setFont(self._small())
        painter.setPen(colour(now.faint))
        place.setTop(top)
        draw_lines(painter, place, self._note_lines(whole=lie.is_whole))
