"""Presses and splits that were worked out are not worked out again."""

import dataclasses

import numpy as np
import pytest

from patternsim.errors import LevelError
from patternsim.press import HalfBlock, Level, Pass, PressProblem, SplitProblem, press, split

SQUEEZE = PressProblem(
    width=40.0,
    height=40.0,
    passes=(Pass(across=40.0, along=40.0, height=30.0, sideways=0.5, turned=False),),
    friction=0.6,
)
HALF = HalfBlock(
    length=60.0, width=40.0, outer=20.0, outer_slope=0.0, nose_depth=52.0, nose=4.0,
    included_deg=45.0, friction=0.8,
)  # fmt: skip


def test_an_equal_press_is_taken_over():
    again = dataclasses.replace(SQUEEZE)
    assert again is not SQUEEZE
    assert press(again, Level.QUICK) is press(SQUEEZE, Level.QUICK)


@pytest.mark.parametrize("change", [{"width": 40.001}, {"friction": 0.61}, {"corners": 0.3}])
def test_another_press_is_worked_out(change):
    first, other = (
        press(SQUEEZE, Level.QUICK),
        press(dataclasses.replace(SQUEEZE, **change), Level.QUICK),
    )
    assert not np.array_equal(first.grid.coefs, other.grid.coefs)


def test_an_equal_split_is_taken_over_and_another_is_not():
    problem = SplitProblem(low=HALF, high=HALF, down=True)
    assert split(dataclasses.replace(problem), Level.QUICK) is split(problem, Level.QUICK)
    up = split(dataclasses.replace(problem, down=False), Level.QUICK)
    assert up.low.origin != split(problem, Level.QUICK).low.origin


def test_what_is_kept_cannot_be_changed():
    answer = press(SQUEEZE, Level.QUICK)
    with pytest.raises(ValueError, match="read-only"):
        answer.outline[0, 0] = 0.0
    with pytest.raises(ValueError, match="read-only"):
        answer.grid.coefs[0, 0, 0] = 0.0


def test_a_level_that_is_not_there_is_refused_even_if_the_press_is_known():
    press(SQUEEZE, Level.QUICK)
    with pytest.raises(LevelError, match="fine"):
        press(SQUEEZE, Level.FINE)
