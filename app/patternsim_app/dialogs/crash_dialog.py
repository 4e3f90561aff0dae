"""Tells of a fault of the program: what became of the job, and details to hand on."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QDesktopServices, QFontDatabase, QGuiApplication
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from patternsim_app.dialogs.lettered import LetteredDialog
from patternsim_app.theme import em, sized
from patternsim_app.views.signs import Sign


class CrashDialog(LetteredDialog):
    """One fault, shown once; the work goes on if it can.

    Parameters
    ----------
    kept : str
        A sentence: what became of the job.
    details : str
    logs : Path or None
        Folder of the log; None where there is none.
    may_go_on : bool
        False where the program ends in any case.
    """

    usual_em = (44.0, 24.0)
    close_wanted = Signal()

    def __init__(
        self,
        kept: str,
        details: str,
        logs: Path | None,
        parent: QWidget | None = None,
        *,
        may_go_on: bool = True,
    ) -> None:
        super().__init__("Something went wrong", parent)
        self._logs = logs
        self._later = 0
        self._head = head = QLabel("Something went wrong that should not have.")
        after = "You can go on, or close the program and start it again."
        self.said = _wrapped(f"{kept} {after if may_go_on else 'The program cannot start.'}")
        self.setAccessibleDescription(f"{head.text()} {self.said.text()}")
        self.more = _wrapped("")
        self.more.hide()
        self.details = QPlainTextEdit(details)
        self.details.setReadOnly(True)
        self.details.setTabChangesFocus(True)
        self.details.setAccessibleName("Details")
        top = QHBoxLayout()
        top.setSpacing(round(0.6 * em()))
        top.addWidget(Sign("stop"))
        top.addWidget(head, 1)
        whole = QVBoxLayout(self)
        edge = round(0.9 * em())
        whole.setContentsMargins(edge, edge, edge, edge)
        whole.setSpacing(round(0.7 * em()))
        whole.addLayout(top)
        for widget in (self.said, self.more, self.details):
            whole.addWidget(widget)
        whole.addLayout(self._buttons(may_go_on))
        self.dress()

    def dress(self) -> None:
        """Take the measures from the letters as they are."""
        self._head.setFont(sized(self.font(), 1.2, medium=True))
        even = QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont)
        even.setPointSizeF(0.9 * self.font().pointSizeF())
        self.details.setFont(even)
        super().dress()

    def count_another(self) -> None:
        """Tell that the same or another fault came while this one was shown."""
        self._later += 1
        times = "once" if self._later == 1 else f"{self._later} times"
        self.more.setText(f"It went wrong {times} more since; the log holds it all.")
        self.more.show()

    def _buttons(self, may_go_on: bool) -> QHBoxLayout:
        row = QHBoxLayout()
        row.addWidget(_button("Copy details", self._copy))
        logs = _button("Open the log folder", self._open)
        logs.setEnabled(self._logs is not None)
        row.addWidget(logs)
        row.addStretch(1)
        leave = _button("Close the program", self._leave)
        row.addWidget(leave)
        if may_go_on:
            go_on = _button("Go on", self.accept)
            go_on.setDefault(True)
            go_on.setFocus()
            row.addWidget(go_on)
        return row

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(self.details.toPlainText())

    def _open(self) -> None:
        if self._logs is not None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._logs)))

    def _leave(self) -> None:
        self.accept()
        self.close_wanted.emit()


def _button(text: str, done: object) -> QPushButton:
    button = QPushButton(text)
    button.setAccessibleName(text)
    button.setAutoDefault(False)
    button.clicked.connect(done)
    return button


def _wrapped(text: str) -> QLabel:
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setText(text)
    label.setWordWrap(True)
    return label
