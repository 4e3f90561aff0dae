"""Working a job out: as far as it can be worked, without skipped steps, and again after a change."""

from concurrent.futures import ThreadPoolExecutor

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from pydantic import ValidationError

from engine.same_steel import seen
from patternsim.errors import Cancelled, UsageError
from patternsim.job import Job, parse, starting_job, starting_jobs
from patternsim.press import levels, splitting
from patternsim.step import REGISTRY
from patternsim.work import StepRefused, run, work_out

NAMES = [name for name, _ in starting_jobs()]
JOINED = """
format = 1
name = "Two bars and a third"

[blade]
bar = "third"
barbs = "none"
profile = "hunter"

[[bar]]
name = "first"
[[bar.step]]
id = "stack-1"
kind = "stack"
strips = [{ steel = "1084", thickness_mm = 3.0 }, { steel = "15N20", thickness_mm = 3.0 }]
repeat = 4
width_mm = 40.0
length_mm = 200.0
[[bar.step]]
id = "weld-1"
kind = "forge-weld"
down_pct = 15.0
[[bar.step]]
id = "draw-1"
kind = "draw"
width_mm = 36.0
thickness_mm = 12.0

[[bar]]
name = "second"
[[bar.step]]
id = "stack-2"
kind = "stack"
strips = [{ steel = "1084", thickness_mm = 12.0 }]
width_mm = 36.0
length_mm = 220.0
[[bar.step]]
id = "nick"
kind = "mark"
name = "nick"

[[bar]]
name = "third"
[[bar.step]]
id = "stack-3"
kind = "stack"
strips = [{ steel = "15N20", thickness_mm = 12.0 }]
width_mm = 36.0
length_mm = 210.0
[[bar.step]]
id = "join-3"
kind = "join"
bars = ["first", "second"]
side = "end-to-end"
[[bar.step]]
id = "weld-3"
kind = "forge-weld"
down_pct = 10.0
[[bar.step]]
id = "draw-3"
kind = "draw"
width_mm = 33.0
thickness_mm = 9.0
"""


@pytest.fixture(scope="module")
def joined():
    return parse(JOINED)


def started(name):
    return parse(JOINED if name == "joined" else starting_job(name))


def changed(job, step_id, **values):
    """Return the job with values of one step changed; the values keep the step's limits."""
    return with_steps(
        job,
        lambda step: type(step)(**(step.model_dump() | values)) if step.id == step_id else step,
    )


def with_steps(job, change):
    """Return the job with every step changed by `change`; one changed to None is taken out."""
    bars = []
    for bar in job.bar:
        steps = tuple(new for step in bar.step if (new := change(step)) is not None)
        bars.append(bar.model_copy(update={"step": steps}))
    return job.model_copy(update={"bar": tuple(bars)})


def ids(result):
    return [row.step.id for row in result.steps]


# --- as far as it can be worked ----------------------------------------------------------


@pytest.mark.parametrize("name", [*NAMES, "joined"])
def test_a_job_that_can_be_worked_is_worked_whole(name):
    job = started(name)
    worked = work_out(job, "quick")
    assert worked.refused is None
    assert ids(worked.result) == [step.id for bar in job.bar for step in bar.step]
    assert seen(run(job, "quick")) == seen(worked.result)


def test_a_refused_step_leaves_what_came_before_it(joined):
    job = changed(joined, "draw-3", width_mm=400.0, thickness_mm=400.0)
    worked = work_out(job, "quick")
    assert worked.refused.step == "draw-3"
    assert worked.refused.bar == "third"
    assert worked.refused.way == ("bar", 2, "step", 3)
    assert ids(worked.result)[-3:] == ["stack-3", "join-3", "weld-3"]
    assert worked.result.after("weld-3").outcome.pieces
    # The first two went into the third, which was not finished.
    assert dict(worked.result.bars) == {}
    with pytest.raises(StepRefused) as raised:
        run(job, "quick")
    assert str(raised.value) == str(worked.refused)


def test_bars_that_do_not_need_the_refused_one_are_worked_and_those_that_do_wait(joined):
    worked = work_out(changed(joined, "draw-1", width_mm=400.0, thickness_mm=400.0), "quick")
    assert worked.refused.step == "draw-1"
    assert ids(worked.result) == ["stack-1", "weld-1", "stack-2", "nick", "stack-3"]
    assert list(worked.result.bars) == ["second"]


def test_the_first_of_two_refusals_is_told(joined):
    job = changed(joined, "draw-1", width_mm=400.0, thickness_mm=400.0)
    worked = work_out(changed(job, "nick", along_mm=999.0), "quick")
    assert worked.refused.step == "draw-1"
    assert ids(worked.result) == ["stack-1", "weld-1", "stack-2", "stack-3"]


def test_no_blade_comes_from_a_bar_that_was_not_finished(joined):
    worked = work_out(changed(joined, "weld-3", down_pct=60.0, heats=40), "quick")
    assert worked.refused is not None
    with pytest.raises(UsageError, match="bar third, but it was not finished; mend the step"):
        worked.result.blade_piece()


def test_a_step_that_was_not_worked_has_no_piece(joined):
    job = changed(joined, "draw-1", width_mm=400.0, thickness_mm=400.0)
    job = changed(job, "nick", skip=True)
    result = work_out(job, "quick").result
    with pytest.raises(UsageError, match='"draw-1" could not be worked'):
        result.after("draw-1")
    with pytest.raises(UsageError, match='"nick" is skipped'):
        result.after("nick")
    with pytest.raises(UsageError, match='no step "none" in this job; the steps are: stack-1'):
        result.after("none")


# --- skipped steps -----------------------------------------------------------------------


@pytest.mark.parametrize("name", [*NAMES, "joined"])
def test_a_job_with_skipped_steps_is_the_job_without_them(name):
    job, tried = started(name), 0
    for step in [step for bar in job.bar for step in bar.step]:
        skipped = work_out(changed(job, step.id, skip=True), "quick")
        without = work_out(with_steps(job, lambda one, gone=step: None if one is gone else one), "quick")
        assert seen(skipped.result) | {"job": None} == seen(without.result) | {"job": None}
        assert str(skipped.refused) == str(without.refused)
        tried += skipped.refused is None
    assert tried >= 3


def test_a_bar_whose_first_step_is_skipped_has_no_steel(joined):
    worked = work_out(changed(joined, "stack-1", skip=True), "quick")
    assert worked.refused.step == "weld-1"
    assert worked.refused.way == ("bar", 0, "step", 1)
    assert "there is no steel yet" in worked.refused.reason


def test_a_bar_of_skipped_steps_cannot_be_joined(joined):
    job = changed(changed(joined, "stack-2", skip=True), "nick", skip=True)
    worked = work_out(job, "quick")
    assert worked.refused.step == "join-3"
    assert worked.refused.reason == (
        "there is no steel in bar second: all its steps are skipped; use them again"
    )


def test_no_blade_comes_from_a_bar_of_skipped_steps(joined):
    third = joined.bar_named("third")
    result = work_out(
        with_steps(joined, lambda s: s.model_copy(update={"skip": True}) if s in third.step else s),
        "quick",
    ).result
    assert list(result.bars) == ["first", "second"]
    with pytest.raises(UsageError, match="all its steps are skipped"):
        result.blade_piece()


def test_a_skipped_join_uses_no_bar_up(joined):
    worked = work_out(changed(joined, "join-3", skip=True), "quick")
    assert worked.refused is None
    assert sorted(worked.result.bars) == ["first", "second", "third"]


def test_a_job_of_skipped_steps_gives_nothing_and_no_fault(joined):
    job = with_steps(joined, lambda step: step.model_copy(update={"skip": True}))
    worked = work_out(job, "quick")
    assert worked.refused is None
    assert worked.result.steps == ()
    assert dict(worked.result.bars) == {}


# --- again after a change ----------------------------------------------------------------


def kept(result, before):
    """Return the ids of the steps whose results were taken over."""
    return [row.step.id for row in result.steps if row in before.steps]


def test_the_same_job_is_taken_over_whole(joined):
    before = work_out(joined, "quick").result
    again = work_out(joined.model_copy(deep=True), "quick", before=before).result
    assert again.job is not joined
    assert all(new is old for new, old in zip(again.steps, before.steps, strict=True))
    assert seen(again) == seen(before)


def test_a_change_costs_its_bar_from_there_on_and_what_joins_it(joined):
    before = work_out(joined, "quick").result
    job = changed(joined, "weld-1", down_pct=16.0)
    after = work_out(job, "quick", before=before).result
    assert kept(after, before) == ["stack-1", "stack-2", "nick", "stack-3"]
    assert seen(after) == seen(run(job, "quick"))


def test_a_change_in_the_bar_that_joins_costs_none_of_the_joined(joined):
    before = work_out(joined, "quick").result
    job = changed(joined, "draw-3", thickness_mm=8.5)
    after = work_out(job, "quick", before=before).result
    assert kept(after, before) == ids(before)[:-1]
    assert seen(after) == seen(run(job, "quick"))


def test_a_step_more_in_a_joined_bar_is_seen_by_the_join(joined):
    job = changed(joined, "draw-1", skip=True)
    before = work_out(job, "quick").result
    after = work_out(joined, "quick", before=before).result
    assert kept(after, before) == ["stack-1", "weld-1", "stack-2", "nick", "stack-3"]
    back = work_out(job, "quick", before=after).result
    assert kept(back, after) == ["stack-1", "weld-1", "stack-2", "nick", "stack-3"]
    assert seen(back) == seen(before)


def test_another_shop_takes_nothing_over(joined):
    before = work_out(joined, "quick").result
    shop = joined.shop.model_copy(update={"friction_dies": 0.31})
    job = joined.model_copy(update={"shop": shop})
    after = work_out(job, "quick", before=before).result
    assert kept(after, before) == []
    assert seen(after) == seen(run(job, "quick"))


def test_a_heading_changed_keeps_the_steel_and_shows_the_heading(joined):
    before = work_out(joined, "quick").result
    after = work_out(changed(joined, "weld-1", stage="Weld"), "quick", before=before).result
    assert after.after("weld-1").step.stage == "Weld"
    assert after.after("weld-1").outcome is before.after("weld-1").outcome
    assert kept(after, before) == [one for one in ids(before) if one != "weld-1"]


def test_a_job_mended_takes_over_what_was_worked_before_the_refusal(joined):
    broken = work_out(changed(joined, "draw-1", width_mm=400.0, thickness_mm=400.0), "quick")
    mended = work_out(joined, "quick", before=broken.result)
    assert mended.refused is None
    assert kept(mended.result, broken.result) == ids(broken.result)
    assert seen(mended.result) == seen(run(joined, "quick"))


def test_bars_that_change_their_names_are_worked_again(joined):
    before = work_out(joined, "quick").result
    names = {"first": "second", "second": "first", "third": "third"}
    swapped = joined.model_copy(
        update={"bar": tuple(b.model_copy(update={"name": names[b.name]}) for b in joined.bar)}
    )
    after = work_out(swapped, "quick", before=before).result
    assert seen(after) == seen(run(swapped, "quick"))


NUMBERS = {
    kind: [
        name
        for name, field in model.model_fields.items()
        if field.annotation in (float, int, float | None) and name not in ("repeat", "rows")
    ]
    for kind, model in REGISTRY.items()
}


@st.composite
def edits(draw):
    """Change a job: a number, a skip, a heading, a step out, two steps about, the shop, a bar's name."""
    what = draw(st.sampled_from(["number", "number", "number", "skip", "stage", "out", "swap", "shop"]))
    bar, place = draw(st.integers(0, 99)), draw(st.integers(0, 99))
    share = draw(st.sampled_from([0.5, 0.9, 0.98, 1.02, 1.1, 2.0]))
    return what, bar, place, share


def edited(job, edit):
    what, k, place, share = edit
    if what == "shop":
        friction = min(0.9, job.shop.friction_dies * share)
        return job.model_copy(update={"shop": job.shop.model_copy(update={"friction_dies": friction})})
    k %= len(job.bar)
    steps = list(job.bar[k].step)
    place %= len(steps)
    step = steps[place]
    if what == "number":
        names = [name for name in NUMBERS[step.kind] if getattr(step, name)]
        assume(names)
        name = names[k % len(names)]
        value = type(getattr(step, name))(getattr(step, name) * share)
        steps[place] = type(step)(**(step.model_dump() | {name: value}))
    elif what == "skip":
        steps[place] = step.model_copy(update={"skip": not step.skip})
    elif what == "stage":
        steps[place] = step.model_copy(update={"stage": step.stage + "x"})
    elif what == "out":
        assume(len(steps) > 1)
        del steps[place]
    else:
        steps.insert(0, steps.pop(place))
    bars = list(job.bar)
    bars[k] = bars[k].model_copy(update={"step": tuple(steps)})
    return job.model_copy(update={"bar": tuple(bars)})


@pytest.mark.slow
@pytest.mark.parametrize("name", [*NAMES, "joined"])
def test_worked_on_from_before_is_worked_afresh(name):
    start = started(name)
    taken = 0

    @settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.lists(edits(), min_size=1, max_size=4))
    def one(several):
        nonlocal taken
        job, before = start, work_out(start, "quick").result
        for edit in several:
            try:
                job = edited(job, edit)
            except ValidationError:
                assume(False)
            worked, fresh = work_out(job, "quick", before=before), work_out(job, "quick")
            assert seen(worked.result) == seen(fresh.result)
            assert str(worked.refused) == str(fresh.refused)
            taken += len(kept(worked.result, before))
            before = worked.result

    one()
    assert taken > 50


# --- several threads ---------------------------------------------------------------------


def test_jobs_worked_side_by_side_are_worked_as_one_by_one(joined):
    jobs = [changed(joined, "weld-1", down_pct=15.0 + k / 3) for k in range(6)]
    jobs += [changed(started("feather"), "split", off_centre_mm=k / 4) for k in range(3)]
    with ThreadPoolExecutor(max_workers=4) as pool:
        together = list(pool.map(lambda job: run(job, "quick"), jobs))
    levels._quick.cache_clear()
    splitting.split.cache_clear()
    assert [seen(one) for one in together] == [seen(run(job, "quick")) for job in jobs]


# --- told on the way ---------------------------------------------------------------------


class Watched:
    """Progress that writes down what it is told, and calls off at a count."""

    def __init__(self, stop_at=None):
        self.told = []
        self.stop_at = stop_at

    def at(self, fraction, text):
        self.told.append((fraction, text))
        if len(self.told) == self.stop_at:
            raise Cancelled


def test_every_step_is_told_and_the_share_grows_to_one(joined):
    watch = Watched()
    work_out(changed(joined, "nick", skip=True), "quick", progress=watch)
    shares = [share for share, _ in watch.told]
    assert shares[0] == 0.0
    assert shares[-1] == 1.0
    assert shares == sorted(shares)
    assert len({text for _, text in watch.told}) >= 7
    assert watch.told[0][1] == "step 1 of 9: stack"


def test_work_taken_over_is_told_and_can_be_called_off_too(joined):
    before = work_out(joined, "quick").result
    with pytest.raises(Cancelled):
        work_out(joined, "quick", progress=Watched(stop_at=3), before=before)


def test_a_job_model_is_not_changed_by_working_it(joined):
    text = joined.model_dump_json()
    work_out(joined, "quick")
    assert isinstance(joined, Job)
    assert joined.model_dump_json() == text


# --- what was worked out last, standing in -----------------------------------------------


@pytest.fixture(scope="module")
def joined_coarse(joined):
    return work_out(joined, "coarse").result


def test_steps_before_a_change_are_those_worked_out_last(joined, joined_coarse):
    job = changed(joined, "draw-1", width_mm=35.5)
    rough = work_out(job, "quick", like=joined_coarse).result
    known = {row.step.id: row for row in joined_coarse.steps}
    same = {row.step.id for row in rough.steps if known[row.step.id] is row}
    assert same == {"stack-1", "weld-1", "stack-2", "nick", "stack-3"}
    assert rough.level == "quick"


def test_a_rough_result_is_near_the_one_it_stands_in_for(joined, joined_coarse):
    job = changed(joined, "draw-1", width_mm=35.5)
    rough = work_out(job, "quick", like=joined_coarse).result
    true = work_out(job, "coarse", before=joined_coarse).result
    for one, other in zip(rough.steps, true.steps, strict=True):
        sizes = [piece.size for piece in one.outcome.pieces], [p.size for p in other.outcome.pieces]
        assert sizes[0] == pytest.approx(np.array(sizes[1]), rel=0.02)


def test_of_another_shop_nothing_is_taken_over(joined, joined_coarse):
    job = joined.model_copy(update={"shop": joined.shop.model_copy(update={"kerf_mm": 3.0})})
    rough = work_out(job, "quick", like=joined_coarse).result
    assert not any(row in joined_coarse.steps for row in rough.steps)


def test_a_wedge_that_stands_alone_is_not_taken_over():
    """Closed forms draw split and closing as one map: a changed closing needs a split of its kind."""
    job = parse(starting_job("feather"))
    ids = [step.id for bar in job.bar for step in bar.step]
    kinds = {step.id: step.kind for bar in job.bar for step in bar.step}
    close = next(one for one in ids if kinds[one] == "reweld")
    split = next(one for one in ids if kinds[one] == "split")
    fine = work_out(job, "coarse").result
    rough = work_out(changed(job, close, close_to=0.93), "quick", like=fine)
    assert rough.refused is None
    taken = [row.step.id for row in rough.result.steps if row in fine.steps]
    assert taken == ids[: ids.index(split)]
