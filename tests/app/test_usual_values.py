"""What stands for values that are left out: figures, wherever there are some."""

import numpy as np
import pytest

from patternsim.job import Blade, parse, starting_job, starting_jobs
from patternsim.shape import GRINDS, PROFILES
from patternsim.work import work_out
from patternsim_app.controllers.bench_mark import BLADE
from patternsim_app.controllers.blade_rows import blade_rows, outline_numbers
from patternsim_app.controllers.edits import change_label
from patternsim_app.controllers.sheets import sheet_for

NAMES = [name for name, _ in starting_jobs()]


@pytest.mark.parametrize(
    ("field", "words"), [("temperature_c", "1150 °C as usual"), ("heats", "1 as usual")]
)
def test_undo_names_the_usual_figure(field, words):
    job = parse(starting_job("feather-from-w"))
    step = next(step for step in job.bar[0].step if step.kind == "draw")
    assert change_label(job, step.id, field, None, "mm").endswith(f"\u2192 {words}")


@pytest.mark.parametrize("name", NAMES)
def test_the_grind_is_told_in_figures(name):
    blade = parse(starting_job(name)).blade
    if blade is None:
        pytest.skip("a job without a blade")
    rows = {row.field: row for row in blade_rows(blade)}
    usual = GRINDS[blade.profile]
    for part in ("spine_mm", "spine_tip_mm", "edge_mm"):
        given = getattr(blade.grind, part)
        assert rows[f"grind.{part}"].value == (getattr(usual, part) if given is None else given)
        assert rows[f"grind.{part}"].default == getattr(usual, part)
    assert rows["grind.kind"].choices[0][1].startswith("usual: ")


@pytest.mark.parametrize("name", NAMES)
def test_what_follows_from_the_work_is_the_size_of_the_piece(name):
    job = parse(starting_job(name))
    worked = work_out(job)
    told = 0
    for row in worked.result.steps:
        sheet = sheet_for(job, row.step.id, None, worked, None, "mm")
        for one in sheet.rows:
            if one.comes_to is not None:
                told += 1
                assert one.value is None
                size = row.outcome.pieces[0].size
                assert any(one.comes_to == pytest.approx(v, abs=0.051) for v in (*size, size[0] / 2))
    assert told or not any(step.kind == "forge-weld" for bar in job.bar for step in bar.step)
    assert sheet_for(job, BLADE, None, worked, None, "mm") is None or job.blade is not None


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("outline", [{}, {"length_mm": 160.0, "width_mm": 38.0}])
def test_what_an_outline_comes_to_gives_the_very_same_outline(profile, outline):
    blade = Blade(bar="bar", profile=profile, outline=outline)
    told = {
        row.field.removeprefix("outline."): row.comes_to
        for row in blade_rows(blade)
        if row.comes_to is not None
    }
    usual = outline_numbers(profile)
    assert set(told) == {name for name, value in usual.items() if value is None}
    same = PROFILES[profile](**outline, **told).silhouette()
    assert np.allclose(same, PROFILES[profile](**outline).silhouette(), atol=1e-9)
    other = PROFILES[profile](**outline, **{name: 0.9 * mm for name, mm in told.items()}).silhouette()
    assert same.shape != other.shape or not np.allclose(same, other, atol=1e-3)
