"""The job card: shows the steps, and turns what is done to them into changes of the job."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from patternsim.errors import JobError, PatternSimError
from patternsim.job import (
    moved_steps,
    skipped,
    without_steps,
)
from patternsim_app import tasks
from patternsim_app.controllers.bench_mark import BLADE, SHOP, BenchMark
from patternsim_app.controllers.edits import change_label, with_field, with_field_tried
from patternsim_app.controllers.result_words import refusal_words
from patternsim_app.controllers.rows import card_rows, grades_by_step
from patternsim_app.controllers.telling import Telling
from patternsim_app.controllers.working import Working
from patternsim_app.jobs import Jobs
from patternsim_app.session import Document, Session
from patternsim_app.shown import Rgba, StepRow, Units, Value
from patternsim_app.tasks import ThumbsGiven, WorkDone
from patternsim_app.views.job_card import JobCard

if TYPE_CHECKING:
    from patternsim.answers import Answers
    from patternsim.work import StepResult


class CardController(QObject):
    """Knows the job and its card."""

    def __init__(
        self,
        card: JobCard,
        session: Session,
        working: Working,
        jobs: Jobs,
        mark: BenchMark,
        telling: Telling,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._card = card
        self._session = session
        self._working = working
        self._jobs = jobs
        self._mark = mark
        self._telling = telling
        self._thumbs: dict[StepResult, Rgba] = {}
        self._units: Units = "mm"
        self._connect()

    def _connect(self) -> None:
        card = self._card
        card.step_chosen.connect(self._mark.move)
        card.value_changed.connect(self.change_value)
        card.value_scrubbed.connect(self.try_value)
        card.move_wanted.connect(self._move)
        card.nudge_wanted.connect(self.nudge)
        card.remove_wanted.connect(self.remove)
        card.skip_wanted.connect(self.skip)
        card.refused.connect(self._telling.trouble)
        self._mark.moved.connect(card.set_current)
        self._session.changed.connect(self._document_changed)
        self._working.worked.connect(self._worked)
        self._working.judged.connect(self._judged)
        self._working.lasting.connect(self._ask_thumbs)

    # --- showing -------------------------------------------------------------------------

    def set_units(self, units: Units) -> None:
        """Write lengths in mm or inch."""
        self._units = units
        self._card.set_units(units)
        self._show()

    def _document_changed(self, document: Document, focus: str) -> None:
        self._card.let_go()
        self._card.set_read_only(document.note if document.read_only else "")
        self._show()
        for key in (focus, self._mark.key, BLADE if document.job.blade is not None else SHOP):
            if key in (BLADE, SHOP) or document.job.find_step(key) is not None:
                self._mark.move(key)
                break
        self._card.set_current(self._mark.key)
        if focus:
            self._card.reveal(focus)

    def _show(self) -> None:
        done = self._working.done
        job = self._session.document.job
        worked = None if done is None else done.worked
        if self._working.dragging and done is not None:
            job = done.job
        grades = grades_by_step(self._working.answers)
        rough = frozenset() if done is None else done.rough
        self._card.set_rows(card_rows(job, worked, self._pictures(), grades, self._units, rough))

    def _pictures(self) -> dict[StepResult, Rgba]:
        """Return the small sections; a rough step without one keeps what it had before."""
        done = self._working.done
        if done is None or not done.is_rough:
            return self._thumbs
        before = {row.step.id: picture for row, picture in self._thumbs.items()}
        shown = dict(self._thumbs)
        for row in done.worked.result.steps:
            if row not in shown and row.step.id in before:
                shown[row] = before[row.step.id]
        return shown

    def _worked(self, done: WorkDone) -> None:
        self._show()
        if not (done.is_rough or self._working.dragging):
            self._ask_thumbs()

    def _ask_thumbs(self) -> None:
        done = self._working.done
        if done is None:
            return
        given = ThumbsGiven(rows=done.worked.result.steps, known=self._thumbs)
        self._jobs.start(
            "thumbs", tasks.draw_thumbs, given, done=self._drawn, failed=self._telling.failed,
            priority=4,
        )  # fmt: skip

    def _drawn(self, thumbs: dict[StepResult, Rgba]) -> None:
        self._thumbs = thumbs
        self._show()

    def _judged(self, found: Answers) -> None:
        self._show()

    def row(self, key: str) -> StepRow | None:
        """Return a row as it is shown; None where there is none."""
        return next((row for row in self._card.rows if row.key == key), None)

    # --- values --------------------------------------------------------------------------

    def change_value(self, key: str, field: str, value: Value) -> None:
        """Change one value of a step, the blade or the shop for good."""
        document = self._session.document
        try:
            text = with_field(document.text, document.job, key, field, value)
            label = change_label(document.job, key, field, value, self._units)
            renamed = field == "id" and document.job.find_step(key) is not None
            self._session.change(text, label, focus=str(value) if renamed else key)
        except JobError as error:
            self._telling.trouble(refusal_words(error, document.job, self._units))
        self._working.drop_preview()

    def try_value(self, key: str, field: str, value: Value) -> None:
        """Show what one value would give while it is dragged."""
        tried = with_field_tried(self._session.document.job, key, field, value)
        if tried == self._session.document.job:
            self._working.drop_preview()  # back where it began
        elif tried is not None:
            self._working.preview(tried)

    def look(self, by: int) -> None:
        """Look at the row so many places on; nothing is changed."""
        self._mark.move(self._card.beside(by))

    # --- steps ---------------------------------------------------------------------------

    def chosen_steps(self) -> tuple[str, ...]:
        """Return the keys of the chosen rows that are steps."""
        return self._card.chosen_keys()

    def remove(self, keys: tuple[str, ...]) -> None:
        """Remove steps."""
        self._edit(keys, partial(without_steps), "Remove")

    def skip(self, keys: tuple[str, ...]) -> None:
        """Skip steps, or take them in again where all of them are skipped."""
        job = self._session.document.job
        found = [job.find_step(key) for key in keys]
        steps = [place[0].step[place[1]] for place in found if place is not None]
        on = not all(step.skip for step in steps)
        self._edit(keys, partial(skipped, on=on), "Skip" if on else "Take in again")

    def nudge(self, keys: tuple[str, ...], by: int) -> None:
        """Move steps one place up or down within their bar."""
        job = self._session.document.job
        places = [place for key in keys if (place := job.find_step(key)) is not None]
        if not places or len({bar.name for bar, _ in places}) > 1:
            return
        rows = sorted(at for _, at in places)
        to = rows[0] - 1 if by < 0 else rows[-1] + 2 - len(rows)
        if 0 <= to <= len(places[0][0].step) - len(rows):
            self._edit(keys, partial(moved_steps, to=to), "Move up" if by < 0 else "Move down")

    def _move(self, keys: tuple[str, ...], bar: str, index: int) -> None:
        self._edit(keys, partial(moved_steps, to=index), "Move")

    def _edit(self, keys: tuple[str, ...], edit: partial[str], verb: str) -> None:
        document = self._session.document
        steps = [key for key in keys if document.job.find_step(key) is not None]
        if not steps:
            return
        try:
            text = edit(document.text, steps)
            what = self._title(steps[0]) if len(steps) == 1 else f"{len(steps)} steps"
            self._session.change(text, f"{verb}: {what}", focus="" if verb == "Remove" else steps[0])
        except PatternSimError as error:
            self._telling.trouble(refusal_words(error, document.job, self._units))

    def _title(self, key: str) -> str:
        found = self._session.document.job.find_step(key)
        return "" if found is None else str(found[0].step[found[1]].title)
