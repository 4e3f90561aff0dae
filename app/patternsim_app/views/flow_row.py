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
        wide = sum(size.width() for size in sizes) + self._gap() * max(len(sizes) - 1, 0)
        return QSize(wide, max((size.height() for size in sizes), default=0))

    def minimumSize(self) -> QSize:
        """Return the widest item."""
        size = QSize()
        for item in self._items:
            size = size.expandedTo(item.minimumSize())
        return size

    def _gap(self) -> int:
        return round(0.5 * em(self.parentWidget()))

    def _place(self, rect: QRect, *, really: bool) -> int:
        """Lay the items out in rows, each in the middle of its row's height; return what they need."""
        y = rect.y()
        for row in self._rows(rect.width()):
            high = max(item.sizeHint().height() for item in row)
            x = rect.x()
            for item in row:
                size = item.sizeHint()
                if really:
                    item.setGeometry(QRect(QPoint(x, y + (high - size.height()) // 2), size))
                x += size.width() + self._gap()
            y += high + self._gap() // 2
        return max(0, y - self._gap() // 2 - rect.y())

    def _rows(self, width: int) -> list[list[QLayoutItem]]:
        rows: list[list[QLayoutItem]] = []
        left = 0
        for item in self._items:
            wide = item.sizeHint().width()
            if not rows or wide > left:
                rows.append([])
                left = width
            rows[-1].append(item)
            left -= wide + self._gap()
        return rows
