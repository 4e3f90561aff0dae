"""What stands beside the face: sections of the blade, and the billet on the die."""

from __future__ import annotations

from PySide6.QtCore import QObject

from patternsim.job import step_numbers
from patternsim_app import billet_tasks, tasks
from patternsim_app.billet_tasks import BilletGiven
from patternsim_app.controllers.bench import BenchController
from patternsim_app.controllers.bench_mark import BenchMark
from patternsim_app.controllers.result_words import before_words, die_caption, face_caption, rough_words
from patternsim_app.controllers.telling import Telling
from patternsim_app.controllers.working import Working
from patternsim_app.jobs import Jobs
from patternsim_app.shown import BilletShown
from patternsim_app.tasks import StationsDone, WorkDone
from patternsim_app.views.bench_panel import BenchPanel

SKIPPED = "This step is skipped: the steel is as it was before."


class BesideController(QObject):
    """Knows the results and the smaller parts of the bench."""

    def __init__(
        self,
        panel: BenchPanel,
        working: Working,
        jobs: Jobs,
        mark: BenchMark,
        bench: BenchController,
        telling: Telling,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._panel = panel
        self._working = working
        self._jobs = jobs
        self._mark = mark
        self._bench = bench
        self._telling = telling
        working.worked.connect(self._worked)
        working.lasting.connect(self._ask_stations)
        working.left_off.connect(self._ask_billet)
        working.stays_rough.connect(self._ask_billet)
        mark.moved.connect(self._ask_billet)
        bench.look_changed.connect(self._ask_billet)

    def _worked(self, done: WorkDone) -> None:
        if not (done.is_rough or self._working.dragging):
            self._ask_stations()
        self._ask_billet()

    def _ask_stations(self) -> None:
        lying = self._bench.lying
        if lying is not None:
            self._jobs.start(
                "stations", tasks.draw_stations, lying, done=self._stations_drawn,
                failed=self._telling.failed, priority=3,
            )  # fmt: skip

    def _stations_drawn(self, done: StationsDone) -> None:
        self._panel.stations.set_shown(done.stations, done.heading)

    def _ask_billet(self, *_: object) -> None:
        done = self._working.done
        if done is None:
            return
        if self._bench.look_name != "die":
            self._panel.set_caption(self._with_rough(face_caption(done, self._mark.key)))
            return
        given = self._given(done)
        caption = "" if given is None else die_caption(done, given.row)
        if given is not None and given.row.step.id in done.rough:
            caption = self._with_rough(caption)
        self._panel.set_caption(caption)
        if given is None or not given.row.outcome.pieces:
            self._panel.set_billet(None)
            return
        self._jobs.start(
            "billet", billet_tasks.draw_billet, given, done=self._billet_drawn,
            failed=self._telling.failed, priority=1,
        )  # fmt: skip

    def _with_rough(self, caption: str) -> str:
        return " ".join(part for part in (caption, rough_words(self._working)) if part)

    def _given(self, done: WorkDone) -> BilletGiven | None:
        """Return the step whose piece lies on the die: the chosen one, or the last before it."""
        rows, key = done.worked.result.steps, self._mark.key
        numbers = step_numbers(done.job)
        row = next((row for row in rows if row.step.id == key), None)
        if row is not None:
            return BilletGiven(row=row, rows=rows, number=numbers[key])
        found = done.job.find_step(key)
        if found is None:
            # The blade or the shop: what all steps leave.
            return (
                BilletGiven(row=rows[-1], rows=rows, number=numbers[rows[-1].step.id]) if rows else None
            )
        bar, place = found
        before = {step.id for step in bar.step[:place]}
        own = [row for row in rows if row.step.id in before]
        note = SKIPPED if bar.step[place].skip else before_words(done)
        if not own:
            return None
        return BilletGiven(row=own[-1], rows=rows, number=numbers[own[-1].step.id], note=note)

    def _billet_drawn(self, shown: BilletShown) -> None:
        self._panel.set_billet(shown)
