"""The one question about changes that are not saved."""

from __future__ import annotations

from typing import Literal

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMessageBox, QWidget

Answer = Literal["save", "throw-away", "stay"]


def ask_to_save(parent: QWidget | None, name: str) -> Answer:
    """Ask what is to become of a job's changes.

    Parameters
    ----------
    parent : QWidget or None
    name : str
        Of the job.
    """
    box = question(parent, name)
    box.exec()
    role = box.buttonRole(box.clickedButton())
    if role == QMessageBox.ButtonRole.AcceptRole:
        return "save"
    return "throw-away" if role == QMessageBox.ButtonRole.DestructiveRole else "stay"


def question(parent: QWidget | None, name: str) -> QMessageBox:
    """Return the question, not shown yet."""
    box = QMessageBox(parent)
    box.setIcon(QMessageBox.Icon.Question)
    box.setWindowTitle("Not saved")
    box.setTextFormat(Qt.TextFormat.PlainText)
    box.setText(f"\u201c{name}\u201d has changes that are not saved.")
    box.setInformativeText("Save them before you leave this job?")
    save = box.addButton("Save", QMessageBox.ButtonRole.AcceptRole)
    box.addButton("Leave without saving", QMessageBox.ButtonRole.DestructiveRole)
    stay = box.addButton("Stay here", QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(save)
    box.setEscapeButton(stay)
    return box


def ask_to_write_over(parent: QWidget | None, reason: str) -> bool:
    """Ask whether a file that another program has changed may be written over."""
    box = QMessageBox(parent)
    box.setIcon(QMessageBox.Icon.Warning)
    box.setWindowTitle("The file was changed")
    box.setTextFormat(Qt.TextFormat.PlainText)
    box.setText(reason[:1].upper() + reason[1:])
    over = box.addButton("Write over it", QMessageBox.ButtonRole.DestructiveRole)
    stay = box.addButton("Leave it", QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(stay)
    box.setEscapeButton(stay)
    box.exec()
    return box.clickedButton() is over
