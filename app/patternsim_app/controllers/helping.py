"""Help: the page that belongs to what is on the bench."""

from __future__ import annotations

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from patternsim import pages
from patternsim.job import kind_of
from patternsim_app.actions import keys_page
from patternsim_app.controllers.bench_mark import BLADE, SHOP, BenchMark
from patternsim_app.dialogs.help_window import HelpWindow
from patternsim_app.session import Session

KEYS = "keys"
FOR_ROWS = {BLADE: "blade", SHOP: "shop"}


class HelpController(QObject):
    """Knows the pages and what is chosen."""

    def __init__(
        self, window: QWidget, session: Session, mark: BenchMark, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._window = window
        self._session = session
        self._mark = mark
        self._help: HelpWindow | None = None

    def open_here(self) -> None:
        """Open the page of the chosen step, or of the window."""
        found = self._session.document.job.find_step(self._mark.key)
        topic = FOR_ROWS.get(self._mark.key, "window")
        self.open(topic if found is None else kind_of(found[0].step[found[1]]))

    def open_keys(self) -> None:
        """Open the list of keys."""
        self.open(KEYS)

    def open(self, topic: str) -> None:
        """Open a page by its name."""
        if self._help is None:
            topics = tuple((one.name, one.title, one.group) for one in pages.topics())
            self._help = HelpWindow((*topics, (KEYS, "Keys", "The program")), self._window)
            self._help.page_wanted.connect(self._show)
            self._help.search_wanted.connect(self._search)
        self._show(topic if topic else "window")
        self._help.show()
        self._help.raise_()
        self._help.activateWindow()

    def _show(self, topic: str) -> None:
        if self._help is None:
            return
        text = keys_page() if topic == KEYS else pages.page(topic)
        self._help.show_page(topic, text)

    def _search(self, words: str) -> None:
        if self._help is not None:
            self._help.set_found(tuple(one.name for one in pages.find(words)))
