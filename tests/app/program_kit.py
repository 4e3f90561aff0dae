"""The whole program for a test: in a folder of its own, worked out, closed without questions."""

import time

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from patternsim_app.startup import Program


def made(folder, *, size=(1280, 800)):
    """Return the program, shown and at rest."""
    program = Program(QApplication.instance(), folder=folder)
    program.show()
    window = program.window
    window.setWindowState(Qt.WindowState.WindowNoState)
    window.resize(*size)
    rest(program)
    return program


def rest(program, seconds=30.0):
    """Wait until everything is worked out and shown."""
    end = time.monotonic() + seconds
    quiet = 0
    while quiet < 5 and time.monotonic() < end:
        QApplication.processEvents()
        time.sleep(0.004)
        done = program.desk.working.done
        still = done is not None and program.desk.jobs.is_idle
        same = still and (done.job is program.desk.session.document.job or done.worked.refused)
        quiet = quiet + 1 if same else 0
    assert quiet >= 5, "the program does not come to rest"


def closed(program):
    """Close the program; changes are thrown away."""
    program.window.may_close = lambda: True
    program.window.close()
    program.end()
    program.desk.journal.close()
    program.window.deleteLater()
    program.deleteLater()
    QApplication.sendPostedEvents(None, 52)
    QApplication.processEvents()
