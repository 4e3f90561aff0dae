"""Whatever is done to a job file, reading it gives a job or one clear refusal.

The starting jobs are damaged at random: signs, lines, blocks and values are turned, taken out,
doubled or swapped. Jobs are also put together at random from what the steps declare of themselves.
"""

import random
import signal
import time
import tomllib
import typing

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from patternsim.errors import JobError, StepError, UsageError
from patternsim.job import Job, parse, starting_job, starting_jobs
from patternsim.step import REGISTRY
from patternsim.work import run

JOBS = [starting_job(name) for name, _ in starting_jobs()]
VALUES = (
    "0", "-1", "1", "2", "3.5", "1e308", "-1e-308", "nan", "inf", "-inf", "1" * 50, "9" * 5000, "true",
    '""', '"x"', "'tip'", '"1084"', '"feather"', '"stack"', "[]", "{}", "[[]]", "[1, 2]", '["feather"]',
    "{ a = 1 }", '[{ steel = "1084", thickness_mm = 2.0 }]', "1979-05-27", "07:32:00", "0x10", "1_000",
    '"""', '"\\u0000"', '"\\ud800"', "", "= 1", "[" * 2000, "48.0", "40.0", "10.0", "90", "45",
)  # fmt: skip
TOKENS = ("[[bar.step]]", "[[bar]]", "[bar]", "[blade]", "[blade.place]", "[shop]", "=", "\n", '"',
          "{", "}", "]", "\0", "\ufeff", "\u2028", "#", ".", "'''", "format = 1\n", "\r\n")  # fmt: skip
ROUNDS, EACH = 250, 20


def damage(text, rng):
    """Return a job text with one fault of a random kind."""
    return rng.choice(DAMAGES)(text, rng)


def flip(text, rng):
    at = rng.randrange(len(text) + 1)
    return text[:at] + chr(rng.choice((rng.randrange(128), rng.randrange(0xD7FF)))) + text[at + 1 :]


def delete(text, rng):
    at = rng.randrange(len(text) + 1)
    return text[:at] + text[at + rng.choice((1, 3, 30, 300)) :]


def truncate(text, rng):
    return text[: rng.randrange(len(text) + 1)]


def insert(text, rng):
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice(TOKENS) + text[at:]


def swap_lines(text, rng):
    lines = text.split("\n")
    a, b = rng.randrange(len(lines)), rng.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]
    return "\n".join(lines)


def drop_line(text, rng):
    lines = text.split("\n")
    del lines[rng.randrange(len(lines))]
    return "\n".join(lines)


def double_block(text, rng):
    lines = text.split("\n")
    a = rng.randrange(len(lines))
    b = min(len(lines), a + rng.randrange(1, 30))
    to = rng.randrange(len(lines) + 1)
    return "\n".join([*lines[:to], *lines[a:b], *lines[to:]])


def swap_steps(text, rng):
    """Swap two whole steps, ids and all, so that the text stays a job more often than not."""
    head, *steps = text.split("[[bar.step]]")
    if len(steps) < 3:
        return text
    a, b = rng.randrange(len(steps) - 1), rng.randrange(len(steps) - 1)
    steps[a], steps[b] = steps[b], steps[a]
    return "[[bar.step]]".join([head, *steps])


def drop_step(text, rng):
    head, *steps = text.split("[[bar.step]]")
    if len(steps) < 3:
        return text
    del steps[rng.randrange(len(steps) - 1)]
    return "[[bar.step]]".join([head, *steps])


def revalue(text, rng):
    """Give a key a value from elsewhere: another one of the file, or a strange one."""
    lines = text.split("\n")
    keyed = [k for k, line in enumerate(lines) if "=" in line]
    if not keyed:
        return text
    k = rng.choice(keyed)
    key = lines[k].split("=")[0]
    value = rng.choice(VALUES) if rng.random() < 0.6 else lines[rng.choice(keyed)].split("=", 1)[1]
    lines[k] = f"{key}= {value}"
    return "\n".join(lines)


def rescale(text, rng):
    """Change a number by a factor, which most often leaves a job that reads."""
    lines = text.split("\n")
    numbered = [k for k, line in enumerate(lines) if line.split("= ")[-1].replace(".", "").isdigit()]
    if not numbered:
        return text
    k = rng.choice(numbered)
    key, value = lines[k].rsplit("= ", 1)
    number = float(value) * rng.choice((0.0, 0.1, 0.5, 0.9, 1.1, 2.0, 10.0, 1000.0))
    lines[k] = f"{key}= {number if '.' in value else int(number)}"
    return "\n".join(lines)


DAMAGES = (flip, delete, truncate, insert, swap_lines, drop_line, double_block, swap_steps, drop_step,
           revalue, revalue, rescale, rescale)  # fmt: skip


def damaged(rng):
    text = rng.choice(JOBS)
    for _ in range(rng.choice((1, 1, 1, 2, 3, 8))):
        text = damage(text, rng)
    return text


# --- jobs from the declarations of the steps ---------------------------------------------


def limits(info):
    """Return the lowest and highest value of a number a step declares."""
    found = {}
    for rule in info.metadata:
        for side in ("ge", "gt", "le"):
            if getattr(rule, side, None) is not None:
                found[side] = float(getattr(rule, side))
    return found.get("ge", found.get("gt", 0.0) + 0.01), found.get("le", 1000.0)


def made_value(info, rng):
    """Return the text of a value a field may have, now and then of one it may not."""
    if rng.random() < 0.03:
        return rng.choice(VALUES)
    kinds = [one for one in typing.get_args(info.annotation) if one is not type(None)]
    kind = info.annotation if not kinds or typing.get_origin(info.annotation) else kinds[0]
    choices = typing.get_args(kind) if typing.get_origin(kind) is typing.Literal else ()
    if choices:
        return f'"{rng.choice(choices)}"'
    text = str(info.annotation)
    if "Strip" in text:
        return '[{ steel = "1084", thickness_mm = 3.0 }, { steel = "15N20", thickness_mm = 1.5 }]'
    if "Offcut" in text:
        return '[{ name = "guard", length_mm = 5.0 }]'
    if "tuple[str" in text:
        return '["b0"]'
    if "tuple[float" in text:
        return "[2.9, 1.4]"
    if "str" in text:
        return '"nick"'
    if "bool" in text:
        return rng.choice(("true", "false"))
    low, high = limits(info)
    # Forge sizes more often than the far ends of what is allowed.
    number = rng.choice((rng.uniform(low, high), min(max(rng.uniform(1.0, 60.0), low), high)))
    return str(max(int(number), int(low))) if "float" not in text else f"{number:.3f}"


def made_job(rng):
    """Return the text of a job of random steps with random values."""
    lines = ["format = 1", 'name = "made"']
    for bar in range(rng.choice((1, 1, 2))):
        lines += ["[[bar]]", f'name = "b{bar}"']
        kinds = ["stack"] + ["forge-weld"] * (rng.random() < 0.8)
        kinds += [rng.choice(sorted(REGISTRY)) for _ in range(rng.randrange(5))]
        for place, kind in enumerate(kinds):
            lines += ["[[bar.step]]", f'id = "s{bar}-{place}"', f'kind = "{kind}"']
            for name, info in REGISTRY[kind].model_fields.items():
                # Where most steps are skipped nothing is worked.
                often = 0.04 if name in ("skip", "stage") else 0.4
                if name not in ("id", "kind") and (info.is_required() or rng.random() < often):
                    lines.append(f"{name} = {made_value(info, rng)}")
    if rng.random() < 0.3:
        lines += ["[blade]", 'bar = "b0"', 'profile = "hunter"']
    return "\n".join(lines) + "\n"


def read(text):
    """Return the job, or None where it is refused in one printable line."""
    try:
        job = parse(text)
    except JobError as error:
        refusal = str(error)
    else:
        assert isinstance(job, Job)
        return job
    assert refusal.isprintable()
    assert refusal.startswith("job")
    return None


# --- the tests ---------------------------------------------------------------------------


@settings(max_examples=ROUNDS, suppress_health_check=list(HealthCheck), deadline=None)
@given(seed=st.integers(0, 2**32))
@example(seed=0)
def test_a_damaged_job_is_read_or_refused(seed):
    rng = random.Random(seed)
    for _ in range(EACH):
        read(damaged(rng) if rng.random() < 0.8 else made_job(rng))


@settings(max_examples=300, suppress_health_check=list(HealthCheck), deadline=None)
@given(text=st.text(max_size=200))
def test_any_text_is_read_or_refused(text):
    assert read(text) is None
    read(JOBS[0] + text)


def test_the_damages_leave_jobs_as_well_as_refusals():
    """Neither outcome is rare, or the tests above would try nothing."""
    rng = random.Random(1)
    whole = sum(read(damaged(rng)) is not None for _ in range(300))
    assert 30 < whole < 270
    whole = sum(read(made_job(rng)) is not None for _ in range(300))
    assert 30 < whole < 290


@pytest.fixture
def alarm():
    """Return a function that ends the test after some seconds, wherever the work stands."""
    if not hasattr(signal, "SIGALRM"):
        pytest.skip("no such clock here")

    def ring(number, frame):
        raise TimeoutError("this job takes too long")

    old = signal.signal(signal.SIGALRM, ring)
    yield signal.alarm
    signal.alarm(0)
    signal.signal(signal.SIGALRM, old)


def sample(make, count, seed):
    """Return the texts of `count` different jobs that read."""
    rng = random.Random(seed)
    found = []
    while len(found) < count:
        text = make(rng)
        if text not in JOBS and text not in found and read(text) is not None:
            found.append(text)
    return found


def worked(text, alarm, seconds):
    """Work a job out; tell whether the steel allowed it."""
    alarm(seconds)
    try:
        result = run(parse(text), "quick")
    except (StepError, UsageError) as error:
        refusal = str(error)
    else:
        assert all(row.step.sentence() and row.volume_mm3 > 0.0 for row in result.steps)
        return True
    finally:
        alarm(0)
    assert refusal.strip()
    return False


@pytest.mark.slow
@pytest.mark.parametrize(("make", "seed"), [(damaged, 7), (made_job, 8)])
def test_a_job_that_reads_is_worked_or_refused(make, seed, alarm):
    done, longest = 0, 0.0
    for text in sample(make, 150, seed):
        start = time.perf_counter()
        done += worked(text, alarm, 20)
        longest = max(longest, time.perf_counter() - start)
    assert done > 5
    assert longest < 10.0


def test_cuts_of_cuts_end_before_the_memory_does(alarm):
    saws = "".join(f'[[bar.step]]\nid = "saw-{k}"\nkind = "cut"\npieces = 200\n' for k in range(4))
    text = (
        'format = 1\nname = "x"\n[shop]\nkerf_mm = 0.0\n[[bar]]\nname = "a"\n[[bar.step]]\nid = "s"\n'
        'kind = "stack"\nwidth_mm = 40.0\nlength_mm = 5000.0\n'
        'strips = [{ steel = "1084", thickness_mm = 3.0 }, { steel = "15N20", thickness_mm = 3.0 }]\n'
        '[[bar.step]]\nid = "w"\nkind = "forge-weld"\ndown_pct = 10.0\n' + saws
    )
    assert tomllib.loads(text)
    alarm(60)
    with pytest.raises(StepError, match=r"step saw-1 of bar a: \d+ pieces; .* 500 at most"):
        run(parse(text), "quick")
