"""Bars restacked without grinding their edges: round corners stay gaps, and are told."""

import numpy as np
import pytest

from patternsim import run
from patternsim.fields import IN_GAP, lay_out, walk
from patternsim.job import parse, starting_job
from patternsim.work import work_out

GROUND, LEFT = "edges_mm = 2.6", "edges_mm = 0.5"


def unground(last):
    """Return the worked feather with the edges of its first restack hardly ground, up to a step."""
    text = starting_job("feather-from-w")
    assert text.count(GROUND) == 1
    job = parse(text.replace(GROUND, LEFT).split("[blade]")[0])
    bar, at = job.find_step(last)
    return job.model_copy(update={"bar": (bar.model_copy(update={"step": bar.step[: at + 1]}),)})


@pytest.fixture(scope="module", params=["coarse", "fine"])
def result(request):
    return run(unground("weld-two"), request.param)


def looked_at(piece, points):
    return walk(lay_out(piece.solid()), points, workers=1).layers


def share_of_gaps(piece, count=60_000):
    """Return the share of the box that is gap, by points."""
    low, high = (np.array(corner) for corner in piece.box())
    u = np.random.default_rng(0).uniform(0.0, 1.0, (count, 3))
    found = looked_at(piece, low + u * (high - low))
    return (found == IN_GAP).mean(), (found >= 0).mean()


def test_the_gap_is_as_large_as_what_the_bars_want_of_boxes(result):
    laid = result.after("clean-two").outcome.pieces
    piece = result.after("restack-two").outcome.pieces[0]
    boxes = sum(np.prod(one.size) for one in laid)
    wanted = 1.0 - sum(one.volume_mm3 for one in laid) / boxes
    assert 0.005 < wanted < 0.05
    assert 1.0 - piece.volume_mm3 / piece.outlined_mm3 == pytest.approx(wanted, abs=2e-3)
    gap, steel = share_of_gaps(piece)
    assert gap == pytest.approx(wanted, abs=2e-3)
    assert gap + steel == pytest.approx(1.0, abs=1e-3)


def test_the_gaps_lie_in_the_corners_of_the_bars(result):
    piece = result.after("restack-two").outcome.pieces[0]
    x, y, z = piece.size
    hair = 0.15
    # Four corners of two bars, one on the other: outside, and where they meet on the sides.
    corners = [
        [x / 2, side * (y / 2 - hair), height]
        for side in (-1.0, 1.0)
        for height in (-z / 2 + hair, -hair, hair, z / 2 - hair)
    ]
    assert (looked_at(piece, np.array(corners)) == IN_GAP).all()
    middles = [[x / 2, side * (y / 2 - hair), z * up] for side in (-1, 1) for up in (-0.25, 0.25)]
    middles += [[x / 2, 0.0, 0.0], [x / 2, 0.3 * y, hair], [x / 2, -0.3 * y, -hair]]
    assert (looked_at(piece, np.array(middles)) >= 0).all()


def test_a_press_leaves_gaps_where_the_bars_meet(result):
    """A press moves what fills a gap, it does not heal it; steel stays as much as the scales say."""
    piece = result.after("weld-two").outcome.pieces[0]
    gap, steel = share_of_gaps(piece)
    assert gap > 0.004
    assert steel * np.prod(piece.size) == pytest.approx(piece.volume_mm3, rel=0.015)
    # Along the joint, seen from the side: still open.
    reach = np.linspace(0.86, 0.995, 60) * piece.size[1] / 2
    joint = np.stack([np.full(60, piece.size[0] / 2), reach, np.zeros(60)], axis=1)
    assert (looked_at(piece, joint) == IN_GAP).any()


def test_a_bar_ground_to_its_flats_has_none():
    job = parse(starting_job("feather-from-w"))
    row = run(job, "coarse").after("restack-two")
    piece = row.outcome.pieces[0]
    assert piece.volume_mm3 == pytest.approx(piece.outlined_mm3, rel=1e-3)
    assert share_of_gaps(piece)[0] < 1e-3


def test_such_a_job_is_worked_to_its_end():
    worked = work_out(unground("draw-blades"), "coarse")
    assert worked.refused is None
    assert [row.outcome.source for row in worked.result.steps[-1:]] == ["coarse"]
