"""The engine runs where no window toolkit is installed, and a job is read without its heavy parts."""

import subprocess
import sys

import pytest

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


HEAVY = {"llvmlite", "numba", "scipy", "PIL"}


@pytest.mark.parametrize(
    "name",
    ["patternsim", "patternsim.job", "patternsim.step", "patternsim.press", "patternsim.work",
     "patternsim.wording"],
)  # fmt: skip
def test_reading_a_job_waits_for_no_heavy_part(name):
    program = f"import sys\nimport {name}\nprint(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert not HEAVY & {one.split(".")[0] for one in done.stdout.split()}


def test_working_a_job_takes_the_compiler():
    # Or the test above would see nothing.
    program = (
        "import sys\nfrom patternsim import run\nfrom patternsim.job import parse, starting_job\n"
        "run(parse(starting_job('w-bar')))\nprint(*sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert "numba" in done.stdout.split()
