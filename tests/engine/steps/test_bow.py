"""Layers bow where dies hold the faces: the same on every side that is alike."""

import numpy as np
import pytest

from engine.steps.making import bar, work
from patternsim.fields import carry_back


def before(after, stop, points):
    return carry_back(after.field, np.array(points), stop=stop.field)


@pytest.mark.parametrize(
    ("kind", "numbers"),
    [("forge-weld", {"along": "length", "down_pct": 20.0}), ("upset", {"length_mm": 60.0})],
)
def test_pressed_on_end_a_square_block_bows_alike_both_ways(kind, numbers):
    block = bar(length=75.0, width=50.0, height=50.0)
    after = work(kind, block, **numbers).pieces[0]
    x, off = 0.25 * after.size[0], 0.3 * after.size[1]
    wide, thick = before(after, block, [[x, off, 0.0], [x, 0.0, off]])
    # The two planes are worked one after the other, which leaves a tenth between them.
    assert wide[0] == pytest.approx(thick[0], abs=0.05)
    assert wide[1] == pytest.approx(thick[2], abs=0.2)
    # Near the sides steel comes down farther than in the middle; an even squeeze would move both alike.
    middle = before(after, block, [[x, 0.0, 0.0]])[0]
    assert abs(wide[0] - middle[0]) > 0.5


def test_without_friction_everything_stays_plane():
    block = bar(length=75.0, width=50.0, height=50.0)
    shop = {"friction_dies": 0.0, "skin_weld_mm": 0.0}
    after = work("forge-weld", block, along="length", down_pct=20.0, shop=shop).pieces[0]
    x = 0.25 * after.size[0]
    found = before(after, block, [[x, 0.0, 0.0], [x, 20.0, 0.0], [x, 0.0, -20.0]])
    assert found[:, 0] == pytest.approx(np.full(3, 0.25 * 75.0), abs=1e-9)


def test_on_edge_the_layers_bow_like_brackets():
    # Laid over, the layers stand along the stroke; half-way up they are farthest out, so that a layer
    # met there lay nearer the middle before.
    piece = bar()
    after = work("press-on-edge", piece, height_mm=26.0).pieces[0]
    y = 0.3 * after.size[1]
    points = [[50.0, y, z] for z in (0.0, 0.4 * 26.0, -0.4 * 26.0)]
    middle, top, bottom = np.abs(before(after, piece, points)[:, 2])
    assert middle < top - 0.5
    assert top == pytest.approx(bottom, abs=1e-3)
