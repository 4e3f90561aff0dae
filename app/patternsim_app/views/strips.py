"""Strips above the bench: the first start, work that was not saved, messages. None stops the work."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QAccessible, QAccessibleEvent, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QWidget,
)

from patternsim_app.shown import Grade
from patternsim_app.theme import colour, em, theme
from patternsim_app.views.flow_row import FlowRow
from patternsim_app.views.number_box import NumberBox
from patternsim_app.views.signs import Sign
from patternsim_app.views.word_switch import WordSwitch

NEWS_MS = 6000
"""Good news go by themselves after so long."""
PAPERS = (
    ("A4", "A4", "210 x 297 mm"),
    ("Letter", "Letter", "8.5 x 11 in"),
    ("A3", "A3", "297 x 420 mm"),
)


class Strip(QFrame):
    """A low card with a close button; Esc closes it."""

    closed = Signal()
    _made = False

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self._row = QHBoxLayout(self)
        self._close = QToolButton()
        self._close.setText("\u00d7")
        self._close.setToolTip("Close (Esc)")
        self._close.setAccessibleName(f"Close: {name}")
        self._close.setAutoRaise(True)
        self._close.setMinimumSize(24, 24)
        self._close.clicked.connect(self.leave)

    def dress(self) -> None:
        """Take the measures from the letters as they are; called once a strip is made."""
        self._made = True
        edge = round(0.5 * em(self))
        self._row.setContentsMargins(2 * edge, edge, edge, edge)
        self._row.setSpacing(round(0.8 * em(self)))

    def changeEvent(self, event: QEvent) -> None:
        """Follow the letters."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and self._made:
            self.dress()

    def leave(self) -> None:
        """Close, and tell so."""
        self.hide()
        self.closed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close at Esc."""
        if event.key() == Qt.Key.Key_Escape:
            self.leave()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the card."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(colour(self._edge()), 1.2))
        painter.setBrush(colour(self._ground()))
        painter.drawRoundedRect(self.rect().adjusted(1, 1, -1, -1), 6, 6)

    def _ground(self) -> str:
        return theme().chosen

    def _edge(self) -> str:
        return theme().line


class FirstRunStrip(Strip):
    """Three ways to begin, three questions; all may be passed over."""

    change_wanted = Signal()
    bars_wanted = Signal()
    open_wanted = Signal()
    units_chosen = Signal(str)
    press_chosen = Signal(object)
    paper_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("First start", parent)
        whole = QWidget()
        flow = FlowRow(whole)
        for text, tip, signal in (
            ("Change this one", "Go on with the worked feather on the bench", self.change_wanted),
            ("Start from my bars", "Stack your own steels", self.bars_wanted),
            ("Open a job", "Open a job file", self.open_wanted),
        ):
            flow.addWidget(_button(text, tip, signal))
        self.units = WordSwitch((("mm", "mm", "Millimetres"), ("in", "inch", "Inches")), "Lengths in")
        self.units.chosen.connect(self.units_chosen)
        self.press = NumberBox()
        self.press.set_shown(None, unit="kN", above=0.0, placeholder="not said", may_be_empty=True)
        self.press.setAccessibleName("My press gives, kN")
        self.press.setToolTip(
            "Largest force of your press in kN; 1 tonne-force is 9.8 kN. Kept for later: forces are "
            "not worked out yet"
        )
        self.press.committed.connect(self._press_entered)
        self.press.cleared.connect(self._press_cleared)
        self.paper = WordSwitch(PAPERS, "Paper")
        self.paper.chosen.connect(self.paper_chosen)
        for label, widget, unit in (
            ("Lengths in", self.units, ""),
            ("My press gives", self.press, "kN"),
            ("Paper", self.paper, ""),
        ):
            flow.addWidget(_asked(label, widget, unit))
        self._row.addWidget(whole, 1)
        self._row.addWidget(self._close, 0, Qt.AlignmentFlag.AlignTop)
        self.dress()

    def dress(self) -> None:
        """Take the measures from the letters as they are."""
        self.press.setFixedWidth(round(5.5 * em(self)))
        super().dress()

    def _press_entered(self, force: float) -> None:
        self.press_chosen.emit(force)

    def _press_cleared(self) -> None:
        self.press_chosen.emit(None)


class RecoveryStrip(Strip):
    """Work that was not saved was found."""

    take_up_wanted = Signal()
    throw_away_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Work that was not saved", parent)
        self._text = _wrapped()
        self._row.addWidget(Sign("watch"))
        self._row.addWidget(self._text, 1)
        self._row.addWidget(
            _button("Take it up", "Open the job as it was; its file is untouched", self.take_up_wanted)
        )
        self._row.addWidget(
            _button("Put it aside", "Not offered again; the last ten are kept", self.throw_away_wanted)
        )
        self._row.addWidget(self._close)
        self.dress()

    def set_shown(self, name: str, label: str, when: str, count: int) -> None:
        """Show what was found: name of the job, last change, when, and how many there are."""
        last = f" Last change: {label}." if label else ""
        more = f" ({count - 1} more after this.)" if count > 1 else ""
        self._text.setText(f"Work that was not saved was found: {name}, {when}.{last}{more}")
        _announce(self._text)

    def _ground(self) -> str:
        return theme().watch_ground

    def _edge(self) -> str:
        return theme().watch


class MessageStrip(Strip):
    """One message; the next takes its place."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Message", parent)
        self._grade: Grade = "note"
        self._sign = Sign("note")
        self._text = _wrapped()
        self._text.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._row.addWidget(self._sign)
        self._row.addWidget(self._text, 1)
        self._row.addWidget(self._close)
        self.dress()
        self._clock = QTimer(self)
        self._clock.setSingleShot(True)
        self._clock.setInterval(NEWS_MS)
        self._clock.timeout.connect(self.leave)

    def set_message(self, grade: Grade, text: str) -> None:
        """Show a message; 'fine' ones go by themselves."""
        self._grade = grade
        self._sign.set_grade(grade)
        self._text.setText(text)
        self._clock.stop()
        if grade == "fine":
            self._clock.start()
        self.show()
        self.update()
        _announce(self._text)

    def text(self) -> str:
        """Return the message that is shown."""
        return self._text.text()

    def _ground(self) -> str:
        grounds = {"watch": theme().watch_ground, "stop": theme().stop_ground}
        return grounds.get(self._grade, theme().chosen)

    def _edge(self) -> str:
        return theme().grade(self._grade)


def _button(text: str, tip: str, signal: object) -> QPushButton:
    button = QPushButton(text)
    button.setToolTip(tip)
    button.setAccessibleName(text)
    button.setAccessibleDescription(tip)
    button.setMinimumHeight(24)
    button.clicked.connect(signal)
    return button


def _asked(label: str, widget: QWidget, unit: str) -> QWidget:
    whole = QWidget()
    row = QHBoxLayout(whole)
    row.setContentsMargins(round(0.8 * em()), 0, 0, 0)
    row.setSpacing(round(0.4 * em()))
    said = QLabel(label)
    said.setForegroundRole(said.palette().ColorRole.PlaceholderText)
    row.addWidget(said)
    row.addWidget(widget)
    if unit:
        row.addWidget(QLabel(unit))
    return whole


def _wrapped() -> QLabel:
    label = QLabel()
    # Names of jobs and files are shown as they are, whatever signs they hold.
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
    label.setMinimumWidth(round(8 * em()))
    return label


def _announce(label: QLabel) -> None:
    """Have screen readers say it."""
    label.setAccessibleName(label.text())
    QAccessible.updateAccessibility(QAccessibleEvent(label, QAccessible.Event.Alert))
