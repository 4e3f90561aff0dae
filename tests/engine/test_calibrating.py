"""Friction of the smith's own tools: what is put in comes out again; the trend is the published one."""

import pytest

from patternsim import calibrating
from patternsim.errors import UsageError
from patternsim.job import parse, starting_job
from patternsim.press import Level
from patternsim.work import run


@pytest.fixture(scope="module")
def job():
    return parse(starting_job("feather"))


def with_friction(job, **values):
    return job.model_copy(update={"shop": job.shop.model_copy(update=values)})


@pytest.fixture(scope="module")
def barrel(job):
    """Return the friction that belongs to half a millimetre, one, and so on."""
    return calibrating.from_barrel(job, "first-weld", 1.0)


@pytest.mark.parametrize("put_in", [0.3, 0.7])
def test_the_friction_a_barrel_was_made_with_is_found(job, put_in):
    known = calibrating._until(job, job.bar[0], 3)
    result = run(with_friction(known, friction_dies=put_in), Level.COARSE)
    row = result.steps[-1]
    assert row.step.id == "first-weld"
    (bulge,) = calibrating._bulge(row.step, row.outcome)
    found = calibrating.from_barrel(job, "first-weld", bulge)
    assert found.value == pytest.approx(put_in, abs=0.06)
    assert not found.beyond
    assert found.field == "friction_dies"


def test_more_friction_more_barrel(barrel):
    """The oldest of all barrel tests: the bulge of a pressed cylinder tells friction (Schey,
    Tribology in Metalworking, 1983; from memory)."""
    assert 0.0 < barrel.low[0] < barrel.high[0]


def test_a_barrel_no_friction_gives_is_said(job):
    found = calibrating.from_barrel(job, "first-weld", 40.0)
    assert found.beyond
    assert "No friction gives" in calibrating.told(found)


def test_the_friction_of_a_wedge_is_found_from_two_lags(job):
    """Put in 0.5, read the lags off the piece, find 0.5 again."""
    fit = calibrating.from_slice(job, "close", 5.0, 2.0)
    low, high = sum(fit.low), sum(fit.high)
    assert low < high  # a rougher wedge drags farther
    bar, _, last = calibrating._stretch(job, "close", "friction_wedge")
    short = calibrating._until(with_friction(job, friction_wedge=0.5), bar, last + 1)
    row = run(short, Level.COARSE).after("close")
    quarter, half = calibrating._lags(row.step, row.outcome)
    found = calibrating.from_slice(job, "close", quarter, half)
    assert found.value == pytest.approx(0.5, abs=0.06)


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda job: calibrating.from_barrel(job, "nothing", 1.0), "there is no step"),
        (lambda job: calibrating.from_barrel(job, "stack", 1.0), "straight sides"),
        (lambda job: calibrating.from_barrel(job, "first-weld", -1.0), "from 0 mm up"),
        (lambda job: calibrating.from_slice(job, "draw-flat", 1.0, 1.0), "closes no split"),
        (lambda job: calibrating.from_barrel(job, "first-weld", 1.0, Level.QUICK), "closed forms"),
    ],
)
def test_what_cannot_be_measured_is_refused_in_words(job, ask, words):
    with pytest.raises(UsageError, match=words):
        ask(job)
