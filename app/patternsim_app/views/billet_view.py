"""The piece as it lies on the lower die of a press, with its marks and its three sizes.

The pictures of its faces come ready; here they are only laid on the drawn faces and shaded.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from patternsim.sizes import told_in
from patternsim_app.painting import Picture, mixed, shaded
from patternsim_app.shown import BilletShown, Units
from patternsim_app.theme import colour, em, sized, theme
from patternsim_app.views.billet_die import paint_die, paint_shadow
from patternsim_app.views.billet_ends import END_WORDS, WEDGE_EM, paint_ends, paint_wedge
from patternsim_app.views.billet_marks import PILL, Note, noted, paint_lead, paint_note, rows_of
from patternsim_app.views.billet_shape import SEEN, Face, Lie, laid, length_between, onto
from patternsim_app.views.billet_sizes import paint_sizes, size_words
from patternsim_app.views.billet_solid import LIGHT_ALONG, LIGHT_DEEP, LIGHT_UP, Solid
from patternsim_app.views.lettering import SMALL, broken, cut_off, draw_lines, width_of

LIGHTS = (LIGHT_UP, LIGHT_DEEP, LIGHT_ALONG)
"""Light of the faces on top, in front and at the right."""
READABLE_EM = 4.4
"""A section smaller than this is hard to read: longer pieces are drawn shorter."""
LEAST_EM, CRAMPED_EM = 9.0, 4.0
"""The least height, in letter heights: usually, and for large letters in a low window."""
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
        self._solid: Solid | None = None
        self._units: Units = "mm"
        self._least_em = LEAST_EM
        self.set_shown(None)

    def set_shown(self, shown: BilletShown | None) -> None:
        """Show another piece; None where there is none."""
        self._shown = shown
        self._pictures, self._solid = {}, None
        if shown is not None and shown.outlines:
            self._solid = Solid(shown)
        elif shown is not None:
            pictures = {"mark-side": shown.top, "low-edge": shown.side, "far-end": shown.end}
            for face, light in zip(SEEN[shown.pose], LIGHTS, strict=True):
                self._pictures[face] = Picture(shaded(pictures[face], light))
        self._tell()

    def _tell(self) -> None:
        spoken = NOTHING if self._shown is None else told_in(self._shown.spoken, self._units)
        self.setAccessibleDescription(spoken)
        self.update()

    @property
    def shown(self) -> BilletShown | None:
        """The piece that is shown."""
        return self._shown

    def set_units(self, units: Units) -> None:
        """Write sizes in mm or inches."""
        self._units = units
        self._tell()

    def sizeHint(self) -> QSize:
        """Return a comfortable bench."""
        return QSize(round(50 * em(self)), round(24 * em(self)))

    def minimumSizeHint(self) -> QSize:
        """Return what still shows the piece with its sizes."""
        return QSize(round(18 * em(self)), round(self._least_em * em(self)))

    def set_cramped(self, cramped: bool) -> None:
        """Make do with little height, or ask for the usual one."""
        self._least_em = CRAMPED_EM if cramped else LEAST_EM
        self.updateGeometry()

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
        foot = self._foot(lie)
        for behind in range(lie.copies, -1, -1):
            # The farthest first: each hides a part of the one behind it.
            painter.save()
            paint_shadow(painter, lie, foot.translated(lie.behind(behind)))
            painter.translate(lie.behind(behind))
            self._paint_piece(painter, lie)
            painter.restore()
        for note in notes:
            paint_lead(painter, note)
        painter.setFont(self._small())
        if self._shown.shape == "straight":
            paint_sizes(painter, lie, self._shown.size, self._size_words(), em(self))
        paint_ends(painter, lie, self._shown, em(self), self.width())
        if self._shown.wedge is not None:
            paint_wedge(painter, lie, self._shown.wedge, em(self))
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

    def _words(self) -> str:
        """Return the caption; sizes that have no line of their own stand in it."""
        assert self._shown is not None
        if self._shown.shape == "straight":
            return self._shown.words
        length, across, thick = self._size_words()
        if self._shown.shape == "bent":
            return f"{length} along the bend, {across} wide, {thick} thick; {self._shown.words}"
        return f"{length} long, {across} wide and {thick} thick at its full end; {self._shown.words}"

    def _foot(self, lie: Lie) -> QPolygonF:
        if self._solid is not None:
            return self._solid.foot(lie)
        along, y, z = lie.block[0], lie.block[1] / 2, lie.block[2] / 2
        corners = ((0.0, y), (along, y), (along, -y), (0.0, -y))
        return QPolygonF([lie.on_block(a, b, -z) for a, b in corners])

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
        shown, low = self._shown, None
        size = shown.size
        if shown.box is not None:
            low, high = shown.box
            size = (high[0] - low[0], high[1] - low[1], high[2] - low[2])
        lies = [
            laid(size, room, readable=readable, copies=n, low=low, pose=shown.pose)
            for n in range(most + 1)
        ]
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
        assert self._shown is not None
        length, across, thick = self._size_words()
        beside, low_word, high_word = thick, "near end", "far end"
        if self._shown.pose != "lying":
            across, beside = thick, length
            low_word, high_word = END_WORDS[self._shown.pose]
        left = max(width_of(beside, small) + 2.4 * line, width_of(low_word, small) + 0.8 * line)
        right = max(width_of(across, small) + 2.2 * line, width_of(high_word, small) + 1.2 * line)
        row = 1.2 * PILL * QFontMetricsF(small).height()
        top = 1.7 * line + over * row
        if self._shown.wedge is not None:
            top += WEDGE_EM * line
        bottom = 2.2 * line + under * row
        return QRectF(
            left,
            top,
            max(8.0, self.width() - left - right),
            max(8.0, self._captions_top() - top - bottom),
        )

    def _note_lines(self, *, whole: bool) -> tuple[str, ...]:
        assert self._shown is not None
        told = (told_in(note, self._units) for note in self._shown.notes)
        notes = " ".join((*told, *(() if whole else (SHORTER,))))
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

    def _paint_piece(self, painter: QPainter, lie: Lie) -> None:
        edge = colour(theme().faint if theme().dark else theme().outline)
        if self._solid is not None:
            self._solid.paint(painter, lie, edge)
            return
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(mixed(colour(theme().outline), colour(theme().casing), 0.8))  # gaps are dark
        painter.drawPolygon(lie.hull())
        for face in self._pictures:
            self._paint_face(painter, lie, face)
        along, y, z = lie.block[0], lie.block[1] / 2, lie.block[2] / 2
        painter.setBrush(Qt.BrushStyle.NoBrush)
        pen = QPen(edge, 1.2)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.setPen(pen)
        painter.drawPolygon(lie.hull())
        inner = lie.on_block(along, -y, z)
        painter.setPen(QPen(edge, 1.0))
        for corner in ((0.0, -y, z), (along, y, z), (along, -y, -z)):
            painter.drawLine(inner, lie.on_block(*corner))

    def _paint_captions(self, painter: QPainter, lie: Lie) -> None:
        assert self._shown is not None
        line, now = em(self), theme()
        medium = sized(self.font(), 1.0, medium=True)
        place = QRectF(0.2 * line, self._captions_top(), self.width() - 0.4 * line, 0.0)
        painter.setFont(medium)
        painter.setPen(colour(now.ink))
        top = draw_lines(painter, place, (cut_off(self._words(), medium, place.width()),))
        painter.setFont(self._small())
        painter.setPen(colour(now.faint))
        place.setTop(top)
        draw_lines(painter, place, self._note_lines(whole=lie.is_whole))
