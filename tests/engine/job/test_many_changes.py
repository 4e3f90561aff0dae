"""Many changes of a job at once: the same as one after the other, with the text followed once."""

import random
import tomllib

import pytest

from patternsim.errors import JobError
from patternsim.job import (
    changed,
    copied,
    layout,
    moved_steps,
    parse,
    pasted,
    patching,
    reading,
    skipped,
    starting_job,
    starting_jobs,
    without_steps,
)
from patternsim.job.patching import put, put_many, taken_out

NAMES = [name for name, _ in starting_jobs()]
MANY = 250


def values(table, way=()):
    for key, value in table.items() if isinstance(table, dict) else enumerate(table):
        if isinstance(value, (dict, list)):
            yield from values(value, (*way, key))
        else:
            yield (*way, key), value


def one_by_one(text, changes):
    for way, value in changes:
        text = taken_out(text, way) if value is None else put(text, way, value)
    return text


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_many_values_at_once_are_as_one_after_the_other(name, end):
    text = starting_job(name).replace("\n", end)
    data = tomllib.loads(text)
    own = random.Random(name)
    ways = [way for way, _ in values(data)]
    steps = [("bar", k, "step", n) for k, bar in enumerate(data["bar"]) for n in range(len(bar["step"]))]
    for _ in range(12):
        changes = [(way, own.choice([1, 2.5, "other", True, None])) for way in own.sample(ways, 12)]
        changes += [((*way, "skip"), own.choice([True, None])) for way in own.sample(steps, 3)]
        changes += [((*way, "stage"), "new") for way in own.sample(steps, 3)]
        own.shuffle(changes)
        # From the back, so that taking entries out of a list leaves the numbers of the others.
        changes.sort(key=lambda one: [str(part) for part in one[0]], reverse=True)
        try:
            wanted = one_by_one(text, changes)
        except JobError:
            with pytest.raises(JobError):
                put_many(text, changes)
            continue
        assert put_many(text, changes) == wanted


def test_changes_of_the_same_value_hang_on_one_another():
    text = starting_job("feather")
    ways = [("name",), ("bar", 0, "step", 0, "strips", 0)]
    changes = [(ways[0], "one"), (ways[0], "two"), (ways[0], None), (ways[0], "three")]
    assert put_many(text, changes) == one_by_one(text, changes)
    inner = [((*ways[1], "steel"), "1084"), (ways[1], {"steel": "15N20", "thickness_mm": 2.0}),
             ((*ways[1], "thickness_mm"), 3.0)]  # fmt: skip
    assert put_many(text, inner) == one_by_one(text, inner)


@pytest.fixture
def long():
    """A job with hundreds of steps, and their ids."""
    text = starting_job("feather")
    bar = parse(text).bar[0]
    fragment = "\n".join([copied(text, [next(s.id for s in bar.step if s.kind == "draw")])] * MANY)
    text = pasted(text, bar.name, len(bar.step), fragment)
    return text, [step.id for step in parse(text).bar[0].step[len(bar.step) :]]


@pytest.fixture
def followed(monkeypatch):
    """How often a text is followed from its beginning."""
    count = []
    for module in (patching, __import__("patternsim.job.editing", fromlist=["editing"])):
        monkeypatch.setattr(
            module, "read_layout", lambda text: (count.append(len(text)), layout.read_layout(text))[1]
        )
    return count


def test_hundreds_of_steps_are_edited_by_following_the_text_once(long, followed):
    text, ids = long
    off = skipped(text, ids, on=True)
    assert len(followed) == 1
    assert sum(step.skip for step in parse(off).bar[0].step) == MANY
    assert skipped(off, ids, on=False) == text
    assert len(followed) == 2
    fragment = copied(text, ids)
    assert len(followed) == 3
    followed.clear()
    twice = pasted(text, parse(text).bar[0].name, 3, fragment)
    assert len(followed) <= 5  # pieces of it more than once, the job once
    assert len(parse(twice).bar[0].step) == len(parse(text).bar[0].step) + MANY
    followed.clear()
    assert len(parse(without_steps(text, ids)).bar[0].step) == len(parse(text).bar[0].step) - MANY
    assert [step.id for step in parse(moved_steps(text, ids, 2)).bar[0].step[2 : 2 + MANY]] == ids
    assert len(followed) == 2


def test_an_edit_is_read_once_however_often_it_is_asked_for(monkeypatch):
    built = []
    inner = reading._built
    monkeypatch.setattr(reading, "_built", lambda data: (built.append(1), inner(data))[1])
    text = changed(starting_job("feather"), ("name",), "Read once")
    assert len(built) == 1
    job = parse(text, name="the job")
    assert len(built) == 1
    assert job.name == "Read once"
    assert parse("\ufeff" + text) == job
    assert len(built) == 2


def test_a_text_that_was_refused_is_refused_again():
    text = starting_job("feather").replace("format = 1", "format = 0")
    for _ in range(2):
        with pytest.raises(JobError, match="the format is 0"):
            parse(text)
