"""Layers counted as a smith counts them: n x m, and neighbours of one steel once.

k tiles of n layers give k n where unlike steels touch and k (n - 1) + 1 where like ones merge; f
folds of n layers give (n - 1) 2^f + 1 (common practice; arithmetic, checked by hand).
"""

import pytest

from engine.steps.making import bar, work


def restacked(piece, *, high=1, wide=1, turned="none"):
    tiles = work("cut", piece, pieces=high * wide).pieces
    return work("restack", *tiles, high=high, wide=wide, turned=turned).pieces[0]


def folded(piece, times):
    """Fold in two, again and again.

    A fold lays the second half upside down on the first, so that like faces meet. Sawn in two with
    the upper half turned over about its width it lies the same way; only the bend is missing.
    """
    for _ in range(times):
        piece = restacked(piece, high=2, turned="over")
        piece = work("forge-weld", piece, down_pct=40.0).pieces[0]
    return piece


def odd(layers):
    """Return a bar that begins and ends with the same steel."""
    return bar(length=1000.0, width=50.0, height=30.0, layers=layers, steels=("1084", "15N20"))


@pytest.mark.parametrize(
    ("layers", "folds", "distinct"),
    # The first is a printed worked example: 13 layers folded three times make 97, not 104.
    [(13, 3, 97), (5, 1, 9), (7, 2, 25), (3, 4, 33), (13, 1, 25)],
)
def test_folds_merge_the_layers_that_meet(layers, folds, distinct):
    piece = folded(odd(layers), folds)
    assert piece.layers.distinct == distinct
    assert piece.layers.along == layers * 2**folds


@pytest.mark.parametrize(
    ("layers", "tiles", "distinct"),
    # Printed worked examples: 24 layers in 4 tiles, 96; 13 layers in 4 tiles, 49. The rest by hand.
    [(24, 4, 96), (13, 4, 49), (48, 2, 96), (9, 5, 41), (6, 3, 18)],
)
def test_tiles_laid_the_same_way_up(layers, tiles, distinct):
    # An even stack begins and ends with unlike steels, an odd one with like steels.
    piece = restacked(odd(layers), high=tiles)
    assert piece.layers.distinct == distinct
    assert piece.layers.along == layers * tiles
    assert piece.layers.across == 1


def test_even_stacks_turned_over_merge_too():
    # 24 layers in 2 tiles, like faces together: 2 x (24 - 1) + 1.
    assert restacked(odd(24), high=2, turned="over").layers.distinct == 47


def test_turning_end_for_end_leaves_the_faces():
    assert restacked(odd(24), high=2, turned="end-for-end").layers.distinct == 48


def on_edge(layers=48):
    piece = bar(length=400.0, width=40.0, height=40.0, layers=layers)
    return work("press-on-edge", piece, height_mm=26.0).pieces[0]


def test_layers_on_edge_count_across_when_stacked():
    # The worked ledger: 48, then 48 x 2, then 48 x 4; on edge the rows lie beside one another.
    piece = on_edge()
    assert piece.layers.text() == "48"
    piece = restacked(piece, high=2)
    assert piece.layers.text() == "48 x 2"
    piece = work("forge-weld", piece, down_pct=14.0).pieces[0]
    piece = restacked(piece, high=2)
    assert (piece.layers.text(), piece.layers.total) == ("48 x 4", 192)


def test_six_pieces_stacked_tall_and_the_ends_cropped():
    # The worked ledger: 288 x 4 on end; 15 mm of 90 cropped leave 240 x 4.
    piece = restacked(on_edge(), high=4)
    piece = work("turn", work("forge-weld", piece, down_pct=10.0).pieces[0], degrees=90).pieces[0]
    tiles = work("cut", piece, pieces=6).pieces
    tall = work("stack-tall", *tiles).pieces[0]
    assert (tall.layers.text(), tall.layers.axis) == ("288 x 4", 0)
    length = tall.size[0]
    welded = work("forge-weld", tall, along="length", down_pct=10.0).pieces[0]
    trimmed = work("trim", welded, far_mm=welded.size[0] * 15.0 / 90.0).pieces[0]
    assert trimmed.layers.text() == "240 x 4"
    assert length > welded.size[0]


def test_rows_beside_one_another():
    piece = restacked(odd(24), high=2, wide=3)
    assert (piece.layers.along, piece.layers.across) == (48, 3)


@pytest.mark.parametrize(
    ("side", "text"), [("on-top", "48"), ("beside", "24 x 2"), ("end-to-end", "24")]
)
def test_bars_joined(side, text):
    # End to end nothing lies on or beside anything, so the count of a section stays.
    outcome = work("join", bars=("a", "b"), side=side, among={"a": (odd(24),), "b": (odd(24),)})
    assert outcome.pieces[0].layers.text() == text


def test_sawing_across_layers_on_end_counts_what_is_left():
    piece = work("turn", bar(length=100.0, layers=40), about="width", degrees=90).pieces[0]
    assert piece.layers.axis == 0
    # 40 mm of 40 layers, three cuts of 2 mm: four lengths of 8.5 mm, 8.5 layers each, counted 8.
    parts = work("cut", piece, pieces=4).pieces
    assert [part.layers.along for part in parts] == [8, 8, 8, 8]
