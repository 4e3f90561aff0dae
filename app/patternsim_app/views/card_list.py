"""The list under the job card: rows that keep their place, what is under a point, seams and landings.

What a click or a key does is `job_card`'s.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QModelIndex, QPoint, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QDragEnterEvent,
    QDragLeaveEvent,
    QDragMoveEvent,
    QDropEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractItemView, QFrame, QListView, QWidget

from patternsim_app.models.steps_model import StepsModel, dragged_keys, is_step
from patternsim_app.shown import StepRow, Units
from patternsim_app.theme import colour, theme
from patternsim_app.views.card_delegate import CardDelegate, Pointed
from patternsim_app.views.card_landing import Landing, landing, paint_landing, step_near, steps_drag
from patternsim_app.views.card_layout import RowLayout, sentence_left
from patternsim_app.views.card_seams import Seam, paint_seam, seam_at
from patternsim_app.views.card_words import card_told


@dataclass(frozen=True, slots=True)
class Hit:
    """What lies under a point: the row, how it is laid out, where it begins; value and number."""

    row: StepRow
    layout: RowLayout
    top: float
    token: int
    on_number: bool


class CardList(QListView):
    """Shows rows of the job card and lets them be dragged by their numbers.

    Signals
    -------
    move_wanted : tuple of keys, bar, index
        The index in the bar is counted without the moved steps.
    """

    move_wanted = Signal(object, str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._steps = StepsModel(self)
        self._look = CardDelegate(self)
        self._units: Units = "mm"
        self._quiet = 0
        self._seam: Seam | None = None
        self._landing: Landing | None = None
        self._look.set_font(self.font())
        self.setModel(self._steps)
        self.setItemDelegate(self._look)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setMouseTracking(True)
        self.setDragEnabled(True)
        self.setAcceptDrops(True)
        self.setDropIndicatorShown(False)

    @property
    def rows(self) -> tuple[StepRow, ...]:
        """The rows now shown."""
        return self._steps.rows

    @property
    def current(self) -> str:
        """Key of the step on the bench; empty for none."""
        row = self._steps.row(self.currentIndex())
        return row.key if row is not None else ""

    @property
    def units(self) -> Units:
        """In which lengths are written."""
        return self._units

    @property
    def seam(self) -> Seam | None:
        """The seam shown under the mouse."""
        return self._seam

    @property
    def landing(self) -> Landing | None:
        """Where dragged steps would land now."""
        return self._landing

    @property
    def pointed(self) -> Pointed:
        """What pointer and keyboard are at."""
        return self._look.pointed

    def set_rows(self, rows: Sequence[StepRow]) -> None:
        """Show these rows; place in the list, choice and what is being typed stay as they are."""
        with self._quietly(), self._in_place():
            self._steps.set_rows(tuple(rows))
            self._look.forget_others({row.key for row in rows})
        self.pointed.current = self.current
        self.light_seam(None)
        self._describe()

    def set_units(self, units: Units) -> None:
        """Write lengths in these units."""
        self._units = units
        with self._in_place():
            self._look.set_units(units)

    def set_current(self, key: str) -> None:
        """Put the bench mark at a step without telling anyone; '' or an unknown key takes it off."""
        if key == self.current and key:
            return
        with self._quietly():
            self.setCurrentIndex(self._steps.index(self._steps.place(key)))
        self.pointed.current = self.current
        if self.current:
            self.scrollTo(self.currentIndex())
        self._describe()
        self.viewport().update()

    def choose(self, at: int) -> None:
        """Put the bench mark at a row, as a person does."""
        index = self._steps.index(at)
        if index.isValid() and (index != self.currentIndex() or len(self.selectedIndexes()) != 1):
            self.setCurrentIndex(index)

    def place_of(self, key: str) -> int:
        """Return the row of a step, or -1."""
        return self._steps.place(key)

    def chosen_keys(self) -> tuple[str, ...]:
        """Return the keys of the chosen steps in forge order; the one on the bench if none is."""
        chosen = {index.row() for index in self.selectedIndexes()}
        rows = self._steps.rows
        return tuple(rows[at].key for at in sorted(chosen)) or ((self.current,) if self.current else ())

    def chosen_steps(self) -> tuple[str, ...]:
        """Return the keys of the chosen rows that are steps, in forge order."""
        keys = self.chosen_keys()
        return tuple(row.key for row in self._steps.rows if is_step(row) and row.key in keys)

    def place_below(self, key: str) -> QPoint:
        """Return the point on the screen under a row, where its sentence begins; of the top for none."""
        rect = self.visualRect(self._steps.index(self._steps.place(key)))
        y = min(max(rect.bottom() + 1 if rect.isValid() else 0, 0), self.viewport().height())
        return self.viewport().mapToGlobal(QPoint(round(sentence_left(self._look.em)), y))

    def hit(self, place: QPointF) -> Hit | None:
        """Return what lies at a point of the viewport; None below the last row."""
        index = self.indexAt(place.toPoint())
        row = self._steps.row(index)
        if row is None:
            return None
        top = float(self.visualRect(index).top())
        layout = self._look.layout_of(row, self.viewport().width())
        inside = place - QPointF(0.0, top)
        on_number = is_step(row) and layout.number.contains(inside)
        return Hit(row, layout, top, layout.value_at(inside), on_number)

    def light_seam(self, place: QPointF | None) -> None:
        """Show the seam next to a point of the viewport; None shows none."""
        index = self.indexAt(place.toPoint()) if place is not None else QModelIndex()
        seam = None
        if place is not None and index.isValid():
            seam = seam_at(place, index.row(), self.visualRect(index), rows=self.rows, em=self._look.em)
        if seam != self._seam:
            self._seam = seam
            self.viewport().update()

    def box_of(self, key: str, token: int) -> QRectF:
        """Return the box of a value in the viewport; an empty one where there is none."""
        at = self._steps.place(key)
        if at < 0 or token < 0:
            return QRectF()
        row = self._steps.rows[at]
        place = self._look.layout_of(row, self.viewport().width()).box_of(token)
        return place.translated(0.0, self.visualRect(self._steps.index(at)).top())

    def landing_at(self, place: QPointF, moved: set[str]) -> Landing | None:
        """Return where steps would land that are let go at a point; None where there are no steps."""
        rows = self._steps.rows
        index = self.indexAt(place.toPoint())
        at = step_near(rows, index.row() if index.isValid() else 0 if place.y() < 0 else len(rows) - 1)
        if at < 0:
            return None
        rect = self.visualRect(self._steps.index(at))
        below = place.y() > rect.top() + rect.height() / 2
        y = float(rect.bottom() + 1 if below else rect.top())
        return landing(rows, moved, at=at, below=below, y=y)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the rows, then the seam under the mouse and the landing line over them."""
        ground = QPainter(self.viewport())
        ground.fillRect(event.rect(), colour(theme().panel))
        ground.end()
        super().paintEvent(event)
        painter = QPainter(self.viewport())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._landing is not None:
            paint_landing(painter, self._landing, self.viewport().rect())
        elif self._seam is not None:
            paint_seam(painter, self._seam, em=self._look.em, width=self.viewport().width())

    def startDrag(self, actions: Qt.DropAction) -> None:
        """Drag the chosen steps; the rows stay until the job has changed."""
        places = [self._steps.place(key) for key in self.chosen_steps()]
        if places:
            data = self._steps.mimeData([self._steps.index(at) for at in places])
            steps_drag(self, [self._steps.rows[at] for at in places], data).exec(actions)
            # However it ends - dropped, let go elsewhere, Esc - no landing line stays.
            self._set_landing(None)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Let in steps of this card and nothing else."""
        _let_in(self, event)

    def dragMoveEvent(self, event: QDragMoveEvent) -> None:
        """Show where the steps would land; scroll near the ends."""
        super().dragMoveEvent(event)
        if _let_in(self, event):
            keys = set(dragged_keys(event.mimeData()))
            self._set_landing(self.landing_at(event.position(), keys))

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        """Take the landing line away."""
        super().dragLeaveEvent(event)
        self._set_landing(None)

    def dropEvent(self, event: QDropEvent) -> None:
        """Ask for the move."""
        keys = dragged_keys(event.mimeData())
        found = self.landing_at(event.position(), set(keys))
        self._set_landing(None)
        self.setState(QAbstractItemView.State.NoState)
        if _let_in(self, event) and found is not None and found.moves:
            self.move_wanted.emit(keys, found.bar, found.index)

    def changeEvent(self, event: QEvent) -> None:
        """Lay the rows out anew in other letters; repaint in other colours."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            with self._in_place():
                self._look.set_font(self.font())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let the sentences flow to the new width."""
        super().resizeEvent(event)
        self.verticalScrollBar().setSingleStep(round(2 * self._look.em))
        self.scheduleDelayedItemsLayout()

    # --- for the card ------------------------------------------------------------------------

    @contextmanager
    def _quietly(self) -> Iterator[None]:
        """Change the choice without telling anyone."""
        self._quiet += 1
        try:
            yield
        finally:
            self._quiet -= 1

    @contextmanager
    def _in_place(self) -> Iterator[None]:
        """Lay the rows out anew after a change, with the list scrolled so that it does not jump."""
        anchor = _anchor(self, self._steps)
        yield
        self.doItemsLayout()
        _put_back(self, self._steps, anchor)
        self.viewport().update()

    def _describe(self) -> None:
        self.setAccessibleDescription(card_told(self.rows, self._steps.row(self.currentIndex())))

    def _set_landing(self, landing: Landing | None) -> None:
        if landing != self._landing:
            self._landing = landing
            self.viewport().update()


def _let_in(view: CardList, event: QDropEvent) -> bool:
    """Accept a drag of the card's own steps; ignore any other."""
    own = event.source() is view and bool(dragged_keys(event.mimeData()))
    event.setDropAction(Qt.DropAction.MoveAction)
    event.setAccepted(own)
    return own


def _anchor(view: CardList, steps: StepsModel) -> tuple[str, int] | None:
    """Return a row that should not seem to move, and its height on the screen."""
    view.executeDelayedItemsLayout()
    area = view.viewport().rect()
    index = view.currentIndex()
    if not (index.isValid() and area.intersects(view.visualRect(index))):
        index = view.indexAt(QPoint(area.center().x(), 0))
    row = steps.row(index)
    return (row.key, view.visualRect(index).top()) if row is not None else None


def _put_back(view: CardList, steps: StepsModel, anchor: tuple[str, int] | None) -> None:
    """Scroll so that the row stands where it stood."""
    at = steps.place(anchor[0]) if anchor is not None else -1
    if anchor is not None and at >= 0:
        bar = view.verticalScrollBar()
        bar.setValue(bar.value() + view.visualRect(steps.index(at)).top() - anchor[1])
