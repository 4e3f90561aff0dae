"""Barbs: their angle through a draw, the line of a cut off centre, and which end they lean to."""

import math

import numpy as np
import pytest

from engine.steps.making import bar, inside, work
from patternsim import answers, run
from patternsim.fields import carry_back
from patternsim.job import parse, starting_job
from patternsim.knife.line import line_across

EVEN = {"friction_dies": 0.0, "skin_forge_mm": 0.0, "skin_weld_mm": 0.0}
"""No friction and no scale: only the even stretch of a step is left."""


def slopes(after, stop, points, probe=0.05):
    """Return d(before) / d(after) at points, by walking back a little to all sides."""
    ways = [carry_back(after.field, points + probe * axis, stop=stop) for axis in np.eye(3)]
    back = [carry_back(after.field, points - probe * axis, stop=stop) for axis in np.eye(3)]
    return np.stack([(a - b) / (2 * probe) for a, b in zip(ways, back, strict=True)], axis=-1)


@pytest.mark.parametrize(
    ("longer", "wider", "angle"),
    # tan(after) = tan(before) wider / longer, worked by hand for 60 degrees to the centre line.
    [(3.0, 1.0, 30.0), (2.0, 1.2, 46.1), (4.0, 0.8, 19.1)],
)
def test_a_draw_lays_a_barb_of_sixty_degrees_over(longer, wider, angle):
    block = bar(length=90.0, width=50.0, height=48.0)
    drawn = work(
        "draw", block, shop=EVEN, width_mm=50.0 * wider, thickness_mm=48.0 / (longer * wider)
    ).pieces[0]
    assert drawn.size[0] == pytest.approx(90.0 * longer)
    barb = np.array([math.cos(math.radians(60.0)), math.sin(math.radians(60.0)), 0.0])
    lies = np.linalg.solve(slopes(drawn, block.field, inside(drawn, 20)), barb)
    found = np.degrees(np.arctan2(lies[:, 1], lies[:, 0]))
    assert found == pytest.approx(np.full(20, angle), abs=0.1)


def test_a_cut_off_centre_goes_as_far_off_as_the_width_grows():
    # Worked by hand: 2 mm off at the split, 1.4 times as wide after the draw: 2.8 mm.
    block = bar(length=90.0, width=50.0, height=48.0)
    split = work("split", block, shop=EVEN, off_centre_mm=2.0, leave_mm=0.0).pieces[0]
    closed = work("reweld", split, shop=EVEN, close_to=1.0).pieces[0]
    drawn = work("draw", closed, shop=EVEN, width_mm=70.0, thickness_mm=8.0).pieces[0]
    stations = np.linspace(0.1, 0.9, 9) * drawn.size[0]

    def place(along, across):
        return np.stack([along, across, np.zeros_like(along)], axis=-1)

    line = line_across(drawn, place, stations, low=-35.0, high=35.0)
    assert line == pytest.approx(np.full(9, 2.8), abs=1e-6)


FEATHER = starting_job("feather")
ROLL = '\n[[bar.step]]\nid = "lay"\nkind = "turn"\nabout = "{about}"\ndegrees = 180\n\n[blade]\n'


def changed(old, new):
    assert FEATHER.count(old) == 1
    return FEATHER.replace(old, new)


def leaning(text):
    barbs = answers(run(parse(text), "quick")).barbs
    assert barbs.share in (pytest.approx(0.0, abs=0.05), pytest.approx(1.0, abs=0.05))
    return barbs.towards


def test_a_wedge_that_runs_to_the_handle_makes_barbs_lean_to_the_tip():
    assert leaning(FEATHER) == "tip"


@pytest.mark.parametrize(
    "text",
    [
        changed('travel = "down"', 'travel = "up"'),
        changed('tip_end = "far"', 'tip_end = "near"'),
        changed("\n[blade]\n", ROLL.format(about="thickness")),
    ],
    ids=["wedge from the other end", "tip at the other end", "bar turned end for end"],
)
def test_turned_the_other_way_barbs_lean_to_the_handle(text):
    assert leaning(text) == "handle"


def test_rolling_the_bar_over_changes_nothing():
    assert leaning(changed("\n[blade]\n", ROLL.format(about="length"))) == "tip"


def test_both_turned_they_lean_to_the_tip_again():
    text = changed('travel = "down"', 'travel = "up"').replace('tip_end = "far"', 'tip_end = "near"')
    assert leaning(text) == "tip"
