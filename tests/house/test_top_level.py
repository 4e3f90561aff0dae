"""What lies in the repository: a short top level, and nothing of one machine or network."""

import re
import shutil
import subprocess

import pytest

from house import sources

TOP_LEVEL = {
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "app",
    "assets",
    "patternsim",
    "pyproject.toml",
    "tests",
}

# Folders of one machine. What follows a letter is the rest of a longer path, and harmless.
MACHINE_PATH = re.compile(r"(?<![\w.])/(?:home/[\w.-]+|root|work|Users/[\w.-]+)/")
# Where packages come from is for each machine to say, not for this project.
REGISTRY = re.compile(r"\b(?:pypi|pythonhosted|npmjs|anaconda)\.(?:com|io|org)\b")


@pytest.fixture(scope="module")
def tracked():
    """Return the files under version control, as text paths from the top of the clone."""
    if shutil.which("git") is None or not (sources.ROOT / ".git").exists():
        pytest.skip("not a checkout")
    done = subprocess.run(
        ["git", "ls-files", "-z"], cwd=sources.ROOT, capture_output=True, text=True, check=False
    )
    if done.returncode:
        pytest.skip(f"not a checkout that git reads here: {done.stderr.strip()}")
    # A file deleted but not yet committed is still listed.
    names = [name for name in done.stdout.split("\0") if name]
    return [name for name in names if (sources.ROOT / name).is_file()]


def test_the_top_level_is_short(tracked):
    tops = {name.split("/")[0] for name in tracked}
    assert {top for top in tops if not top.startswith(".")} <= TOP_LEVEL


def test_app_is_a_folder_to_run_and_no_package():
    # As a package it would be importable as `app` by every other project on the machine.
    assert not (sources.APP / "__init__.py").exists()


def test_no_file_names_a_machine_or_a_registry(tracked):
    found = []
    for name in tracked:
        try:
            text = (sources.ROOT / name).read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue  # a picture or a font
        for number, line in enumerate(text.splitlines(), start=1):
            if MACHINE_PATH.search(line) or REGISTRY.search(line):
                found.append(f"{name}:{number}: {line.strip()[:100]}")
    assert not found, "\n".join(found)


@pytest.mark.parametrize("line", ["{}home/ann/x", "'{}root/x'", "see {}work/main", "({}Users/bo/"])
def test_a_machine_path_is_seen(line):
    assert MACHINE_PATH.search(line.format("/"))


@pytest.mark.parametrize(
    "line", ["patternsim{0}work{0}run.py", "..{0}home{0}x", "a{0}root{0}b", "n{0}work{0}"]
)
def test_a_path_of_the_project_is_let_pass(line):
    assert not MACHINE_PATH.search(line.format("/"))
