"""The kinds of step that can be added, under headings, narrowed down by what is typed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from patternsim_app.shown import StepKind

Index = QModelIndex | QPersistentModelIndex

KIND_ROLE = Qt.ItemDataRole.UserRole + 1
"""The `StepKind`, or None for a heading."""


class KindsModel(QAbstractListModel):
    """Headings and kinds in one list; headings cannot be chosen."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._kinds: tuple[StepKind, ...] = ()
        self._typed = ""
        self._lines: list[str | StepKind] = []

    def set_kinds(self, kinds: Sequence[StepKind]) -> None:
        """Offer these kinds, in groups in the order in which the groups first come."""
        self._kinds = tuple(kinds)
        self._fill()

    def set_typed(self, text: str) -> None:
        """Offer only kinds that have every typed word in a title, group or other word."""
        self._typed = text
        self._fill()

    def offered(self, words: list[str]) -> tuple[StepKind, ...]:
        """Return what may be on the list while some words are typed."""
        return self._kinds

    def best(self) -> int:
        """Return the row that fits the typed words best, or -1 where nothing does."""
        offered = [at for at, line in enumerate(self._lines) if isinstance(line, StepKind)]
        return min(offered, key=self._misfit, default=-1)

    def kind(self, index: Index) -> StepKind | None:
        """Return the kind of an index; None for a heading or nothing."""
        line = self._lines[index.row()] if index.isValid() else None
        return line if isinstance(line, StepKind) else None

    def next_choice(self, row: int, step: int) -> int:
        """Return the next row up or down that is a kind; the same row at the ends."""
        at = row + step
        while 0 <= at < len(self._lines):
            if isinstance(self._lines[at], StepKind):
                return at
            at += 1 if step > 0 else -1
        return row

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Return the number of headings and kinds."""
        return 0 if parent.isValid() else len(self._lines)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:  # noqa: ANN401
        """Return a heading, a title, what is spoken, or the kind itself."""
        if not self.checkIndex(index, self.CheckIndexOption.IndexIsValid):
            return None
        line = self._lines[index.row()]
        if role == KIND_ROLE:
            return line if isinstance(line, StepKind) else None
        if role == Qt.ItemDataRole.DisplayRole:
            return line.title if isinstance(line, StepKind) else line
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{line.title}: {line.about}" if isinstance(line, StepKind) else line
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Return that kinds can be chosen and headings cannot."""
        if self.kind(index) is None:
            return Qt.ItemFlag.NoItemFlags
        flag = Qt.ItemFlag
        return flag.ItemIsEnabled | flag.ItemIsSelectable | flag.ItemNeverHasChildren

    def _fill(self) -> None:
        words = self._typed.casefold().split()
        lines: list[str | StepKind] = []
        groups: dict[str, list[StepKind]] = {}
        for kind in self.offered(words):
            if _fits(kind, words):
                groups.setdefault(kind.group, []).append(kind)
        for group, fitting in groups.items():
            lines += [group, *fitting]
        self.beginResetModel()
        self._lines = lines
        self.endResetModel()

    def _misfit(self, row: int) -> tuple[int, int]:
        """Return how badly a kind fits: title before other words, starts before middles."""
        kind = self._lines[row]
        typed = " ".join(self._typed.casefold().split())
        if not typed or isinstance(kind, str):
            return (0, row)
        title, others = kind.title.casefold(), [word.casefold() for word in kind.words]
        tests = (
            title.startswith(typed),
            f" {typed}" in title,
            any(word.startswith(typed) for word in others),
            any(f" {typed}" in word for word in others),
            any(typed in word for word in (title, *others)),
        )
        return (next((at for at, passed in enumerate(tests) if passed), len(tests)), row)


def _fits(kind: StepKind, words: list[str]) -> bool:
    said = " | ".join((kind.title, kind.kind.replace("-", " "), kind.kind, kind.group, *kind.words))
    said = said.casefold()
    return all(word in said for word in words)
