"""The step sheet: shows the values of the chosen row and turns what is typed into changes."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from patternsim.errors import JobError
from patternsim.job import accepted
from patternsim_app.controllers.bench_mark import BenchMark
from patternsim_app.controllers.card import CardController
from patternsim_app.controllers.result_words import refusal_words
from patternsim_app.controllers.sheets import sheet_for
from patternsim_app.controllers.telling import Telling
from patternsim_app.controllers.working import Working
from patternsim_app.session import Session
from patternsim_app.shown import Units, Value
from patternsim_app.views.step_sheet import StepSheet


class SheetController(QObject):
    """Knows the job and the sheet."""

    help_wanted = Signal(str)

    def __init__(
        self,
        sheet: StepSheet,
        session: Session,
        working: Working,
        mark: BenchMark,
        card: CardController,
        telling: Telling,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._sheet = sheet
        self._session = session
        self._working = working
        self._mark = mark
        self._card = card
        self._telling = telling
        self._units: Units = "mm"
        sheet.changed.connect(self._change)
        sheet.scrubbed.connect(self._try)
        sheet.accept_wanted.connect(self._accept)
        sheet.help_wanted.connect(self.help_wanted)
        sheet.refused.connect(telling.trouble)
        mark.moved.connect(self._show)
        session.changed.connect(self._show)
        working.worked.connect(self._show)
        working.judged.connect(self._show)

    def set_units(self, units: Units) -> None:
        """Write lengths in mm or inch."""
        self._units = units
        self._sheet.set_units(units)
        self._show()

    def _show(self, *_: object) -> None:
        self._sheet.set_fixed(self._session.document.read_only)
        done = self._working.done
        job = self._session.document.job
        if self._working.dragging and done is not None:
            job = done.job
        worked = None if done is None else done.worked
        row = self._card.row(self._mark.key)  # the card has followed before the sheet does
        self._sheet.set_shown(
            sheet_for(job, self._mark.key, row, worked, self._working.answers, self._units)
        )

    def _change(self, field: str, value: Value) -> None:
        self._card.change_value(self._sheet.key, field, value)

    def _try(self, field: str, value: Value) -> None:
        self._card.try_value(self._sheet.key, field, value)

    def _accept(self, code: str, on: bool) -> None:
        try:
            text = accepted(self._session.document.text, code, on)
            self._session.change(text, f"{'Accept' if on else 'Take back'}: {code.replace('-', ' ')}")
        except JobError as error:
            self._telling.trouble(refusal_words(error, self._session.document.job, self._units))
