"""A box for one number: typed exactly, stepped by keys, dragged roughly.

Typing, taking and refusing are the part of `number_entry`.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QWidget

from patternsim_app.views.number_entry import NumberEntry

IDLE_MS = 400
"""A number stepped by keys is taken when the keys have rested so long."""
PULL_PX = 6
"""So far a pressed mouse may move before it drags the number."""
PX_A_STEP = 4.0


class NumberBox(NumberEntry):
    """Shows a number and gives it back when it was typed, stepped or dragged to another.

    Signals
    -------
    committed(float), cleared(), left_unchanged(), refused(str)
        As of `NumberEntry`.
    scrubbed(float)
        While it is dragged or stepped, and once more when that is called off.
    """

    scrubbed = Signal(float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        # The number tried by steps or drag, and what was stored when that began: meanwhile the tried
        # number comes back as the one to show.
        self._stepped: float | None = None
        self._before: float | None = None
        self._pressed: QPointF | None = None
        self._fresh = False
        self._pulled = False
        self._spent = False  # nothing more comes of the press, until the button is let go
        self._idle = QTimer(self)
        self._idle.setSingleShot(True)
        self._idle.setInterval(IDLE_MS)
        self._idle.timeout.connect(self._take_stepped)

    @property
    def is_dragged(self) -> bool:
        """Whether the mouse is dragging the number."""
        return self._pulled

    def take(self) -> bool:
        """Take what was stepped to or typed; False where it cannot be, and then it stays."""
        self._end_drag()
        if self._stepped is not None:
            self._take_stepped()
            return True
        return super().take()

    def leave(self) -> None:
        """Put the stored number back."""
        self._idle.stop()
        stepped, self._stepped = self._stepped, None
        self._end_drag()
        if stepped is not None and self._before is not None:
            self._value = self._before
            self.scrubbed.emit(self._before)
        super().leave()

    def _end_drag(self) -> None:
        """End a drag whose button is still down; moves that follow do nothing."""
        self._spent = self._spent or self._pulled
        self._pressed, self._pulled = None, False
        self.unsetCursor()

    def step_for(self, modifiers: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> float:
        """Return how far one step goes: ten times with Shift, a tenth with Ctrl."""
        return self._rule.step(self._start() or 0.0, modifiers)

    def _start(self) -> float | None:
        """Return the number that steps and drags count from."""
        return self._value if self._stepped is None else self._before

    def _step_to(self, wanted: float) -> None:
        value = self._rule.kept(wanted)
        if value is None or value == (self._value if self._stepped is None else self._stepped):
            return
        if self._stepped is None:
            self._before = self._value
        self._stepped = value
        self.setText(self._rule.pretty(value))
        self.setModified(False)
        self.scrubbed.emit(value)

    def _take_stepped(self) -> None:
        self._idle.stop()
        stepped, self._stepped = self._stepped, None
        if stepped is None:
            return
        self._value = stepped
        self._show_stored()
        if stepped != self._before:
            self.committed.emit(stepped)
        else:
            self.left_unchanged.emit()

    def _is_busy(self) -> bool:
        return super()._is_busy() or self._stepped is not None

    def _edited(self, text: str) -> None:
        self._idle.stop()
        if self._stepped is not None:
            self._stepped, self._value = None, self._before
        super()._edited(text)

    # --- Qt ------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Step at Up and Down."""
        key = Qt.Key(event.key())
        if key not in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            super().keyPressEvent(event)
            return
        now = self._value if self._stepped is None else self._stepped
        if now is not None and not self.is_typed:
            sign = 1.0 if key == Qt.Key.Key_Up else -1.0
            self._step_to(now + sign * self._rule.step(now, event.modifiers()))
            self._idle.start()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Note what brings the focus: it comes before the press, and such a press may drag."""
        self._fresh = event.reason() == Qt.FocusReason.MouseFocusReason
        super().focusInEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin to type, or to drag."""
        self._spent = False
        fresh, self._fresh = self._fresh or not self.hasFocus(), False
        if fresh and event.button() == Qt.MouseButton.LeftButton and not self.is_typed:
            self._pressed = event.position()
            return
        super().mousePressEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag the number sideways."""
        if self._spent:
            return
        start = self._start()
        if self._pressed is None or start is None or self.is_typed:
            super().mouseMoveEvent(event)
            return
        across = event.position().x() - self._pressed.x()
        if abs(across) > PULL_PX or self._pulled:
            self._pulled = True
            self.setCursor(Qt.CursorShape.SizeHorCursor)
            steps = round(across / PX_A_STEP)
            self._step_to(start + steps * self._rule.step(start, event.modifiers()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Take a dragged number, or mark all of it for typing."""
        pulled, self._pulled = self._pulled, False
        fresh, self._pressed = self._pressed is not None, None
        spent, self._spent = self._spent, False
        self.unsetCursor()
        if spent:
            return
        if pulled:
            self._take_stepped()
        elif fresh:
            self.selectAll()
        else:
            super().mouseReleaseEvent(event)
