"""One value on the sheet: label, box, unit, the reason beneath, and a dot where it is not as usual."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QGridLayout, QLabel, QWidget

from patternsim.sizes import format_value
from patternsim_app.shown import FieldRow, Units, Value
from patternsim_app.theme import em
from patternsim_app.views.fields import Choice, Dot, TextBox
from patternsim_app.views.finding_card import faint
from patternsim_app.views.number_box import NumberBox


class SheetRow(QWidget):
    """A row of the sheet."""

    changed = Signal(str, object)
    scrubbed = Signal(str, object)
    refused = Signal(str)

    def __init__(self, row: FieldRow, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._row = row
        self._units: Units = "mm"
        self._label = QLabel(row.label)
        self._label.setWordWrap(True)
        self._dot = Dot()
        self._dot.clicked.connect(self._back_to_usual)
        self._unit = QLabel(row.unit)
        self._unit.setForegroundRole(self._unit.palette().ColorRole.PlaceholderText)
        self.box = self._made(row)
        self.box.setAccessibleName(row.label)
        self.box.setAccessibleDescription(row.reason)  # a number box says its number there
        self._label.setBuddy(self.box)
        self._reason = faint(row.reason)
        if not row.reason:
            self._reason.hide()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(round(0.35 * em()))
        grid.setVerticalSpacing(1)
        if row.kind in ("number", "count"):
            grid.addWidget(self._label, 0, 0)
            grid.addWidget(self._dot, 0, 1)
            grid.addWidget(self.box, 0, 2)
            grid.addWidget(self._unit, 0, 3)
            self._unit.setMinimumWidth(round(2.0 * em()))
            grid.addWidget(self._reason, 1, 0, 1, 4)
            self.box.setFixedWidth(round(4.9 * em()))
        else:
            grid.addWidget(self._label, 0, 0)
            grid.addWidget(self._dot, 0, 1)
            grid.addWidget(self.box, 1, 0, 1, 2)
            grid.addWidget(self._reason, 2, 0, 1, 2)
        grid.setColumnStretch(0, 1)

    def set_shown(self, row: FieldRow, units: Units) -> None:
        """Show the value; what is being typed stays."""
        self._row, self._units = row, units
        box = self.box
        if isinstance(box, NumberBox):
            value = None if row.value is None else float(row.value)
            box.set_shown(
                value, unit=row.unit, units=units, kind="count" if row.kind == "count" else "number",
                low=row.low, above=row.above, high=row.high, placeholder=self._placeholder(),
                may_be_empty=not row.required,
            )  # fmt: skip
            inches = row.unit == "mm" and units == "in"
            self._unit.setText(
                "" if inches else {"degC": "\u00b0C", "deg": "\u00b0"}.get(row.unit, row.unit)
            )
        elif isinstance(box, Choice):
            box.show_value(row.value)
        elif isinstance(box, QCheckBox):
            box.setChecked(bool(row.value))
        elif isinstance(box, TextBox):
            box.show_text("" if row.value is None else str(row.value))
        changed = not row.required and row.value != row.default and row.value is not None
        self._dot.setVisible(changed)
        back = f"back to {self._usual()}"
        self._dot.setToolTip(back[:1].upper() + back[1:])
        self._dot.setAccessibleName(f"{row.label}: {back}")

    def set_fixed(self, fixed: bool) -> None:
        """Let the value be looked at only."""
        self.box.setEnabled(not fixed)
        self._dot.setEnabled(not fixed)

    def _usual(self) -> str:
        """Return what stands where the value is left out: 'usual: 3 mm'."""
        row, usual = self._row, self._row.default
        if usual is None:
            if row.comes_to is None:
                return "as usual"
            return f"comes to {format_value(row.comes_to, row.unit, self._units)}"
        if isinstance(usual, bool):
            return f"usual: {'yes' if usual else 'no'}"
        if isinstance(usual, (int, float)):
            return f"usual: {format_value(float(usual), row.unit, self._units)}"
        words = {str(value): text for value, text in row.choices}
        return f"usual: {words.get(str(usual), str(usual))}"

    def _placeholder(self) -> str:
        """Return what an empty box says: as much of what is usual as has room in it."""
        row, usual = self._row, self._usual()
        if row.required:
            return ""
        figure = usual.removeprefix("usual: ").removeprefix("comes to ")
        if not (row.unit == "mm" and self._units == "in"):
            # The unit stands beside the box.
            bare = figure.removesuffix(f" {row.unit}").removesuffix(" °C").removesuffix("°")
            usual, figure = usual.replace(figure, bare), bare
        words = [usual, figure]
        room = self.box.width() - 0.9 * em()
        measure = self.box.fontMetrics()
        return next((one for one in words if measure.horizontalAdvance(one) <= room), words[-1])

    def _made(self, row: FieldRow) -> QWidget:
        if row.kind in ("number", "count"):
            number = NumberBox()
            number.committed.connect(self._number)
            number.cleared.connect(self._back_to_usual)
            number.scrubbed.connect(self._number_tried)
            number.refused.connect(self.refused)
            return number
        if row.kind == "choice":
            choice = Choice(row.choices)
            choice.activated.connect(self._choice)
            return choice
        if row.kind == "switch":
            switch = QCheckBox("yes")
            switch.clicked.connect(self._switch)
            return switch
        text = TextBox()
        text.entered.connect(self._text)
        return text

    def _whole(self, value: float) -> Value:
        return round(value) if self._row.kind == "count" else value

    def _number(self, value: float) -> None:
        self.changed.emit(self._row.field, self._whole(value))

    def _number_tried(self, value: float) -> None:
        self.scrubbed.emit(self._row.field, self._whole(value))

    def _choice(self, _index: int) -> None:
        if isinstance(self.box, Choice):
            value = self.box.value()
            if value != self._row.value:
                self.changed.emit(self._row.field, value)

    def _switch(self, on: bool) -> None:
        self.changed.emit(self._row.field, on)

    def _text(self, text: str) -> None:
        self.changed.emit(self._row.field, text)

    def _back_to_usual(self) -> None:
        self.changed.emit(self._row.field, None)
