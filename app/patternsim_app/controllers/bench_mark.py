"""Which step is looked at: a matter of the view, never of the job; no undo, no file."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

BLADE, SHOP = "blade:", "shop:"
"""Rows of the card that are no steps; step ids hold no colon."""


class BenchMark(QObject):
    """The chosen row of the card."""

    moved = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._key = BLADE

    @property
    def key(self) -> str:
        """Key of the chosen row: id of a step, `BLADE` or `SHOP`."""
        return self._key

    def move(self, key: str) -> None:
        """Choose another row."""
        if key and key != self._key:
            self._key = key
            self.moved.emit(key)
