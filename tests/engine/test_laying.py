"""Laying the outline: pushes, turns and the line come out as the numbers of the job say."""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon  # an outside reference for lengths and areas

from patternsim.answers import answers
from patternsim.job import parse, starting_job
from patternsim.knife import placed
from patternsim.laying import aimed, end_for_end, laid, moved, on_the_line, turned
from patternsim.shape.thinning import thinned
from patternsim.work import run


@pytest.fixture(scope="module")
def feather():
    return run(parse(starting_job("feather-from-w"), name="the worked feather"), "quick")


@pytest.fixture(scope="module")
def spec(feather):
    return feather.job.blade


@pytest.fixture(scope="module")
def piece(feather):
    return feather.blade_piece()


def with_place(spec, place):
    return spec.model_copy(update={"place": place})


@pytest.mark.parametrize("end", ["near", "far"])
@pytest.mark.parametrize("by", [(1.25, 0.0), (0.0, -2.5), (-3.0, 1.5)])
def test_a_push_moves_tip_and_heel_by_just_that(spec, piece, end, by):
    start = with_place(spec, spec.place.model_copy(update={"tip_end": end, "from_end_mm": 30.0}))
    before = laid(placed(start, piece), "mark-side")
    after = laid(placed(with_place(start, moved(start, piece, by)), piece), "mark-side")
    assert np.subtract(after.tip, before.tip) == pytest.approx(by, abs=0.011)
    assert np.subtract(after.heel, before.heel) == pytest.approx(by, abs=0.011)


@pytest.mark.parametrize("end", ["near", "far"])
@pytest.mark.parametrize("up", [-6.0, 4.0])
def test_the_tip_is_aimed_about_the_heel(spec, piece, end, up):
    start = with_place(spec, spec.place.model_copy(update={"tip_end": end, "from_end_mm": 30.0}))
    before = laid(placed(start, piece), "mark-side")
    wanted = (before.tip[0], before.tip[1] + up)
    after = laid(placed(with_place(start, aimed(start, piece, wanted)), piece), "mark-side")
    assert after.heel == pytest.approx(before.heel, abs=0.05)
    heel = np.array(before.heel)
    there, asked = np.subtract(after.tip, heel), np.subtract(wanted, heel)
    assert math.atan2(*there[::-1]) == pytest.approx(math.atan2(*asked[::-1]), abs=2e-4)
    assert np.hypot(*there) == pytest.approx(np.hypot(*np.subtract(before.tip, heel)), abs=0.02)


def test_a_turn_keeps_the_tip(spec, piece):
    start = with_place(spec, moved(spec, piece, (-20.0, 1.0)))
    after = with_place(start, turned(start, 3.0))
    assert after.place.turn_deg == pytest.approx(3.0)
    assert laid(placed(after, piece), "mark-side").tip == pytest.approx(
        laid(placed(start, piece), "mark-side").tip
    )


def test_no_turn_beyond_what_a_job_may_say(spec):
    assert turned(spec, 400.0).turn_deg == 45.0
    assert turned(spec, -400.0).turn_deg == -45.0


def test_a_pushed_outline_comes_back_onto_the_line(feather, spec, piece):
    off = with_place(spec, aimed(spec, piece, (300.0, 9.0)))
    there = with_place(off, on_the_line(off, piece))
    found = answers(replace(feather, job=feather.job.model_copy(update={"blade": there})))
    assert found.tip.verdict == "on"
    assert abs(found.tip.offset_mm) < 0.05
    for side in (found.tip.mark_side, found.tip.off_side):
        assert abs(side.heading_deg) < 0.3


def test_end_for_end_twice_is_as_before(spec, piece):
    start = with_place(spec, moved(spec, piece, (-20.0, 1.0)))
    once = with_place(start, end_for_end(start))
    assert once.place.tip_end == "near"
    assert end_for_end(once) == start.place


def test_the_outline_lies_whole_in_the_bar(spec, piece):
    # Turning and moving keep the area: checked by Shapely's polygons.
    first = Polygon(laid(placed(spec, piece), "mark-side").outline)
    place = aimed(with_place(spec, moved(spec, piece, (-30.0, 2.0))), piece, (260.0, 4.0))
    second = Polygon(laid(placed(with_place(spec, place), piece), "mark-side").outline)
    assert second.area == pytest.approx(first.area, rel=1e-9)
    assert second.length == pytest.approx(first.length, rel=1e-9)


def test_what_lacks_allowance_is_told_where_and_how_much(spec, piece):
    assert laid(placed(spec, piece), "mark-side").lacking == ()
    up = with_place(spec, moved(spec, piece, (0.0, 6.0)))
    found = laid(placed(up, piece), "mark-side")
    assert len(found.lacking) == 1
    first, last, lack = found.lacking[0]
    top = found.outline[:, 1].max()
    assert lack == pytest.approx(top + spec.allowance_mm - piece.size[1] / 2, abs=1e-9)
    # The same by an offset polygon and the bar as a box (Shapely).
    width = piece.size[1] / 2
    grown = Polygon(found.outline).buffer(spec.allowance_mm)
    assert grown.bounds[3] - width == pytest.approx(lack, abs=0.02)
    assert found.outline[first : last + 1, 1].min() > width - spec.allowance_mm - 1e-9


def test_the_line_runs_from_end_to_end_and_through_the_tip(spec, piece):
    found = laid(placed(spec, piece), "mark-side")
    x, y = found.line[:, 0], found.line[:, 1]
    assert np.all(np.diff(x) >= 0)
    assert np.interp(found.tip[0], x, y) == pytest.approx(found.tip[1], abs=0.1)


def test_from_piece_is_the_way_back(spec, piece):
    placement = placed(with_place(spec, aimed(spec, piece, (290.0, 7.0))), piece).placement
    rng = np.random.default_rng(3)
    u, v = rng.uniform(0, 200, 50), rng.uniform(-20, 20, 50)
    at = placement.to_piece(u, v, np.zeros(50))
    back = placement.from_piece(at[:, 0], at[:, 1])
    assert np.allclose(back, (u, v), atol=1e-9)


def test_a_thinned_outline_is_the_same_to_the_eye(spec, piece):
    line = laid(placed(spec, piece), "mark-side").silhouette
    kept = thinned(line, 0.01)
    assert len(kept) < len(line) / 3
    # Shapely's own Douglas-Peucker and distance as the outside measure.
    first, second = Polygon(line), Polygon(line[kept])
    assert first.hausdorff_distance(second) < 0.011
    assert len(kept) <= 1.3 * len(LineString(line).simplify(0.01, preserve_topology=False).coords) + 2
