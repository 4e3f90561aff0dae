"""A finding on the sheet: what is so, what to do, and whether it is accepted."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from patternsim_app.shown import FindingNote, Grade
from patternsim_app.theme import colour, em, sized, theme
from patternsim_app.views.signs import Sign


class _Card(QWidget):
    """A tinted card with a sign and a title."""

    def __init__(self, grade: Grade, title: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._grade = grade
        self._column = QVBoxLayout(self)
        edge = round(0.6 * em())
        self._column.setContentsMargins(edge, edge, edge, edge)
        self._column.setSpacing(round(0.3 * em()))
        head = QHBoxLayout()
        head.addWidget(Sign(grade))
        said = QLabel(title)
        said.setFont(sized(self.font(), 1.0, medium=True))
        said.setWordWrap(True)
        head.addWidget(said, 1)
        self._column.addLayout(head)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the card."""
        grounds = {"watch": theme().watch_ground, "stop": theme().stop_ground}
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(colour(theme().grade(self._grade), 150), 1.2))
        painter.setBrush(colour(grounds.get(self._grade, theme().box)))
        painter.drawRoundedRect(self.rect().adjusted(1, 1, -1, -1), 6, 6)


class TroubleCard(_Card):
    """What stops a step."""

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__("stop", "This step cannot be done", parent)
        said = QLabel(text[:1].upper() + text[1:])
        said.setWordWrap(True)
        self._column.addWidget(said)
        self.setAccessibleName(f"This step cannot be done: {text}")


class FindingCard(_Card):
    """One finding."""

    accept_wanted = Signal(str, bool)

    def __init__(self, note: FindingNote, parent: QWidget | None = None, *, fixed: bool = False) -> None:
        super().__init__("note" if note.accepted else note.grade, note.title, parent)
        self._note = note
        said = QLabel(note.text)
        said.setWordWrap(True)
        todo = QLabel(f"What to do: {note.remedy}")
        todo.setWordWrap(True)
        self._column.addWidget(said)
        self._column.addWidget(todo)
        self._column.addWidget(faint(f"Where: {note.place}. Stands on: {note.source}"))
        if not fixed and (note.grade in ("watch", "stop") or note.accepted):
            self._column.addWidget(self._button())
        self.setAccessibleName(f"{note.title}. {note.text} {note.remedy}")

    def _button(self) -> QPushButton:
        words = "Take back: I do not accept this" if self._note.accepted else "I accept this"
        button = QPushButton(words)
        button.setAccessibleName(f"{words}: {self._note.title}")
        button.setMinimumHeight(24)
        button.clicked.connect(self._clicked)
        return button

    def _clicked(self) -> None:
        self.accept_wanted.emit(self._note.code, not self._note.accepted)


def faint(text: str) -> QLabel:
    """Return a small label in faint letters."""
    label = QLabel(text)
    label.setWordWrap(True)
    label.setFont(sized(label.font(), 0.88))
    label.setForegroundRole(label.palette().ColorRole.PlaceholderText)
    return label
