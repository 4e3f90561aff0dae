"""The help: pages at the right, topics and a search at the left; stays open beside the work."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, QUrl, Signal
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import (
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

from patternsim_app.dialogs.lettered import LetteredDialog
from patternsim_app.theme import em

Topic = tuple[str, str, str]
"""Name, title, group."""
NAME = Qt.ItemDataRole.UserRole


class HelpWindow(LetteredDialog):
    """Shows pages; whoever made it brings them."""

    usual_em = (54.0, 36.0)
    _markdown = ""
    page_wanted = Signal(str)
    search_wanted = Signal(str)

    def __init__(self, topics: tuple[Topic, ...], parent: QWidget | None = None) -> None:
        super().__init__("Help", parent)
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
        # A bar that comes and goes would lay wide tables out for a width they no longer have.
        self._page.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self._page.setOpenLinks(False)
        self._page.setAccessibleName("Page")
        self._page.anchorClicked.connect(self._follow)
        # All text breaks; tables come out a pixel too wide, which needs no bar.
        self._page.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._split = QSplitter()
        self._lay_out()
        self.dress()

    def dress(self) -> None:
        """Take the measures from the letters as they are."""
        self._page.document().setDocumentMargin(em(self))
        super().dress()
        topics = round(min(15 * em(self), 0.4 * self.width()))
        self._split.setSizes([topics, self.width() - topics])

    def changeEvent(self, event: QEvent) -> None:
        """Set the page anew in other colours: its links keep those they were set in."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and self._markdown:
            bar = self._page.verticalScrollBar()
            place = bar.value()
            self._page.setMarkdown(self._markdown)
            bar.setValue(place)

    def show_page(self, name: str, markdown: str) -> None:
        """Show a page under its name."""
        if not self._trail or self._trail[-1] != name:
            self._trail.append(name)
        self._back.setEnabled(len(self._trail) > 1)
        self._markdown = markdown
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
        self._split.addWidget(left)
        self._split.addWidget(self._page)
        self._split.setStretchFactor(1, 1)
        whole = QVBoxLayout(self)
        whole.addWidget(self._split)
