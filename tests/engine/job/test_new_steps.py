"""A new step fits the steel at its place."""

import re
import tomllib

import pytest

from patternsim import run
from patternsim.errors import JobError
from patternsim.job import Job, new_step, parse, starting_job, with_bar, with_step
from patternsim.step import REGISTRY
from patternsim.work import StepRefused

TEXT = starting_job("feather-from-w")
JOB = parse(TEXT)
PLACES = ("draw-square", "weld-tall", "draw-blades")
"""A square bar, a tall block, two thin blades: each new step is put in behind one of these."""

# What no number can make possible there; a stack is refused by the job itself.
REFUSED = {
    ("crush-corners", "draw-blades"): "square it up first",
    ("crush-corners", "weld-tall"): "square it up first",
    ("restack", "draw-square"): "needs 2 pieces; the bar has 1",
    ("restack", "weld-tall"): "needs 2 pieces; the bar has 1",
    ("reweld", "draw-square"): "there is no open split to close",
    ("reweld", "weld-tall"): "there is no open split to close",
    ("reweld", "draw-blades"): "there is no open split to close",
}


@pytest.fixture(scope="module")
def worked():
    return run(JOB, "quick")


def step_for(kind, place, worked):
    pieces = worked.after(place).outcome.pieces
    return new_step(
        kind,
        pieces[0].size,
        JOB,
        bar="feather",
        pieces=len(pieces),
        stands_tall=pieces[0].layers.axis == 0,
    )


def ended_behind(step_id, text):
    """Return the job as it is when it ends with a step, without a blade."""
    job = parse(text)
    bar, at = job.find_step(step_id)
    return Job(
        format=1,
        name=job.name,
        shop=job.shop,
        bar=(bar.model_copy(update={"step": bar.step[: at + 1]}),),
    )


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("kind", sorted(REGISTRY.keys() - {"stack", "join"}))
def test_a_new_step_works_where_its_kind_can_be_done(kind, place, worked):
    step = step_for(kind, place, worked)
    text = with_step(TEXT, "feather", JOB.find_step(place)[1] + 1, step)
    assert tomllib.loads(text)["bar"][0]["step"][JOB.find_step(place)[1] + 1] == step
    job = ended_behind(step["id"], text)
    if (kind, place) in REFUSED:
        with pytest.raises(StepRefused, match=re.escape(REFUSED[kind, place])) as found:
            run(job, "quick")
        assert found.value.step == step["id"]
        return
    pieces = run(job, "quick").steps[-1].outcome.pieces
    assert all(piece.volume_mm3 > 0.0 for piece in pieces)


def test_most_kinds_are_not_refused():
    assert len(REFUSED) < 0.12 * 3 * len(REGISTRY)


@pytest.mark.parametrize("size", [(12.0, 2.0, 0.8), (0.9, 0.5, 0.3), (2500.0, 240.0, 190.0)])
@pytest.mark.parametrize("kind", sorted(REGISTRY.keys() - {"stack", "join"}))
def test_fields_for_small_and_large_steel_are_a_job(kind, size):
    step = new_step(kind, size, JOB, bar="feather")
    done = parse(with_step(TEXT, "feather", 5, step))
    assert done.bar[0].step[5].id == step["id"]
    assert list(step)[:2] == ["id", "kind"]


def test_a_stack_begins_another_bar_and_join_finds_it():
    stack = new_step("stack", (120.0, 40.0, 30.0), JOB)
    text = with_bar(TEXT, "core", [stack])
    assert stack["id"] == "stack-2"
    job = parse(text)
    assert new_step("join", (120.0, 40.0, 30.0), job, bar="feather")["bars"] == ["core"]
    with pytest.raises(JobError, match="no other bar to join; begin another bar first"):
        new_step("join", (120.0, 40.0, 30.0), job, bar="core")
    done = with_step(text, "feather", 8, new_step("join", (1.0, 1.0, 1.0), job, bar="feather"))
    with pytest.raises(JobError, match="no other bar to join"):
        new_step("join", (120.0, 40.0, 30.0), parse(done), bar="feather")


def test_marks_get_names_of_their_own():
    assert new_step("mark", (100.0, 40.0, 30.0), JOB)["name"] == "nick-2"
    assert new_step("mark", (100.0, 40.0, 30.0), parse(starting_job("w-bar")))["name"] == "nick"


def test_a_tall_stack_is_welded_on_end_and_many_pieces_are_stacked_high():
    assert new_step("forge-weld", (100.0, 40.0, 30.0), JOB, stands_tall=True)["along"] == "length"
    assert "along" not in new_step("forge-weld", (100.0, 40.0, 30.0), JOB)
    assert new_step("restack", (100.0, 40.0, 30.0), JOB, pieces=6)["high"] == 6


@pytest.mark.parametrize("size", [(0.0, 1.0, 1.0), (float("nan"), 1.0, 1.0), (-5.0, 1.0, 1.0)])
def test_without_steel_there_is_no_new_step(size):
    with pytest.raises(JobError, match="no steel here yet"):
        new_step("draw", size, JOB)


def test_an_unknown_kind_is_refused():
    with pytest.raises(JobError, match="no step kind"):
        new_step("drow", (1.0, 1.0, 1.0), JOB)
