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


def bow_on_edge(friction, level):
    """Return how far a layer that stood at a quarter of the width is bent between die and middle."""
    piece = bar(length=200.0)
    after = work(
        "press-on-edge", piece, height_mm=26.0, shop={"friction_dies": friction}, level=level
    ).pieces[0]
    z = np.array([0.0, 0.48, -0.48]) * after.size[2]
    # Along y until the place came from a quarter of the old height of the stack, 10 mm off its middle.
    sign = np.sign(before(after, piece, [[100.0, 5.0, 0.0]])[0, 2])
    low, high = np.zeros(3), np.full(3, 0.49 * after.size[1])
    for _ in range(45):
        y = (low + high) / 2
        points = np.stack([np.full(3, 100.0), y, z], axis=1)
        short = sign * before(after, piece, points)[:, 2] < 10.0
        low, high = np.where(short, y, low), np.where(short, high, y)
    assert y[1] == pytest.approx(y[2], abs=0.1)
    return y[0] - y[1]


@pytest.mark.parametrize("level", ["coarse", "fine"])
def test_dies_that_slide_hardly_bow_the_layers(level):
    """Without friction a squeeze between flat dies is even and bows nothing: less friction, less bow."""
    dry, slick, none = (bow_on_edge(friction, level) for friction in (0.6, 0.1, 0.0))
    assert dry > 2.0
    assert 0.0 < slick < 0.5 * dry
    assert none == pytest.approx(0.0, abs=0.05)


def test_both_levels_bow_alike():
    assert bow_on_edge(0.6, "coarse") == pytest.approx(bow_on_edge(0.6, "fine"), rel=0.05)
