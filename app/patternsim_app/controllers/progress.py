"""How far long work is, in the head of the window."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer

from patternsim_app.jobs import Jobs
from patternsim_app.main_window import MainWindow

TOLD = ("work", "fine", "export")
"""Work whose progress is told; the rest is small."""
PATIENCE_MS = 700
"""Work that takes longer is told of."""


class ProgressController(QObject):
    """Knows the work under way and the window."""

    def __init__(self, window: MainWindow, jobs: Jobs, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._window = window
        self._patience = QTimer(self)
        self._patience.setSingleShot(True)
        self._patience.setInterval(PATIENCE_MS)
        self._patience.timeout.connect(self._tell)
        self._last: tuple[float, str] | None = None
        jobs.progressed.connect(self._progressed)
        jobs.idle_changed.connect(self._idle_changed)

    def _progressed(self, channel: str, share: float, text: str) -> None:
        if channel in TOLD:
            self._last = share, text
            self._tell()

    def _tell(self) -> None:
        if self._last is None or self._patience.isActive():
            return  # what is done in a moment need not be told
        share, text = self._last
        self._window.header.set_progress(share, f"{text[:1].upper()}{text[1:]}")

    def _idle_changed(self, idle: bool) -> None:
        if idle:
            self._patience.stop()
            self._last = None
            self._window.header.set_progress(None, "")
        else:
            self._patience.start()
