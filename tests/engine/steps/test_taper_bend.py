"""Taper and bend against closed forms, and what they close the door to."""

import math

import numpy as np
import pytest

from engine.steps.making import bar, determinants, inside, work
from patternsim.errors import StepError
from patternsim.fields import carry_back, carry_forward, lay_out, walk
from patternsim.steps.bend import bent_points

NO_SCALE = {"skin_forge_mm": 0.0}


def taper(piece, **numbers):
    return work("taper", piece, shop=NO_SCALE, id="point", **numbers).pieces[0]


def bend(piece, **numbers):
    return work("bend", piece, shop=NO_SCALE, id="sweep", **numbers).pieces[0]


def area_of_steel(piece, x, *, cells=200):
    """Return the section of steel at x, mm2, counted on a grid."""
    low, high = piece.box()
    edges = [np.linspace(low[k], high[k], cells + 1) for k in (1, 2)]
    y, z = (((e[1:] + e[:-1]) / 2) for e in edges)
    grid = np.stack(np.meshgrid([x], y, z, indexing="ij"), axis=-1).reshape(-1, 3)
    hits = walk(lay_out(piece.solid()), grid, workers=1)
    return hits.inside.mean() * (high[1] - low[1]) * (high[2] - low[2])


# --- taper --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("width", "thick", "longer"),
    # A taper L long to the ratios a and b holds L (2 + a + b + 2 a b) / 6 of the old section: for
    # a = b the frustum of a pyramid (Euclid XII), for b = 1 a trapezium. 60 mm of taper, by hand:
    # a = b = 1/2: 60 x 3.5 / 6 = 35 of bar, so 25 longer; a = 1/4, b = 1: 37.5, so 22.5 longer.
    [(20.0, 20.0, 25.0), (10.0, None, 22.5), (None, 10.0, 22.5), (None, 40.0, 0.0)],
)
@pytest.mark.parametrize("end", ["near", "far"])
def test_length_of_a_tapered_bar(width, thick, longer, end):
    numbers = {"width_mm": width, "thickness_mm": thick, "over_mm": 60.0, "end": end}
    piece = taper(bar(), **numbers)
    assert piece.size[0] == pytest.approx(120.0 + longer)
    assert piece.volume_mm3 == pytest.approx(120.0 * 40.0 * 40.0)
    sections = [area_of_steel(piece, x) for x in np.linspace(0.25, piece.size[0] - 0.25, 160)]
    volume = np.mean(sections) * piece.size[0]
    assert volume == pytest.approx(120.0 * 40.0 * 40.0, rel=0.01)


@pytest.mark.parametrize(
    ("bias", "low", "high"),
    # 40 wide, drawn to 16 at the end: from both edges 12 each; from one, 24 there and none on the other.
    [(0.0, -8.0, 8.0), (1.0, 4.0, 20.0), (-1.0, -20.0, -4.0), (0.5, -2.0, 14.0)],
)
def test_blows_from_one_edge_leave_the_other_straight(bias, low, high):
    piece = taper(bar(), over_mm=60.0, width_mm=16.0, bias=bias)
    y = np.linspace(-20.0, 20.0, 4001)
    line = np.stack([np.full_like(y, piece.size[0] - 1e-6), y, np.zeros_like(y)], axis=1)
    steel = y[walk(lay_out(piece.solid()), line, workers=1).inside]
    assert (steel.min(), steel.max()) == pytest.approx((low, high), abs=0.02)


def test_the_middle_line_moves_as_the_bias_says():
    straight = bar()
    piece = taper(straight, over_mm=60.0, width_mm=16.0, bias=0.5)
    middle = np.array([[x, 0.0, 0.0] for x in (10.0, 119.999)])
    lies = carry_forward(piece.field, middle, stop=straight.field, guess=middle)
    # At the end the middle lies half of the 12 that one edge lost more than with even blows; where
    # the bar is left alone it lies where it was.
    assert lies[:, 1] == pytest.approx([0.0, 6.0], abs=0.01)


def test_a_taper_keeps_steel_everywhere():
    straight = bar()
    piece = taper(straight, over_mm=80.0, width_mm=4.0, thickness_mm=8.0, bias=-0.3)
    found, there = determinants(piece, straight.field, inside(piece, 4000))
    assert there.sum() > 1500
    assert found == pytest.approx(np.ones(len(found)), abs=1.5e-3)


# --- bend ---------------------------------------------------------------------------------------

ARC = {"start_mm": 30.0, "radius_mm": 50.0, "angle_deg": 60.0}


def lies(piece, before):
    """Where points of the straight bar lie in the bent one, by the table of its middle line."""
    return bent_points(before, piece.field.table, piece.field.step)


def test_the_middle_line_keeps_its_length():
    straight = bar()
    piece = bend(straight, **ARC)
    x = np.linspace(0.0, 120.0, 2401)
    line = np.stack([x, np.zeros_like(x), np.zeros_like(x)], axis=1)
    after = lies(piece, line)
    assert carry_back(piece.field, after, stop=straight.field) == pytest.approx(line, abs=1e-6)
    steps = np.linalg.norm(np.diff(after, axis=0), axis=1)
    assert steps.sum() == pytest.approx(120.0, rel=1e-5)
    # Straight for 30, an arc of 50 pi / 3 = 52.36, straight for the other 37.64: by hand, for a bend
    # without easing. Easing is even about both ends of the arc, so that it shifts them a little.
    end = (30.0 + 50.0 * math.sin(math.pi / 3) + 37.640 * 0.5,
           50.0 * 0.5 + 37.640 * math.sin(math.pi / 3))  # fmt: skip
    assert after[-1, :2] == pytest.approx(end, abs=1.5)
    heading = np.degrees(np.arctan2(*(after[-1] - after[-2])[1::-1]))
    assert heading == pytest.approx(60.0, abs=1e-3)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_edges_of_the_arc_keep_area(sign):
    # Half the ring between R and r must be the half width times the arc: r^2 = R^2 -+ 2 R w / 2.
    straight = bar(length=260.0)
    piece = bend(straight, start_mm=60.0, radius_mm=80.0, angle_deg=sign * 80.0)
    middle = 60.0 + 80.0 * math.radians(40.0)
    edges = np.array([[middle, -20.0, 0.0], [middle, 0.0, 0.0], [middle, 20.0, 0.0]])
    low, centre, high = lies(piece, edges)
    outer, inner = math.sqrt(80.0**2 + 80.0 * 40.0) - 80.0, 80.0 - math.sqrt(80.0**2 - 80.0 * 40.0)
    if sign < 0:
        low, high = high, low
    assert np.linalg.norm(low - centre) == pytest.approx(outer, abs=1e-3)
    assert np.linalg.norm(high - centre) == pytest.approx(inner, abs=1e-3)


@pytest.mark.parametrize("angle", [25.0, -60.0, 85.0])
def test_a_bend_keeps_steel_on_the_arc_and_beyond(angle):
    straight = bar(length=160.0)
    piece = bend(straight, **{**ARC, "angle_deg": angle})
    low, high = (np.array(corner) for corner in piece.box())
    points = np.random.default_rng(5).uniform(low, high, (20000, 3))
    hits = walk(lay_out(piece.solid(), keep=(straight.field,)), points, stop=straight.field, workers=1)
    # All of the steel lies in its box, and no more than that.
    assert hits.inside.mean() * np.prod(high - low) == pytest.approx(piece.volume_mm3, rel=0.05)
    found, there = determinants(piece, straight.field, points[hits.inside])
    # The table's curvature is straight from row to row: differences taken across a row see its kink.
    off = np.abs(found - 1.0)
    assert np.percentile(off, 99) < 3e-4
    assert off.max() < 5e-3
    back = hits.points[hits.inside][there]
    arc = 50.0 * math.radians(abs(angle))
    for part in (
        back[:, 0] < 30.0,
        np.abs(back[:, 0] - 30.0 - arc / 2) < arc / 2,
        back[:, 0] > 30.0 + arc,
    ):
        assert part.sum() > 100


def test_the_edges_of_a_bent_bar_have_no_steps():
    piece = bend(bar(length=200.0), start_mm=60.0, radius_mm=60.0, angle_deg=40.0)
    x = np.linspace(0.0, 200.0, 4001)
    for y in (-20.0, 20.0):
        rim = lies(piece, np.stack([x, np.full_like(x, y), np.zeros_like(x)], axis=1))
        gaps = np.linalg.norm(np.diff(rim, axis=0), axis=1)
        # 0.05 mm of bar on the outside of a radius of 60 stretches by a third at most.
        assert gaps.max() < 0.05 * 1.5


def test_both_straight_lengths_are_moved_as_they_are():
    straight = bar(length=200.0)
    piece = bend(straight, **ARC)
    before = np.array([[5.0, -18.0, 3.0], [5.0, 18.0, 3.0], [180.0, -18.0, 3.0], [180.0, 18.0, 3.0]])
    after = lies(piece, before)
    assert carry_back(piece.field, after, stop=straight.field) == pytest.approx(before, abs=1e-6)
    assert after[:2] == pytest.approx(before[:2])
    assert np.linalg.norm(after[3] - after[2]) == pytest.approx(36.0)


# --- afterwards ---------------------------------------------------------------------------------

FLAT_DIES = [
    ("forge-weld", {"down_pct": 5.0}),
    ("square-up", {"side_mm": 20.0}),
    ("press-on-edge", {"height_mm": 20.0}),
    ("crush-corners", {"flat_mm": 10.0}),
    ("upset", {"length_mm": 50.0}),
    ("draw", {"width_mm": 20.0, "thickness_mm": 20.0}),
    ("flatten", {"thickness_mm": 20.0}),
    ("split", {}),
    ("taper", {"over_mm": 20.0, "width_mm": 10.0}),
    ("bend", ARC),
]


@pytest.mark.parametrize(("kind", "numbers"), FLAT_DIES)
def test_what_cannot_be_worked_after_a_taper_says_why(kind, numbers):
    piece = taper(bar(), over_mm=60.0, width_mm=20.0)
    with pytest.raises(
        StepError, match=r"no longer a straight bar \(step point\).*move this step before"
    ):
        work(kind, piece, **numbers)


@pytest.mark.parametrize(("kind", "numbers"), [("turn", {}), ("cut", {}), ("trim", {}), ("slice", {})])
def test_what_cannot_be_sawn_or_laid_after_a_bend_says_why(kind, numbers):
    with pytest.raises(StepError, match=r"\(step sweep\)"):
        work(kind, bend(bar(), **ARC), **numbers)


def test_bent_pieces_cannot_be_laid_together():
    with pytest.raises(StepError, match=r"piece 1: no longer a straight bar \(step sweep\)"):
        work("restack", bend(bar(), **ARC), bar())
