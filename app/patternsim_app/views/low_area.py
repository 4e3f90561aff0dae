"""A part of the window that is rolled where there is no room for all of it, so that the window fits."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget

from patternsim_app.theme import em

LEAST_EM = 6.0
"""It never gets less than this, in letter heights."""


class LowArea(QScrollArea):
    """Shows a widget whole where there is room, else rolls it up and down.

    Parameters
    ----------
    inner : QWidget
    """

    def __init__(self, inner: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._inner = inner
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        holder = _Holder(inner)
        self.setWidget(holder)
        # A scroll area turns them on, and the ground of the window is to show through.
        holder.setAutoFillBackground(False)
        self.viewport().setAutoFillBackground(False)

    def minimumSizeHint(self) -> QSize:
        """Return the width the widget needs, and a few lines of it."""
        needs = self._inner.minimumSizeHint().expandedTo(self._inner.minimumSize())
        least = round(LEAST_EM * em(self))
        if needs.height() <= least:
            return needs
        return QSize(needs.width() + self.verticalScrollBar().sizeHint().width(), least)

    def sizeHint(self) -> QSize:
        """Return the widget's own."""
        return self._inner.sizeHint()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Ask for room again where the widget needs another width."""
        if event.type() == QEvent.Type.LayoutRequest:
            self.updateGeometry()
        return super().eventFilter(watched, event)


class _Holder(QWidget):
    """Gives a widget all of its own room, and no more height than the least where that is rolled.

    A widget with a layout would be given the height its words want at this width instead.
    """

    def __init__(self, inner: QWidget) -> None:
        super().__init__()
        self._inner = inner
        inner.setParent(self)

    def minimumSizeHint(self) -> QSize:
        """Return the least of what is held."""
        return self._inner.minimumSizeHint().expandedTo(self._inner.minimumSize())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give it all the room there is."""
        self._inner.setGeometry(self.rect())

    def event(self, event: QEvent) -> bool:
        """Hand on that what is held needs other room."""
        if event.type() == QEvent.Type.LayoutRequest:
            self.updateGeometry()
        return super().event(event)
