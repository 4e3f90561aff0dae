"""The walk as others call it: cancelling, progress, what lies outside, same bits, forwards again."""

import sys
import threading
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.fields import reference_walk, worked
from patternsim.errors import Cancelled, PatternSimError
from patternsim.fields import (
    IN_GAP,
    OUTSIDE,
    REACHED,
    Bend,
    Clip,
    Gap,
    Leaf,
    Pick,
    PlaneMap,
    Taper,
    carry_back,
    carry_forward,
    kernel,
    lay_out,
    moved,
    sample_flow,
    scaled,
    walk,
)
from patternsim.fields.walk import BAND
from patternsim.press import Level, Pass, PressProblem, press
from patternsim.steps.bend import middle_line

MANY = 12 * BAND + 77
ARC = middle_line(200.0, start=20.0, arc=120.0, angle=1.1, ease=30.0)


def leaf(layers=20, length=100.0, width=60.0, height=40.0):
    return Leaf(
        "stack",
        thicknesses=np.full(layers, height / layers),
        steels=tuple("ab"[k % 2] for k in range(layers)),
        length=length,
        width=width,
    )


def cloud(count, seed=1, low=(0.0, -30.0, -20.0), high=(100.0, 30.0, 20.0)):
    return np.random.default_rng(seed).uniform(low, high, (count, 3))


def pressed(child, to=28.0):
    squeeze = Pass(across=60.0, along=40.0, height=to, sideways=1.0, turned=False)
    answer = press(PressProblem(width=60.0, height=40.0, passes=(squeeze,), friction=0.6), Level.QUICK)
    return PlaneMap(child, plane="yz", grid=answer.grid)


@pytest.fixture(scope="module")
def field():
    """Return a field of several links with more than one way through it."""
    bar = pressed(leaf())
    rows = Pick(
        axis=2,
        borders=(-40.0, 0.0, 40.0),
        pieces=(moved(bar, by=(0, 0, 20)), moved(bar, by=(0, 0, -20))),
    )
    return pressed(scaled(rows, ratios=(1.0, 1.0, 2.0)))


class Watch:
    """Progress that remembers, and calls the work off at report number `after`."""

    def __init__(self, after=None):
        self.after = after
        self.fractions = []
        self.texts = set()

    def at(self, fraction, text):
        self.fractions.append(fraction)
        self.texts.add(text)
        if self.after is not None and len(self.fractions) >= self.after:
            raise Cancelled("called off")


# --- cancelling and progress -------------------------------------------------------------


@pytest.mark.parametrize("workers", [1, 2, 4])
@pytest.mark.parametrize("after", [1, 3])
def test_cancelling_stops_between_bands_and_leaves_no_threads(field, workers, after, monkeypatch):
    walked = []

    def slow_band(*args):
        walked.append(1)
        time.sleep(0.002)

    # Bands that take their time instead of sums, and little else: only the order of things counts.
    monkeypatch.setattr(kernel, "walk_band", slow_band)
    monkeypatch.setattr(sys.modules["patternsim.fields.walk"], "BAND", 8)
    threads = threading.active_count()
    watch = Watch(after)
    with pytest.raises(Cancelled):
        walk(lay_out(field), cloud(8 * 500), progress=watch, workers=workers)
    assert threading.active_count() == threads
    assert len(watch.fractions) == after
    # Each thread finishes the band it is at, and may begin another before it is told.
    assert after <= len(walked) < 250


def test_after_cancelling_the_next_walk_is_whole(field):
    program, points = lay_out(field), cloud(MANY)
    expected = walk(program, points, workers=1)
    with pytest.raises(Cancelled):
        walk(program, points, progress=Watch(2), workers=2)
    again = walk(program, points, workers=2)
    assert np.array_equal(again.layers, expected.layers)


@pytest.mark.parametrize("workers", [1, 2, 3])
@pytest.mark.parametrize("count", [1, BAND, BAND + 1, MANY])
def test_progress_rises_to_one(field, workers, count):
    watch = Watch()
    walk(lay_out(field), cloud(count), progress=watch, workers=workers)
    assert watch.fractions == sorted(watch.fractions)
    assert 0.0 < watch.fractions[0] <= 1.0
    assert watch.fractions[-1] == 1.0
    assert len(watch.fractions) == -(-count // BAND)
    assert watch.texts == {"walking back to the layers"}


def test_points_are_not_changed(field):
    points = cloud(500)
    before = points.copy()
    walk(lay_out(field), points)
    assert np.array_equal(points, before)


# --- the same bits -----------------------------------------------------------------------


def bits(hits):
    return [getattr(hits, name).tobytes() for name in ("layers", "depths", "paths", "points")]


def test_same_bits_from_run_to_run_and_for_any_number_of_workers(field):
    points = cloud(MANY, low=(-2.0, -31.0, -21.0), high=(102.0, 31.0, 21.0))
    first = bits(walk(lay_out(field), points, workers=1))
    for workers in (1, 2, 2, 3, None):
        assert bits(walk(lay_out(field), points, workers=workers)) == first


def test_a_point_is_answered_alike_in_any_company(field):
    points = cloud(3000)
    program = lay_out(field)
    together = walk(program, points)
    order = np.random.default_rng(2).permutation(len(points))
    shuffled = walk(program, points[order])
    assert np.array_equal(shuffled.layers, together.layers[order])
    assert np.array_equal(shuffled.points, together.points[order])
    alone = [walk(program, points[k : k + 1]) for k in range(40)]
    assert [int(hits.layers[0]) for hits in alone] == together.layers[:40].tolist()
    assert np.array_equal(np.concatenate([hits.points for hits in alone]), together.points[:40])


# --- answers -----------------------------------------------------------------------------


def test_no_points():
    hits = walk(lay_out(leaf()), np.empty((0, 3)))
    assert hits.layers.shape == (0,)
    assert hits.points.shape == (0, 3)


@pytest.mark.parametrize("shape", [(3,), (5, 2), (5, 4), (2, 5, 3), ()])
def test_wrong_shapes_are_refused(shape):
    with pytest.raises(ValueError, match="shape"):
        walk(lay_out(leaf()), np.zeros(shape))


def test_whole_numbers_and_slices_are_points_too():
    program = lay_out(leaf())
    whole = np.array([[50, 0, -19], [50, 0, 19], [50, 0, 0]])
    assert walk(program, whole).layers.tolist() == [0, 19, 10]
    wide = np.zeros((3, 6))
    wide[:, ::2] = whole
    assert walk(program, wide[:, ::2]).layers.tolist() == [0, 19, 10]


def test_layers_and_depths_of_a_stack():
    # Twenty layers of 2 mm from z = -20: z = -17.5 is a quarter into the second.
    hits = walk(lay_out(leaf()), np.array([[1.0, 2.0, -17.5], [1.0, 2.0, 20.0], [1.0, 2.0, -20.0]]))
    assert hits.layers.tolist() == [1, 19, 0]
    assert hits.depths == pytest.approx([1.25, 20.0, 0.0])
    assert hits.points == pytest.approx(np.array([[1, 2, -17.5], [1, 2, 20], [1, 2, -20]]))


def test_outside_of_a_stack_and_the_slack_of_its_borders():
    inside = [
        [-0.04, 0, 0],
        [100.04, 0, 0],
        [50, 30.04, 0],
        [50, -30.04, 0],
        [50, 0, 20.04],
        [50, 0, -20.04],
    ]
    beyond = [
        [-0.06, 0, 0],
        [100.06, 0, 0],
        [50, 30.06, 0],
        [50, -30.06, 0],
        [50, 0, 20.06],
        [50, 0, -20.06],
    ]
    hits = walk(lay_out(leaf()), np.array(inside + beyond))
    assert hits.inside.tolist() == [True] * 6 + [False] * 6
    assert set(hits.layers[6:]) == {OUTSIDE}
    assert hits.depths[4:6] == pytest.approx([20.0, 0.0])


def test_a_gap_is_an_answer_of_its_own():
    block = Pick(axis=0, borders=(0.0, 10.0, 12.0, 22.0), pieces=(leaf(), Gap(), leaf()))
    hits = walk(lay_out(block), np.array([[5.0, 0, 0], [11.0, 0, 0], [25.0, 0, 0]]))
    assert hits.layers[1:].tolist() == [IN_GAP, OUTSIDE]
    assert hits.inside.tolist() == [True, False, False]


def test_stacks_are_counted_one_after_another():
    first, second = leaf(layers=3), leaf(layers=5)
    program = lay_out(Pick(axis=0, borders=(0.0, 50.0, 90.0), pieces=(first, second)))
    hits = walk(program, np.array([[20.0, 0.0, -19.0], [70.0, 0.0, -19.0]]))
    assert program.stack_starts == (0, 3)
    assert len(program.steels) == 8
    assert hits.layers.tolist() == [0, 3]
    assert program.thicknesses == pytest.approx([40 / 3] * 3 + [8.0] * 5)


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf, 1e300])
def test_what_is_no_place_is_outside(bad, field):
    table = np.stack([np.linspace(0, 100, 21), np.ones(21), np.ones(21), np.zeros(21)], axis=1)
    graded = sample_flow(lambda p: p, low=(0, 0), high=(100, 30), cells=(20, 20), grading=2.0)
    fields = [
        field,
        Clip(field, low=(0, 0, 0), high=(1, 1, 1)),
        Taper(leaf(), step=5.0, table=table),
        Bend(leaf(), step=ARC[1], table=ARC[0]),
        PlaneMap(leaf(), plane="xy", grid=graded),
        Pick(axis=1, borders=(0.0, 1.0), pieces=(leaf(),)),
    ]
    for axis in range(3):
        points = np.full((3, 3), 5.0)
        points[1, axis] = bad
        for one in fields:
            assert not walk(lay_out(one), points).inside[1]


def test_ways_of_many_pieces_have_names_of_their_own():
    inner = Pick(axis=1, borders=np.linspace(-30, 30, 61), pieces=(leaf(),) * 60)
    middle = Pick(axis=0, borders=np.linspace(0, 100, 101), pieces=(inner,) * 100)
    outer = Pick(axis=2, borders=np.linspace(-20, 20, 41), pieces=(middle,) * 40)
    middles = np.meshgrid(np.arange(100) + 0.5, np.arange(60) - 29.5, np.arange(40) - 19.5)
    hits = walk(lay_out(outer), np.stack([g.ravel() for g in middles], axis=1))
    assert hits.inside.all()
    assert len(np.unique(hits.paths)) == 100 * 60 * 40


# --- stopping on the way -----------------------------------------------------------------


def test_stopping_at_the_root_changes_nothing(field):
    points = cloud(50)
    hits = walk(lay_out(field, keep=(field,)), points, stop=field)
    assert set(hits.layers) == {REACHED}
    assert np.array_equal(hits.points, points)


def test_what_is_not_part_of_the_field_cannot_be_stopped_at(field):
    with pytest.raises(ValueError, match="not part"):
        walk(lay_out(field), cloud(5), stop=leaf())


def test_merged_turns_must_be_kept_to_be_stopped_at():
    inner = moved(leaf(), by=(1.0, 0.0, 0.0))
    outer = moved(inner, by=(0.0, 2.0, 0.0))
    with pytest.raises(ValueError, match="kept apart"):
        walk(lay_out(outer), cloud(5), stop=inner)
    hits = walk(lay_out(outer, keep=(inner,)), np.array([[5.0, 6.0, 7.0]]), stop=inner)
    assert hits.points == pytest.approx(np.array([[5.0, 8.0, 7.0]]))


def test_carried_back_outside_is_no_number():
    end = leaf()
    box = Clip(end, low=(0, 0, 0), high=(10, 10, 10))
    back = carry_back(box, np.array([[5.0, 5.0, 5.0], [5.0, 5.0, 11.0]]), stop=end)
    assert back[0].tolist() == [5.0, 5.0, 5.0]
    assert np.isnan(back[1]).all()


def test_a_link_used_twice_is_laid_out_once():
    bar = pressed(leaf())
    one = lay_out(bar)
    many = lay_out(Pick(axis=0, borders=np.arange(49.0), pieces=(bar,) * 48))
    assert len(many.arrays[0]) == len(one.arrays[0]) + 1
    assert many.arrays[-1].size == one.arrays[-1].size


def test_a_long_job_is_no_deeper_than_a_short_one():
    # Far more links in a row than the interpreter may nest calls.
    end = leaf()
    node = end
    grid = pressed(end).grid
    for _ in range(2000):
        node = PlaneMap(moved(node, by=(0.0, 0.0, 0.0)), plane="yz", grid=grid)
    points = cloud(20, low=(1, -1, -1), high=(99, 1, 1))
    assert walk(lay_out(node), points).inside.all()


# --- forwards again ----------------------------------------------------------------------


def forwards_fields():
    """Yield name, field, the link before, and a box of points before that are there after."""
    end = leaf()
    yield "a press", pressed(end), end, (60.0, 40.0)
    yield "two presses", pressed(scaled(pressed(end), ratios=(1.2, 0.9, 0.93))), end, (52.0, 36.0)
    x = np.linspace(0.0, 110.0, 441)
    across = 1 - x / 400
    table = np.stack([x - x**2 / 800, across, 1 + 0 * x, 0.02 * x], axis=1)
    yield "a taper", Taper(end, step=0.25, table=table), end, (60.0, 40.0)
    yield "an arc", Bend(end, step=ARC[1], table=ARC[0]), end, (60.0, 40.0)


FORWARDS = {name: rest for name, *rest in forwards_fields()}


@pytest.mark.parametrize("name", FORWARDS)
@settings(max_examples=30)
@given(
    seed=st.integers(0, 2**32 - 1),
    off=st.floats(0.0, 2.0),
)
def test_forwards_is_backwards_undone(name, seed, off):
    node, before_link, (width, height) = FORWARDS[name]
    random = np.random.default_rng(seed)
    after = random.uniform(
        [4.0, -0.45 * width, -0.45 * height], [90.0, 0.45 * width, 0.45 * height], (6, 3)
    )
    before = carry_back(node, after, stop=before_link)
    assert np.isfinite(before).all()
    guess = after + random.uniform(-off, off, after.shape)
    found = carry_forward(node, before, stop=before_link, guess=guess)
    # 1e-6 mm is asked for at the link before; a step does not stretch more than tenfold.
    assert found == pytest.approx(after, abs=2e-5)


@settings(max_examples=20)
@given(seed=st.integers(0, 2**32 - 1))
def test_forwards_through_a_split_and_all_that_follows(seed):
    # From the block before the wedge came to the finished piece; clear of the cut and the web.
    piece = worked.blade("feather-from-w").piece
    cut = piece.cuts[-1]
    low, high = np.array(piece.box())
    random = np.random.default_rng(seed)
    span = high - low
    share = random.uniform([0.3, 0.05, 0.1], [0.9, 0.45, 0.9], (4, 3))
    share[::2, 1] = 1.0 - share[::2, 1]
    after = low + share * span
    before = carry_back(piece.field, after, stop=cut.before)
    clear = np.isfinite(before).all(axis=1)
    after, before = after[clear], before[clear]
    found = carry_forward(
        piece.field, before, stop=cut.before, guess=after + random.normal(size=after.shape) * 0.2
    )
    assert found == pytest.approx(after, abs=1e-4)


def test_what_forwards_finds_the_second_walker_leads_back():
    node, end, _ = FORWARDS["two presses"]
    before = cloud(50, low=(10.0, -22.0, -15.0), high=(80.0, 22.0, 15.0))
    guess = before / [1.2, 0.9, 0.93]
    found = carry_forward(node, before, stop=end, guess=guess)
    assert reference_walk.walk(node, found, stop=end).points == pytest.approx(before, abs=1e-5)


def test_a_point_that_does_not_come_out_of_a_step_is_told():
    """A point beyond what a clip lets through has no place after it."""
    leaf = Leaf("s", thicknesses=np.ones(4), steels=("1084",) * 4, length=50.0, width=20.0)
    inner = moved(leaf, by=(0.0, 0.0, 0.0))
    after = moved(Clip(inner, low=(0, -10, -2), high=(20, 10, 2)), by=(0.0, 0.0, 0.0))
    point = np.array([[40.0, 0.0, 0.0]])
    with pytest.raises(PatternSimError, match="cannot be followed"):
        carry_forward(after, point, stop=inner, guess=point)
