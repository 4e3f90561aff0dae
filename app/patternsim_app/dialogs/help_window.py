"""The help: pages at the right, topics and a search at the left; stays open beside the work."""

from __future__ import annotations

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QSplitter,
    QTextBrowser,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from patternsim_app.theme import em

Topic = tuple[str, str, str]
"""Name, title, group."""
NAME = Qt.ItemDataRole.UserRole


class HelpWindow(QDialog):
    """Shows pages; whoever made it brings them."""

    page_wanted = Signal(str)
    search_wanted = Signal(str)

    def __init__(self, topics: tuple[Topic, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Help")
        self.setModal(False)
        self._trail: list[str] = []
        self._search = QLineEdit()
        self._search.setPlaceholderText("Search")
        self._search.setClearButtonEnabled(True)
        self._search.setAccessibleName("Search the help")
        self._search.textChanged.connect(self.search_wanted)
        self._search.returnPressed.connect(self._open_first)
        self._list = QTreeWidget()
        self._list.setHeaderHidden(True)
        self._list.setAccessibleName("Topics")
        self._items: dict[str, QTreeWidgetItem] = {}
        self._groups: dict[str, QTreeWidgetItem] = {}
        self._fill(topics)
        self._list.currentItemChanged.connect(self._chosen)
        self._back = QPushButton("Back")
        self._back.setAccessibleName("Back to the page before")
        self._back.setAutoDefault(False)
        self._back.setShortcut(QKeySequence(QKeySequence.StandardKey.Back))
        self._back.clicked.connect(self._go_back)
        self._page = QTextBrowser()
        self._page.setOpenLinks(False)
        self._page.setAccessibleName("Page")
        self._page.anchorClicked.connect(self._follow)
        self._page.document().setDocumentMargin(em())
        # All text breaks; tables come out a pixel too wide, which needs no bar.
        self._page.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._lay_out()

    def show_page(self, name: str, markdown: str) -> None:
        """Show a page under its name."""
        if not self._trail or self._trail[-1] != name:
            self._trail.append(name)
        self._back.setEnabled(len(self._trail) > 1)
        self._page.setMarkdown(markdown)
        item = self._items.get(name)
        if item is not None:
            self._list.blockSignals(True)
            self._list.setCurrentItem(item)
            self._list.blockSignals(False)
            self.setWindowTitle(f"Help: {item.text(0)}")

    def set_found(self, names: tuple[str, ...]) -> None:
        """Show only the topics that were found; all of them while nothing is searched for."""
        searching = bool(self._search.text().strip())
        for name, item in self._items.items():
            item.setHidden(searching and name not in names)
        for head in self._groups.values():
            rows = [item for item in self._items.values() if item.parent() is head]
            head.setHidden(all(row.isHidden() for row in rows))

    def _fill(self, topics: tuple[Topic, ...]) -> None:
        for name, title, group in topics:
            if group not in self._groups:
                head = QTreeWidgetItem(self._list, [group])
                head.setFlags(Qt.ItemFlag.ItemIsEnabled)
                self._groups[group] = head
            item = QTreeWidgetItem(self._groups[group], [title])
            item.setData(0, NAME, name)
            self._items[name] = item
        self._list.expandAll()

    def _chosen(self, item: QTreeWidgetItem | None, _before: object) -> None:
        name = item.data(0, NAME) if item is not None else None
        if name:
            self.page_wanted.emit(str(name))

    def _open_first(self) -> None:
        """Open the first topic that was found."""
        item = next((one for one in self._items.values() if not one.isHidden()), None)
        if item is not None and self._search.text().strip():
            self._list.setCurrentItem(item)

    def _follow(self, link: QUrl) -> None:
        name = link.toString().removesuffix(".md")
        if name in self._items:
            self.page_wanted.emit(name)

    def _go_back(self) -> None:
        if len(self._trail) > 1:
            self._trail.pop()
            self.page_wanted.emit(self._trail[-1])
            self._back.setEnabled(len(self._trail) > 1)

    def _lay_out(self) -> None:
        left = QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        head = QHBoxLayout()
        head.addWidget(self._search, 1)
        head.addWidget(self._back)
        column.addLayout(head)
        column.addWidget(self._list, 1)
        split = QSplitter()
        split.addWidget(left)
        split.addWidget(self._page)
        split.setStretchFactor(1, 1)
        split.setSizes([round(15 * em()), round(36 * em())])
        whole = QVBoxLayout(self)
        whole.addWidget(split)
        self.resize(round(54 * em()), round(36 * em()))
