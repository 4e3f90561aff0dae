"""The face of the bar with the blade's outline laid on it: moved about and laid by hand.

What the hand does comes out in millimetres of the bar.
"""

from __future__ import annotations

import math

from PySide6.QtCore import QEvent, QPointF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QTransform, QWheelEvent
from PySide6.QtWidgets import QWidget

from patternsim_app.theme import em
from patternsim_app.views import face_paint
from patternsim_app.views.face_canvas import FaceCanvas

NOTCH = 1.2
"""Enlargement of one notch of the wheel."""
HIT_EM = 0.75
"""Radius in which a grip is caught, letter heights; at least 12 points."""
PUSH_MM = {Qt.KeyboardModifier.ShiftModifier: 5.0, Qt.KeyboardModifier.ControlModifier: 0.1}
ARROWS = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}


class FaceView(FaceCanvas):
    """The face to be worked on; gives what the hand does with the outline in mm of the bar."""

    outline_moved = Signal(float, float)
    """The outline is pushed so far from where it was when the hand took it; until `outline_dropped`."""
    tip_aimed = Signal(float, float)
    """The tip is pulled to this place; until `outline_dropped`."""
    outline_dropped = Signal()
    outline_left = Signal()
    """The hand let go with Esc: as it was before."""
    outline_pushed = Signal(float, float)
    """One push by an arrow key."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self._taken_at = QPointF()

    def _what_is_at(self, at: QPointF) -> str:
        """Return the grip at a point, 'outline' inside it, or '' beside it."""
        reach = max(12.0, HIT_EM * em())
        near = {
            name: math.hypot(at.x() - grip.x(), at.y() - grip.y())
            for name, grip in self._grips().items()
        }
        for name in sorted(near, key=lambda one: near[one]):
            if near[name] <= reach:
                return name
        if self._shown is not None and self._shown.outline:
            path = face_paint.outline_path(self._shown.outline, self._frame.transform())
            if path.contains(at):
                return "outline"
        return ""

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take a grip, the outline, or the whole face."""
        at = event.position()
        if event.button() == Qt.MouseButton.LeftButton:
            self._grip = self._what_is_at(at) or "pan"
        elif event.button() == Qt.MouseButton.MiddleButton:
            self._grip = "pan"
        else:
            return
        self._taken_at = at
        self._before = self._shown
        self._hand = QTransform()
        self._dress(self._grip)
        self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the hand."""
        at = event.position()
        if not self._grip:
            hot = self._what_is_at(at)
            if hot != self._hot:
                self._hot = hot
                self._dress(hot)
                self.update()
            return
        if self._grip == "pan":
            step = at - self._taken_at
            self._taken_at = at
            self._fitted = False
            self._frame = self._frame.panned(step.x(), step.y())
            self._changed()
        elif self._grip == "tip":
            x, y = self._frame.bar(at)
            self._hand = self._aimed(x, y)
            self.tip_aimed.emit(x, y)
            self.update()
        else:
            x, y = self._frame.bar(at)
            x0, y0 = self._frame.bar(self._taken_at)
            self._hand = QTransform.fromTranslate(x - x0, y - y0)
            self.outline_moved.emit(x - x0, y - y0)
            self.update()

    def _aimed(self, x: float, y: float) -> QTransform:
        """Return the turn about the heel that points the tip to x, y (mm)."""
        if self._before is None:
            return QTransform()
        (hx, hy), (tx, ty) = self._before.heel, self._before.tip
        angle = math.atan2(y - hy, x - hx) - math.atan2(ty - hy, tx - hx)
        made = QTransform.fromTranslate(-hx, -hy)
        made *= QTransform().rotateRadians(angle)
        return made * QTransform.fromTranslate(hx, hy)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        grip, self._grip = self._grip, ""
        moved = event.position() != self._taken_at
        if grip in ("outline", "heel", "belly", "tip") and moved:
            self.outline_dropped.emit()
        self._dress(self._what_is_at(event.position()))
        self.update()

    def let_go(self) -> None:
        """Let go of what the hand holds; it must be taken anew."""
        self._grip = ""
        self._hand = QTransform()
        self.update()

    def _dress(self, what: str) -> None:
        shape = Qt.CursorShape
        if what == "tip":
            self.setCursor(shape.CrossCursor)
        elif what in ("outline", "heel", "belly"):
            self.setCursor(shape.SizeAllCursor)
        else:
            self.setCursor(shape.ClosedHandCursor if self._grip == "pan" else shape.ArrowCursor)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the pointer by notches; two fingers on a pad move the face."""
        pixels = event.pixelDelta()
        if not pixels.isNull() and event.source() == Qt.MouseEventSource.MouseEventSynthesizedBySystem:
            self._fitted = False
            self._frame = self._frame.panned(pixels.x(), pixels.y())
            self._changed()
        else:
            self.zoom(NOTCH ** (event.angleDelta().y() / 120.0), event.position())
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Push the outline by the arrow keys; Esc puts it back while it is held."""
        key = Qt.Key(event.key())
        if key == Qt.Key.Key_Escape and self._grip and self._grip != "pan":
            self._grip = ""
            self._hand = QTransform()
            self.outline_left.emit()
            self.update()
        elif key in ARROWS and self._shown is not None and self._shown.outline:
            far = PUSH_MM.get(event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier, 0.5)
            dx, dy = ARROWS[key]
            self.outline_pushed.emit(self._frame.sign * dx * far, dy * far)
        else:
            super().keyPressEvent(event)

    def leaveEvent(self, event: QEvent) -> None:
        """Nothing is under the pointer any more."""
        self._hot = ""
        self.update()
