"""The engine runs where no window toolkit is installed."""

import subprocess
import sys

from house import sources

PROGRAM = """
import importlib
import sys


class Refuse:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in {"PySide6", "shiboken6", "patternsim_app"}:
            raise ImportError(f"the engine must not import {name}")


sys.meta_path.insert(0, Refuse())
for name in sys.argv[1:]:
    importlib.import_module(name)
"""


def engine_imports(*names):
    return subprocess.run(
        [sys.executable, "-c", PROGRAM, *names], capture_output=True, text=True, check=False
    )


def test_every_engine_module_imports_without_a_window_toolkit():
    done = engine_imports(*sources.engine_modules())
    assert done.returncode == 0, done.stderr


def test_the_refusal_itself():
    assert "must not import" in engine_imports("patternsim_app").stderr
