"""Closing the window: at once, whatever is still being drawn or packed."""

import subprocess
import sys
import time

import pytest

SCRIPT = """
import sys, time
from pathlib import Path
from PySide6.QtCore import QTimer
from patternsim_app import startup
folder = Path(sys.argv[1])
startup._places = lambda _: (folder / "data", folder / "cache", folder / "log")
shown = startup.Program._go_on

def deaf(given, progress):
    print("begun", flush=True)
    time.sleep(30)

def go_on(program):
    shown(program)
    for background in (False, True):
        program.desk.jobs.start(
            f"deaf{background}", deaf, None, done=print, failed=print, background=background
        )
    QTimer.singleShot(400, lambda: close(program))

def close(program):
    print(time.time(), flush=True)
    program.window.close()

startup.Program._go_on = go_on
sys.exit(startup.open_window(None))
"""


@pytest.mark.parametrize("_again", [1, 2])
def test_the_program_ends_at_once_under_work_that_does_not_listen(tmp_path, _again):
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(tmp_path)], capture_output=True, text=True, check=False,
        timeout=60,
    )  # fmt: skip
    ended = time.time()
    assert done.returncode == 0, done.stderr
    *begun, closed = done.stdout.split()
    assert begun
    # Half a second, and what a busy machine adds.
    assert ended - float(closed) < 1.0
