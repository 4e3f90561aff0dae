"""Presses drawn by lot: each is worked out soundly or clearly refused. More under tests/bench."""

import pytest

from engine.flow.random_presses import tried
from patternsim.errors import FlowError


@pytest.mark.parametrize("seed", range(20))
def test_a_press_by_lot(seed):
    kind, words, faults, outcome = tried(seed)
    assert not faults, f"{kind}, {words}: {faults}"
    assert not isinstance(outcome, FlowError), outcome
