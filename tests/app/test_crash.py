"""Faults of the program: the job kept first, one dialog, a log, and nothing personal in what is told."""

import logging
import subprocess
import sys
import threading
from pathlib import Path, PureWindowsPath

import pytest
from PySide6.QtCore import QObject, QTimer, Signal, qWarning
from PySide6.QtGui import QAction, QGuiApplication
from PySide6.QtWidgets import QPushButton

from patternsim_app import crash
from patternsim_app.crash import STATUS, Crashes, details, without_home


class Keeper:
    """Keeps the job, or fails to, and remembers how often."""

    def __init__(self):
        self.times, self.trouble = 0, None

    def __call__(self):
        self.times += 1
        if self.trouble:
            raise self.trouble
        return "Your job was kept and will be offered at the next start."


@pytest.fixture
def keeper():
    return Keeper()


@pytest.fixture
def crashes(qtbot, tmp_path, keeper, monkeypatch):
    # What pytest has installed itself comes back after the test.
    for place, name in ((sys, "excepthook"), (sys, "unraisablehook"), (threading, "excepthook")):
        monkeypatch.setattr(place, name, getattr(place, name))
    made = Crashes(tmp_path / "log", keeper)
    yield made
    made.close()
    if made.dialog:
        made.dialog.close()
        made.dialog.deleteLater()


def log_of(tmp_path):
    return (tmp_path / "log" / crash.LOG_NAME).read_text(encoding="utf-8")


def shown(crashes, qtbot):
    qtbot.waitUntil(lambda: crashes.dialog is not None and crashes.dialog.isVisible())
    return crashes.dialog


def in_loop(qtbot, work):
    """Run something from within the event loop, as all does once the window lives."""
    QTimer.singleShot(0, work)
    qtbot.wait(20)


class Emitter(QObject):
    told = Signal()

    def break_down(self):
        raise ZeroDivisionError("the belly has no length")


def test_a_fault_in_a_slot_keeps_the_job_then_logs_and_tells(crashes, qtbot, tmp_path, keeper, capsys):
    crashes.install()
    emitter = Emitter()
    emitter.told.connect(emitter.break_down)
    in_loop(qtbot, emitter.told.emit)
    dialog = shown(crashes, qtbot)
    assert keeper.times == 1
    assert "Your job was kept" in dialog.said.text()
    for place in (dialog.details.toPlainText(), log_of(tmp_path), capsys.readouterr().err):
        assert "ZeroDivisionError: the belly has no length" in place
        assert "break_down" in place


def test_a_fault_in_another_thread_is_told_on_the_main_one(crashes, qtbot, keeper):
    crashes.install()
    threads = []
    keep = crashes._save_first
    crashes._save_first = lambda: threads.append(threading.current_thread()) or keep()
    worker = threading.Thread(target=Emitter.break_down, args=(None,))
    worker.start()
    worker.join()
    assert "ZeroDivisionError" in shown(crashes, qtbot).details.toPlainText()
    assert threads == [threading.main_thread()]


def test_a_fault_python_would_only_print_is_told_too(crashes, qtbot):
    crashes.install()

    class Bad:
        def __del__(self):
            raise ValueError("on the way out")

    def drop():
        Bad()

    in_loop(qtbot, drop)
    assert "ValueError: on the way out" in shown(crashes, qtbot).details.toPlainText()


def test_one_dialog_at_a_time_and_the_job_is_kept_once_for_it(crashes, qtbot, tmp_path, keeper):
    for k in range(4):
        in_loop(qtbot, lambda k=k: crashes.report(f"fault {k}"))
    dialog = shown(crashes, qtbot)
    assert "fault 0" in dialog.details.toPlainText()
    assert "3 times more" in dialog.more.text()
    assert dialog.more.isVisible()
    assert keeper.times == 1
    assert all(f"fault {k}" in log_of(tmp_path) for k in range(4))


def test_after_going_on_the_next_fault_is_told_anew(crashes, qtbot, keeper):
    in_loop(qtbot, lambda: crashes.report("first"))
    first = shown(crashes, qtbot)
    press(first, "Go on", qtbot)
    in_loop(qtbot, lambda: crashes.report("second"))
    assert "second" in shown(crashes, qtbot).details.toPlainText()
    assert keeper.times == 2


def test_a_job_that_cannot_be_kept_is_told_and_the_reason_logged(crashes, qtbot, tmp_path, keeper):
    keeper.trouble = OSError("disk full")
    in_loop(qtbot, lambda: crashes.report("fault"))
    assert "could not be kept" in shown(crashes, qtbot).said.text()
    assert "disk full" in log_of(tmp_path)


def press(dialog, text, qtbot):
    button = next(one for one in dialog.findChildren(QPushButton) if one.text() == text)
    button.click()


def test_details_are_copied_as_they_stand(crashes, qtbot):
    in_loop(qtbot, lambda: crashes.report("the trace"))
    dialog = shown(crashes, qtbot)
    press(dialog, "Copy details", qtbot)
    assert QGuiApplication.clipboard().text() == dialog.details.toPlainText()


def test_closing_the_program_ends_the_loop_with_a_status_of_its_own(crashes, qtbot, monkeypatch):
    left = []
    monkeypatch.setattr(crash.QCoreApplication, "exit", left.append)
    in_loop(qtbot, lambda: crashes.report("fault"))
    press(shown(crashes, qtbot), "Close the program", qtbot)
    assert left == [STATUS]


def test_the_last_actions_are_told_by_name(crashes, qtbot):
    actions = []
    for name in ("save", "turn-left"):
        action = QAction(name)
        action.setObjectName(name)
        actions.append(action)
    crashes.follow(actions)
    for _ in range(crash.TRAIL + 5):
        actions[0].trigger()
    actions[1].trigger()
    in_loop(qtbot, lambda: crashes.report("fault"))
    line = shown(crashes, qtbot).details.toPlainText().splitlines()[2]
    assert line.endswith(" turn-left")
    assert line.count(" save") == crash.TRAIL - 1


def test_details_name_versions_and_not_the_user():
    told = details(f'File "{Path.home()}/jobs/mine.py", line 3')
    for name in ("patternsim ", "Python ", "PySide6 ", "numpy "):
        assert name in told
    assert 'File "~/jobs/mine.py"' in told
    assert str(Path.home()) not in told


@pytest.mark.parametrize(
    ("home", "text", "expected"),
    [
        (Path("/folk/ada"), "/folk/ada/x and /folk/ada", "~/x and ~"),
        (Path("/"), "/usr/lib/x", "/usr/lib/x"),
        (PureWindowsPath(r"C:\Folk\ada"), r"'C:\\Folk\\ada\\x' C:\Folk\ada\y C:/Folk/ada/z",
         r"'~\\x' ~\y ~/z"),
    ],
)  # fmt: skip
def test_the_users_folder_is_left_out_however_it_is_written(home, text, expected):
    assert without_home(text, home) == expected


def test_what_qt_says_goes_to_the_log(crashes, tmp_path):
    crashes.install()
    qWarning("a screen has gone")
    assert "WARNING patternsim_app: Qt: a screen has gone" in log_of(tmp_path)


def test_the_log_does_not_grow_for_ever(crashes, tmp_path):
    for _ in range(40):
        logging.getLogger("patternsim").error("x" * (crash.LOG_BYTES // 8))
    sizes = [file.stat().st_size for file in (tmp_path / "log").iterdir()]
    assert len(sizes) == 1 + crash.LOG_FILES
    assert max(sizes) <= crash.LOG_BYTES


def test_without_a_place_for_the_log_faults_are_told_all_the_same(qtbot, tmp_path, keeper, caplog):
    (tmp_path / "log").write_text("a file stands where the folder should be")
    crashes = Crashes(tmp_path / "log", keeper)
    assert "there is no log" in caplog.text
    in_loop(qtbot, lambda: crashes.report("fault"))
    dialog = shown(crashes, qtbot)
    folder = next(b for b in dialog.findChildren(QPushButton) if "log folder" in b.text())
    assert not folder.isEnabled()
    dialog.close()
    dialog.deleteLater()
    crashes.close()


def test_closing_gives_the_hooks_back(crashes):
    crashes.install()
    assert sys.excepthook == crashes._hook
    crashes.close()
    assert sys.excepthook is sys.__excepthook__
    assert threading.excepthook is threading.__excepthook__
    assert sys.unraisablehook is sys.__unraisablehook__
    handlers = [h for name in ("patternsim", "patternsim_app") for h in logging.getLogger(name).handlers]
    assert not any(getattr(handler, "baseFilename", "").endswith(crash.LOG_NAME) for handler in handlers)


def test_stopping_from_the_keyboard_is_no_fault(crashes, monkeypatch):
    passed = []
    monkeypatch.setattr(sys, "__excepthook__", lambda *found: passed.append(found[0]))
    crashes._hook(KeyboardInterrupt, KeyboardInterrupt(), None)
    assert passed == [KeyboardInterrupt]
    assert crashes.dialog is None


START = """
import os, sys
os.environ["QT_QPA_PLATFORM"] = "offscreen"
from pathlib import Path
from PySide6.QtWidgets import QApplication
from patternsim_app.crash import Crashes
application = QApplication([])
crashes = Crashes(Path(sys.argv[1]), lambda: "The job was kept.")
crashes.install()
{fault}
"""


def run(tmp_path, fault):
    return subprocess.run(
        [sys.executable, "-c", START.format(fault=fault), str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


def test_a_fault_before_the_window_lives_ends_the_program_and_is_told(tmp_path):
    done = run(tmp_path, "raise ValueError('no window came of it')")
    assert done.returncode == 1
    assert "ValueError: no window came of it" in done.stderr
    assert "The job was kept." in done.stderr
    assert "ValueError" in (tmp_path / crash.LOG_NAME).read_text(encoding="utf-8")


@pytest.mark.skipif(sys.platform == "win32", reason="ends differently there")
def test_a_hard_stop_leaves_its_trace_in_the_log_folder(tmp_path):
    done = run(tmp_path, "import faulthandler; faulthandler._sigsegv()")
    assert done.returncode != 0
    assert "Segmentation fault" in (tmp_path / crash.HARD_NAME).read_text(encoding="utf-8")
