"""The tip gauge and the barbs' sign beside the face."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from patternsim_app import tip_tasks
from patternsim_app.controllers.bench import BenchController
from patternsim_app.controllers.telling import Telling
from patternsim_app.controllers.working import Working
from patternsim_app.jobs import Jobs
from patternsim_app.shown import TipShown, Units
from patternsim_app.tasks import WorkDone
from patternsim_app.tip_tasks import TipGiven
from patternsim_app.views.bench_panel import BenchPanel

if TYPE_CHECKING:
    from patternsim.answers import Answers


class TipController(QObject):
    """Knows the results and what tells of the tip and the barbs."""

    def __init__(
        self,
        panel: BenchPanel,
        working: Working,
        jobs: Jobs,
        bench: BenchController,
        telling: Telling,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._panel = panel
        self._working = working
        self._jobs = jobs
        self._bench = bench
        self._telling = telling
        self._units: Units = "mm"
        working.worked.connect(self._worked)
        working.judged.connect(self._judged)
        working.unworked.connect(self._not_judged)
        bench.side_changed.connect(self._other_side)
        bench.let_go.connect(self._ask_tip)

    def set_units(self, units: Units) -> None:
        """Tell lengths in mm or inch."""
        if units != self._units:
            self._units = units
            self._other_side()

    def _worked(self, done: WorkDone) -> None:
        self._ask_tip(draft=self._working.dragging)

    def _other_side(self) -> None:
        self._ask_tip()
        self._show_barbs()

    def _ask_tip(self, *, draft: bool = False) -> None:
        if self._bench.lying is None:
            self._panel.tip.set_shown(None)
            return
        given = TipGiven(
            lying=self._bench.lying,
            side=self._bench.side,
            tip_right=self._bench.tip_right(),
            draft=draft,
            units=self._units,
        )
        self._jobs.start(
            "tip", tip_tasks.draw_tip, given, done=self._tip_drawn, failed=self._telling.failed,
            priority=1, cancel_running=not draft,
        )  # fmt: skip

    def _tip_drawn(self, shown: TipShown | None) -> None:
        self._panel.tip.set_shown(shown)
        self._bench.tell()

    def _judged(self, found: Answers) -> None:
        self._show_barbs()

    def _not_judged(self, _reason: str) -> None:
        self._show_barbs()

    def _show_barbs(self) -> None:
        found = self._working.answers
        shown = None
        if found is not None:
            right = self._bench.tip_right()
            shown = tip_tasks.barbs_shown(found, tip_right=right, units=self._units)
        self._panel.barbs.set_shown(shown)
        self._bench.tell()
