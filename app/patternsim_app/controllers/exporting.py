"""Pictures as files: asks what and how large, has it drawn in the background, tells where it lies."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from patternsim.job import step_numbers
from patternsim_app import export_tasks, tasks
from patternsim_app.controllers.bench_mark import BenchMark
from patternsim_app.controllers.edits import title_of
from patternsim_app.controllers.looks import LooksController
from patternsim_app.controllers.telling import Telling
from patternsim_app.controllers.working import Working
from patternsim_app.dialogs.export_dialog import ExportDialog, ExportWish
from patternsim_app.export_tasks import ExportGiven, PreviewGiven
from patternsim_app.jobs import Jobs
from patternsim_app.session import Session
from patternsim_app.shown import Preview
from patternsim_app.tasks import WorkDone

CHANNEL, PREVIEW = "export", "preview"


class ExportController(QObject):
    """Knows the result and the export dialog."""

    def __init__(
        self,
        window: QWidget,
        session: Session,
        working: Working,
        jobs: Jobs,
        mark: BenchMark,
        looks: LooksController,
        telling: Telling,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._window = window
        self._session = session
        self._working = working
        self._jobs = jobs
        self._mark = mark
        self._looks = looks
        self._telling = telling
        self._dialog: ExportDialog | None = None
        self._waiting: ExportWish | None = None  # for the job to be worked out
        self.settle: Callable[[], bool] = _settled
        """Takes what is typed and not taken yet; False where it cannot be read."""
        working.worked.connect(self._worked)
        working.left_off.connect(self._left_off)
        working.stays_rough.connect(self._stays_rough)
        jobs.progressed.connect(self._progressed)
        jobs.cancelled.connect(self._cancelled)

    def open(self) -> None:
        """Ask what is to be written."""
        if not self.settle():
            return
        done = self._working.done
        if done is None:
            self._telling.trouble("Nothing is worked out yet; wait a moment and try again.")
            return
        if self._dialog is None:
            self._dialog = ExportDialog(self._window)
            self._dialog.wanted.connect(self._export)
            self._dialog.preview_wanted.connect(self._draw_preview)
            self._dialog.cancel_wanted.connect(self._cancel)
        settings = self._looks.settings
        lying = tasks.lying_on_bench(done.worked.result)
        folder = settings.export_folder or str(Path.home())
        self._dialog.set_job(
            name=self._session.document.job.name,
            step=self._chosen_step(),
            has_blade=lying is not None and lying.spec is not None,
            folder=folder,
            dpi=settings.export_dpi,
            paper=settings.paper,
            units=settings.units,
        )
        self._dialog.open()

    def _chosen_step(self) -> tuple[str, str]:
        """Return the id of the step on the bench and what it is called; empty for the blade and shop."""
        job, key = self._session.document.job, self._mark.key
        found = job.find_step(key)
        if found is None:
            return "", ""
        bar, at = found
        return key, f"step {step_numbers(job)[key]}, {title_of(bar.step[at], key)}"

    # --- how it will look ----------------------------------------------------------------

    def _draw_preview(self, what: str, after: str) -> None:
        done = self._working.done
        if done is not None:
            given = PreviewGiven(result=done.worked.result, what=what, after=after or None)
            self._jobs.start(
                PREVIEW, export_tasks.preview, given, done=self._previewed,
                failed=self._not_previewed, priority=1,
            )  # fmt: skip

    def _previewed(self, preview: Preview) -> None:
        if self._dialog is not None:
            self._dialog.show_preview(preview)

    def _not_previewed(self, error: Exception) -> None:
        if self._dialog is not None:
            self._dialog.show_no_preview(str(error))

    # --- writing -------------------------------------------------------------------------

    def _export(self, wish: ExportWish) -> None:
        """Write the picture; a change made just before is worked out first."""
        done = self._working.done
        changed = done is None or done.job != self._session.document.job
        if done is None or changed or done.is_rough or self._working.is_left_off:
            if done is not None and not changed and self._working.is_given_up:
                self._stays_rough("")
                return
            self._waiting = wish
            if self._dialog is not None:
                what = "working out the last change first" if changed else "working the job out first"
                self._dialog.set_progress(0.0, what)
            self._working.go_on()
            return
        self._looks.change(export_folder=str(Path(wish.path).parent), export_dpi=wish.dpi)
        given = ExportGiven(
            result=done.worked.result, what=wish.what, path=wish.path, after=wish.after or None,
            dpi=wish.dpi, width=wish.width,
        )  # fmt: skip
        self._jobs.start(
            CHANNEL, export_tasks.export, given, done=self._written, failed=self._failed,
            background=True,
        )  # fmt: skip

    def _worked(self, done: WorkDone) -> None:
        if self._dialog is None or self._working.dragging:
            return
        wish, self._waiting = self._waiting, None
        if wish is not None:
            self._export(wish)
        if self._dialog.isVisible():
            self._dialog.ask_preview()

    def _left_off(self, off: bool) -> None:
        if off and self._waiting is not None and self._dialog is not None:
            self._waiting = None
            self._dialog.set_failed("The job could not be worked out; nothing was written.")

    def _stays_rough(self, _reason: str) -> None:
        if self._waiting is not None and self._dialog is not None:
            self._waiting = None
            self._dialog.set_failed("A step could not be worked out; nothing was written.")

    def _written(self, path: str) -> None:
        if self._dialog is not None:
            self._dialog.set_written(path)
        self._telling.news(f"Written: {path}")

    def _failed(self, error: Exception) -> None:
        if self._dialog is not None:
            self._dialog.set_failed(str(error))
        self._telling.failed(error)

    def _cancel(self) -> None:
        if self._waiting is not None:
            self._waiting = None
            self._cancelled(CHANNEL)
        self._jobs.cancel(CHANNEL)

    def _cancelled(self, channel: str) -> None:
        if channel == PREVIEW and self._dialog is not None:
            self._dialog.show_no_preview("called off")
        if channel == CHANNEL and self._dialog is not None:
            self._dialog.set_failed("Called off; nothing was written.")

    def _progressed(self, channel: str, share: float, text: str) -> None:
        awaited = channel == "fine" and self._waiting is not None
        if self._dialog is not None and (awaited or channel == CHANNEL):
            self._dialog.set_progress(share, text)


def _settled() -> bool:
    return True
