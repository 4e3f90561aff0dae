"""The checks that read the code without running it, so that one command covers everything."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest


def run(root, *command):
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.fail(f"{' '.join(command)}\n{done.stdout}{done.stderr}", pytrace=False)


def test_code_is_formatted(root):
    run(root, sys.executable, "-m", "ruff", "format", "--check", "--diff", ".")


def test_code_passes_the_lint_rules(root):
    run(root, sys.executable, "-m", "ruff", "check", "--output-format=concise", ".")


@pytest.mark.slow
def test_types_agree(root):
    run(root, sys.executable, "-m", "mypy")


def test_imports_point_downwards(root):
    # The one tool here that cannot be run as a module.
    command = shutil.which("lint-imports", path=Path(sys.executable).parent)
    assert command, "import-linter is not installed beside this Python"
    run(root, command)
