"""The sheet at the right: every value of the chosen row with its reason, results, findings."""

from __future__ import annotations

from itertools import pairwise

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QLabel,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from patternsim_app.shown import FieldRow, FindingNote, Sheet, Units, Value
from patternsim_app.theme import em, sized, theme
from patternsim_app.views.entry import Entry
from patternsim_app.views.finding_card import FindingCard, TroubleCard, faint
from patternsim_app.views.sheet_row import SheetRow

GROUPS = (
    ("outline.", "Outline"),
    ("place.", "Place in the bar"),
    ("grind.", "Grind"),
)
"""Rows whose field begins so stand together under a heading."""


class StepSheet(QScrollArea):
    """Shows one sheet; gives what is changed on it.

    Signals
    -------
    changed(str, object)
        Field and its new value; None puts the usual one back.
    scrubbed(str, object)
        While it is dragged or stepped.
    accept_wanted(str, bool)
        Code of a finding, and whether it is accepted.
    help_wanted(str)
        Kind of the step.
    refused(str)
        Why what was typed cannot be.
    """

    changed = Signal(str, object)
    scrubbed = Signal(str, object)
    accept_wanted = Signal(str, bool)
    help_wanted = Signal(str)
    refused = Signal(str)

    _sheet: Sheet | None = None
    _dressing = True  # until there is something to dress
    _fixed = False

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName("Step sheet")
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._units: Units = "mm"
        self._rows: dict[str, SheetRow] = {}
        self._typed: dict[tuple[str, str], str] = {}
        """What was typed and not taken when another step came on the sheet, by step and field."""
        self._inner = QWidget()
        self._column = QVBoxLayout(self._inner)
        self._top, self._trouble, self._caution = QVBoxLayout(), QVBoxLayout(), QVBoxLayout()
        self._middle, self._facts, self._findings = QVBoxLayout(), QVBoxLayout(), QVBoxLayout()
        for part in self._parts():
            self._column.addLayout(part)
        self._column.addStretch(1)
        self.setWidget(self._inner)
        self._inner.setAutoFillBackground(False)  # a scroll area turns it on
        self.viewport().setAutoFillBackground(False)
        self._number = QLabel()
        self._title = QLabel()
        self._title.setWordWrap(True)
        self._help = QToolButton()
        self._head()
        self._fit_letters()
        self._dressing = False

    @property
    def key(self) -> str:
        """Id of the step on the sheet; empty for none."""
        return self._sheet.key if self._sheet is not None else ""

    def set_shown(self, sheet: Sheet | None) -> None:
        """Show a sheet; the same sheet with other values keeps its boxes and what is typed in them."""
        before = self._sheet
        again = before is not None and sheet is not None and _is_alike(before, sheet)
        if before is not None and not again:
            self._put_by(before.key)
        self._sheet = sheet
        self._inner.setVisible(sheet is not None)
        if sheet is None:
            return
        self._title.setText(sheet.title)
        self._number.setText(f"{sheet.number}" if sheet.number else "")
        self._number.setVisible(bool(sheet.number))
        self._help.setAccessibleName(f"Help about: {sheet.title}")
        self.setAccessibleDescription(sheet.sentence)
        if not again:
            self._build(sheet)
        for row in sheet.rows:
            self._rows[row.field].set_shown(row, self._units)
        if not again:
            self._take_up(sheet.key)
        self._fill(sheet, None if not again else before)

    def show_findings(self) -> None:
        """Bring the findings into sight, where there are any."""
        card = self.findChild(FindingCard)
        if card is not None:
            self.ensureWidgetVisible(card, 0, round(em()))

    def forget_typed(self) -> None:
        """Put all boxes back: another job is open."""
        self._typed.clear()
        for row in self._rows.values():
            if isinstance(row.box, Entry):
                row.box.let_go()

    def set_units(self, units: Units) -> None:
        """Write lengths in mm or inch."""
        self._units = units
        if self._sheet is not None:
            for row in self._sheet.rows:
                self._rows[row.field].set_shown(row, units)

    def set_fixed(self, fixed: bool) -> None:
        """Let the values be looked at only; acts on what is shown next."""
        if fixed != self._fixed:
            self._fixed = fixed
            self.set_shown(None)

    def row(self, field: str) -> SheetRow:
        """Return the row of a field."""
        return self._rows[field]

    # --- what is typed while another step comes --------------------------------------------

    def _put_by(self, key: str) -> None:
        """Keep what is typed and not taken; the rows that go change nothing any more.

        By now another step is at the bench, and a value that a vanishing box gives would be taken
        for that one's.
        """
        for field, row in self._rows.items():
            if isinstance(row.box, Entry) and row.box.is_typed:
                self._typed[key, field] = row.box.text()
            row.blockSignals(True)
        focused = self.focusWidget()
        if focused is not None and focused.hasFocus() and self._inner.isAncestorOf(focused):
            self._help.setFocus(Qt.FocusReason.OtherFocusReason)

    def _take_up(self, key: str) -> None:
        for field, row in self._rows.items():
            text = self._typed.pop((key, field), None)
            if text is not None and isinstance(row.box, Entry):
                row.box.type_again(text)

    # --- building ------------------------------------------------------------------------

    def _parts(self) -> tuple[QVBoxLayout, ...]:
        return self._top, self._trouble, self._caution, self._middle, self._facts, self._findings

    def _head(self) -> None:
        grid = QGridLayout()
        self._number.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self._help.setText("?")
        self._help.setAutoRaise(True)
        self._help.setToolTip("Help about this step (F1)")
        self._help.setMinimumSize(24, 24)
        self._help.clicked.connect(self._ask_help)
        grid.addWidget(self._number, 0, 0)
        grid.addWidget(self._title, 0, 1)
        grid.addWidget(self._help, 0, 2, Qt.AlignmentFlag.AlignTop)
        grid.setColumnStretch(1, 1)
        self._top.addLayout(grid)

    def _fit_letters(self) -> None:
        self._points = self.font().pointSizeF()
        edge = round(0.6 * em())
        self._column.setContentsMargins(edge, edge, edge, edge)
        self._column.setSpacing(round(0.5 * em()))
        for part in self._parts():
            part.setSpacing(round(0.4 * em()))
        self._number.setFont(sized(self.font(), 1.35, medium=True))
        self._title.setFont(sized(self.font(), 1.15, medium=True))

    def _use_colours(self) -> None:
        """Let all that can be typed in stand out from the panel."""
        palette = QPalette()
        palette.setColor(QPalette.ColorRole.Base, QColor(theme().box))
        for row in self._rows.values():
            if isinstance(row.box, Entry):
                row.box.setPalette(palette)

    def _build(self, sheet: Sheet) -> None:
        _empty(self._middle)
        self._rows = {}
        heading = ""
        for row in sheet.rows:
            group = next((words for start, words in GROUPS if row.field.startswith(start)), "")
            if group and group != heading:
                self._middle.addWidget(_caption(group, self))
            elif heading and not group:
                self._middle.addWidget(_hairline())  # what follows is no part of the group
            heading = group
            made = self._made(row)
            self._rows[row.field] = made
            self._middle.addWidget(made)
        self._use_colours()
        self.verticalScrollBar().setValue(0)

    def _made(self, row: FieldRow) -> SheetRow:
        made = SheetRow(row, self._inner)
        made.set_fixed(self._fixed)
        made.changed.connect(self._row_changed)
        made.scrubbed.connect(self.scrubbed)
        made.refused.connect(self.refused)
        return made

    def _fill(self, sheet: Sheet, before: Sheet | None) -> None:
        """Fill what stands round the rows; what is as before stays, and keeps the keys."""
        if before is None or sheet.trouble != before.trouble:
            _refill(self._trouble, [TroubleCard(sheet.trouble)] if sheet.trouble else [])
        if before is None or sheet.facts != before.facts:
            _refill(self._facts, [_hairline(), _facts(sheet.facts)] if sheet.facts else [])
        if before is None or sheet.findings != before.findings:
            _refill(self._findings, [self._card(note) for note in sheet.findings])
        if before is None or sheet.caution != before.caution:
            _refill(self._caution, [_caution(sheet.caution)] if sheet.caution else [])
        if before is None or sheet.findings != before.findings:
            _put_in_order(self._help, (self._middle, self._findings), self.window())

    def _card(self, note: FindingNote) -> FindingCard:
        card = FindingCard(note, fixed=self._fixed)
        card.accept_wanted.connect(self.accept_wanted)
        return card

    # --- Qt ------------------------------------------------------------------------------

    def changeEvent(self, event: QEvent) -> None:
        """Fit to letters of another size and to other colours."""
        super().changeEvent(event)
        if event.type() in _DRESSED and not self._dressing:
            # Only when the whole window is dressed: the letters may come after the style, and the new
            # style gives the boxes the old colours back.
            self._dressing = True
            QTimer.singleShot(0, self, self._dress_anew)

    def _dress_anew(self) -> None:
        self._dressing = False
        if self.font().pointSizeF() != self._points:
            self._fit_letters()
            sheet = self._sheet
            self.set_shown(None)
            self.set_shown(sheet)
        self._use_colours()

    def _row_changed(self, field: str, value: Value) -> None:
        before = self._sheet
        self.changed.emit(field, value)
        # The job may refuse it, or have it so already: what stands on the sheet is what the job has.
        if before is not None and self._sheet is before:
            stored = next(row for row in before.rows if row.field == field)
            self._rows[field].set_shown(stored, self._units)

    def _ask_help(self) -> None:
        if self._sheet is not None:
            self.help_wanted.emit(self._sheet.kind)


_DRESSED = (
    QEvent.Type.FontChange,
    QEvent.Type.ApplicationFontChange,
    QEvent.Type.PaletteChange,
    QEvent.Type.StyleChange,
)


def _is_alike(one: Sheet, other: Sheet) -> bool:
    """Tell whether two sheets have the same boxes."""
    first, second = ([(row.field, row.kind, row.choices) for row in s.rows] for s in (one, other))
    return one.key == other.key and first == second


def _caption(text: str, parent: QWidget) -> QLabel:
    label = QLabel(text.upper())
    font = sized(parent.font(), 0.82, medium=True)
    label.setFont(font)
    label.setForegroundRole(QPalette.ColorRole.PlaceholderText)
    label.setContentsMargins(0, round(0.5 * em()), 0, 0)
    return label


def _caution(text: str) -> QLabel:
    said = faint(f"Caution: {text}")
    said.setAccessibleName(said.text())
    return said


def _hairline() -> QFrame:
    line = QFrame()
    line.setFrameShape(QFrame.Shape.HLine)
    line.setFrameShadow(QFrame.Shadow.Plain)
    line.setForegroundRole(QPalette.ColorRole.Mid)
    return line


def _facts(facts: tuple[tuple[str, str], ...]) -> QFrame:
    frame = QFrame()
    grid = QGridLayout(frame)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setVerticalSpacing(round(0.25 * em()))
    for k, (name, words) in enumerate(facts):
        label = faint(name)
        value = QLabel(words)
        value.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        value.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        value.setWordWrap(True)
        value.setAccessibleName(f"{name}: {words}")
        grid.addWidget(label, k, 0)
        grid.addWidget(value, k, 1)
    grid.setColumnStretch(1, 1)
    return frame


def _put_in_order(first: QWidget, parts: tuple[QVBoxLayout, ...], window: QWidget) -> None:
    """Let Tab walk down the sheet: what is made anew would come behind the rest of the window."""
    stops = [first]
    for part in parts:
        for widget in _widgets(part):
            inside = widget.findChildren(QWidget)
            # The list of a choice is a window of its own.
            stops += [one for one in inside if _is_stop(one) and one.window() is window]
    for one, other in pairwise(stops):
        QWidget.setTabOrder(one, other)


def _is_stop(widget: QWidget) -> bool:
    return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus)


def _widgets(layout: QVBoxLayout) -> list[QWidget]:
    items = [layout.itemAt(k) for k in range(layout.count())]
    widgets = [item.widget() for item in items if item is not None]
    return [widget for widget in widgets if widget is not None]


def _refill(layout: QVBoxLayout, widgets: list[QWidget]) -> None:
    _empty(layout)
    for widget in widgets:
        layout.addWidget(widget)


def _empty(layout: QVBoxLayout) -> None:
    for widget in _widgets(layout):
        layout.removeWidget(widget)
        widget.hide()
        widget.deleteLater()
