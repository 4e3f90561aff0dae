"""New steps on the card: from the list of kinds, or from the clipboard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication

from patternsim.errors import JobError
from patternsim.job import copied, forge_order, new_step, pasted, with_step
from patternsim_app.controllers.bench_mark import BenchMark
from patternsim_app.controllers.result_words import refusal_words
from patternsim_app.controllers.rows import kinds_shown
from patternsim_app.controllers.telling import Telling
from patternsim_app.controllers.working import Working
from patternsim_app.session import Document, Session
from patternsim_app.views.add_step import AddStep
from patternsim_app.views.job_card import JobCard

if TYPE_CHECKING:
    from patternsim.piece import Piece

UNKNOWN_MM = (150.0, 50.0, 50.0)
"""Size a new step reckons with where the piece it is given is not worked out."""


class AddingController(QObject):
    """Knows the job, the card and the list of kinds."""

    def __init__(
        self,
        card: JobCard,
        session: Session,
        working: Working,
        mark: BenchMark,
        telling: Telling,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._card = card
        self._session = session
        self._working = working
        self._mark = mark
        self._telling = telling
        self._add = AddStep(card)
        self._add.set_kinds(kinds_shown())
        self._add.chosen.connect(self._add_kind)
        card.add_wanted.connect(self._open_add_after)
        card.copy_wanted.connect(self.copy)
        card.paste_wanted.connect(self.paste)

    def open_add(self) -> None:
        """Offer the kinds of steps, to be put in after the chosen row."""
        self._open_add_after(self._mark.key)

    def _open_add_after(self, after: str) -> None:
        """Offer the kinds of steps, to be put in after a row; above the first for none."""
        self._add.open_at(self._card.place_below(after), after)

    def _add_kind(self, kind: str, after: str) -> None:
        document = self._session.document
        bar, at = self._place_after(after)
        try:
            text, key = self._with_kind(document, kind, bar, at)
            title = next(one.title for one in kinds_shown() if one.kind == kind)
            self._session.change(text, f"Add step: {title}", focus=key)
        except JobError as error:
            self._telling.trouble(refusal_words(error, document.job))

    def _with_kind(self, document: Document, kind: str, bar: str, at: int) -> tuple[str, str]:
        """Return the text with a new step of a kind, with sizes from the piece there, and its id."""
        there = self._piece_at(bar, at)
        if there is None:
            step = new_step(kind, UNKNOWN_MM, document.job, bar=bar)
        else:
            piece, many = there
            step = new_step(
                kind, piece.size, document.job, bar=bar, pieces=many,
                stands_tall=piece.layers.axis == 0,
            )  # fmt: skip
        return with_step(document.text, bar, at, step), str(step["id"])

    def copy(self, keys: tuple[str, ...]) -> None:
        """Put steps on the clipboard as plain text."""
        try:
            QApplication.clipboard().setText(copied(self._session.document.text, keys))
        except JobError as error:
            self._telling.trouble(refusal_words(error, self._session.document.job))

    def paste(self, after: str) -> None:
        """Put in the steps that are on the clipboard."""
        bar, at = self._place_after(after or self._mark.key)
        try:
            text = pasted(self._session.document.text, bar, at, QApplication.clipboard().text())
            self._session.change(text, "Paste steps")
        except JobError as error:
            self._telling.trouble(refusal_words(error, self._session.document.job))

    def _place_after(self, key: str) -> tuple[str, int]:
        """Return the bar and the place in it behind a row; the end of the last bar for the others."""
        job = self._session.document.job
        found = job.find_step(key)
        if found is not None:
            return found[0].name, found[1] + 1
        if not key:
            return job.bar[forge_order(job)[0]].name, 0
        bar = job.bar[-1] if job.blade is None else job.bar_named(job.blade.bar)
        return bar.name, len(bar.step)

    def _piece_at(self, bar: str, at: int) -> tuple[Piece, int] | None:
        """Return the first piece a new step at a place would be given, and how many there are."""
        done = self._working.done
        steps = self._session.document.job.bar_named(bar).step[:at]
        results = {} if done is None else {row.step.id: row for row in done.worked.result.steps}
        for step in reversed(steps):
            if step.id in results and results[step.id].outcome.pieces:
                pieces = results[step.id].outcome.pieces
                return pieces[0], len(pieces)
        return None
