"""How the piece after each step lies on the die, as the engine has it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from patternsim.job import parse, starting_job
from patternsim.progress import Silent
from patternsim.work import run
from patternsim_app import tasks
from patternsim_app.billet_tasks import BilletGiven, draw_billet

QUIET = Silent()
LATER = """
[[bar.step]]
id = "last"
kind = "{kind}"
{numbers}
"""


def worked(text, level="fine"):
    return run(parse(text, name="x"), level)


@pytest.fixture(scope="module")
def result():
    return worked(starting_job("feather-from-w"))


def shown(result, key):
    return draw_billet(BilletGiven(row=result.after(key), rows=result.steps, number=7), QUIET)


def with_last(kind, numbers):
    result = worked(starting_job("w-bar") + LATER.format(kind=kind, numbers=numbers), "quick")
    return shown(result, "last")


def test_a_mark_is_told_with_its_face(result):
    found = shown(result, "nick")
    assert [(mark.name, mark.face) for mark in found.marks] == [("nick", "high-edge")]
    assert found.pieces == 1


def test_the_tall_stack_stands_until_its_halves_are_closed(result):
    poses = {key: shown(result, key).pose for key in ("clean-six", "tall", "weld-tall", "nick", "split")}
    assert poses == {
        "clean-six": "lying", "tall": "standing", "weld-tall": "standing", "nick": "standing",
        "split": "standing",
    }  # fmt: skip
    assert shown(result, "close").pose == "lying"


def test_a_split_stands_as_the_wedge_left_it(result):
    """The halves lean apart by half the angle of the wedge each, as in any wedge that is driven in."""
    found = shown(result, "split")
    piece = result.after("split").outcome.pieces[0]
    (low, high), (x, y) = found.box, found.wedge
    assert (x, y) == pytest.approx((high[0], 0.0))
    assert found.size == pytest.approx([b - a for a, b in zip(low, high, strict=True)])
    assert high[0] < piece.size[0], "what leans is not as high"
    left, right = ([p for p in found.outlines[0].points if s * p[1] > 0] for s in (-1, 1))
    beside = [min(side, key=lambda p: abs(p[0] - 0.75 * x) + abs(p[1]))[1] for side in (left, right)]
    spread = 2 * 0.75 * x * math.tan(math.radians(22.5))
    assert beside[1] - beside[0] == pytest.approx(spread, rel=0.35)
    assert not any("spread" in note for note in found.notes)
    assert f"{high[1] - low[1]:.1f}" in found.spoken


def test_a_split_that_is_only_rough_is_drawn_a_little_open():
    result = worked(starting_job("feather-from-w"), "quick")
    found = shown(result, "split")
    piece = result.after("split").outcome.pieces[0]
    assert found.wedge == pytest.approx((piece.size[0], 0.0))
    (low, high), (x, y) = found.box, found.wedge
    assert high[1] - low[1] > 1.2 * piece.size[1]
    assert len(found.outlines) == 1
    near_wedge = [p for p in found.outlines[0].points if p[0] > 0.9 * x]
    assert min(abs(py - y) for _, py in near_wedge) > 4.0
    assert found.size == piece.size, "measured as it is closed"
    assert any("spread" in note for note in found.notes)
    assert shown(result, "close").wedge is None


def test_a_wedge_from_the_near_end_still_comes_from_above():
    other = worked(starting_job("feather-from-w").replace('travel = "down"', 'travel = "up"'))
    assert shown(other, "split").pose == "head-down"


def test_the_mass_of_pieces_alike_is_told_each(result):
    row, found = result.after("clean-six"), shown(result, "clean-six")
    assert found.pieces == 6
    assert found.words.endswith(f"{row.mass_kg / 6:.2f} kg each")
    assert found.words.startswith("6 alike: ")
    assert found.spoken.startswith("After step 7: 6 pieces, ")
    assert "each" not in shown(result, "tall").words


def test_unlike_pieces_are_not_told_as_alike(result):
    row = result.after("clean-six")
    first, second, *rest = row.outcome.pieces
    longer = replace(second, size=(second.size[0] + 3.0, *second.size[1:]))
    outcome = replace(row.outcome, pieces=(first, longer, *rest))
    mixed = replace(row, outcome=outcome)
    found = draw_billet(BilletGiven(row=mixed, rows=[mixed], number=1), QUIET)
    assert found.pieces == 1
    assert "the first of 6 pieces" in found.words


def test_bent_and_tapered_bars_have_their_true_outline():
    bent = with_last("bend", "start_mm = 40.0\nradius_mm = 120.0\nangle_deg = 40.0")
    assert (bent.shape, len(bent.outlines)) == ("bent", 1)
    taper = with_last("taper", "over_mm = 80.0\nwidth_mm = 18.0\nthickness_mm = 8.0")
    assert (taper.shape, len(taper.outlines)) == ("tapered", 1)
    halves = [half for _, half in taper.profile]
    assert (halves[0], halves[-1]) == pytest.approx((taper.size[2] / 2, 4.0), abs=0.05)


def test_a_plain_bar_fills_its_box(result):
    found = shown(result, "draw-square")
    assert (found.outlines, found.box, found.shape) == ((), None, "straight")


def test_small_pictures_stand_and_open_as_the_large_ones_do(result):
    made = tasks.draw_thumbs(tasks.ThumbsGiven(rows=result.steps), QUIET)
    tall, split = (made[result.after(key)] for key in ("tall", "split"))
    assert tall.shape[0] > 1.5 * tall.shape[1]
    assert np.mean(split[..., 3] > 128) < 0.9, "a gap between the halves"


def test_a_note_of_the_window_comes_first(result):
    row = result.after("split")
    given = BilletGiven(row=row, rows=result.steps, number=26, note="As it was before step 3.")
    found = draw_billet(given, QUIET)
    assert found.notes[0] == "As it was before step 3."
