"""Widgets in a row that goes on below where the width ends."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget

from patternsim_app.theme import em


class FlowRow(QLayout):
    """A layout that breaks its row."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self.setContentsMargins(0, 0, 0, 0)
        self.setSpacing(round(0.5 * em()))

    def addItem(self, item: QLayoutItem) -> None:
        """Take an item in at the end."""
        self._items.append(item)

    def count(self) -> int:
        """Return how many items there are."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        """Return an item, or None."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        """Take an item out."""
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        """Return none: rows are as high as they must be."""
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        """Return True: a narrow row is higher."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height at a width."""
        return self._place(QRect(0, 0, width, 0), really=False)

    def setGeometry(self, rect: QRect) -> None:
        """Place the items."""
        super().setGeometry(rect)
        self._place(rect, really=True)

    def sizeHint(self) -> QSize:
        """Return all items side by side."""
        sizes = [item.sizeHint() for item in self._items]
        wide = sum(size.width() for size in sizes) + self.spacing() * max(len(sizes) - 1, 0)
        return QSize(wide, max((size.height() for size in sizes), default=0))

    def minimumSize(self) -> QSize:
        """Return the widest item."""
        size = QSize()
        for item in self._items:
            size = size.expandedTo(item.minimumSize())
        return size

    def _place(self, rect: QRect, *, really: bool) -> int:
        x, y, high = rect.x(), rect.y(), 0
        for item in self._items:
            size = item.sizeHint()
            if x > rect.x() and x + size.width() > rect.right() + 1:
                x, y, high = rect.x(), y + high + self.spacing() // 2, 0
            if really:
                item.setGeometry(QRect(QPoint(x, y), size))
            x += size.width() + self.spacing()
            high = max(high, size.height())
        return y + high - rect.y()
