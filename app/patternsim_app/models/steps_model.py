"""The steps of the job card as a Qt list: one row a step, changed with as few signals as will do.

How a row looks is the delegate's business. The list never changes itself: dropping rows is a wish that
the card hands on.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import fields
from typing import Any

import numpy as np
from PySide6.QtCore import (
    QAbstractListModel,
    QByteArray,
    QMimeData,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
)

from patternsim_app.shown import StepRow

Index = QModelIndex | QPersistentModelIndex

ROW_ROLE = Qt.ItemDataRole.UserRole + 1
"""The whole `StepRow`."""
KEYS_MIME = "application/x-patternsim-steps"
"""Keys of dragged steps, one a line."""
_STATE_WORDS = {
    "worked": "",
    "waiting": "not worked out yet",
    "refused": "cannot be done",
    "unworked": "not worked out",
    "skipped": "skipped",
}
_GRADE_WORDS = {"watch": "to watch", "stop": "stop"}
_FIELDS = tuple(field.name for field in fields(StepRow) if field.name != "thumb")


class StepsModel(QAbstractListModel):
    """Rows of the job card in forge order."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows: list[StepRow] = []
        self.folded: dict[str, str] = {}
        """First steps of folded stages, and how many steps are hidden: '4 steps'."""

    @property
    def rows(self) -> tuple[StepRow, ...]:
        """The rows now shown."""
        return tuple(self._rows)

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys of the steps now shown."""
        return tuple(row.key for row in self._rows)

    def set_rows(self, rows: Sequence[StepRow]) -> None:
        """Show these rows; keys of steps must differ.

        Rows that stay keep their place in selections and scrolling: they are moved, not made anew. Only
        where most of the steps are others is the list reset.
        """
        keys = [row.key for row in rows]
        if len(set(keys)) != len(keys):
            raise ValueError("two rows of the job card have the same key")
        old = {row.key for row in self._rows}
        staying = old.intersection(keys)
        if len(staying) * 2 < max(len(old), 1):
            self.beginResetModel()
            self._rows = list(rows)
            self.endResetModel()
            return
        self._remove_others(staying)
        self._move_into_order([key for key in keys if key in staying])
        self._insert_new(rows, staying)
        self._exchange(rows)

    def place(self, key: str) -> int:
        """Return the row of a step, or -1 where it is not there."""
        return next((at for at, row in enumerate(self._rows) if row.key == key), -1)

    def row(self, index: Index) -> StepRow | None:
        """Return the row of an index, or None where there is none."""
        return self._rows[index.row()] if index.isValid() else None

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Return the number of steps."""
        return 0 if parent.isValid() else len(self._rows)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:  # noqa: ANN401
        """Return the sentence, what is spoken, or the whole row."""
        if not self.checkIndex(index, self.CheckIndexOption.IndexIsValid):
            return None
        row = self._rows[index.row()]
        if role == ROW_ROLE:
            return row
        if role == Qt.ItemDataRole.DisplayRole:
            return row.spoken
        if role == Qt.ItemDataRole.AccessibleTextRole:
            folded = self.folded.get(row.key)
            return spoken_row(row) if folded is None else f"stage {row.heading}, folded, {folded}"
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Return what can be done: rows are chosen and dragged; drops land between them only."""
        flag = Qt.ItemFlag
        if not index.isValid():
            return flag.ItemIsDropEnabled
        flags = flag.ItemIsEnabled | flag.ItemIsSelectable | flag.ItemNeverHasChildren
        return flags | flag.ItemIsDragEnabled if is_step(self._rows[index.row()]) else flags

    def supportedDropActions(self) -> Qt.DropAction:
        """Return that steps are moved, never copied, by dragging."""
        return Qt.DropAction.MoveAction

    def mimeTypes(self) -> list[str]:
        """Return the kinds of data a drag carries."""
        return [KEYS_MIME, "text/plain"]

    def mimeData(self, indexes: Sequence[QModelIndex]) -> QMimeData:
        """Return the dragged steps: keys for the card, sentences for anything else."""
        rows = [self._rows[at] for at in sorted({index.row() for index in indexes if index.isValid()})]
        data = QMimeData()
        data.setData(KEYS_MIME, QByteArray("\n".join(row.key for row in rows).encode()))
        data.setText("\n".join(f"{row.number}. {row.spoken}" for row in rows))
        return data

    def dropMimeData(
        self, data: QMimeData, action: Qt.DropAction, row: int, column: int, parent: Index
    ) -> bool:
        """Return False: the order is the job's, and the card asks for the move."""
        return False

    # --- least changes: what goes, what moves, what comes, what is new in what stays ---------

    def _remove_others(self, staying: set[str]) -> None:
        going = [at for at, row in enumerate(self._rows) if row.key not in staying]
        for first, last in reversed(list(_stretches(going))):
            self.beginRemoveRows(QModelIndex(), first, last)
            del self._rows[first : last + 1]
            self.endRemoveRows()

    def _move_into_order(self, order: list[str]) -> None:
        wanted = {key: at for at, key in enumerate(order)}
        still = {order[at] for at in _longest_rise([wanted[row.key] for row in self._rows])}
        for at, key in enumerate(order):
            if key in still:
                continue
            source = self.place(key)
            # Straight behind the step that comes before it, which already lies right.
            target = self.place(order[at - 1]) + 1 if at else 0
            if target in (source, source + 1):
                continue
            none = QModelIndex()
            if self.beginMoveRows(none, source, source, none, target):
                self._rows.insert(target - (target > source), self._rows.pop(source))
                self.endMoveRows()

    def _insert_new(self, rows: Sequence[StepRow], staying: set[str]) -> None:
        for first, last in _stretches([at for at, row in enumerate(rows) if row.key not in staying]):
            self.beginInsertRows(QModelIndex(), first, last)
            self._rows[first:first] = rows[first : last + 1]
            self.endInsertRows()

    def _exchange(self, rows: Sequence[StepRow]) -> None:
        changed = [
            at for at, (old, new) in enumerate(zip(self._rows, rows, strict=True)) if not alike(old, new)
        ]
        for at in changed:
            self._rows[at] = rows[at]
        for first, last in _stretches(changed):
            self.dataChanged.emit(self.index(first), self.index(last))


def is_step(row: StepRow) -> bool:
    """Tell whether a row is a step; rows without a number are the blade and the shop."""
    return row.number > 0


def spoken_row(row: StepRow) -> str:
    """Return a row as a screen reader says it: 'step 3: Forge weld to 66 mm; to watch'."""
    told = [f"step {row.number}: {row.spoken}" if is_step(row) else _named(row)]
    state = _STATE_WORDS[row.state]
    if state:
        told.append(f"{state}: {row.reason}" if row.reason else state)
    if row.rough:
        told.append("rough")
    if row.state in ("worked", "waiting") and row.grade in _GRADE_WORDS:
        told.append(_GRADE_WORDS[row.grade])
    return "; ".join(told)


def _named(row: StepRow) -> str:
    """Return the sentence of the blade or the shop, which says what it is about."""
    return row.spoken if row.spoken.startswith(row.title) else f"{row.title}: {row.spoken}"


def alike(one: StepRow, other: StepRow) -> bool:
    """Tell whether two rows look the same."""
    if one is other:
        return True
    if any(getattr(one, name) != getattr(other, name) for name in _FIELDS):
        return False
    if one.thumb is None or other.thumb is None:
        return one.thumb is other.thumb
    return one.thumb is other.thumb or bool(np.array_equal(one.thumb, other.thumb))


def dragged_keys(data: QMimeData) -> tuple[str, ...]:
    """Return the keys of the steps that a drag carries; empty where it carries none."""
    if not data.hasFormat(KEYS_MIME):
        return ()
    return tuple(bytes(data.data(KEYS_MIME).data()).decode().split("\n"))


def _stretches(places: list[int]) -> Iterator[tuple[int, int]]:
    """Yield (first, last) of every unbroken run in rising numbers."""
    first = None
    for at, place in enumerate(places):
        first = place if first is None else first
        if at + 1 == len(places) or places[at + 1] != place + 1:
            yield first, place
            first = None


def _longest_rise(numbers: list[int]) -> list[int]:
    """Return a longest rising choice of different numbers: what need not be moved."""
    ends: list[int] = []  # smallest end of a rise of each length
    before: dict[int, int | None] = {}
    for value in numbers:
        at = bisect_left(ends, value)
        before[value] = ends[at - 1] if at else None
        ends[at : at + 1] = [value]
    rise: list[int] = []
    value_now = ends[-1] if ends else None
    while value_now is not None:
        rise.append(value_now)
        value_now = before[value_now]
    return rise[::-1]
