"""The list under the job card: seams between its rows, and steps dragged by their numbers.

What a click or a key does is `job_card`'s.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, QPointF, Qt, Signal
from PySide6.QtGui import (
    QDragEnterEvent,
    QDragLeaveEvent,
    QDragMoveEvent,
    QDropEvent,
    QPainter,
    QPaintEvent,
)
from PySide6.QtWidgets import QAbstractItemView, QWidget

from patternsim_app.models.steps_model import dragged_keys
from patternsim_app.shown import StepRow
from patternsim_app.theme import colour, theme
from patternsim_app.views.card_landing import Landing, landing, paint_landing, step_near, steps_drag
from patternsim_app.views.card_rows import CardRows
from patternsim_app.views.card_seams import Seam, paint_seam, seam_at


class CardList(CardRows):
    """Lets the rows of the job card be dragged by their numbers.

    Signals
    -------
    move_wanted : tuple of keys, bar, index
        The index in the bar is counted without the moved steps.
    """

    move_wanted = Signal(object, str, int)

    _seam: Seam | None = None
    _landing: Landing | None = None

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setDragEnabled(True)
        self.setAcceptDrops(True)
        self.setDropIndicatorShown(False)

    @property
    def seam(self) -> Seam | None:
        """The seam shown under the mouse."""
        return self._seam

    @property
    def landing(self) -> Landing | None:
        """Where dragged steps would land now."""
        return self._landing

    def set_rows(self, rows: Sequence[StepRow]) -> None:
        """Show these rows; place in the list, choice and what is being typed stay as they are."""
        super().set_rows(rows)
        self.light_seam(None)

    def light_seam(self, place: QPointF | None) -> None:
        """Show the seam next to a point of the viewport; None shows none."""
        index = self.indexAt(place.toPoint()) if place is not None else QModelIndex()
        seam = None
        if place is not None and index.isValid():
            rect = self.visualRect(index)
            at = self._end_of(index.row(), place.y() > rect.top() + rect.height() / 2)
            seam = seam_at(place, at, rect, rows=self.rows, em=self._look.em)
        if seam != self._seam:
            self._seam = seam
            self.viewport().update()

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
        return landing(rows, moved, at=self._end_of(at, below), below=below, y=y)

    def _end_of(self, at: int, below: bool) -> int:
        """Return the last row of a folded stage for what goes below it; else the row itself."""
        stage = self.folds.folded.get(self.rows[at].key)
        return stage.last if below and stage is not None else at

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
