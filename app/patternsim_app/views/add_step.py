"""The list of steps that can be added: it opens where the step will stand."""

from __future__ import annotations

from PySide6.QtCore import QPoint, Signal
from PySide6.QtWidgets import QWidget

from patternsim_app.models.kinds_model import KindsModel
from patternsim_app.shown import StepKind
from patternsim_app.views.typed_list import TypedList


class AddStep(TypedList):
    """The list of steps to add.

    Signals
    -------
    chosen : kind, key of the step above
    closed
        However it ended.
    """

    chosen = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(
            "Add a step", asks="What is done next", lists="Steps that can be added",
            model=KindsModel(), parent=parent,
            nothing="No step is called {typed}. Try a shorter word, or clear the line.",
        )  # fmt: skip
        self._model.setParent(self)
        self._after = ""
        self.taken.connect(self._taken)

    def open_at(self, place: QPoint, after_key: str) -> None:
        """Open with the upper left corner at a point of the screen; what is chosen goes below a step.

        Parameters
        ----------
        place : QPoint
        after_key : str
            Key of the step above; empty for the top.
        """
        self._after = after_key
        self.open_list(place)

    def _taken(self, kind: StepKind) -> None:
        self.chosen.emit(kind.kind, self._after)
