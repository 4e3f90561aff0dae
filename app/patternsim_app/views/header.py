"""The head of the window: which job this is, whether it is saved, what undo would do, mm or inch."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QWidget,
)

from patternsim_app.shown import Units
from patternsim_app.theme import em, sized
from patternsim_app.views.lettering import SMALL, cut_off
from patternsim_app.views.word_switch import WordSwitch

DOING_EM = 15.0
"""Width of the words for what is being worked out: fixed, so that nothing moves with them."""

WIDE_EM = 45.0
"""A narrower head leaves those words to the tip of the bar."""


class Header(QWidget):
    """One line above everything."""

    undo_wanted = Signal()
    redo_wanted = Signal()
    units_chosen = Signal(str)
    cancel_wanted = Signal()
    go_on_wanted = Signal()
    find_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.setAccessibleName("Head of the window")
        self._name = QLabel()
        self._name.setTextFormat(Qt.TextFormat.PlainText)
        self._name.setAccessibleName("Job")
        self._name.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._state = QLabel()
        self._state.setAccessibleName("Saved or not")
        self._state.setForegroundRole(self._state.palette().ColorRole.PlaceholderText)
        self._undo_text = ""
        self._undo = self._button("Undo", "Nothing to undo")
        self._redo = self._button("Redo", "Nothing to redo")
        self._undo.clicked.connect(self.undo_wanted)
        self._redo.clicked.connect(self.redo_wanted)
        self._find = self._button("Find", "Find a step or a value on the card (Ctrl+K)")
        self._find.setEnabled(True)
        self._find.clicked.connect(self.find_wanted)
        self._doing = QLabel()
        self._doing.setAccessibleName("What is being worked out")
        self._doing.setTextFormat(Qt.TextFormat.PlainText)
        self._bar = QProgressBar()
        self._bar.setAccessibleName("Work under way")
        self._bar.setTextVisible(False)
        self._bar.setRange(0, 1000)
        self._cancel = self._button("Stop", "Call the work off (Shift+F5)")
        self._cancel.setEnabled(True)
        self._cancel.clicked.connect(self.cancel_wanted)
        self._go_on = QPushButton("Work it out")
        self._go_on.setAccessibleName("Work it out")
        self._go_on.setToolTip("Work out what was left off when the work was stopped (F5)")
        self._go_on.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._go_on.clicked.connect(self.go_on_wanted)
        self.units = WordSwitch(
            (("mm", "mm", "Lengths in millimetres (U)"), ("in", "in", "Lengths in inches (U)")),
            "Unit of length",
        )
        self.units.chosen.connect(self.units_chosen)
        row = QHBoxLayout(self)
        row.setContentsMargins(round(0.3 * em()), 0, 0, 0)
        row.setSpacing(round(0.6 * em()))
        for widget in (self._name, self._state, self._go_on, self._doing, self._bar, self._cancel):
            row.addWidget(widget)
        row.addWidget(self._undo)
        row.addWidget(self._redo)
        row.addWidget(self._find)
        row.addWidget(self.units)
        row.setStretch(0, 1)
        self.set_progress(None, "")
        self.set_left_off(False)
        self.dress()

    def set_job(self, name: str, state: str) -> None:
        """Show the name of the job and how it stands with its file."""
        self._name.setText(name)
        self._name.setToolTip(name)
        self._state.setText(state)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the words for what is being worked out only where there is room for them."""
        super().resizeEvent(event)
        self._share_room()

    def set_undo(self, undo: str, redo: str) -> None:
        """Show what undo and redo would do; empty where there is nothing."""
        self._undo_text = undo
        for button, word, text in ((self._undo, "Undo", undo), (self._redo, "Redo", redo)):
            button.setEnabled(bool(text))
            whole = f"{word}: {text}" if text else f"Nothing to {word.lower()}"
            button.setText(word)
            button.setToolTip(whole)
            button.setAccessibleName(whole)
        self._share_room()

    def set_units(self, units: Units) -> None:
        """Choose mm or inch without a signal."""
        self.units.set_chosen(units)

    def set_progress(self, share: float | None, text: str) -> None:
        """Show how far long work is (0 to 1); None when there is none."""
        self._bar.setVisible(share is not None)
        self._cancel.setVisible(share is not None)
        self._share_room()
        if share is not None:
            width = round(DOING_EM * em())
            self._doing.setFixedWidth(width)
            self._doing.setText(cut_off(text, self._doing.font(), width))
            self._doing.setToolTip(text)
            self._bar.setValue(round(1000 * share))
            self._bar.setToolTip(text)
            self._bar.setAccessibleDescription(text)

    def _share_room(self) -> None:
        """While work is told of, what Undo would undo is left to its tip: the name keeps its room."""
        busy, text = not self._bar.isHidden(), self._undo_text
        wide = self.width() > WIDE_EM * em()
        self._doing.setVisible(busy and wide)
        self._bar.setFixedWidth(round((5.0 if wide else 2.5) * em()))
        short = text if len(text) <= 48 else f"{text[:46]}\u2026"
        self._undo.setText(f"Undo: {short}" if text and not busy else "Undo")

    def set_left_off(self, off: bool) -> None:
        """Offer to work out what was left off."""
        self._go_on.setVisible(off)

    def _button(self, text: str, tip: str) -> QToolButton:
        button = QToolButton()
        button.setText(text)
        button.setToolTip(tip)
        button.setAccessibleName(tip)
        button.setAutoRaise(True)
        button.setEnabled(False)
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        button.setMinimumHeight(24)
        return button

    def dress(self) -> None:
        """Fit letters and sizes to the letters of the application."""
        self._name.setFont(sized(QApplication.font(), 1.2, medium=True))
        self._doing.setFont(sized(QApplication.font(), SMALL))
        self._doing.setForegroundRole(self._doing.palette().ColorRole.PlaceholderText)
        self._bar.setMaximumHeight(round(0.6 * em()))
