"""The picture the window shows at the very first start is that of the job it opens."""

from pathlib import Path

import numpy as np

from patternsim.answers import answers
from patternsim.glance import glance
from patternsim.job import parse, starting_job
from patternsim.progress import Silent
from patternsim_app import stored, tasks
from patternsim_app.startup import START
from patternsim_app.tasks import FaceGiven, Look, WorkGiven

SHIPPED = Path(stored.__file__).with_name("data")


def test_the_first_start_has_a_picture_that_is_still_true(tmp_path):
    text = starting_job(START)
    kept = stored.load(tmp_path, text)
    assert kept is not None, "the starting job has changed: draw its picture anew"
    done = tasks.refine(WorkGiven(job=parse(text, name=START)), Silent())
    look = Look(patch=kept.picture.patch, side="mark-side", drawing="etched")
    lying = tasks.lying_on_bench(done.worked.result)
    fresh = tasks.draw_face(FaceGiven(lying=lying, look=look), Silent())
    for old, new in (
        (kept.picture.bar, fresh.picture.bar),
        (kept.picture.blade, fresh.picture.blade),
    ):
        assert np.abs(old.astype(int) - new).mean() < 1.0
    assert np.allclose(kept.shown.outline, fresh.shown.outline, atol=0.02)
    found = answers(done.worked.result)
    tip = next(tile for tile in kept.tiles if tile.key == "tip")
    assert found.tip.verdict == "on"
    assert tip.grade == "fine"
    numbers = {step.id: k for k, step in enumerate(done.job.bar[0].step, start=1)}
    for old, new in zip(kept.tiles, glance(found, numbers=numbers), strict=True):
        assert (old.headline, old.detail, old.spoken) == (new.headline, new.detail, new.spoken)


def test_nothing_is_shipped_that_is_not_used():
    names = {file.name for file in SHIPPED.iterdir()}
    assert names == {f"{stored.key_of(starting_job(START))}.npz"}
