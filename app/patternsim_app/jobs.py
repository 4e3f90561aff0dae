"""Work away from the window: started, replaced, called off, its results handed back. The only threads.

What is worked out is handed in as a function of one value and a progress; nothing here knows steel.
Two lanes run beside one another, one piece of work at a time in each: the front one for what the
window waits for, the back one for what may take long (`background=True`), so that writing a large
picture never holds up a dragged number.

The way of one piece of work: `start` puts it into its lane, where it replaces what waits under the
same channel; `_next` begins the most urgent; the worker thread runs it, lays the outcome into
`_outcomes` and wakes the main thread; `_deliver` frees the lane, begins the next, and only then hands
the result to `done` or the error to `failed` - or drops it, where newer work has made it stale.
"""

from __future__ import annotations

import logging
import threading
import time
import traceback
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from queue import SimpleQueue
from typing import Any, TypeVar

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from patternsim.errors import Cancelled, PatternSimError
from patternsim.progress import Progress

LOG = logging.getLogger(__name__)
REPORT_MS = 100
"""Progress is told at most this often."""
PATIENCE_S = 0.3
"""So long closing waits for work to end."""

Input = TypeVar("Input")
Output = TypeVar("Output")


class Jobs(QObject):
    """Runs work in threads; everything it tells arrives on the thread it was made on.

    Attributes
    ----------
    progressed : Signal(str, float, str)
        Channel, share done, what is being done now.
    idle_changed : Signal(bool)
        True when nothing runs or waits any more.
    cancelled : Signal(str)
        Work of this channel was called off by `cancel`, or gave up by itself, and has ended.
    crashed : Signal(str)
        Work failed by a fault of the program; the text is the whole trace.
    """

    progressed = Signal(str, float, str)
    idle_changed = Signal(bool)
    cancelled = Signal(str)
    crashed = Signal(str)
    _woken = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._front = _Lane("patternsim-front")
        self._back = _Lane("patternsim-back")
        self._outcomes: deque[_Outcome] = deque()
        self._started = 0
        self._idle = True
        self._closed = False
        self._held = False
        self._clock = QTimer(self)
        self._clock.setInterval(REPORT_MS)
        self._clock.timeout.connect(self._tell_progress)
        # Queued in any case: the worker must never run what belongs to the window.
        self._woken.connect(self._deliver, Qt.ConnectionType.QueuedConnection)

    @property
    def is_idle(self) -> bool:
        """Whether nothing runs or waits."""
        return not any(lane.running or lane.waiting for lane in self._lanes)

    @property
    def is_waited_for(self) -> bool:
        """Whether work runs or waits that the window is waiting for."""
        return bool(self._front.running or self._front.waiting)

    def is_busy(self, channel: str) -> bool:
        """Tell whether work of a channel runs or waits."""
        return any(
            task.channel == channel
            for lane in self._lanes
            for task in (*lane.waiting, *((lane.running,) if lane.running else ()))
        )

    def start(
        self,
        channel: str,
        work: Callable[[Input, Progress], Output],
        given: Input,
        *,
        done: Callable[[Output], None],
        failed: Callable[[Exception], None],
        priority: int = 0,
        newest_only: bool = True,
        cancel_running: bool = True,
        background: bool = False,
    ) -> None:
        """Have work done as soon as its lane is free.

        Parameters
        ----------
        channel : str
            Work that replaces one another: 'picture', 'answers'.
        work : callable
            Runs in another thread; calls `at` of its progress often, which raises `Cancelled` when
            the work is no longer wanted.
        given : Input
            Handed to `work`; nobody may change it meanwhile.
        done, failed : bound methods
            Called with the result, or with the error, on the thread of this object. `failed` gets
            faults of the program too, after `crashed`.
        priority : int
            Lower goes first among what waits.
        newest_only : bool
            Replace what waits under the channel; otherwise queue behind it and replace nothing.
        cancel_running : bool
            Call off what runs under the channel, its result is dropped. False while something is
            dragged: what runs comes to its end and is shown, or nothing would move until the hand
            rests.
        background : bool
            Use the back lane.

        After `close` nothing is started any more.
        """
        if self._closed:
            LOG.info("not started, the window is closing: %s", channel)
            return
        lane = self._back if background else self._front
        if newest_only:
            self._throw_out(channel, running=cancel_running, told=False)
        self._started += 1
        lane.waiting.append(_Task(channel, work, given, done, failed, (priority, self._started)))
        self._tell_idle()
        self._next(lane)

    def cancel(self, channel: str | None = None) -> None:
        """Call off the work of a channel, waiting or running; of all channels for None."""
        self._throw_out(channel, running=True, told=True)
        self._tell_idle()

    def hold(self) -> None:
        """Begin nothing new until `go_on`: the window is to be on the screen first."""
        self._held = True

    def go_on(self) -> None:
        """Begin what has waited."""
        self._held = False
        for lane in self._lanes:
            self._next(lane)

    def close(self, timeout: float = PATIENCE_S) -> bool:
        """Call everything off and wait for the threads to end.

        Parameters
        ----------
        timeout : float
            Seconds to wait at most.

        Returns
        -------
        bool
            False where some work does not listen; its result goes nowhere, and its thread ends when
            the work does, or with the program.
        """
        self._closed = True
        self._clock.stop()
        for lane in self._lanes:
            lane.waiting.clear()
            if lane.running:
                lane.running.off.set()
            lane.end()
        last = time.monotonic() + timeout
        ended = [lane.has_ended(last) for lane in self._lanes]
        return all(ended)

    # --- on the main thread

    @property
    def _lanes(self) -> tuple[_Lane, _Lane]:
        return self._front, self._back

    def _throw_out(self, channel: str | None, *, running: bool, told: bool) -> None:
        dropped: set[str] = set()
        for lane in self._lanes:
            dropped.update(task.channel for task in lane.waiting if channel in (None, task.channel))
            lane.waiting = [task for task in lane.waiting if channel not in (None, task.channel)]
            task = lane.running
            if running and task and channel in (None, task.channel):
                task.told = task.told or told
                task.off.set()
                # It tells for both when it has ended.
                dropped.discard(task.channel)
        if told:
            for name in sorted(dropped):
                self.cancelled.emit(name)

    def _next(self, lane: _Lane) -> None:
        if lane.running or not lane.waiting or self._closed or self._held:
            return
        task = min(lane.waiting, key=_urgency)
        lane.waiting.remove(task)
        lane.running = task
        self._begin(lane, task)

    def _begin(self, lane: _Lane, task: _Task) -> None:
        self._clock.start()
        lane.begin(task, self._work)

    def _deliver(self) -> None:
        """Take one outcome; each has a wake-up of its own, so that a fault in one loses no other."""
        if self._closed or not self._outcomes:
            return
        outcome = self._outcomes.popleft()
        outcome.lane.running = None
        self._next(outcome.lane)
        try:
            self._hand_back(outcome)
        finally:
            # Only now: what comes back often starts the next work.
            self._tell_idle()

    def _hand_back(self, outcome: _Outcome) -> None:
        task = outcome.task
        if task.off.is_set() or isinstance(outcome.error, Cancelled):
            if task.told or not task.off.is_set():
                self.cancelled.emit(task.channel)
        elif outcome.error is None:
            task.done(outcome.result)
        else:
            if outcome.trace:
                self.crashed.emit(outcome.trace)
            task.failed(outcome.error)

    def _tell_idle(self) -> None:
        idle = self.is_idle
        if idle:
            self._clock.stop()
        if idle != self._idle:
            self._idle = idle
            self.idle_changed.emit(idle)

    def _tell_progress(self) -> None:
        for lane in self._lanes:
            task = lane.running
            stands = task.stands if task else None
            if task and stands and stands != task.shown and not task.off.is_set():
                task.shown = stands
                self.progressed.emit(task.channel, *stands)

    # --- in the worker thread

    def _work(self, lane: _Lane, task: _Task) -> None:
        outcome = _worked(lane, task)
        if not self._closed:  # else there may be nobody left to wake
            self._outcomes.append(outcome)
            self._woken.emit()


class Synchronous(Jobs):
    """The same without threads: work is done at once, or when `work_off` is called.

    Parameters
    ----------
    at_once : bool
        Whether `start` already does the work.
    """

    def __init__(self, parent: QObject | None = None, *, at_once: bool = True) -> None:
        super().__init__(parent)
        self._at_once = at_once
        self._begun: deque[tuple[_Lane, _Task]] = deque()

    def work_off(self) -> int:
        """Do all the work there is, also what it starts; return how many pieces it was."""
        count = 0
        while self._begun:
            lane, task = self._begun.popleft()
            self._outcomes.append(_worked(lane, task))
            self._tell_progress()
            self._deliver()
            count += 1
        return count

    def _begin(self, lane: _Lane, task: _Task) -> None:
        self._begun.append((lane, task))
        if self._at_once:
            self.work_off()


@dataclass(eq=False, slots=True)
class _Task:
    """One piece of work; `stands` is written by the worker and read by the main thread."""

    channel: str
    work: Callable[[Any, Progress], Any]
    given: Any
    done: Callable[[Any], None]
    failed: Callable[[Exception], None]
    urgency: tuple[int, int]
    off: threading.Event = field(default_factory=threading.Event)
    told: bool = False
    stands: tuple[float, str] | None = None
    shown: tuple[float, str] | None = None

    def at(self, fraction: float, text: str) -> None:
        """Note where the work stands; raise `Cancelled` where it is no longer wanted."""
        if self.off.is_set():
            raise Cancelled("the work was called off")
        self.stands = (fraction, text)


class _Lane:
    """A thread with the work it does and the work that waits for it."""

    def __init__(self, name: str) -> None:
        self.running: _Task | None = None
        self.waiting: list[_Task] = []
        self._name = name
        self._thread: threading.Thread | None = None
        self._orders: SimpleQueue[_Task | None] = SimpleQueue()

    def begin(self, task: _Task, work: Callable[[_Lane, _Task], None]) -> None:
        """Have a task done; the thread comes into being with the first."""
        if self._thread is None:
            # The program ends without it where its work does not listen.
            self._thread = threading.Thread(target=self._run, args=(work,), name=self._name, daemon=True)
            self._thread.start()
        self._orders.put(task)

    def end(self) -> None:
        """Let the thread end after what it does now."""
        self._orders.put(None)

    def has_ended(self, last: float) -> bool:
        """Wait until a moment of the monotonic clock for the thread; tell whether it has ended."""
        if self._thread is not None:
            self._thread.join(max(0.0, last - time.monotonic()))
        return self._thread is None or not self._thread.is_alive()

    def _run(self, work: Callable[[_Lane, _Task], None]) -> None:
        while (task := self._orders.get()) is not None:
            work(self, task)
            del task  # nothing of it stays while the lane rests


@dataclass(frozen=True, slots=True)
class _Outcome:
    lane: _Lane
    task: _Task
    result: Any = None
    error: Exception | None = None
    trace: str = ""


def _urgency(task: _Task) -> tuple[int, int]:
    return task.urgency


def _worked(lane: _Lane, task: _Task) -> _Outcome:
    """Run the work and catch whatever comes of it: the lane must be freed in any case."""
    if task.off.is_set():
        return _Outcome(lane, task)
    try:
        return _Outcome(lane, task, result=task.work(task.given, task))
    except PatternSimError as error:
        # The trace holds on to all that was worked out; only the words are wanted.
        return _Outcome(lane, task, error=error.with_traceback(None))
    except BaseException as error:
        trace = traceback.format_exc()
        LOG.error("work failed on %s\n%s", task.channel, trace)
        fault = RuntimeError(f"{type(error).__name__}: {error}")
        return _Outcome(lane, task, error=fault, trace=trace)
