"""Works the job out in the background whenever it changes, and hands the results round."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from patternsim.errors import PatternSimError
from patternsim_app import tasks
from patternsim_app.jobs import Jobs
from patternsim_app.session import Document, Session
from patternsim_app.tasks import JudgeGiven, Look, WorkDone, WorkGiven

if TYPE_CHECKING:
    from patternsim.answers import Answers
    from patternsim.job import Job
    from patternsim.work import Result


BEHIND = ("fine", "face", "judge", "stations", "thumbs", "billet")
"""Worked out of a result that is to stay; while a number is dragged it would be in the way."""
SHORT_MS = 400
"""A rough result that is gone sooner is neither drawn in full nor judged."""


class Working(QObject):
    """Holds the latest result.

    A change goes:

    1. `Session.changed` (or `preview` while a number is dragged) -> `tasks.work` on the worker: roughly,
       the flows worked out last stretched to the sizes there are now;
    2. `worked` with a rough result and a rough face -> card, steel line, bench show it;
    3. for a change that is kept, `tasks.judge` -> `judged` -> answers, findings
       (only where the rough result lasts);
    4. meanwhile `tasks.refine` in the back lane works the flow out -> `worked`, `judged` again.
    """

    worked = Signal(object)
    """A `WorkDone`; the face in it is a draft where the result is rough."""
    judged = Signal(object)
    """`Answers` of the result that was worked last."""
    lasting = Signal()
    """The rough result stays for a while: it is worth drawing in full."""
    unworked = Signal(str)
    """No answers can be given, and why."""
    left_off = Signal(bool)
    """True: the work was called off or failed, and what is shown is not all of the open job."""
    stays_rough = Signal(str)
    """The flow of a step could not be worked out, and why: what is shown stays rough."""

    def __init__(self, session: Session, jobs: Jobs, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._jobs = jobs
        self._look: Callable[[], Look | None] = _nothing
        self._press: Callable[[], float | None] = _nothing
        self._fine: Result | None = None
        self._judged_result: Result | None = None
        self.done: WorkDone | None = None
        self.answers: Answers | None = None
        self.dragging = False
        self.is_left_off = False
        self.is_refining = False
        """The flow of the steel is being worked out."""
        self.is_given_up = False
        """It could not be worked out."""
        self.keeps_shown = False
        """What the open job looked like the last time stays up until it is worked out."""
        self._short = QTimer(self)
        self._short.setSingleShot(True)
        self._short.setInterval(SHORT_MS)
        self._short.timeout.connect(self._last)
        session.changed.connect(self._document_changed)

    def look_from(self, look: Callable[[], Look | None]) -> None:
        """Say where to ask how the face is looked at."""
        self._look = look

    def press_from(self, press: Callable[[], float | None]) -> None:
        """Say where to ask what the smith's press gives."""
        self._press = press

    @property
    def is_rough(self) -> bool:
        """Whether what is shown is rough."""
        return self.done is not None and self.done.is_rough

    def answers_are_final(self) -> bool:
        """Tell whether the answers are those of a job that is worked out."""
        done = self.done
        return (
            self.answers is not None
            and done is not None
            and not done.is_rough
            and self._judged_result is done.worked.result
        )

    def let_kept_go(self) -> None:
        """Show what there is, rough as it may be."""
        if self.keeps_shown:
            self.keeps_shown = False
            if self.done is not None and not self.dragging:
                self.worked.emit(self.done)
                self._last()

    def preview(self, job: Job) -> None:
        """Work a job that is only tried out: a number is being dragged."""
        self.keeps_shown = False
        if not self.dragging:
            self.is_refining = False
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
        waited_for = self._jobs.is_waited_for or self.is_refining
        self.dragging = self.is_refining = False
        self._jobs.cancel()
        if waited_for:
            self._leave_off(True)
            self._last_as_it_is()

    def go_on(self) -> None:
        """Work the job out, as far as that was left off."""
        if self.is_left_off:
            self._start(self._session.document.job, done=self._worked)

    def judge_again(self) -> None:
        """Give the answers again: what the press gives has changed."""
        if self.answers is not None and not self.dragging:
            self._judge()

    def _leave_off(self, off: bool) -> None:
        if off != self.is_left_off:
            self.is_left_off = off
            self.left_off.emit(off)

    def _document_changed(self, document: Document, focus: str) -> None:
        self.dragging = self.keeps_shown = False
        self.answers = None  # of the job before
        self._start(document.job, done=self._worked)

    def _start(self, job: Job, done: Callable[[object], None]) -> None:
        for channel in ("judge", "fine"):
            self._jobs.cancel(channel)
        self.is_refining = self.is_given_up = False
        self._short.stop()
        self._leave_off(False)
        before = self.done.worked.result if self.done is not None else None
        given = WorkGiven(job=job, before=before, like=self._fine, look=self._look())
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
        if not done.is_rough:
            self._refined(done)
            return
        self.is_refining = True
        self.worked.emit(done)
        self._short.start()
        given = WorkGiven(job=done.job, like=self._fine)
        self._jobs.start(
            "fine", tasks.refine, given, done=self._refined, failed=self._not_refined,
            background=True,
        )  # fmt: skip

    def _refined(self, done: object) -> None:
        assert isinstance(done, WorkDone)
        self._short.stop()
        self.keeps_shown = self.is_refining = False
        self._fine = done.worked.result
        self.done = done
        self.worked.emit(done)
        self._judge()

    def _not_refined(self, error: Exception) -> None:
        self.is_refining = False
        if isinstance(error, PatternSimError):
            self.is_given_up = True
            self.stays_rough.emit(str(error))
        else:
            self._leave_off(True)
        self._last_as_it_is()

    def _last_as_it_is(self) -> None:
        """Nothing better comes: show and judge what there is."""
        self._short.stop()
        if self.done is None or self.done.job != self._session.document.job:
            self.keeps_shown = False
        elif self.keeps_shown:
            self.let_kept_go()
        elif self.is_rough:
            self._last()

    def _last(self) -> None:
        if not self.dragging:
            self.lasting.emit()
            if not self.keeps_shown:
                self._judge()

    def _judge(self) -> None:
        if self.done is not None:
            given = JudgeGiven(result=self.done.worked.result, press_limit_kn=self._press())
            self._jobs.start(
                "judge", tasks.judge, given, done=self._judged, failed=self._not_judged, priority=2
            )

    def _judged(self, found: object) -> None:
        self.answers = found  # type: ignore[assignment]
        self._judged_result = self.done.worked.result if self.done is not None else None
        self.judged.emit(found)

    def _not_judged(self, error: Exception) -> None:
        self.answers = None
        self._leave_off(not isinstance(error, PatternSimError))
        if isinstance(error, PatternSimError):
            self.unworked.emit(str(error))

    def _failed(self, error: Exception) -> None:
        self._leave_off(True)
        self._last_as_it_is()
        if isinstance(error, PatternSimError):
            self.unworked.emit(str(error))


def _nothing() -> None:
    return None
