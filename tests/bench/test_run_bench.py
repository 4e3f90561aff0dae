"""How fast a job is worked: from nothing, after one number was dragged, its answers, and the imports.

Run alone on a quiet machine. Bars are ratios to sums in plain arrays measured in the same run, so that a
busy or a slow machine shifts both; the times beside them are the best of several runs.
"""

import os
import subprocess
import sys
import time

import numpy as np
import pytest

from engine.press.reference_flows import Drag, fold_velocity, follow, swirl_velocity
from patternsim.answers import answers
from patternsim.job import parse, starting_job
from patternsim.press import HalfBlock, WedgeDrag, compiled, levels, parting, splitting
from patternsim.press.keeping import Shelf
from patternsim.press.quick import corner_fold
from patternsim.work import run, work_out

JOB = "feather-from-w"
POINTS = 24_000


def best(work, runs=9, before=lambda: None):
    """Return the best wall time of several runs, s."""
    walls = []
    for _ in range(runs):
        before()
        start = time.perf_counter()
        work()
        walls.append(time.perf_counter() - start)
    return min(walls)


def forget():
    """Forget presses and splits worked out before."""
    levels._quick.cache_clear()
    splitting.split.cache_clear()


@pytest.fixture(scope="module")
def job():
    job = parse(starting_job(JOB))
    answers(run(job, "quick"))  # everything compiled
    return job


@pytest.fixture(scope="module")
def yardstick():
    """Time of one swirl of a section in plain arrays, s."""
    points = np.random.default_rng(0).uniform(-1.0, 1.0, (POINTS, 2))
    return best(
        lambda: follow(lambda at, _: swirl_velocity(at), points, start=0.3, end=0.0, steps=12), runs=15
    )


def told(name, seconds, yardstick):
    print(f"\n{name}: {1e3 * seconds:.1f} ms, {seconds / yardstick:.2f} of the yardstick", end="")


def dragged(job, place):
    """Return the job with a number of the step at `place` of its longest bar, or near it, changed."""
    k = max(range(len(job.bar)), key=lambda k: len(job.bar[k].step))
    steps = list(job.bar[k].step)
    for at in sorted(range(len(steps)), key=lambda at: abs(at - place % len(steps))):
        step = steps[at]
        for name in ("down_pct", "width_mm", "thickness_mm", "height_mm", "length_mm", "included_deg"):
            value = getattr(step, name, None)
            if value:
                steps[at] = step.model_copy(update={name: value * 1.004})
                bars = list(job.bar)
                bars[k] = bars[k].model_copy(update={"step": tuple(steps)})
                return job.model_copy(update={"bar": tuple(bars)}), step.id
    raise AssertionError("no number to drag")


def test_a_job_from_nothing(job, yardstick):
    # Measured 33 to 43 ms, 4 to 5 of the yardstick; in plain arrays it took 370 ms.
    seconds = best(lambda: run(job, "quick"), before=forget)
    told("run from nothing", seconds, yardstick)
    again = best(lambda: run(job, "quick"))
    told("run again, presses known", again, yardstick)
    assert seconds < 8.0 * yardstick
    assert again < seconds / 3.0


@pytest.mark.parametrize("level", ["coarse", "fine"])
def test_a_job_by_the_flow_from_nothing_and_from_the_shelf(job, level, yardstick, tmp_path, monkeypatch):
    def with_shelf(shelf):
        monkeypatch.setattr("patternsim.press.keeping.shelf", lambda: shelf)
        parting._open.clear()

    with_shelf(Shelf(tmp_path / "warm"))
    run(job, level)  # everything compiled
    with_shelf(Shelf(tmp_path / "cold"))
    nothing = best(lambda: run(job, level), runs=1)
    told(f"{level} from nothing", nothing, yardstick)
    near = best(lambda: run(job, level), runs=3)
    told(f"{level} again", near, yardstick)
    disk = best(lambda: run(job, level), runs=3, before=lambda: with_shelf(Shelf(tmp_path / "cold")))
    told(f"{level} at the next start", disk, yardstick)
    # Measured 3.1 s coarse and 7 s fine from nothing, 0.1 s again and 0.15 s at the next start.
    assert near < 0.1 * nothing
    assert disk < 0.2 * nothing


def test_the_answers(job, yardstick):
    # Measured 19 ms, 2.2 of the yardstick; laid out anew for every question it took 295 ms.
    result = run(job, "quick")
    seconds = best(lambda: answers(result))
    told("answers", seconds, yardstick)
    assert seconds < 4.5 * yardstick


@pytest.mark.parametrize("place", [0, 0.5, -1], ids=["first", "middle", "last"])
def test_a_number_dragged(job, yardstick, place):
    longest = max(len(bar.step) for bar in job.bar)
    at = int(place * longest) if place >= 0 else longest - 1
    other, step_id = dragged(job, at)
    before = work_out(job, "quick").result
    seconds = best(lambda: work_out(other, "quick", before=before), before=forget)
    told(f"dragging step {step_id}", seconds, yardstick)
    worked = work_out(other, "quick", before=before)
    assert worked.refused is None
    assert any(new is not old for new, old in zip(worked.result.steps, before.steps, strict=True))
    # Measured 3.9 to 5.3, 2.8 to 4.1 and 0.3: the last step costs next to nothing.
    assert seconds < (8.0 if place != -1 else 0.8) * yardstick


def test_compiled_flows_against_plain_arrays():
    points = np.random.default_rng(1).uniform(-1.0, 1.0, (POINTS, 2))
    weights = corner_fold(0.4)
    half = HalfBlock(
        length=100.0, width=60.0, outer=30.0, outer_slope=0.0, nose_depth=92.0, nose=4.0,
        included_deg=45.0, friction=0.8,
    )  # fmt: skip
    drag, plain = WedgeDrag(half), Drag(half)
    deep = np.random.default_rng(2).uniform((-6.0, 0.0), (100.0, 30.0), (POINTS, 2))
    velocity = fold_velocity(weights)
    pairs = {
        # Measured 20, 170 and 18 to 24 times.
        "swirl": (
            lambda: compiled.swirled(points, 0.3, 0.0, 12),
            lambda: follow(lambda at, _: swirl_velocity(at), points, start=0.3, end=0.0, steps=12),
        ),
        "fold": (
            lambda: compiled.folded(points, weights, 1.0, 0.0, 12),
            lambda: follow(lambda at, _: velocity(at), points, start=1.0, end=0.0, steps=12),
        ),
        "drag": (
            lambda: drag.back(deep),
            lambda: plain.followed(deep, start=1.0, end=0.0),
        ),
    }
    for name, (fast, slow) in pairs.items():
        quick, long = best(fast), best(slow, runs=2)
        print(
            f"\n{name}: {1e3 * quick:.1f} ms, plain arrays {1e3 * long:.0f} ms, {long / quick:.0f} times"
        )
        assert long / quick > 6.0


def test_the_other_thread_is_let_in_while_a_job_is_worked():
    # A window draws meanwhile: its thread must not wait for the worker's.
    program = (
        "import threading, time\n"
        "from patternsim.job import parse, starting_job\n"
        "from patternsim.press import levels, splitting\n"
        "from patternsim.work import run\n"
        f"job = parse(starting_job({JOB!r}))\n"
        "run(job, 'quick')\n"
        "def work():\n"
        "    for _ in range(20):\n"
        "        levels._quick.cache_clear(); splitting.split.cache_clear(); run(job, 'quick')\n"
        "worker = threading.Thread(target=work); worker.start()\n"
        "longest, last = 0.0, time.perf_counter()\n"
        "while worker.is_alive():\n"
        "    time.sleep(0.001)\n"
        "    now = time.perf_counter(); longest = max(longest, now - last); last = now\n"
        "print(longest)\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    longest = float(done.stdout)
    print(f"\nlongest wait of the other thread: {1e3 * longest:.0f} ms", end="")
    assert longest < 0.1


@pytest.mark.parametrize(
    ("module", "most"), [("patternsim", 1.2), ("patternsim.job", 6.0), ("patternsim.work", 7.0)]
)
def test_imports(module, most):
    # Against numpy's own. Measured 0.007, 0.18 and 0.17 s, numpy's 0.05 among them.
    def imported(name):
        program = f"import time; t = time.perf_counter(); import {name}; print(time.perf_counter() - t)"
        environment = {key: v for key, v in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}

        def once():
            done = subprocess.run(
                [sys.executable, "-c", program],
                capture_output=True, text=True, check=True, env=environment,
            )  # fmt: skip
            return float(done.stdout)

        return min(once() for _ in range(6))

    own, numpy = imported(module), imported("numpy")
    print(f"\nimport {module}: {own:.3f} s, numpy {numpy:.3f} s, {own / numpy:.1f} times", end="")
    assert own < most * numpy
