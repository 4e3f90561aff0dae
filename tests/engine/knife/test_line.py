"""Closing in on the centre line, against plain halving; the line itself, laid out once a question."""

import numpy as np
import pytest

from engine.fields import worked
from patternsim.fields import program, walk
from patternsim.knife import cut_distance, line_across, placed
from patternsim.knife import line as line_module
from patternsim.knife.line import CLOSE_MM, _closed_in

JOB = "feather-from-w"


def halved(ask, low, high, value_low):
    a, b, sign = np.array(low), np.array(high), np.sign(value_low)
    for _ in range(50):
        middle = (a + b) / 2
        same = np.sign(ask(middle)) == sign
        a, b = np.where(same, middle, a), np.where(same, b, middle)
    return (a + b) / 2


ROOTS = np.linspace(-0.9, 0.9, 31)
CURVES = {
    "straight": lambda x: 3.0 * (x - ROOTS),
    "falling": lambda x: ROOTS - x,
    "steep": lambda x: np.sinh(20.0 * (x - ROOTS)),
    "flat": lambda x: (x - ROOTS) ** 5,
    "kinked": lambda x: np.where(x > ROOTS, 100.0 * (x - ROOTS), x - ROOTS),
    "a step": lambda x: np.where(x > ROOTS, 1.0, -1.0),
    "no cut beyond": lambda x: np.where(x > ROOTS, np.nan, x - ROOTS - 1.0),
    "no cut before the end": lambda x: np.where((x > ROOTS) & (x < 0.99), np.nan, x - ROOTS),
}


@pytest.mark.parametrize("name", CURVES)
def test_a_crossing_is_where_halving_finds_it(name):
    ask, asked = CURVES[name], []

    def counted(x):
        asked.append(x)
        return ask(x)

    low, high = np.full(ROOTS.size, -1.0), np.full(ROOTS.size, 1.0)
    values = (ask(low), np.nan_to_num(ask(high), nan=1.0))
    found = _closed_in(counted, (low, high), values)
    assert found == pytest.approx(halved(ask, low, high, values[0]), abs=3 * CLOSE_MM)
    assert len(asked) <= line_module.ROUNDS


def test_a_smooth_crossing_takes_few_rounds():
    asked = []

    def ask(x):
        asked.append(x)
        return np.tanh(x - ROOTS) + 0.1 * (x - ROOTS) ** 2

    low, high = np.full(ROOTS.size, -1.0), np.full(ROOTS.size, 1.0)
    found = _closed_in(ask, (low, high), (ask(low), ask(high)))
    assert found == pytest.approx(ROOTS, abs=CLOSE_MM)
    assert len(asked) < 14


def test_a_crossing_at_an_end_is_that_end():
    def ask(x):
        return x - np.array([-1.0, 1.0])

    low, high = np.array([-1.0, -1.0]), np.array([1.0, 1.0])
    assert _closed_in(ask, (low, high), (ask(low), ask(high))) == pytest.approx([-1.0, 1.0], abs=1e-9)


@pytest.fixture(scope="module")
def blade():
    return worked.blade(JOB)


def test_on_the_line_the_cut_is_no_distance_away(blade):
    u = np.linspace(5.0, blade.outline.length_mm - 1.0, 80)

    def place(s, v):
        return blade.surface(s, v, "mark-side")

    line = line_across(blade.piece, place, u, low=-60.0, high=60.0)
    assert np.isfinite(line).all()
    cut = blade.piece.cuts[-1]
    assert np.abs(cut_distance(blade.piece, place(u, line), cut)).max() < 1e-8
    beside = cut_distance(blade.piece, place(u, line + 0.5), cut)
    assert np.abs(beside).min() > 0.1


def test_no_line_where_none_crosses(blade):
    def place(s, y):
        return np.stack([s, y + 500.0, np.zeros_like(s)], axis=1)

    line = line_across(blade.piece, place, np.array([10.0, 20.0]), low=-5.0, high=5.0)
    assert np.isnan(line).all()


def test_the_distance_is_that_of_one_walk_through_the_whole(blade):
    # Asked in two parts, to the cut and on to the block; the whole way at once says the same.
    piece, cut = blade.piece, blade.piece.cuts[-1]
    low, high = (np.array(corner) for corner in piece.box())
    points = np.random.default_rng(7).uniform(low - 2.0, high + 2.0, (20_000, 3))
    whole = program.lay_out(piece.solid(), keep=(cut.halve, cut.before.child))
    hits = walk(whole, points, stop=cut.halve)
    there = walk(whole, points, stop=cut.before.child).inside
    behind = hits.points[:, 0] >= cut.nose_x if cut.down else hits.points[:, 0] <= cut.nose_x
    away = hits.points @ cut.halve.normal - cut.halve.at
    expected = np.where(hits.inside & there & behind, away, np.nan)
    found = cut_distance(piece, points, cut)
    assert np.array_equal(np.isnan(found), np.isnan(expected))
    assert np.nanmax(np.abs(found - expected)) < 1e-9
    assert 1000 < np.isfinite(found).sum() < 20_000


def test_a_question_lays_its_field_out_once(blade, monkeypatch):
    calls = []

    def counted(*args, **kwargs):
        calls.append(args)
        return program.lay_out(*args, **kwargs)

    monkeypatch.setattr(line_module, "lay_out", counted)
    spec = blade.spec
    placed(spec, blade.piece)
    assert len(calls) <= 2  # to the cut, and on to the block
