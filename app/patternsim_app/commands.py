"""What undo and redo go through: the job before and after an edit. Which is open, the session knows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtGui import QUndoCommand

from patternsim.job import Job

MERGES, STANDS_ALONE = 1, -1


@dataclass(frozen=True, slots=True)
class Content:
    """A job's text, what it reads as, and what the edit that led to it is called."""

    text: str
    job: Job
    label: str = ""


@dataclass(frozen=True, slots=True)
class Gesture:
    """What one edit of a row of edits belongs to: the same field, the same press of the mouse."""

    field: str
    number: int


class ReplaceJob(QUndoCommand):
    """One edit.

    Parameters
    ----------
    before, after : Content
    label : str
        What undo calls it: 'Draw out: thickness 30 -> 25 mm'.
    focus : str
        Row of the card to look at once it is done or undone; empty for none.
    gesture : Gesture or None
        Edits that follow one another in one gesture become one entry.
    show : callable
        Takes the content that is to be open now, and the focus.
    """

    def __init__(
        self,
        before: Content,
        after: Content,
        *,
        label: str,
        focus: str,
        gesture: Gesture | None,
        show: Callable[[Content, str], None],
    ) -> None:
        super().__init__(label)
        self.before = before
        self.after = after
        self.focus = focus
        self.gesture = gesture
        self._show = show

    def redo(self) -> None:
        """Open the job as it is after the edit."""
        self._show(self.after, self.focus)

    def undo(self) -> None:
        """Open the job as it was."""
        self._show(self.before, self.focus)

    def id(self) -> int:
        """Tell whether the edit may become one with another."""
        return STANDS_ALONE if self.gesture is None else MERGES

    def mergeWith(self, other: QUndoCommand) -> bool:
        """Take up the edit that followed in the same gesture."""
        if not isinstance(other, ReplaceJob) or other.gesture != self.gesture:
            return False
        self.after = other.after
        self.focus = other.focus
        self.setText(other.text())
        # Dragged there and back: nothing is left to undo.
        self.setObsolete(self.after.text == self.before.text)
        return True
