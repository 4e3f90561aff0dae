"""Brings the window up: letters and colours, the window with the last picture, then the work.

What is slow to load (numba, scipy) is loaded on the worker's thread, after the first painting.
"""

from __future__ import annotations

import logging
import os
import sys
from pathlib import Path

import platformdirs
from PySide6.QtCore import QObject, Qt, QTimer
from PySide6.QtWidgets import QApplication

from patternsim_app import settings
from patternsim_app.controllers.desk import Desk
from patternsim_app.controllers.looks import LooksController
from patternsim_app.crash import Crashes
from patternsim_app.jobs import Jobs
from patternsim_app.main_window import MainWindow
from patternsim_app.resources import load_fonts
from patternsim_app.settings import Settings

START = "feather-from-w"
"""The job that lies on the bench at the first start."""
USUAL_SIZE = (1280, 800)
SMALL_WIDTH = 1500
"""On a narrower screen the window takes all of it."""


class Program(QObject):
    """The application with its one window."""

    def __init__(self, application: QApplication, *, folder: Path | None = None) -> None:
        """Make the window; it is not shown yet.

        Parameters
        ----------
        application : QApplication
        folder : Path, optional
            Where settings, journals and pictures are kept; the user's own places if not given.
        """
        super().__init__(application)
        self._ini = None if folder is None else folder / "settings.ini"
        data, cache, logs = _places(folder)
        load_fonts()
        loaded, notes = settings.load(self._ini)
        self.looks = LooksController(loaded, self)
        self.looks.dress()
        self.window = MainWindow()
        self.desk = Desk(
            self.window, self.looks, journals=data / "journal", pictures=cache / "pictures",
            jobs=Jobs(self),
        )  # fmt: skip
        self.crashes = Crashes(logs, self.desk.recovering.write_now, self)
        self.desk.jobs.crashed.connect(self.crashes.report)
        self.crashes.follow(self.desk.actions.values())
        self.looks.settings_changed.connect(self._settings_changed)
        self.window.may_close = self._may_close
        self._notes = notes

    def show(self, path: str | None = None) -> None:
        """Open a job and show the window; work begins when it is on the screen."""
        self._restore()
        self.desk.jobs.hold()
        self.window.first_painted.connect(self._painted)
        self.desk.open_first(path, START)
        for note in self._notes:
            self.desk.telling.trouble(note)
        self.desk.welcome.offer()
        self.window.show()

    def _painted(self) -> None:
        # Not at once: the picture of the window is still on its way to the screen.
        QTimer.singleShot(0, self._go_on)

    def _go_on(self) -> None:
        self.desk.jobs.go_on()
        self.desk.recovering.look_for_lost()

    def end(self) -> None:
        """Let go of all threads and of what was taken over from Python and Qt."""
        self.desk.jobs.close()
        self.crashes.close()

    def _restore(self) -> None:
        kept = self.looks.settings
        if not kept.geometry or not self.window.restoreGeometry(kept.geometry):
            screen = self.window.screen().availableGeometry()
            self.window.resize(min(USUAL_SIZE[0], screen.width()), min(USUAL_SIZE[1], screen.height()))
            if screen.width() < SMALL_WIDTH:
                self.window.setWindowState(Qt.WindowState.WindowMaximized)
        self.window.restore_layout(kept.layout)

    def _settings_changed(self, changed: Settings) -> None:
        try:
            settings.store(changed, self._ini)
        except settings.SettingsError as error:
            self.desk.telling.trouble(str(error))

    def _may_close(self) -> bool:
        if not self.desk.close():
            return False
        self.looks.change(geometry=self.window.saveGeometry().data(), layout=self.window.layout_state())
        return True


def open_window(path: str | None) -> int:
    """Run the window until it is closed; return the exit status."""
    application = QApplication(sys.argv[:1])
    application.setApplicationName("patternsim")
    application.setApplicationDisplayName("patternsim")
    application.setStyle("fusion")
    program = Program(application)
    program.crashes.install()
    program.show(path)
    application.aboutToQuit.connect(program.end)
    status = application.exec()
    if not program.desk.jobs.close(timeout=0.0):
        # A thread still draws or packs a large picture: nobody is to wait for what nobody gets.
        logging.shutdown()
        os._exit(status)
    return status


def _places(folder: Path | None) -> tuple[Path, Path, Path]:
    """Return where data, pictures and logs are kept."""
    if folder is not None:
        return folder / "data", folder / "cache", folder / "log"
    return (
        platformdirs.user_data_path("patternsim"),
        platformdirs.user_cache_path("patternsim"),
        platformdirs.user_log_path("patternsim"),
    )
