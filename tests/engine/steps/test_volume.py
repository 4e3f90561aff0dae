"""Steel is kept: every forming step, as a piece and point by point; and every ledger adds up."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.steps.making import bar, determinants, inside, stacked, work
from patternsim import run
from patternsim.job import parse, starting_job, starting_jobs
from patternsim.steps.bend import bent_points
from patternsim.work import losses_of

share = st.floats


@st.composite
def bars(draw, *, loose=False):
    sizes = {
        "length": draw(share(60.0, 250.0)),
        "width": draw(share(20.0, 80.0)),
        "height": draw(share(20.0, 80.0)),
        "layers": draw(st.integers(2, 12)),
    }
    return (stacked if loose else bar)(**sizes)


def kept(before, outcome, *, count=400, stop=None):
    """Assert that the step neither made nor lost steel, in the piece and at every point of it."""
    (after,) = outcome.pieces
    assert after.volume_mm3 + outcome.losses.total == pytest.approx(before.volume_mm3, rel=1e-9)
    assert outcome.losses.saw == outcome.losses.crop == 0.0
    if not after.shaped:
        assert after.volume_mm3 == pytest.approx(np.prod(after.size), rel=1e-3)
    found, there = determinants(after, stop or before.field, inside(after, count))
    assert there.sum() > count / 3
    assert found == pytest.approx(np.ones(len(found)), abs=2e-3)


few, fewer = settings(max_examples=10), settings(max_examples=4)
"""Each example works a step and samples its map; a split samples two, finely."""


@few
@given(
    piece=bars(loose=True), heats=st.integers(1, 3), down=share(5.0, 50.0), held=st.booleans(),
    friction=share(0.0, 1.0),
)  # fmt: skip
def test_forge_weld_through_the_thickness(piece, heats, down, held, friction):
    numbers = {"width_mm": piece.size[1]} if held else {}
    shop = {"friction_dies": friction}
    kept(piece, work("forge-weld", piece, shop=shop, heats=heats, down_pct=down, **numbers))


@few
@given(piece=bars(loose=True), heats=st.integers(1, 3), down=share(5.0, 50.0), friction=share(0.0, 1.0))
def test_forge_weld_on_end(piece, heats, down, friction):
    shop = {"friction_dies": friction}
    kept(piece, work("forge-weld", piece, shop=shop, along="length", heats=heats, down_pct=down))


@few
@given(piece=bars(), side=share(0.4, 0.95), friction=share(0.0, 1.0))
def test_square_up(piece, side, friction):
    side *= (piece.size[1] * piece.size[2]) ** 0.5
    kept(piece, work("square-up", piece, shop={"friction_dies": friction}, side_mm=side))


@few
@given(piece=bars(), down=share(0.5, 0.9), bite=share(10.0, 80.0), over=st.booleans())
def test_press_on_edge(piece, down, bite, over):
    height = down * piece.size[1 if over else 2]
    kept(piece, work("press-on-edge", piece, height_mm=height, bite_mm=bite, lay_over=over))


@few
@given(side=share(25.0, 60.0), flats=share(0.05, 0.6))
def test_crush_corners(side, flats):
    piece = bar(width=side, height=side)
    kept(piece, work("crush-corners", piece, flat_mm=flats * (side - 1.0)))


@few
@given(piece=bars(), shorter=share(0.5, 0.95), friction=share(0.0, 1.0))
def test_upset(piece, shorter, friction):
    shop = {"friction_dies": friction}
    kept(piece, work("upset", piece, shop=shop, length_mm=shorter * piece.size[0]))


@few
@given(piece=bars(), wide=share(0.4, 1.3), longer=share(1.2, 6.0), heats=st.integers(1, 4))
def test_draw(piece, wide, longer, heats):
    width = wide * piece.size[1]
    thickness = piece.size[2] / (wide * longer)
    kept(piece, work("draw", piece, width_mm=width, thickness_mm=thickness, heats=heats))


@few
@given(piece=bars(), down=share(0.5, 0.9), held=st.booleans())
def test_flatten(piece, down, held):
    numbers = {"width_mm": piece.size[1]} if held else {}
    kept(piece, work("flatten", piece, thickness_mm=down * piece.size[2], **numbers))


@fewer
@given(
    piece=bars(), included=share(30.0, 60.0), nose=share(0.0, 6.0), leave=share(0.0, 0.4),
    off=share(-0.1, 0.1), lean=share(-3.0, 3.0), through=share(-5.0, 5.0), up=st.booleans(),
    heats=st.integers(0, 2),
)  # fmt: skip
def test_split_closed_and_welded(piece, included, nose, leave, off, lean, through, up, heats):
    numbers = {
        "included_deg": included, "nose_mm": nose, "leave_mm": leave * piece.size[0],
        "off_centre_mm": off * piece.size[1], "lean_face_deg": lean, "lean_thickness_deg": through,
        "travel": "up" if up else "down", "heats": heats,
    }  # fmt: skip
    outcome = work("split", piece, **numbers)
    kept(piece, outcome)
    (split,) = outcome.pieces
    kept(split, work("reweld", split))


@fewer
@given(piece=bars(), ground=share(0.5, 4.0))
def test_cut_faces_ground_before_they_are_closed(piece, ground):
    (split,) = work("split", piece, leave_mm=0.0).pieces
    outcome = work("reweld", split, grind_faces_mm=ground)
    kept(split, outcome)
    expected = 2.0 * ground / piece.size[1] * piece.volume_mm3
    assert outcome.losses.ground == pytest.approx(expected, rel=1e-9)


@few
@given(
    piece=bars(), over=share(0.1, 1.0), width=share(0.2, 1.0), thick=share(0.2, 1.0),
    bias=share(-1.0, 1.0), far=st.booleans(),
)  # fmt: skip
def test_taper(piece, over, width, thick, bias, far):
    numbers = {
        "over_mm": over * piece.size[0], "width_mm": width * (piece.size[1] - 1.0),
        "thickness_mm": thick * (piece.size[2] - 1.0), "bias": bias, "end": "far" if far else "near",
    }  # fmt: skip
    outcome = work("taper", piece, **numbers)
    (after,) = outcome.pieces
    # Half the points of the box may lie beside a tapered bar; those of its middle line do not.
    points = inside(after, 400)
    points[:, 1:] *= 0.2 if bias == 0.0 else 0.1
    assert after.volume_mm3 + outcome.losses.total == pytest.approx(piece.volume_mm3, rel=1e-9)
    found, there = determinants(after, piece.field, points)
    assert there.any()
    assert found == pytest.approx(np.ones(len(found)), abs=2e-3)


@few
@given(
    piece=bars(),
    start=share(0.0, 0.3),
    angle=share(1.0, 90.0),
    radius=share(1.0, 3.0),
    up=st.booleans(),
)
def test_bend(piece, start, angle, radius, up):
    length, width = piece.size[0] - 1.0, piece.size[1]
    radius *= width
    angle = min(angle, np.degrees(0.6 * length / radius))
    outcome = work(
        "bend", piece, start_mm=start * length, radius_mm=radius, angle_deg=angle if up else -angle
    )
    (after,) = outcome.pieces
    assert after.volume_mm3 + outcome.losses.total == pytest.approx(piece.volume_mm3, rel=1e-9)
    # Along and beside the bent middle line, on both straight lengths and on the arc: the link's own
    # table leads forwards.
    clean = after.size[0]
    points = inside(piece, 400)
    points[:, 0] *= clean / piece.size[0]
    points[:, 1:] *= 0.9
    points = bent_points(points, after.field.table, after.field.step)
    found, there = determinants(after, piece.field, points)
    assert there.sum() > 300
    assert found == pytest.approx(np.ones(len(found)), abs=2e-3)


# --- what takes steel off -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "numbers", "cause"),
    [
        ("cut", {"crop_near_mm": 5.0, "crop_far_mm": 3.0}, "crop"),
        ("trim", {"near_mm": 5.0, "high_edge_mm": 2.0}, "crop"),
        ("grind-clean", {"faces_mm": 0.5, "edges_mm": 0.25, "ends_mm": 1.0}, "ground"),
        ("slice", {"pieces": 3}, "saw"),
    ],
)
def test_what_is_taken_off_is_counted_by_its_cause(kind, numbers, cause):
    piece = bar(length=100.0, width=40.0, height=30.0)
    outcome = work(kind, piece, **numbers)
    off = {
        "cut": 8.0 * 40.0 * 30.0,
        "trim": 100.0 * 40.0 * 30.0 - 95.0 * 38.0 * 30.0,
        "grind-clean": 100.0 * 40.0 * 30.0 - 98.0 * 39.5 * 29.0,
        "slice": 2 * 2.0 * 40.0 * 100.0,
    }[kind]
    assert getattr(outcome.losses, cause) == pytest.approx(off)
    assert outcome.losses.total == pytest.approx(off)
    left = sum(part.volume_mm3 for part in outcome.pieces)
    assert left == pytest.approx(100.0 * 40.0 * 30.0 - off)


def test_sawing_counts_kerfs_and_what_is_set_aside():
    piece = bar(length=100.0, width=40.0, height=30.0)
    outcome = work(
        "cut", piece, crop_near_mm=5.0, offcuts=[{"name": "guard", "length_mm": 12.0}], pieces=2,
        piece_mm=30.0,
    )  # fmt: skip
    section = 40.0 * 30.0
    (guard,) = outcome.offcuts
    assert guard.volume_mm3 == pytest.approx(12.0 * section)
    assert [part.volume_mm3 for part in outcome.pieces] == pytest.approx([30.0 * section] * 2)
    assert outcome.losses.saw == pytest.approx(2 * 2.0 * section)
    # 100 less crop, guard, two pieces and two kerfs: 24 over, and they are scrap with the crop.
    assert outcome.losses.crop == pytest.approx((5.0 + 19.0) * section)


@pytest.mark.parametrize("turned", ["none", "end-for-end", "over"])
def test_relaying_keeps_steel(turned):
    tiles = work("cut", bar(), pieces=2).pieces
    for outcome in (
        work("restack", *tiles, high=2, turned=turned),
        work("stack-tall", *tiles, turned=turned),
        work("turn", tiles[0], about="width", degrees=270),
    ):
        assert outcome.losses.total == 0.0
        (after,) = outcome.pieces
        count = 1 if after.size[0] * after.size[1] * after.size[2] < 1.5 * tiles[0].volume_mm3 else 2
        assert after.volume_mm3 == pytest.approx(count * tiles[0].volume_mm3, rel=1e-12)
        found, _ = determinants(after, bar_under(tiles, after), inside(after, 200))
        assert found == pytest.approx(np.ones(len(found)), abs=1e-9)


def bar_under(tiles, after):
    """Return the one link all ways of a re-lay of `tiles` lead to."""
    (leaf,) = {tile.field.child for tile in tiles}
    assert after is not None
    return leaf


def test_bars_that_fit_within_half_a_millimetre_are_evened_and_nothing_is_lost():
    wide, narrow = bar(length=100.0, width=40.4), bar(length=99.7, width=40.0)
    (pack,) = work("join", bars=("a", "b"), among={"a": (wide,), "b": (narrow,)}).pieces
    assert pack.volume_mm3 == pytest.approx(wide.volume_mm3 + narrow.volume_mm3, rel=1e-12)
    assert pack.volume_mm3 == pytest.approx(np.prod(pack.size), rel=1e-9)
    for piece in (wide, narrow):
        found, there = determinants(pack, piece.field, inside(pack, 300))
        assert there.sum() > 100
        assert found == pytest.approx(np.ones(len(found)), abs=1e-9)


@pytest.mark.parametrize("name", [name for name, _ in starting_jobs()])
def test_the_ledger_of_a_starting_job_adds_up(name):
    result = run(parse(starting_job(name)), "quick")
    start = sum(row.volume_mm3 for row in result.steps if type(row.step).__name__ == "Stack")
    end = sum(piece.volume_mm3 for pieces in result.bars.values() for piece in pieces)
    aside = sum(piece.volume_mm3 for row in result.steps for piece in row.outcome.offcuts)
    losses = losses_of(result)
    assert start == pytest.approx(end + aside + losses.total, rel=1e-9)
    assert losses.total == pytest.approx(losses.scale + losses.saw + losses.ground + losses.crop)
    for row in result.steps:
        hot = hasattr(row.step, "heats") and row.step.heats > 0
        assert (row.outcome.losses.scale > 0.0) == hot
