"""The list of all that can be found on the job card: steps by any of their names, and their values."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from patternsim_app.models.kinds_model import KindsModel
from patternsim_app.shown import Findable, StepKind
from patternsim_app.views.typed_list import TypedList


class FindOnCard(TypedList):
    """Finds a row of the card, or one of its values.

    Signals
    -------
    found : key, field
        The field is empty for the row itself.
    """

    found = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(
            "Find on the job card", asks="Which step or value", lists="What was found",
            model=FoundModel(), parent=parent,
            nothing="Nothing on the card is called {typed}. Try a shorter word, or clear the line.",
        )  # fmt: skip
        self._model.setParent(self)
        self.taken.connect(self._taken)

    def _taken(self, one: Findable) -> None:
        self.found.emit(one.key, one.field)


class FoundModel(KindsModel):
    """All of the card; its values only where something is typed, or they would be too many to read."""

    def offered(self, words: list[str]) -> tuple[StepKind, ...]:
        """Return what may be on the list while some words are typed."""
        if words:
            return super().offered(words)
        return tuple(one for one in super().offered(words) if not getattr(one, "field", ""))
