"""Odd but legal numbers: a job is refused in words, or every piece of it is sound."""

import re

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from engine.steps.odd_jobs import odd_jobs
from patternsim import run
from patternsim.errors import StepError
from patternsim.fields import lay_out, walk
from patternsim.work import losses_of


def all_is_sound(result):
    """Assert that every piece of a worked job is finite, positive and agrees with itself."""
    start = result.steps[0].volume_mm3
    aside = sum(piece.volume_mm3 for row in result.steps for piece in row.outcome.offcuts)
    losses = losses_of(result)
    assert min(losses.scale, losses.saw, losses.ground, losses.crop) >= -1e-9 * start
    assert result.steps[-1].volume_mm3 + aside + losses.total == pytest.approx(start, rel=1e-6)
    for row in result.steps:
        for piece in row.outcome.pieces:
            assert np.all(np.isfinite(piece.size)), row.step
            assert min(piece.size) > 0.0
            assert 0.0 < piece.volume_mm3 <= start * (1.0 + 1e-9)
            assert 7e-6 < piece.density < 9e-6
            assert piece.layers.along >= piece.layers.distinct >= 1
            if not piece.shaped:
                assert piece.volume_mm3 == pytest.approx(np.prod(piece.size), rel=1e-6)
            low, high = (np.array(corner) for corner in piece.box())
            for mark in piece.marks:
                if not mark.lost_in:
                    assert np.all(np.array(mark.at) >= low - 0.5)
                    assert np.all(np.array(mark.at) <= high + 0.5)
            share = np.random.default_rng(3).uniform(0.0, 1.0, (40, 3))
            hits = walk(lay_out(piece.solid()), low + share * (high - low), workers=1)
            assert np.all(np.isfinite(hits.points))
            if not piece.shaped and not any(piece.lips) and not piece.cuts:
                assert np.all(hits.layers >= 0), row.step
    for row in result.steps:
        assert re.match(r"[A-Z].*[^ ,.]$", row.step.sentence())
        assert not re.search(r"\b1 heats", row.step.sentence())


def refusal_is_clear(job, error):
    said = re.match(r"step (s\d+) of bar bar: (.+)", str(error))
    assert said, str(error)
    assert said.group(1) in {step.id for step in job.bar[0].step}
    assert "nan" not in said.group(2)
    assert "inf" not in said.group(2)


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(job=odd_jobs())
def test_odd_numbers_are_refused_or_give_sound_pieces(job):
    try:
        result = run(job, "quick")
    except StepError as error:
        refusal_is_clear(job, error)
    else:
        all_is_sound(result)
