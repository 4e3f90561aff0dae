"""Tells the user what went wrong or was done, in one place of the window."""

from __future__ import annotations

import logging

from PySide6.QtCore import QObject, Signal

from patternsim.errors import PatternSimError

log = logging.getLogger(__name__)


class Telling(QObject):
    """Messages for the strip above the bench."""

    told = Signal(str, str)
    """Grade ('fine', 'watch', 'stop') and words."""
    over = Signal()
    """What was told holds no more."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.last = ""
        """What was told last."""

    def trouble(self, text: str) -> None:
        """Tell that something cannot be done, and why."""
        self.last = text
        self.told.emit("watch", _sentence(text))

    def news(self, text: str) -> None:
        """Tell that something was done."""
        self.told.emit("fine", _sentence(text))

    def failed(self, error: Exception) -> None:
        """Tell of work that could not be done; what should not have happened goes to the log."""
        if isinstance(error, PatternSimError):
            self.trouble(str(error))
        else:
            log.error("work failed", exc_info=error)


def _sentence(text: str) -> str:
    """Begin with a capital; a file's name stays as it is written."""
    text = text.strip()
    first = text.split(" ", 1)[0].rstrip(":")
    return text if "." in first or "/" in first else text[:1].upper() + text[1:]
