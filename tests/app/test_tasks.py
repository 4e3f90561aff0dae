"""What runs in the background: results as the engine gives them, made ready to be shown."""

from dataclasses import replace

import numpy as np
import pytest

import patternsim
from patternsim.job import changed, parse, starting_job
from patternsim.progress import Silent
from patternsim_app import tasks, tip_tasks
from patternsim_app.lay_tasks import LayGiven, lay
from patternsim_app.shown import Patch
from patternsim_app.tasks import FaceGiven, Look, ThumbsGiven, WorkGiven
from patternsim_app.tip_tasks import TipGiven

QUIET = Silent()
PATCH = Patch(left_mm=-10.0, top_mm=40.0, pixels_per_mm=2.0, width=680, height=160)
LOOK = Look(patch=PATCH, side="mark-side", drawing="etched")


def job(name="feather-from-w"):
    return parse(starting_job(name), name=name)


@pytest.fixture(scope="module")
def done():
    return tasks.work(WorkGiven(job=job(), look=LOOK), QUIET)


def test_a_job_is_worked_with_a_rough_face(done):
    assert done.worked.refused is None
    assert done.face.picture.draft
    assert done.face.shown.length_mm == 210.0
    assert done.face.picture.blade is not None


def test_equal_steps_are_taken_over_from_the_result_before(done):
    text = changed(
        starting_job("feather-from-w"), ("bar", 0, "step", len(job().bar[0].step) - 1, "width_mm"), 57.0
    )
    again = tasks.work(WorkGiven(job=parse(text, name="x"), before=done.worked.result), QUIET)
    rows = zip(done.worked.result.steps, again.worked.result.steps, strict=True)
    assert [one is other for one, other in rows] == [True] * 31 + [False]


def test_a_refused_step_leaves_what_was_done_before_it(done):
    text = starting_job("feather-from-w").replace("height_mm = 66.0", "height_mm = 660.0")
    found = tasks.work(WorkGiven(job=parse(text, name="x"), look=LOOK), QUIET)
    assert found.worked.refused.step == "first-weld"
    lying = tasks.lying_on_bench(found.worked.result)
    assert lying.spec is None, "no blade is laid into half a job"
    assert found.face.shown.outline == ()


def test_a_full_face_is_finer_than_a_draft(done):
    lying = tasks.lying_on_bench(done.worked.result)
    full = tasks.draw_face(FaceGiven(lying=lying, look=LOOK), QUIET)
    assert full.picture.bar.shape == (160, 680, 4)
    assert not full.picture.draft
    tip_x, tip_y = full.shown.tip
    assert tip_x == pytest.approx(lying.piece.size[0] - 8.0)
    line = np.array(full.shown.line)
    assert np.interp(tip_x, line[:, 0], line[:, 1]) == pytest.approx(tip_y, abs=0.1)


def test_the_tip_gauge_says_what_the_answer_says(done):
    lying = tasks.lying_on_bench(done.worked.result)
    spec = lying.spec.model_copy(
        update={
            "place": lying.spec.place.model_copy(
                update={"tip": "by-numbers", "off_middle_mm": -1.0, "turn_deg": 0.5}
            )
        }
    )
    there = replace(lying, spec=spec)
    result = replace(done.worked.result, job=done.worked.result.job.model_copy(update={"blade": spec}))
    told = patternsim.answers(result).tip.mark_side
    shown = tip_tasks.draw_tip(TipGiven(lying=there, side="mark-side", tip_right=True), QUIET)
    assert shown.offset_mm == pytest.approx(told.offset_mm, abs=1e-6)
    assert f"{abs(told.offset_mm):.1f} mm to the spine" in shown.words
    assert shown.grade == "watch"
    assert shown.outline[0][0] < -10
    assert max(x for x, _ in shown.outline) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize(
    ("off_middle", "mm", "inch"),
    [
        (0.0, "mark side: on the line, 0.0 mm off", "mark side: on the line, 0 in off"),
        (-1.0, "mark side: near, the line passes 1.0 mm to the spine side", ".039 in to the spine side"),
        (3.0, "mark side: off, the line passes 3.0 mm to the edge side", ".118 in to the edge side"),
    ],
)
def test_the_gauge_tells_in_one_sentence_how_far_and_on_which_side(done, units, off_middle, mm, inch):
    """The line of this job is the middle of the bar: an outline pushed off it is off by as much."""
    lying = tasks.lying_on_bench(done.worked.result)
    place = lying.spec.place.model_copy(update={"tip": "by-numbers", "off_middle_mm": off_middle})
    there = replace(lying, spec=lying.spec.model_copy(update={"place": place}))
    given = TipGiven(lying=there, side="mark-side", tip_right=True, units=units)
    shown = tip_tasks.draw_tip(given, QUIET)
    assert shown.words == mm if units == "mm" else shown.words.endswith(inch)
    assert shown.words.count(":") == 1
    assert shown.units == units


def test_small_sections_are_drawn_once(done):
    rows = done.worked.result.steps
    first = tasks.draw_thumbs(ThumbsGiven(rows=rows), QUIET)
    again = tasks.draw_thumbs(ThumbsGiven(rows=rows[:5], known=first), QUIET)
    assert [again[row] is first[row] for row in rows[:5]] == [True] * 5
    assert max(picture.shape[0] for picture in first.values()) <= tasks.THUMB_PX + 1


def test_sections_of_the_blade_get_lower_towards_the_tip(done):
    found = tasks.draw_stations(tasks.lying_on_bench(done.worked.result), QUIET)
    highs = [one.size_mm[0] for one in found.stations]
    assert highs == sorted(highs, reverse=True)
    assert "blade" in found.heading


@pytest.mark.parametrize(
    ("how", "by", "wanted"),
    [
        ("move", (2.0, 1.0), {"tip": "by-numbers", "from_end_mm": 6.0, "off_middle_mm": 1.0}),
        ("turn", (0.25, 0.0), {"turn_deg": 0.25}),
        ("end", (0.0, 0.0), {"tip_end": "near"}),
        ("line", (0.0, 0.0), {"tip": "on-line"}),
    ],
)
def test_the_outline_is_laid_by_numbers(done, how, by, wanted):
    lying = tasks.lying_on_bench(done.worked.result)
    given = LayGiven(lying=lying, how=how, by=by, look=LOOK, bar=None, tip_right=True, final=True)
    place = lay(given, QUIET).place.model_dump()
    assert {name: place[name] for name in wanted} == wanted


def test_the_outline_in_the_hand_comes_with_rough_pictures(done):
    lying = tasks.lying_on_bench(done.worked.result)
    bar = done.face.picture.bar
    given = LayGiven(
        lying=lying, how="move", by=(1.0, 0.0), look=LOOK, bar=bar, tip_right=True, final=False
    )
    found = lay(given, QUIET)
    assert found.face.picture.bar is bar
    assert found.face.shown.tip[0] == pytest.approx(done.face.shown.tip[0] + 1.0, abs=0.01)
    assert found.tip is not None
