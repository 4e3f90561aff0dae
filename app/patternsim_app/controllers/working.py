"""Works the job out in the background whenever it changes, and hands the results round."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from patternsim.errors import PatternSimError
from patternsim_app import tasks
from patternsim_app.jobs import Jobs
from patternsim_app.session import Document, Session
from patternsim_app.tasks import Look, WorkDone, WorkGiven

if TYPE_CHECKING:
    from patternsim.answers import Answers
    from patternsim.job import Job


BEHIND = ("face", "judge", "stations", "thumbs", "billet")
"""Worked out of a result that is to stay; while a number is dragged it would be in the way."""


class Working(QObject):
    """Holds the latest result.

    A change goes:

    1. `Session.changed` (or `preview` while a number is dragged) -> `tasks.work` on the worker;
    2. `worked` with a result and a rough face -> card, steel line, bench show it;
    3. for a change that is kept, `tasks.judge` -> `judged` -> answers, findings.
    """

    worked = Signal(object)
    """A `WorkDone`; the face in it is rough."""
    judged = Signal(object)
    """`Answers` of the result that was worked last."""
    unworked = Signal(str)
    """No answers can be given, and why."""
    left_off = Signal(bool)
    """True: the work was called off or failed, and what is shown is not all of the open job."""

    def __init__(self, session: Session, jobs: Jobs, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._jobs = jobs
        self._look: Callable[[], Look | None] = _nothing
        self.done: WorkDone | None = None
        self.answers: Answers | None = None
        self.dragging = False
        self.is_left_off = False
        session.changed.connect(self._document_changed)

    def look_from(self, look: Callable[[], Look | None]) -> None:
        """Say where to ask how the face is looked at."""
        self._look = look

    def preview(self, job: Job) -> None:
        """Work a job that is only tried out: a number is being dragged."""
        if not self.dragging:
            for channel in BEHIND:
                self._jobs.cancel(channel)
        self.dragging = True
        self._start(job, done=self._previewed)

    def drop_preview(self) -> None:
        """Go back to the job as it is."""
        if self.dragging:
            self.dragging = False
            self._start(self._session.document.job, done=self._worked)

    def stop(self) -> None:
        """Call all work off; what is shown stays."""
        waited_for = self._jobs.is_waited_for
        self._jobs.cancel()
        self.dragging = False
        if waited_for:
            self._leave_off(True)

    def go_on(self) -> None:
        """Work the job out, as far as that was left off."""
        if self.is_left_off:
            self._start(self._session.document.job, done=self._worked)

    def _leave_off(self, off: bool) -> None:
        if off != self.is_left_off:
            self.is_left_off = off
            self.left_off.emit(off)

    def _document_changed(self, document: Document, focus: str) -> None:
        self.dragging = False
        self.answers = None  # of the job before
        self._start(document.job, done=self._worked)

    def _start(self, job: Job, done: Callable[[object], None]) -> None:
        self._leave_off(False)
        before = self.done.worked.result if self.done is not None else None
        given = WorkGiven(job=job, before=before, look=self._look())
        self._jobs.cancel("judge")
        self._jobs.start(
            "work", tasks.work, given, done=done, failed=self._failed,
            cancel_running=not self.dragging, priority=0,
        )  # fmt: skip

    def _previewed(self, done: object) -> None:
        if self.dragging:
            assert isinstance(done, WorkDone)
            self.done = done
            self.worked.emit(done)

    def _worked(self, done: object) -> None:
        assert isinstance(done, WorkDone)
        self.done = done
        self.worked.emit(done)
        self._jobs.start(
            "judge", tasks.judge, done.worked.result, done=self._judged,
            failed=self._not_judged, priority=2,
        )  # fmt: skip

    def _judged(self, found: object) -> None:
        self.answers = found  # type: ignore[assignment]
        self.judged.emit(found)

    def _not_judged(self, error: Exception) -> None:
        self.answers = None
        self._leave_off(not isinstance(error, PatternSimError))
        if isinstance(error, PatternSimError):
            self.unworked.emit(str(error))

    def _failed(self, error: Exception) -> None:
        self._leave_off(True)
        if isinstance(error, PatternSimError):
            self.unworked.emit(str(error))


def _nothing() -> Look | None:
    return None
