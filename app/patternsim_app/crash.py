"""Faults of the program: the job is kept first, then they are logged and told; nothing is swallowed.

The log lies on this machine and is sent nowhere. What a user may hand on (`details`) holds versions, the
last actions by name and the trace; no job, and no name of the user's own folder.
"""

from __future__ import annotations

import faulthandler
import logging
import os
import platform
import sys
import threading
import traceback
from collections import deque
from collections.abc import Callable, Iterable
from datetime import datetime
from functools import partial
from io import TextIOWrapper
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import TracebackType

import numpy as np
import PySide6
from PySide6.QtCore import (
    QCoreApplication,
    QMessageLogContext,
    QObject,
    Qt,
    QThread,
    QtMsgType,
    Signal,
    qInstallMessageHandler,
)
from PySide6.QtGui import QAction, QGuiApplication

import patternsim
from patternsim_app.dialogs.crash_dialog import CrashDialog

LOG = logging.getLogger("patternsim_app")
LOG_BYTES, LOG_FILES = 500_000, 3
LOG_NAME, HARD_NAME = "patternsim.log", "stopped-hard.log"
TRAIL = 30
"""Actions kept for the details."""
STATUS = 70
"""Exit status where the program was closed after a fault ("internal error" by the old Unix list)."""


class Crashes(QObject):
    """Takes faults from wherever they come and tells of them in the window, one dialog at a time.

    Parameters
    ----------
    logs : Path
        Folder of the log.
    save_first : callable
        Keeps the job and returns in words what became of it.
    """

    _told = Signal(str)

    def __init__(self, logs: Path, save_first: Callable[[], str], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._save_first = save_first
        self._trail: deque[str] = deque(maxlen=TRAIL)
        self._handler = _log_to(logs)
        self._logs = logs if self._handler else None
        self._hard: TextIOWrapper | None = None
        self.dialog: CrashDialog | None = None
        # Queued: a fault may come out of a painting, or out of another thread.
        self._told.connect(self._show, Qt.ConnectionType.QueuedConnection)

    def install(self) -> None:
        """Take over from Python and Qt what they would print or end the program with."""
        sys.excepthook = self._hook
        threading.excepthook = self._thread_hook
        sys.unraisablehook = self._unraisable_hook
        qInstallMessageHandler(_qt_message)
        if self._logs and not faulthandler.is_enabled():
            self._hard = (self._logs / HARD_NAME).open("a", encoding="utf-8")
            faulthandler.enable(self._hard)

    def close(self) -> None:
        """Give everything back that `install` took, and close the log."""
        sys.excepthook = sys.__excepthook__
        threading.excepthook = threading.__excepthook__
        sys.unraisablehook = sys.__unraisablehook__
        qInstallMessageHandler(None)
        if self._hard:
            faulthandler.disable()
            self._hard.close()
            self._hard = None
        if self._handler:
            for name in _LOGGERS:
                logging.getLogger(name).removeHandler(self._handler)
            self._handler.close()
            self._handler = None

    def follow(self, actions: Iterable[QAction]) -> None:
        """Note the names of actions as they are used, for the details."""
        for action in actions:
            action.triggered.connect(partial(self.note, action.objectName()))

    def note(self, what: str, _ticked: bool = False) -> None:
        """Note what was just done, in a word without anything personal."""
        self._trail.append(f"{datetime.now():%H:%M:%S} {what}")

    def report(self, trace: str) -> None:
        """Log a fault and tell of it; may be called from any thread."""
        LOG.error("%s", trace)
        if sys.stderr is not None:  # there is none where no terminal is
            print(trace, file=sys.stderr)
        thread = QThread.currentThread()
        if thread is self.thread() and thread.loopLevel() == 0:
            self._tell_without_loop(trace)
        else:
            self._told.emit(trace)

    # --- where faults come from

    def _hook(
        self, kind: type[BaseException], error: BaseException, trace: TracebackType | None
    ) -> None:
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, trace)
            return
        self.report("".join(traceback.format_exception(kind, error, trace)))

    def _thread_hook(self, found: threading.ExceptHookArgs) -> None:
        trace = traceback.format_exception(found.exc_type, found.exc_value, found.exc_traceback)
        self.report("".join(trace))

    def _unraisable_hook(self, found: sys.UnraisableHookArgs) -> None:
        if sys.is_finalizing():
            sys.__unraisablehook__(found)
            return
        trace = traceback.format_exception(found.exc_type, found.exc_value, found.exc_traceback)
        self.report(f"{found.err_msg or 'Ignored in'}: {found.object!r}\n{''.join(trace)}")

    # --- telling

    def _tell_without_loop(self, trace: str) -> None:
        """Tell of a fault before the window lives: the program is about to end with it."""
        if QGuiApplication.platformName() in ("offscreen", "minimal", ""):
            print(self._kept(), file=sys.stderr)
            return
        CrashDialog(self._kept(), details(trace, self._trail), self._logs, may_go_on=False).exec()

    def _show(self, trace: str) -> None:
        if self.dialog is not None and self.dialog.isVisible():
            self.dialog.count_another()  # one at a time: what follows is in the log
            return
        self.dialog = CrashDialog(self._kept(), details(trace, self._trail), self._logs)
        self.dialog.close_wanted.connect(self._leave)
        self.dialog.open()

    def _leave(self) -> None:
        QCoreApplication.exit(STATUS)

    def _kept(self) -> str:
        try:
            return self._save_first()
        except Exception:  # the fault may be in the very thing that keeps the job
            LOG.exception("the job could not be kept")
            return "Your job could not be kept: save it under another name before you go on."


def details(trace: str, trail: Iterable[str] = ()) -> str:
    """Return what helps to find a fault: versions, the last actions, the trace; nothing personal."""
    told = [
        f"patternsim {patternsim.__version__}, Python {platform.python_version()}, "
        f"PySide6 {PySide6.__version__}, numpy {np.__version__}, "
        f"{platform.system()} {platform.release()} {platform.machine()}",
        "",
        f"Last actions: {', '.join(trail) or 'none'}",
        "",
        trace,
    ]
    return without_home("\n".join(told), Path.home())


def without_home(text: str, home: Path) -> str:
    """Return the text with '~' for the user's own folder, however it is written."""
    plain = str(home)
    if home == home.parent:
        return text  # the root of the disk is nobody's
    for written in (plain.replace("\\", "\\\\"), plain, home.as_posix()):
        text = text.replace(written, "~")
    return text


_LOGGERS = ("patternsim", "patternsim_app")


def _log_to(logs: Path) -> RotatingFileHandler | None:
    """Have the log written into a folder; without one the window is still of use, but that is told."""
    try:
        logs.mkdir(parents=True, exist_ok=True)
        if not os.access(logs, os.W_OK):
            raise PermissionError(f"{logs} cannot be written to")
    except OSError as problem:
        LOG.warning("there is no log: %s", problem)
        return None
    handler = RotatingFileHandler(
        logs / LOG_NAME, maxBytes=LOG_BYTES, backupCount=LOG_FILES, encoding="utf-8", delay=True
    )
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    for name in _LOGGERS:
        logging.getLogger(name).addHandler(handler)
    return handler


def _qt_message(kind: QtMsgType, context: QMessageLogContext, text: str) -> None:
    level = {
        QtMsgType.QtDebugMsg: logging.DEBUG,
        QtMsgType.QtInfoMsg: logging.INFO,
        QtMsgType.QtWarningMsg: logging.WARNING,
    }.get(kind, logging.ERROR)
    LOG.log(level, "Qt: %s", text)
