"""A field for one number, typed exactly in mm or inch; never turned by the wheel.

What a number may be and how it is written is told in `number_kind`; stepping and dragging in
`number_box`.
"""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QLineEdit, QWidget

from patternsim.sizes import SizeError
from patternsim_app.shown import Units
from patternsim_app.theme import colour, em, theme
from patternsim_app.views.entry import Entry
from patternsim_app.views.number_kind import Kind, NumberKind
from patternsim_app.views.signs import paint_sign


class NumberEntry(Entry):
    """Shows a number and gives it back when another was typed.

    Signals
    -------
    committed(float)
        The number is taken.
    cleared()
        The field was emptied, where it may be.
    left_unchanged()
        As it was: after Esc, or stepped there and back.
    refused(str)
        What was typed cannot be, and why; it stays in the field.
    """

    committed = Signal(float)
    cleared = Signal()
    left_unchanged = Signal()
    refused = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.setMinimumHeight(24)
        self._value: float | None = None
        self._rule = NumberKind()
        self._may_be_empty = False
        self._trouble = ""
        self.textEdited.connect(self._edited)

    # --- what is shown -------------------------------------------------------------------

    def set_shown(
        self,
        value: float | None,
        *,
        unit: str = "",
        units: Units = "mm",
        kind: Kind = "number",
        low: float | None = None,
        above: float | None = None,
        high: float | None = None,
        placeholder: str = "",
        may_be_empty: bool = False,
    ) -> None:
        """Show a number; what is being typed stays.

        Parameters
        ----------
        value : float or None
            None: empty, with the placeholder.
        unit : str
            'mm' is shown in `units`; others as they are.
        units : str
        kind : str
            'count' for whole numbers.
        low, above, high : float, optional
            Smallest value, value it must pass, largest value.
        placeholder : str
        may_be_empty : bool
        """
        rule = NumberKind(unit=unit, units=units, kind=kind, low=low, above=above, high=high)
        # Where nothing is new, the place in the text and what is marked stay.
        same = self.hasFocus() and (value, rule) == (self._value, self._rule)
        self._value, self._rule = value, rule
        self._may_be_empty = may_be_empty
        self.setPlaceholderText(placeholder)
        if not same and not self._is_busy():
            self._show_stored()

    @property
    def value(self) -> float | None:
        """The number as it is stored."""
        return self._value

    @property
    def trouble(self) -> str:
        """Why what was typed cannot be; empty where it can."""
        return self._trouble

    def _is_busy(self) -> bool:
        return self.is_typed

    def _show_stored(self) -> None:
        self._set_trouble("")
        focused = self.hasFocus()
        self.setText(self._rule.exact(self._value) if focused else self._rule.pretty(self._value))
        self.setModified(False)
        if focused:
            self.selectAll()

    def _set_trouble(self, text: str) -> None:
        self._trouble = text
        self.setToolTip(text)
        self.setTextMargins(round(1.3 * em(self)) if text else 0, 0, 0, 0)
        self.setAccessibleDescription(text or self._rule.spoken(self._value))
        self.update()

    # --- typing --------------------------------------------------------------------------

    def _edited(self, _text: str) -> None:
        if self._trouble:
            self._set_trouble("")

    def take(self) -> bool:
        """Take what was typed; False where it cannot be, and then it stays in the box."""
        if not self.is_typed:
            return True
        text = self.text().strip()
        if not text and self._may_be_empty:
            self._empty()
            return True
        try:
            value = self._rule.read(text)
        except SizeError as error:
            self._set_trouble(str(error))
            self.refused.emit(str(error))
            return False
        changed = value != self._value
        self._value = value
        self._show_stored()
        if changed:
            self.committed.emit(value)
        return True

    def leave(self) -> None:
        """Put the stored number back."""
        self._show_stored()
        self.left_unchanged.emit()

    def _empty(self) -> None:
        filled, self._value = self._value is not None, None
        self._show_stored()
        if filled:
            self.cleared.emit()

    # --- Qt ------------------------------------------------------------------------------

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the exact number, all of it marked."""
        super().focusInEvent(event)
        if not self._is_busy():
            self._show_stored()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Take what was typed; what cannot be stays, marked."""
        # What was refused has been told of already, and is not told again.
        taken = not self._trouble and self.take()
        super().focusOutEvent(event)
        if taken:
            self._show_stored()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Mark what cannot be, and where the keys go."""
        super().paintEvent(event)
        if self._trouble or self.hasFocus():
            paint_edge(self, bad=bool(self._trouble))


def paint_edge(box: QLineEdit, *, bad: bool = False) -> None:
    """Paint a ring round the box; round what cannot be another, with the sign of stop."""
    painter = QPainter(box)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colour(theme().stop if bad else theme().chosen_line), 2.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    place = QRectF(box.rect()).adjusted(1, 1, -1, -1)
    painter.drawRoundedRect(place, 3, 3)
    if bad:
        side = 0.85 * em(box)
        sign = QRectF(place.left() + 0.45 * side, place.center().y() - side / 2, side, side)
        paint_sign(painter, sign, "stop")
