"""The answers against hand arithmetic on the starting jobs with one number changed."""

from __future__ import annotations

import math

import numpy as np
import pytest

from engine.job.yardstick import with_value
from patternsim.answers import answers
from patternsim.answers.tip import judge, line_on
from patternsim.errors import Cancelled, PatternSimError
from patternsim.job import parse, starting_job
from patternsim.knife import placed
from patternsim.work import run


def feather(*, frictionless=False, **values):
    """The plain feather with values of its split, its place or its blade changed.

    Without friction on the dies a press is an even stretch, so that plane geometry gives its marks.
    """
    text = starting_job("feather")
    if frictionless:
        text = text.replace("[[bar]]", "[shop]\nfriction_dies = 0.0\n\n[[bar]]", 1)
    place = {step.id: k for k, step in enumerate(parse(text).bar[0].step)}
    for key, value in values.items():
        if key in ("tip", "tip_end", "from_end_mm", "off_middle_mm", "turn_deg"):
            way = ("blade", "place", key)
        elif key in ("profile", "barbs", "piece"):
            way = ("blade", key)
        elif key == "outline":
            text = text.replace(
                "outline = { length_mm = 210.0, width_mm = 46.0, tip_height_mm = 20.0 }", value
            )
            continue
        else:
            way = ("bar", 0, "step", place["split"], key)
        text = with_value(text, way, value)
    return run(parse(text), "quick")


def codes(found):
    return {finding.code for finding in found.findings}


def test_the_tip_lies_on_the_line_when_it_is_asked_to():
    found = answers(feather())
    assert found.tip.verdict == "on"
    assert abs(found.tip.offset_mm) < 1e-6
    assert abs(found.tip.mark_side.heading_deg) < 1e-6
    assert found.tip.mark_side.wander_mm < 1e-6
    assert found.barbs.towards == found.barbs.wanted == "tip"
    assert found.barbs.share == 1.0
    assert not found.stopped
    assert not codes(found) & {"line-misses-tip", "no-line-at-tip", "outline-off-steel"}


@pytest.mark.parametrize(("off", "verdict"), [(0.4, "on"), (1.2, "near"), (-1.9, "off")])
def test_a_tip_laid_beside_the_line_is_told_by_how_much_and_which_way(off, verdict):
    """The tip towards the spine by `off`: the line passes it as far towards the edge."""
    found = answers(feather(tip="by-numbers", off_middle_mm=off))
    assert found.tip.offset_mm == pytest.approx(-off, abs=1e-3)
    assert found.tip.verdict == verdict
    assert found.stopped == (verdict == "off")
    assert ("line-misses-tip" in codes(found)) == (verdict != "on")


def test_verdicts_follow_the_trade_limits():
    """Half the shaft, at least half a millimetre: on; to 1.5 mm: near; common practice, no source."""
    assert judge(0.5, 0.6) == "on"
    assert judge(0.7, 1.5) == "on"
    assert judge(0.7, 1.0) == "near"
    assert judge(-1.5, 1.0) == "near"
    assert judge(1.51, 1.0) == "off"


def test_a_split_off_centre_runs_out_as_far_off_times_the_width_stretch():
    """e on a block of width W becomes e times the width stretch (plane geometry).

    The block is 0.95 of its width after closing, loses half a millimetre an edge, and is drawn to
    56.5 mm; the blade is laid by numbers on the bar's middle.
    """
    result = feather(frictionless=True, off_centre_mm=1.0, tip="by-numbers", off_middle_mm=0.0)
    rows = {row.step.id: row.outcome.pieces[0].size for row in result.steps}
    skin = 2 * 2 * 0.10
    closing = rows["close"][1] / (rows["split"][1] - skin)
    # Four heats of 0.07 mm a face before each quarter of the draw.
    last, before = 56.5, rows["clean-part"][1]
    off = sum(0.07 * (last / before) ** (-k / 4) for k in range(4))
    drawing = last / (before - 2 * off)
    found = answers(result)
    assert found.tip.offset_mm == pytest.approx(closing * drawing, rel=5e-3)


def test_a_lean_through_the_thickness_sets_the_sides_apart():
    """tan(lean) times the thickness of the slice between the two faces, stretched with the width.

    At the tip the faces lie one edge thickness apart (0.3 mm); drawn to 4.5 mm from the slice, that
    is 0.3 / 4.5 of the slice's clean thickness.
    """
    lean = 3.0
    result = feather(frictionless=True, lean_thickness_deg=lean)
    rows = {row.step.id: row.outcome.pieces[0].size for row in result.steps}
    ratio = 4.5 / rows["clean-part"][2]
    off = 2 * sum(0.07 * ratio ** (-k / 4) for k in range(4))
    clean = rows["clean-part"][2] - off
    across = 56.0 / rows["clean-part"][1] * rows["close"][1] / rows["split"][1]
    expected = math.tan(math.radians(lean)) * clean * (0.3 / 4.5) * across
    found = answers(result)
    apart = abs(found.tip.mark_side.offset_mm - found.tip.off_side.offset_mm)
    assert apart == pytest.approx(expected, rel=0.03)
    # Half way down the blade the faces are farther apart, and so are the lines.
    blade = placed(result.job.blade, result.blade_piece())
    u = np.array([60.0])
    middle = line_on(blade, "mark-side", u) - line_on(blade, "off-side", u)
    assert abs(middle[0]) > 2 * apart


def test_a_lean_in_the_face_gives_the_line_a_heading():
    """The slope of the cut, flattened by the draw: width stretch over length stretch."""
    result = feather(frictionless=True, lean_face_deg=1.0, tip="by-numbers", off_middle_mm=0.0)
    rows = {row.step.id: row.outcome.pieces[0].size for row in result.steps}
    along = rows["draw-blades"][0] / rows["clean-part"][0] * rows["close"][0] / rows["split"][0]
    across = rows["draw-blades"][1] / rows["clean-part"][1] * rows["close"][1] / rows["split"][1]
    found = answers(result)
    expected = math.degrees(math.atan(math.tan(math.radians(1.0)) * across / along))
    assert abs(found.tip.mark_side.heading_deg) == pytest.approx(expected, rel=0.02)


def test_turning_the_outline_turns_the_heading():
    found = answers(feather(turn_deg=1.5))
    assert abs(found.tip.offset_mm) < 1e-6
    assert abs(found.tip.mark_side.heading_deg) == pytest.approx(1.5, abs=1e-6)


def test_the_tip_at_the_uncut_end_has_no_line():
    """Left uncut 8 mm of 86, of which 3 are cropped: on the blade that is about 20 mm of bar."""
    found = answers(feather(tip_end="near", from_end_mm=5.0))
    assert found.tip.offset_mm is None
    assert found.tip.verdict is None
    assert found.stopped
    assert "no-line-at-tip" in codes(found)


def test_a_blade_that_reaches_beyond_the_bar_is_stopped():
    found = answers(feather(outline="outline = { length_mm = 300.0 }"))
    assert {"outline-beyond-bar", "too-little-length"} <= codes(found)
    assert found.stopped
    bar = 300.0 + 12.0 + 40.0 + 8.0
    spare = found.steel.spare_length_mm[1]
    length = feather().blade_piece().size[0]
    assert spare == pytest.approx(length - bar, abs=0.5)


def test_an_entry_notch_inside_the_outline_is_stopped():
    """Cropped 0.5 mm instead of 12, the notch (0.12 widths by finite elements) lies in the blade."""
    text = starting_job("feather").replace("far_mm = 12.0", "far_mm = 0.5")
    found = answers(run(parse(text), "quick"))
    assert "outline-off-steel" in codes(found) or "no-line-at-tip" in codes(found)
    assert found.stopped


def test_steel_adds_up_by_hand():
    found = answers(feather())
    # 12 x (2.40 + 1.25) mm x 52 x 146 mm; 7.85 and 7.86 g/cm3 by thickness.
    volume = 12 * 3.65 * 52.0 * 146.0
    density = (2.40 * 7.85 + 1.25 * 7.86) / 3.65 * 1e-6
    assert found.steel.start_kg == pytest.approx(volume * density, rel=1e-9)
    # Width: the outline reaches 26 mm from the tip's line; 2 x (26 + 2) of 56.5.
    assert found.steel.spare_width_mm == pytest.approx(0.5, abs=1e-6)
    assert found.steel.spare_thickness_mm == pytest.approx(1.5)


@pytest.mark.parametrize("profile", ["hunter", "dagger"])
def test_other_profiles_are_answered_too(profile):
    found = answers(feather(profile=profile, outline=""))
    assert found.tip.verdict == "on"
    assert found.barbs.towards == "tip"
    assert found.steel.spare_length_mm[1] > 50


def test_what_is_not_worked_out_is_none_and_never_invented():
    data = answers(feather()).as_data()
    assert data["press"] == {
        "peak_kn": None, "peak_range_kn": [None, None], "limit_kn": None, "step": None
    }  # fmt: skip
    assert data["tip"]["spread_mm"] == [None, None]
    for key in ("spare_kg", "spare_length_mm"):
        low, likely, high = data["steel"][key]
        assert (low, high) == (None, None)
        assert isinstance(likely, float)


def test_a_piece_that_is_not_there_is_refused():
    with pytest.raises(PatternSimError, match="piece 3 of bar feather, which ends with 2"):
        answers(feather(piece=3))


def test_accepted_findings_do_not_stop():
    text = with_value(starting_job("feather"), ("blade", "place", "tip"), "by-numbers")
    text = with_value(text, ("blade", "place", "off_middle_mm"), 1.6)
    assert answers(run(parse(text), "quick")).stopped
    text = text.replace("format = 1\n", 'format = 1\naccept = ["line-misses-tip"]\n')
    found = answers(run(parse(text), "quick"))
    assert [f.code for f in found.findings if f.level == "stop"] == ["line-misses-tip"]
    assert not found.stopped
    assert next(f for f in found.findings if f.code == "line-misses-tip").accepted


def test_a_blade_thicker_than_its_bar_is_told_by_its_thickness_alone():
    """A dagger 5.5 mm at the ridge from a bar of 4.5: the ridge is the forged skin, not a hole."""
    found = answers(feather(profile="dagger", outline=""))
    assert found.steel.spare_thickness_mm == pytest.approx(-1.0)
    assert "too-little-thickness" in codes(found)
    assert not codes(found) & {"outline-off-steel", "uncut-in-blade"}


def test_an_acceptance_of_nothing_is_told():
    text = starting_job("feather").replace("format = 1\n", 'format = 1\naccept = ["line-mises-tip"]\n')
    (told,) = [f for f in answers(run(parse(text), "quick")).findings if f.code == "unknown-acceptance"]
    assert "line-mises-tip" in told.text


def test_a_number_that_would_not_count_is_refused():
    text = starting_job("feather").replace('tip = "on-line"\n', 'tip = "on-line"\noff_middle_mm = 2.0\n')
    with pytest.raises(PatternSimError, match=r'line \d+: "off_middle_mm" is 2, but the tip lies'):
        parse(text)


class Watched:
    def __init__(self, stop_at=None):
        self.told, self.stop_at = [], stop_at

    def at(self, fraction, text):
        self.told.append((fraction, text))
        if len(self.told) == self.stop_at:
            raise Cancelled


def test_the_answers_are_told_one_by_one():
    watch = Watched()
    found = answers(feather(), watch)
    shares = [share for share, _ in watch.told]
    assert shares == sorted(set(shares))
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert len(shares) >= 5
    assert found.as_data() == answers(feather()).as_data()


@pytest.mark.parametrize("count", [1, 3, 5])
def test_answers_can_be_called_off(count):
    with pytest.raises(Cancelled):
        answers(feather(), Watched(stop_at=count))


def test_steps_beyond_the_press_are_found_with_the_bite_that_fits():
    result = run(parse(starting_job("w-bar")), "coarse")
    forces = {row.step.id: row.outcome.force_kn for row in result.steps if row.outcome.force_kn}
    limit = sorted(forces.values())[-2]
    found = [one for one in answers(result, press_limit_kn=limit).findings if "force" in one.code]
    heaviest = max(forces, key=forces.get)
    assert [one.step for one in found] == [heaviest]
    assert found[0].value == pytest.approx(forces[heaviest])
    bite = result.after(heaviest).outcome.measures["force_bite_mm"] * limit / forces[heaviest]
    assert f"{bite:.1f} mm at a time" in found[0].remedy.replace(".0 mm", ".0 mm")
    assert not [one for one in answers(result).findings if "force" in one.code]


def test_of_a_rough_result_no_force_is_told():
    result = run(parse(starting_job("w-bar")), "quick")
    assert answers(result, press_limit_kn=1.0).press.peak_kn is None
