"""The five answers and the steel line."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from patternsim.glance import Glance, glance, nothing_worked, unworked
from patternsim.sizes import told_in
from patternsim_app.controllers.bench_mark import BLADE, BenchMark
from patternsim_app.controllers.result_words import before_words, rough_words
from patternsim_app.controllers.rows import card_rows, grades_by_step
from patternsim_app.controllers.steel_figures import steel_column, steel_needed, steel_spare
from patternsim_app.controllers.telling import Telling
from patternsim_app.controllers.working import Working
from patternsim_app.session import Document, Session
from patternsim_app.shown import AnswerTile, SteelShown, StepRow, Units
from patternsim_app.tasks import WorkDone
from patternsim_app.views.answers_bar import AnswersBar
from patternsim_app.views.steel_line import SteelLine

if TYPE_CHECKING:
    from patternsim.answers import Answers


ALL_SKIPPED = "all steps are skipped, so nothing is worked out; take some of them in again"


class AnswersController(QObject):
    """Knows the results, the answers bar and the steel line."""

    looked_up = Signal(str)
    """The answer of this key was clicked."""
    shown = Signal(tuple)
    """The `AnswerTile`s that are shown now."""

    def __init__(
        self,
        bar: AnswersBar,
        line: SteelLine,
        session: Session,
        working: Working,
        mark: BenchMark,
        telling: Telling,
        press_limit: Callable[[], float | None],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._bar = bar
        self._line = line
        self._session = session
        self._working = working
        self._mark = mark
        self._telling = telling
        self._press_limit = press_limit
        self._units: Units = "mm"
        self._tiles: tuple[AnswerTile, ...] = ()
        self._refused = False
        bar.chosen.connect(self._chosen)
        line.chosen.connect(mark.move)
        mark.moved.connect(line.set_current)
        session.changed.connect(self._document_changed)
        working.worked.connect(self._worked)
        working.judged.connect(self._judged)
        working.unworked.connect(self._unworked)
        working.stays_rough.connect(self._stays_rough)

    @property
    def tiles(self) -> tuple[AnswerTile, ...]:
        """The five answers as they are shown; none while they are rough or of the job before."""
        return self._tiles if self._working.answers_are_final() else ()

    def set_units(self, units: Units) -> None:
        """Write lengths in mm or inch."""
        self._units = units
        self.refresh()

    def refresh(self) -> None:
        """Show the answers again: something they are written with has changed."""
        done = self._working.done
        if self._working.answers is not None:
            self._judged(self._working.answers)
        elif done is not None and done.worked.refused is not None:
            self._worked(done)
            self._unworked("")

    def show_kept(self, tiles: tuple[AnswerTile, ...]) -> None:
        """Show answers from the last time, greyed, until they are worked out again."""
        self._bar.set_tiles(tiles)
        self._bar.set_waiting(True)

    def _document_changed(self, document: Document, focus: str) -> None:
        self._bar.set_waiting(True)

    def _worked(self, done: WorkDone) -> None:
        refused, dragging = done.worked.refused, self._working.dragging
        self._show_steel(None if dragging or refused is not None else self._working.answers)
        if dragging:
            return  # the card says it at the step; a message would come and go under the hand
        if refused is not None:
            self._refused = True
            numbers = {row.key: row.number for row in self._rows()}
            number, reason = numbers.get(refused.step, refused.step), refused.reason
            self._telling.trouble(f"Step {number} cannot be done: {told_in(reason, self._units)}")
        elif self._refused:
            self._refused = False
            self._telling.over.emit()

    def _judged(self, found: Answers) -> None:
        if self._nothing_to_judge():
            return
        numbers = {row.key: row.number for row in self._rows()}
        self._show_tiles(
            glance(found, press_limit_kn=self._press_limit(), units=self._units, numbers=numbers)
        )
        self._show_steel(found)
        self.shown.emit(self._tiles)

    def _stays_rough(self, reason: str) -> None:
        self._bar.set_rough(rough_words(self._working))
        self._telling.trouble(f"This could not be worked out, and stays rough: {reason}")

    def _nothing_to_judge(self) -> bool:
        """Say so where no step is worked: all are skipped, or there are none."""
        done = self._working.done
        if done is None or done.worked.result.steps or done.worked.refused is not None:
            return False
        some = any(bar.step for bar in done.job.bar)
        self._show_tiles(nothing_worked("all steps are skipped" if some else "there are no steps yet"))
        self._show_steel(None)
        if some:
            self._refused = True
            self._telling.trouble(ALL_SKIPPED)
        return True

    def _unworked(self, reason: str) -> None:
        if self._nothing_to_judge():
            return
        done = self._working.done
        refused = None if done is None else done.worked.refused
        if refused is not None:
            numbers = {row.key: row.number for row in self._rows()}
            self._show_tiles(
                unworked(
                    refused.step,
                    refused.reason,
                    press_limit_kn=self._press_limit(),
                    units=self._units,
                    numbers=numbers,
                )
            )
        else:
            self._refused = True
            self._show_tiles(nothing_worked(told_in(reason, self._units)))
            self._telling.trouble(told_in(reason, self._units))

    def _show_tiles(self, glances: tuple[Glance, ...]) -> None:
        self._tiles = tuple(
            AnswerTile(
                key=one.key,
                name=one.name,
                headline=one.headline,
                detail=one.detail,
                grade=one.grade,
                spoken=one.spoken,
                step=one.step,
            )
            for one in glances
        )
        self._bar.set_tiles(self._tiles)
        self._bar.set_waiting(False)
        self._bar.set_rough(rough_words(self._working))

    def _chosen(self, key: str) -> None:
        tile = next((one for one in self._tiles if one.key == key), None)
        key = "" if tile is None else tile.step or BLADE
        if any(row.key == key for row in self._rows()):
            self._mark.move(key)
        self.looked_up.emit("" if tile is None else tile.key)

    def _rows(self) -> tuple[StepRow, ...]:
        return card_rows(self._session.document.job, None, {}, {})

    def _show_steel(self, found: Answers | None) -> None:
        done = self._working.done
        if done is None:
            return
        grades = grades_by_step(found)
        results = {row.step.id: row for row in done.worked.result.steps}
        columns = []
        for row in self._rows():
            result = results.get(row.key)
            if row.number and (result is not None or row.state != "skipped"):
                columns.append(
                    steel_column(row, result, grades.get(row.key, "fine"), done.worked.refused)
                )
        need, pieces = steel_needed(found, done.worked.result)
        words, detail = before_words(done), ""
        if done.worked.refused is None:
            words, detail = steel_spare(found, self._units)
        self._line.set_shown(
            SteelShown(
                columns=tuple(columns),
                start_kg=columns[0].kg if columns else 0.0,
                need_kg=need,
                words=words,
                detail=detail,
                need_words="blade needs" if pieces == 1 else f"{pieces} blades need",
            )
        )
        self._line.set_current(self._mark.key)
