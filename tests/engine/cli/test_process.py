"""The command line as a process of its own: pipes, signals, start."""

import os
import signal
import subprocess
import sys
import time

import pytest

from patternsim.job import starting_job

ENVIRONMENT = {key: value for key, value in os.environ.items() if key != "COLUMNS"}
QUICK = ("--level", "quick")


def interruptible():
    """Let an interrupt through even where the tests run in the background of a shell."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.fixture
def start(root, tmp_path):
    """Return a function that starts the program in a folder with the starting job `job.toml`."""
    (tmp_path / "job.toml").write_text(starting_job("feather"), encoding="utf-8")
    started = []

    def begin(*words, options=(), **more):
        environment = {**ENVIRONMENT, "PYTHONPATH": str(root), **more.pop("env", {})}
        process = subprocess.Popen(
            [sys.executable, *options, "-m", "patternsim", *words],
            cwd=tmp_path, env=environment, stdout=more.pop("stdout", subprocess.PIPE),
            stderr=subprocess.PIPE, text=True, encoding="utf-8",
            preexec_fn=None if os.name == "nt" else interruptible, **more,
        )  # fmt: skip
        started.append(process)
        return process

    yield begin
    for process in started:
        if process.poll() is None:
            process.kill()
        process.communicate()


def finished(process):
    out, err = process.communicate(timeout=60)
    return process.returncode, out, err


def test_it_runs_as_a_module(start):
    code, out, err = finished(start("steps", "job.toml", *QUICK))
    assert (code, err) == (0, "")
    assert out.startswith("Bar feather\n")


def test_its_exit_code_is_the_commands(start):
    assert finished(start("steps", "none.toml"))[0] == 3
    assert finished(start("stepz"))[0] == 2


@pytest.mark.skipif(os.name == "nt", reason="no such pipes there")
@pytest.mark.parametrize(
    "words", [["new"], ["steps", "job.toml", *QUICK], ["steps", "job.toml", "--json", *QUICK]]
)
def test_a_reader_who_leaves_early_is_no_fault(words, start):
    process = start(*words)
    # The pipe is closed at the other end before the first line is printed.
    process.stdout.close()
    process.stdout = None
    assert process.wait(timeout=60) == 0
    assert process.stderr.read() == ""


@pytest.mark.skipif(os.name == "nt", reason="no such shell there")
def test_the_first_line_is_enough_for_head(start, root, tmp_path):
    finished(start("new"))
    steps = f'"{sys.executable}" -m patternsim steps job.toml --json --level quick'
    line = f"{steps} | head -1; exit ${{PIPESTATUS[0]}}"
    done = subprocess.run(
        ["bash", "-c", line], cwd=tmp_path, env={**ENVIRONMENT, "PYTHONPATH": str(root)},
        capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    assert (done.returncode, done.stdout, done.stderr) == (0, "[\n", "")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no such device here")  # noqa: PTH110
@pytest.mark.parametrize(
    "words", [["new"], ["steps", "job.toml", *QUICK], ["answers", "job.toml", "--json", *QUICK]]
)
def test_a_full_disk_is_told_in_one_sentence(words, start):
    with open("/dev/full", "w") as full:  # noqa: PTH123
        code, _, err = finished(start(*words, stdout=full))
    assert code == 2
    assert err == "patternsim: the output cannot be written: no space left on device; make room\n"


def opened_for_writing(pipe, process):
    """Open the writing end of a pipe as soon as the process reads from the other."""
    for _ in range(600):
        assert process.poll() is None, finished(process)
        try:
            return os.open(pipe, os.O_WRONLY | os.O_NONBLOCK)
        except OSError:
            time.sleep(0.05)
    return pytest.fail("the job is never opened")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no such pipes there")
def test_an_interrupt_is_exit_4(start, tmp_path):
    # A job that never comes: the program waits for it, well inside its own code.
    os.mkfifo(tmp_path / "never.toml")
    process = start("steps", "never.toml")
    handle = opened_for_writing(tmp_path / "never.toml", process)
    process.send_signal(signal.SIGINT)
    # Should the signal come just before it begins to wait, the end of the job wakes it up.
    time.sleep(0.5)
    os.close(handle)
    code, out, err = finished(process)
    assert (code, out, err) == (4, "", "patternsim: cancelled; nothing was written\n")


def imported(start, *words):
    """Return the modules a command imports."""
    _, _, err = finished(start(*words, options=("-X", "importtime")))
    return {line.split("|")[-1].strip() for line in err.splitlines() if line.startswith("import time:")}


def test_a_starting_job_needs_no_heavy_packages(start):
    for words in (["new"], ["new", "feather", "-o", "mine.toml"]):
        names = imported(start, *words)
        assert "patternsim.cli" in names
        assert not names & {
            "scipy.interpolate",
            "scipy.ndimage",
            "tomlkit",
            "matplotlib",
            "hypothesis",
            "skimage",
        }
