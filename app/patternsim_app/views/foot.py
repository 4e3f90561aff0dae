"""What stands under the face: as high as it needs to be, and scrolled where there is less room."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtWidgets import QScrollArea, QSizePolicy, QWidget


class Foot(QScrollArea):
    """A scrolled widget that asks for the height its content has at the width there is."""

    def __init__(self, content: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Maximum)
        self._content = content
        self.setWidget(content)
        content.setAutoFillBackground(False)  # a scroll area turns it on
        self.viewport().setAutoFillBackground(False)

    def sizeHint(self) -> QSize:
        """Return what all of the content takes: the face has the rest."""
        size = self._content.sizeHint()
        return QSize(size.width(), self._content.heightForWidth(max(1, self.width())))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Ask for another height when the content changes."""
        if watched is self._content and event.type() == QEvent.Type.LayoutRequest:
            self.updateGeometry()
        return super().eventFilter(watched, event)
