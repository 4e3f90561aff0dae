"""Pictures as files: asks what and how large, has it drawn in the background, tells where it lies."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from patternsim_app import tasks
from patternsim_app.controllers.bench_mark import BenchMark
from patternsim_app.controllers.looks import LooksController
from patternsim_app.controllers.telling import Telling
from patternsim_app.controllers.working import Working
from patternsim_app.dialogs.export_dialog import ExportDialog, ExportWish
from patternsim_app.jobs import Jobs
from patternsim_app.session import Session
from patternsim_app.tasks import ExportGiven

CHANNEL = "export"


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
        jobs.progressed.connect(self._progressed)
        jobs.cancelled.connect(self._cancelled)

    def open(self) -> None:
        """Ask what is to be written."""
        done = self._working.done
        if done is None:
            self._telling.trouble("Nothing is worked out yet; wait a moment and try again.")
            return
        if self._dialog is None:
            self._dialog = ExportDialog(self._window)
            self._dialog.wanted.connect(self._export)
            self._dialog.cancel_wanted.connect(self._cancel)
        settings = self._looks.settings
        step = self._session.document.job.find_step(self._mark.key)
        lying = tasks.lying_on_bench(done.worked.result)
        folder = settings.export_folder or str(Path.home())
        self._dialog.set_job(
            name=self._session.document.job.name,
            step=self._mark.key if step is not None else "",
            has_blade=lying is not None and lying.spec is not None,
            folder=folder,
            dpi=settings.export_dpi,
            paper=settings.paper,
            units=settings.units,
            size_mm=None if lying is None else (lying.piece.size[0], lying.piece.size[1]),
        )
        self._dialog.open()

    def _export(self, wish: ExportWish) -> None:
        done = self._working.done
        if done is None:
            return
        self._looks.change(export_folder=str(Path(wish.path).parent), export_dpi=wish.dpi)
        given = ExportGiven(
            result=done.worked.result, what=wish.what, path=wish.path, after=wish.after or None,
            dpi=wish.dpi, width=wish.width,
        )  # fmt: skip
        self._jobs.start(
            CHANNEL, tasks.export, given, done=self._written, failed=self._failed, background=True
        )

    def _written(self, path: str) -> None:
        if self._dialog is not None:
            self._dialog.set_written(path)
        self._telling.news(f"Written: {path}")

    def _failed(self, error: Exception) -> None:
        if self._dialog is not None:
            self._dialog.set_failed(str(error))
        self._telling.failed(error)

    def _cancel(self) -> None:
        self._jobs.cancel(CHANNEL)

    def _cancelled(self, channel: str) -> None:
        if channel == CHANNEL and self._dialog is not None:
            self._dialog.set_failed("Called off; nothing was written.")

    def _progressed(self, channel: str, share: float, text: str) -> None:
        if channel == CHANNEL and self._dialog is not None:
            self._dialog.set_progress(share, text)
