"""What all boxes share that are typed in: when it is taken or put back, and which keys are the window's.

What is typed, and what it means, is told in `number_entry` and `fields`.
"""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent, QWheelEvent
from PySide6.QtWidgets import QLineEdit


class Entry(QLineEdit):
    """A box with one line of text that is taken or put back as a whole."""

    @property
    def is_typed(self) -> bool:
        """Whether something was typed that is not taken yet."""
        return self.isModified()

    @property
    def is_dragged(self) -> bool:
        """Whether the mouse is changing what it holds."""
        return False

    def take(self) -> bool:
        """Take what was typed; False where it cannot be, and then it stays in the box."""
        raise NotImplementedError

    def leave(self) -> None:
        """Put back what is stored."""
        raise NotImplementedError

    def let_go(self) -> None:
        """Show what is stored and tell nobody: another job is open."""
        self.blockSignals(True)
        self.leave()
        self.blockSignals(False)

    def type_again(self, text: str) -> None:
        """Put back what was typed here before and not taken."""
        self.setText(text)
        self.setModified(True)

    # --- Qt ------------------------------------------------------------------------------

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to what scrolls: a value must not change unnoticed."""
        event.ignore()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take at Enter, put back at Esc."""
        key = Qt.Key(event.key())
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.take()
            self.selectAll()
        elif key == Qt.Key.Key_Escape:
            self.leave()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            event.accept()  # what lies beneath must not act on them
        else:
            super().keyPressEvent(event)

    def event(self, event: QEvent) -> bool:
        """Leave undo to the job while nothing is typed; let commands find what was typed taken."""
        if event.type() != QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
            return super().event(event)
        control = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        if control and not self.is_typed and event.key() in (Qt.Key.Key_Z, Qt.Key.Key_Y):
            event.ignore()
            return True
        if control and event.key() in (Qt.Key.Key_E, Qt.Key.Key_K):
            self.take()  # on some systems they act on the line; here they export and find
            event.ignore()
            return True
        done = super().event(event)
        if not event.isAccepted() and _is_command(event):
            self.take()
        return done


_PAGES = (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown)
_COMMANDS = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
_NO_COMMANDS = (
    Qt.Key.Key_Control, Qt.Key.Key_Alt, Qt.Key.Key_AltGr, Qt.Key.Key_Shift, Qt.Key.Key_Meta,
    Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Left, Qt.Key.Key_Right,
)  # fmt: skip


def _is_command(event: QKeyEvent) -> bool:
    """Tell whether a key that writes nothing may start something elsewhere in the window."""
    key = Qt.Key(event.key())
    if key in _NO_COMMANDS or (event.text() and event.text().isprintable()):
        return False
    return key in _PAGES or Qt.Key.Key_F1 <= key <= Qt.Key.Key_F35 or bool(event.modifiers() & _COMMANDS)
