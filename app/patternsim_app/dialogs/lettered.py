"""A dialog whose measures follow the size of the letters, also while it lives."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QSize, QTimer
from PySide6.QtWidgets import QDialog, QPushButton, QWidget

from patternsim_app.theme import em

LEAST_PX = 24
"""Nothing that is pressed is lower."""


class LetteredDialog(QDialog):
    """Takes its measures anew when the letters grow or shrink.

    Whoever derives from it calls `dress` at the end of its own making.
    """

    usual_em = (0.0, 0.0)
    """Usual width and height in letter heights; noughts leave them to the layout."""
    _dressed_for = 0.0
    """Height of the letters it was measured for; none before it is made."""

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        # Not at once: what lies in the dialog gets its letters after the dialog itself.
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self._dress_if_other)

    def dress(self) -> None:
        """Take the measures from the letters as they are; what the user has made larger stays so."""
        first, self._dressed_for = not self._dressed_for, em(self)
        for button in self.findChildren(QPushButton):
            # Not the bare least: a layout that is short of room would press letters flat.
            button.setMinimumHeight(max(LEAST_PX, button.sizeHint().height()))
        if any(self.usual_em):
            wide, high = (round(side * em(self)) for side in self.usual_em)
            usual = QSize(wide, high).boundedTo(self.screen().availableSize())
            self.resize(usual if first else usual.expandedTo(self.size()))

    def changeEvent(self, event: QEvent) -> None:
        """Follow the letters."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and self._dressed_for:
            self._soon.start()

    def _dress_if_other(self) -> None:
        if em(self) != self._dressed_for:
            self.dress()
