"""The steel line: how much steel is left after each step, and what the blade needs.

A column a step. Drawing and choosing only; the figures come ready.
"""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from patternsim_app.shown import SteelShown
from patternsim_app.theme import em
from patternsim_app.views.lettering import paint_focus
from patternsim_app.views.signs import GRADE_WORDS
from patternsim_app.views.steel_paint import SteelDrawing
from patternsim_app.views.steel_places import LEFT_EM, RIGHT_EM, SteelPlaces


class SteelLine(QWidget):
    """The steel line.

    Signals
    -------
    chosen(str)
        Key of the step whose column was clicked or reached with the arrow keys.
    """

    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Steel line")
        self._shown = SteelShown(columns=(), start_kg=0.0, need_kg=None, words="")
        self._current = ""
        self._hovered = -1
        self._tell()

    def set_shown(self, shown: SteelShown) -> None:
        """Show other figures."""
        self._shown = shown
        self._hovered = -1
        self._tell()
        self.update()

    def set_current(self, key: str) -> None:
        """Emphasise the column of a step; an empty or unknown key none. Nothing is emitted."""
        self._current = key
        self._tell()
        self.update()

    @property
    def current(self) -> str:
        """Key of the emphasised step."""
        return self._current

    def sizeHint(self) -> QSize:
        """Return a low and wide strip."""
        return QSize(round(60 * em(self)), round(5.6 * em(self)))

    def minimumSizeHint(self) -> QSize:
        """Return what still shows columns beside the words."""
        return QSize(round(((LEFT_EM + RIGHT_EM) / 2 + 8) * em(self)), round(5.6 * em(self)))

    def places(self) -> SteelPlaces:
        """Return the measures of the drawing as it is now."""
        return SteelPlaces(
            shown=self._shown, width=float(self.width()), height=float(self.height()), em_px=em(self)
        )

    def words_for(self, index: int) -> str:
        """Return what a column says, in words: 'step 7: 2.85 kg left, 0.35 kg off'."""
        column = self._shown.columns[index]
        if not column.worked:
            why = "cannot be done; stop" if column.refused else "not worked out"
            return f"step {column.number}: {why}"
        words = f"step {column.number}: {column.kg:.2f} kg left"
        if column.lost_kg >= 0.005:
            words += f", {column.lost_kg:.2f} kg off"
        if column.grade in ("watch", "stop"):
            words += f"; {GRADE_WORDS[column.grade]}"
        return words

    # --- hands -------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the step under the mouse."""
        index = self.places().column_at(event.position().x())
        if event.button() == Qt.MouseButton.LeftButton and index >= 0:
            self._choose(index)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Light up the column under the mouse."""
        self._hover(self.places().column_at(event.position().x()))

    def leaveEvent(self, event: QEvent) -> None:
        """Light up none."""
        super().leaveEvent(event)
        self._hover(-1)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Walk along the steps with the arrow keys."""
        keys, last = Qt.Key, len(self._shown.columns) - 1
        at = self._current_index()
        goals = {
            keys.Key_Left: at - 1 if at > 0 else 0,
            keys.Key_Right: at + 1,
            keys.Key_Home: 0,
            keys.Key_End: last,
        }
        goal = goals.get(Qt.Key(event.key()))
        if goal is None or event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier or last < 0:
            super().keyPressEvent(event)
            return
        goal = min(last, goal)
        if goal != at:
            self._choose(goal)

    def event(self, event: QEvent) -> bool:
        """Say in a tip what the column under the mouse says."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            index = self.places().column_at(event.pos().x())
            if index >= 0:
                QToolTip.showText(event.globalPos(), self.words_for(index), self)
            else:
                QToolTip.hideText()
            return True
        return super().event(event)

    def _choose(self, index: int) -> None:
        self.set_current(self._shown.columns[index].key)
        self.chosen.emit(self._current)

    def _hover(self, index: int) -> None:
        if index != self._hovered:
            self._hovered = index
            self.setCursor(
                Qt.CursorShape.PointingHandCursor if index >= 0 else Qt.CursorShape.ArrowCursor
            )
            self.update()

    def _current_index(self) -> int:
        keys = [column.key for column in self._shown.columns]
        return keys.index(self._current) if self._current in keys else -1

    def _tell(self) -> None:
        shown = self._shown
        if not shown.columns:
            self.setAccessibleDescription("no steel yet")
            return
        told = [f"starts with {shown.start_kg:.2f} kg"]
        index = self._current_index()
        if index >= 0:
            told.append(self.words_for(index))
        if shown.need_kg is not None:
            told.append(f"{shown.need_words} {shown.need_kg:.2f} kg")
        if shown.words:
            told.append(f"bar {shown.words} {shown.detail}" if shown.detail else shown.words)
        self.setAccessibleDescription(", ".join(told) + ".")

    # --- drawing -----------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the strip, and the ring where the keyboard acts on it."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        SteelDrawing(
            painter=painter,
            places=self.places(),
            font=self.font(),
            ground=self.palette().color(self.backgroundRole()),
            current=self._current_index(),
            hovered=self._hovered,
        ).paint()
        if self.hasFocus():
            paint_focus(painter, QRectF(self.rect()), em(self))
