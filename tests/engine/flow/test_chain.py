"""The backward map against a flow known exactly: errors, outside, mirrors, slopes, stored and joined."""

import numpy as np
import pytest
from shapely.geometry import Polygon

from engine.flow import known_flow, outlines
from patternsim.flow.boundary import fine
from patternsim.flow.chain import Chain, Segment, joined
from patternsim.flow.mesher import meshed

SIZE = 0.12
WHOLE = outlines.block(2, 2) - 1.0


@pytest.fixture(scope="module")
def half_way():
    """A block of half-side 1 upset by 50 %."""
    return known_flow.upset(0.5, SIZE, WHOLE)


def rms(errors):
    return float(np.sqrt(np.mean(np.sum(errors**2, axis=-1))))


def known_pairs(times, count=4000, seed=0, within=1.0):
    """Places before, and where the flow brings them."""
    before = np.random.default_rng(seed).uniform(-within, within, (count, 2))
    return before, known_flow.follow(before, *times)


def just_outside(mesh, distance):
    on = fine(mesh.outline(), 4)
    along = np.roll(on, -1, axis=0) - np.roll(on, 1, axis=0)
    return on + distance * np.stack([along[:, 1], -along[:, 0]], axis=1) / np.hypot(*along.T)[:, None]


# Bounds are twice what a proof of the method measured on a flow of this kind (meshes of 1300 points).
@pytest.mark.parametrize(("reduction", "bound"), [(0.5, 1e-4), (0.7, 5e-4), (0.8, 3e-3)])
def test_the_chain_is_the_flow_backwards(reduction, bound):
    run = known_flow.upset(reduction, SIZE, WHOLE)
    assert len(run.end.nodes) < 2000
    assert len(run.segments) > 2
    before, after = known_pairs(run.times)
    errors = Chain(run.segments).back(after) - before
    assert rms(errors) < bound
    assert np.abs(errors).max() < 10 * bound


def test_a_finer_mesh_is_nearer():
    coarse = known_flow.upset(0.7, 0.2, WHOLE)
    fine_one = known_flow.upset(0.7, 0.1, WHOLE)
    before, after = known_pairs(coarse.times)
    by_coarse = rms(Chain(coarse.segments).back(after) - before)
    by_fine = rms(Chain(fine_one.segments).back(after) - before)
    # Parabolas are exact to the third power of the edge.
    assert by_fine < by_coarse / 5


def test_remeshing_again_and_again_loses_nothing():
    seldom = known_flow.upset(0.5, SIZE, WHOLE, every=7)
    often = known_flow.upset(0.5, SIZE, WHOLE, every=1)
    assert len(often.segments) > 4 * len(seldom.segments)
    before, after = known_pairs(seldom.times)
    assert rms(Chain(often.segments).back(after) - before) < 1e-4


@pytest.mark.parametrize(("out", "bound"), [(0.1, 0.004), (0.3, 0.018), (0.6, 0.05), (1.0, 0.12)])
def test_outside_the_map_is_drawn_on_straight(half_way, out, bound):
    chain = Chain(half_way.segments)
    places = just_outside(half_way.end, out * SIZE)
    assert not chain.inside(places).any()
    exact = known_flow.follow(places, *half_way.times[::-1])
    assert rms(chain.back(places, reach=3.0) - exact) < bound


def test_beyond_its_reach_the_map_stands_still(half_way):
    chain = Chain(half_way.segments)
    # Straight out from the bulged sides the nearest place stays the same but for slight bends.
    side = np.abs(just_outside(half_way.end, 0.0)[:, 1]) < 0.4
    near, far = just_outside(half_way.end, 0.06)[side], just_outside(half_way.end, 0.2)[side]
    assert side.sum() > 50
    np.testing.assert_allclose(chain.back(near), chain.back(far), atol=6e-3)
    drawn_on = np.hypot(*(chain.back(near, reach=3.0) - chain.back(far, reach=3.0)).T)
    assert drawn_on.min() > 0.05
    assert not np.allclose(chain.back(near, reach=0.3), chain.back(near, reach=0.6), atol=1e-3)


def test_across_the_outline_the_map_is_continuous(half_way):
    chain = Chain(half_way.segments)
    a = chain.back(just_outside(half_way.end, 1e-7))
    b = chain.back(just_outside(half_way.end, -1e-7))
    assert np.abs(a - b).max() < 1e-5


def test_inside_is_the_curved_outline(half_way):
    chain = Chain(half_way.segments)
    assert chain.inside(just_outside(half_way.end, -1e-4)).all()
    assert not chain.inside(just_outside(half_way.end, 1e-4)).any()
    outline = Polygon(chain.outline())
    assert outline.is_valid
    assert outline.exterior.is_ccw
    assert outline.area == pytest.approx(half_way.end.area(), rel=2e-4)


def test_slopes_are_those_of_the_map(half_way):
    chain = Chain(half_way.segments)
    _, after = known_pairs(half_way.times, 500, within=0.98)
    slopes, step = chain.gradient(after), 1e-6
    for axis in (0, 1):
        shift = step * np.eye(2)[axis]
        measured = (chain.back(after + shift) - chain.back(after - shift)) / (2 * step)
        # A place within the step of an edge between triangles sees two slopes.
        off = np.abs(measured - slopes[:, :, axis]).max(axis=1)
        assert np.quantile(off, 0.98) < 1e-7
    # The flow keeps area.
    assert np.sqrt(np.mean((np.linalg.det(slopes) - 1) ** 2)) < 3e-3


# --- mirrors -----------------------------------------------------------------------------

HALVES = {
    "right": (outlines.block(1, 2) - [0, 1], 0.0, None),
    "left": (outlines.block(1, 2) - [1, 1], 0.0, None),
    "upper": (outlines.block(2, 1) - [1, 0], None, 0.0),
    "quarter": (outlines.block(1, 1), 0.0, 0.0),
    "far quarter": (outlines.block(1, 1) - 1.0, 0.0, 0.0),
}


@pytest.mark.parametrize("part", HALVES)
def test_a_part_answers_for_the_whole(part):
    curve, mirror_x, mirror_y = HALVES[part]
    mirrors = [axis for axis, at in enumerate((mirror_x, mirror_y)) if at is not None]
    run = known_flow.upset(0.5, SIZE, curve, mirrors=mirrors)
    chain = Chain(run.segments, mirror_x=mirror_x, mirror_y=mirror_y)
    before, after = known_pairs(run.times, within=0.99)
    assert chain.inside(after).all()
    assert rms(chain.back(after) - before) < 1e-4
    assert np.sqrt(np.mean((np.linalg.det(chain.gradient(after)) - 1) ** 2)) < 4e-3
    outline = Polygon(chain.outline())
    assert outline.is_valid
    assert outline.exterior.is_ccw
    assert outline.area == pytest.approx(4.0, rel=1e-3)
    for sign in (-1, 1):
        level = np.array([[0.0, 0.0], [0.0, 0.3 * sign], [0.5 * sign, 0.0]])
        assert chain.inside(level).all()
        assert np.abs(chain.back(level)[0]).max() < 1e-9
    # Slopes turn with the mirror.
    places = np.array([[0.7, 0.2], [-0.7, 0.2], [0.7, -0.2], [-0.7, -0.2]])
    slopes = chain.gradient(places)
    exact = [
        (
            known_flow.follow(places + h, *run.times[::-1])
            - known_flow.follow(places - h, *run.times[::-1])
        )
        / 2e-5
        for h in 1e-5 * np.eye(2)
    ]
    np.testing.assert_allclose(slopes, np.stack(exact, axis=-1), atol=0.02)


def test_outside_a_mirrored_part():
    run = known_flow.upset(0.5, SIZE, HALVES["quarter"][0], mirrors=[0, 1])
    chain = Chain(run.segments, mirror_x=0.0, mirror_y=0.0)
    whole = known_flow.upset(0.5, SIZE, WHOLE)
    places = just_outside(whole.end, 0.3 * SIZE)
    exact = known_flow.follow(places, *run.times[::-1])
    assert rms(chain.back(places, reach=3.0) - exact) < 0.02


def test_a_mirror_line_elsewhere():
    curve, *_ = HALVES["right"]
    run = known_flow.upset(0.3, SIZE, curve, mirrors=[0])
    aside = np.array([5.0, 0.0])
    moved = [
        Segment(one.triangles, one.start + aside, one.end + aside, one.vertices, one.loop)
        for one in run.segments
    ]
    chain, shifted = Chain(run.segments, mirror_x=0.0), Chain(moved, mirror_x=5.0)
    _, after = known_pairs(run.times, 500)
    np.testing.assert_allclose(shifted.back(after + aside), chain.back(after) + aside, atol=1e-12)


def test_halves_peeled_apart_have_one_outline():
    # A half whose upper part has come off the line of mirroring: joined below only.
    half = outlines.polygon_curve([[0, 0], [1, 0], [1.4, 2], [0.5, 2], [0, 1]])
    mesh = meshed(half, 0.2)
    chain = Chain(
        [Segment(mesh.triangles, mesh.nodes, mesh.nodes, mesh.vertices, mesh.loop)], mirror_x=0.0
    )
    outline = Polygon(chain.outline())
    assert outline.is_valid
    assert outline.area == pytest.approx(2 * Polygon(half[0::2]).area, rel=1e-12)
    np.testing.assert_array_equal(
        chain.inside(np.array([[0.0, 0.5], [0.0, 1.5], [-0.9, 1.5], [0.9, 1.5]])),
        [True, False, True, True],
    )


# --- stored, joined ----------------------------------------------------------------------


def test_stored_and_read_again_it_is_the_same(half_way, tmp_path):
    chain = Chain(half_way.segments)
    np.savez(tmp_path / "chain.npz", **chain.to_arrays())
    with np.load(tmp_path / "chain.npz", allow_pickle=False) as arrays:
        again = Chain.from_arrays(arrays)
    _, after = known_pairs(half_way.times)
    np.testing.assert_array_equal(again.back(1.1 * after), chain.back(1.1 * after))
    np.testing.assert_array_equal(again.outline(), chain.outline())


def test_flows_one_after_another():
    first = known_flow.upset(0.3, SIZE, HALVES["quarter"][0], mirrors=[0, 1])
    # The second goes on from the whole outline of the first, without a mirror.
    outline = Chain(first.segments, mirror_x=0.0, mirror_y=0.0).outline()
    second = known_flow.upset(0.3, SIZE, outlines.polygon_curve(outline), start=first.times[1])
    both = joined(Chain(first.segments, mirror_x=0.0, mirror_y=0.0), Chain(second.segments))
    before, after = known_pairs((0.0, second.times[1]))
    assert rms(both.back(after) - before) < 3e-4
    again = Chain.from_arrays(both.to_arrays())
    np.testing.assert_array_equal(again.back(after), both.back(after))
    assert len(again.segments) == len(first.segments) + len(second.segments)


def test_again_is_the_same_to_the_last_digit(half_way):
    again = known_flow.upset(0.5, SIZE, WHOLE)
    _, after = known_pairs(half_way.times)
    one, other = Chain(half_way.segments), Chain(again.segments)
    assert one.back(1.1 * after).tobytes() == other.back(1.1 * after).tobytes()
    # Nor does it matter in what company a place is asked for.
    assert one.back(1.1 * after)[7:9].tobytes() == one.back(1.1 * after[7:9]).tobytes()


def test_a_chain_of_nothing_is_refused():
    with pytest.raises(ValueError, match="segment"):
        Chain([])
