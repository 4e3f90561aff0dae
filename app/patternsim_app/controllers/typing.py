"""What is typed and not taken yet, when something else is done: it is taken first, or all waits."""

from __future__ import annotations

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication

from patternsim_app.controllers.looks import LooksController
from patternsim_app.main_window import MainWindow
from patternsim_app.session import Document, Session
from patternsim_app.views.entry import Entry


class TypingController(QObject):
    """Knows where one types, and what must not overtake that."""

    def __init__(
        self,
        window: MainWindow,
        session: Session,
        looks: LooksController,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._window = window
        self._session = session
        self._looks = looks
        session.opened.connect(self._forget)

    def settled(self) -> bool:
        """Take what is typed and not taken yet; False where it cannot be read, and it stays open."""
        if not self._window.card.settle():
            return False
        focus = QApplication.focusWidget()
        return focus.take() if isinstance(focus, Entry) else True

    def undo(self) -> None:
        """Take the last change back; what is being typed or dragged is the last change."""
        if not self._put_back_drag() and self.settled():
            self._session.undo_stack.undo()

    def redo(self) -> None:
        """Do again what was taken back."""
        self._put_back_drag()
        if self.settled():
            self._session.undo_stack.redo()

    def choose_units(self, units: str) -> None:
        """Write lengths in 'mm' or 'in'; what is typed is meant in the unit it was typed in."""
        if self.settled():
            self._looks.set_units(units)
        else:
            self._window.header.units.set_chosen(self._looks.settings.units)

    def swap_units(self) -> None:
        """Write lengths in the other unit."""
        if self.settled():
            self._looks.swap_units()

    def _put_back_drag(self) -> bool:
        """Put back a number that the mouse is dragging; False where it drags none."""
        focus = QApplication.focusWidget()
        if self._window.card.put_back_drag():
            return True
        if not isinstance(focus, Entry) or not focus.is_dragged:
            return False
        focus.leave()
        return True

    def _forget(self, _document: Document) -> None:
        """What was typed for one job must not land in another."""
        self._window.card.let_go()
        self._window.card.editor.drop()
        self._window.sheet.forget_typed()
