"""What is loaded before the window is on the screen: nothing slow."""

import json
import subprocess
import sys

SCRIPT = """
import json, sys, time
from pathlib import Path
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from patternsim_app.startup import Program
application = QApplication([])
program = Program(application, folder=Path(sys.argv[1]))
told = {}
def painted():
    told["loaded"] = sorted(name for name in sys.modules if name.split(".")[0] in (
        "matplotlib", "numba", "scipy", "skimage", "PIL", "tomlkit"))
    told["steps"] = len(program.window.card.rows)
    told["picture"] = program.window.bench.face._picture is not None
def judged(found):
    told["tip"] = found.tip.verdict
    told["threads"] = program.desk.jobs.close()
    application.quit()
program.window.first_painted.connect(painted)
program.desk.working.judged.connect(judged)
QTimer.singleShot(60_000, application.quit)
program.show()
application.exec()
program.end()
print(json.dumps(told))
"""


def test_the_window_is_up_before_anything_slow_is_loaded(tmp_path, root):
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        cwd=root,
    )
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout.splitlines()[-1])
    assert told["loaded"] == []
    assert told["steps"] == 34, "32 steps, the blade and the shop"
    assert told["picture"], "the picture that is brought along"
    assert told["tip"] == "on"
