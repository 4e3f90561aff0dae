"""The rows of the job card: they keep their place, one of them is on the bench, what is under a point.

Seams, landings and dragging are `card_list`'s.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QFocusEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QFrame, QListView, QWidget

from patternsim_app.models.steps_model import StepsModel, is_step
from patternsim_app.shown import StepRow, Units
from patternsim_app.views.card_delegate import CardDelegate, Pointed
from patternsim_app.views.card_folds import Folds
from patternsim_app.views.card_layout import RowLayout, sentence_left
from patternsim_app.views.card_words import card_told

_BY_KEYBOARD = (
    Qt.FocusReason.TabFocusReason,
    Qt.FocusReason.BacktabFocusReason,
    Qt.FocusReason.ShortcutFocusReason,
)


@dataclass(frozen=True, slots=True)
class Hit:
    """What lies under a point: the row, how it is laid out, where it begins; value, number, heading."""

    row: StepRow
    layout: RowLayout
    top: float
    token: int
    on_number: bool
    on_heading: bool = False


class CardRows(QListView):
    """Shows rows of the job card, one of them on the bench."""

    read_only = ""
    """Why nothing can be changed; empty where it can."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._steps = StepsModel(self)
        self._look = CardDelegate(self)
        self._units: Units = "mm"
        self._quiet = 0
        self.folds = Folds()
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
    def pointed(self) -> Pointed:
        """What pointer and keyboard are at."""
        return self._look.pointed

    def set_rows(self, rows: Sequence[StepRow]) -> None:
        """Show these rows; place in the list, choice and what is being typed stay as they are."""
        with self._quietly(), self._in_place():
            self._steps.set_rows(tuple(rows))
            self.folds.follow(rows)
            self._show_folds()
            self._look.forget_others({row.key for row in rows})
        self.pointed.current = self.current
        self._describe()

    def set_units(self, units: Units) -> None:
        """Write lengths in these units."""
        self._units = units
        with self._in_place():
            self._look.set_units(units)

    def set_current(self, key: str) -> None:
        """Put the bench mark at a step without telling anyone; '' or an unknown key takes it off."""
        self.reveal(key, first=False)
        if key == self.current and key:
            return
        with self._quietly():
            self.setCurrentIndex(self._steps.index(self._steps.place(key)))
        self.pointed.current = self.current
        if self.current:
            self.scrollTo(self.currentIndex())
        self._describe()
        self.viewport().update()

    def fold(self, key: str, *, on: bool) -> None:
        """Fold the stage of a step, or unfold it; the mark goes to the line that is left of it."""
        self._fold(lambda: self.folds.fold(self.rows, self.place_of(key), on=on))

    def fold_all(self, *, on: bool) -> None:
        """Fold all stages, or unfold them."""
        self._fold(lambda: self.folds.fold_all(self.rows, on=on))

    def reveal(self, key: str, *, first: bool = True) -> None:
        """Unfold the stage that hides a step; that of its first step only if asked to."""
        at = self.place_of(key)
        if at in self.folds.hidden or (first and key in self.folds.folded):
            self.fold(key, on=False)

    def beside(self, by: int) -> str:
        """Return the row so many shown rows on from the one on the bench; that at the end there."""
        shown = [at for at in range(len(self.rows)) if at not in self.folds.hidden]
        now = self.place_of(self.current)
        place = shown.index(now) if now in shown else 0
        return self.rows[shown[min(max(place + by, 0), len(shown) - 1)]].key if shown else ""

    def choose(self, at: int) -> None:
        """Put the bench mark at a row, as a person does."""
        index = self._steps.index(at)
        if index.isValid() and (index != self.currentIndex() or len(self.selectedIndexes()) != 1):
            self.setCurrentIndex(index)

    def place_of(self, key: str) -> int:
        """Return the row of a step, or -1."""
        return self._steps.place(key)

    def chosen_keys(self) -> tuple[str, ...]:
        """Return the keys of the chosen rows in forge order, folded ones with all their steps."""
        chosen = {index.row() for index in self.selectedIndexes()}
        if not chosen and self.current:
            chosen = {self.place_of(self.current)}
        for stage in self.folds.folded.values():
            if stage.first in chosen:
                chosen |= set(range(stage.first, stage.last + 1))
        return tuple(self._steps.rows[at].key for at in sorted(chosen))

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
        heading = is_step(row) and layout.heading is not None and layout.heading.contains(inside)
        return Hit(row, layout, top, layout.value_at(inside), on_number, heading)

    def box_of(self, key: str, token: int) -> QRectF:
        """Return the box of a value in the viewport; an empty one where there is none."""
        at = self._steps.place(key)
        if at < 0 or token < 0:
            return QRectF()
        row = self._steps.rows[at]
        place = self._look.layout_of(row, self.viewport().width()).box_of(token)
        return place.translated(0.0, self.visualRect(self._steps.index(at)).top())

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

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the ring where the keyboard brought the focus."""
        super().focusInEvent(event)
        self._show_ring(event.reason() in _BY_KEYBOARD)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Take the ring away."""
        super().focusOutEvent(event)
        self._show_ring(False)

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

    def _fold(self, change: Callable[[], object]) -> None:
        with self._in_place():
            change()
            self._show_folds()
        at = self.place_of(self.current)
        stage = next((s for s in self.folds.folded.values() if s.first < at <= s.last), None)
        if stage is not None:
            self.choose(stage.first)
        self.scrollTo(self.currentIndex())

    def _show_folds(self) -> None:
        """Hide the rows of folded stages, and no others."""
        self._look.folded = self.folds.folded
        self._steps.folded = {key: one.words for key, one in self.folds.folded.items()}
        for at in range(len(self._steps.rows)):
            if self.isRowHidden(at) != (at in self.folds.hidden):
                self.setRowHidden(at, at in self.folds.hidden)

    def _show_ring(self, shown: bool) -> None:
        if self.pointed.ring != shown:
            self.pointed.ring = shown
            self.viewport().update()

    def _describe(self) -> None:
        self.setAccessibleDescription(card_told(self.rows, self._steps.row(self.currentIndex())))


def _anchor(view: CardRows, steps: StepsModel) -> tuple[str, int] | None:
    """Return a row that should not seem to move, and its height on the screen."""
    view.executeDelayedItemsLayout()
    area = view.viewport().rect()
    index = view.currentIndex()
    if not (index.isValid() and area.intersects(view.visualRect(index))):
        index = view.indexAt(QPoint(area.center().x(), 0))
    row = steps.row(index)
    return (row.key, view.visualRect(index).top()) if row is not None else None


def _put_back(view: CardRows, steps: StepsModel, anchor: tuple[str, int] | None) -> None:
    """Scroll so that the row stands where it stood."""
    at = steps.place(anchor[0]) if anchor is not None else -1
    if anchor is not None and at >= 0:
        bar = view.verticalScrollBar()
        bar.setValue(bar.value() + view.visualRect(steps.index(at)).top() - anchor[1])
