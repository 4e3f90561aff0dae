"""The five answers at a glance: few enough words, the right grade, nothing said that is not known."""

import inspect
import itertools
from dataclasses import replace

import pytest

from engine.job.yardstick import with_value
from patternsim import risks
from patternsim.answers import Answers, Barbs, Press, SideTip, Steel, Tip, answers
from patternsim.errors import UsageError
from patternsim.glance import DETAIL, HEADLINE, finding_title, glance, nothing_worked, unworked
from patternsim.job import parse, starting_job, starting_jobs
from patternsim.risks import Finding
from patternsim.work import run

KEYS = ["tip", "barbs", "steel", "press", "risk"]
SIZES = ("length", "width", "thickness")
CODES = ("near-an-edge", "line-misses-tip", "no-line-at-tip", "sides-disagree", "mark-lost")


def side(offset=0.4):
    return SideTip(offset_mm=offset, heading_deg=0.6, wander_mm=0.9)


def tip(offset=0.4, verdict="on", worse="mark-side", other=None):
    return Tip(
        offset_mm=offset, side=worse, verdict=verdict, spread_mm=(None, None),
        mark_side=side(offset), off_side=side(offset if other is None else other),
    )  # fmt: skip


NO_LINE = Tip(
    offset_mm=None, side=None, verdict=None, spread_mm=(None, None), mark_side=None, off_side=None
)


def barbs(towards="tip", wanted="tip", share=0.96, angle=31.0):
    return Barbs(wanted=wanted, towards=towards, share=share, angle_deg=angle)


def steel(length=45.0, width=1.0, thickness=1.0):
    return Steel(
        start_kg=3.59, blade_kg=0.2, spare_kg=(None, 0.1, None), spare_length_mm=(None, length, None),
        spare_width_mm=width, spare_thickness_mm=thickness,
    )  # fmt: skip


def finding(code, level="watch", step="", value=None, accepted=False):
    return Finding(
        code=code, step=step, level=level, place="tip", value=value, unit="mm", text="So it is.",
        remedy="Do this.", source="made up", accepted=accepted,
    )  # fmt: skip


def found(*findings, **parts):
    given = {"tip": tip(), "barbs": barbs(), "steel": steel(), "press": Press(), **parts}
    return Answers(level="quick", findings=findings, start_kg=3.59, **given)


def shown(answer, key, **how):
    """Return headline, detail and grade of one answer."""
    one = glance(answer, **how)[KEYS.index(key)]
    return one.headline, one.detail, one.grade


def check_form(rows):
    """See that five answers stand in order, fit, and are told in one sentence each."""
    assert [row.key for row in rows] == KEYS
    for row in rows:
        assert row.name == row.key.capitalize()
        assert 0 < len(row.headline) <= HEADLINE
        assert 0 < len(row.detail) <= DETAIL
        assert not row.detail.endswith("\u2026")
        assert row.grade in ("fine", "watch", "stop", "note", "unknown")
        assert row.spoken.startswith(f"{row.name}, ")
        assert row.spoken.endswith(".")
        assert ". " not in row.spoken
        assert "None" not in row.headline + row.detail + row.spoken


# --- titles of findings ------------------------------------------------------------------


def every_finding():
    """Yield a finding of every kind the engine can put, made by its own functions."""
    values = {"float": 1.0, "str": "tip", "bool": True, "Grade": "watch"}
    for name in risks.__all__:
        make = getattr(risks, name)
        if not inspect.isfunction(make):
            continue
        given = {
            key: values[str(one.annotation)] for key, one in inspect.signature(make).parameters.items()
        }
        for size in SIZES if "size" in given else ("",):
            yield make(**{**given, **({"size": size} if size else {})})


def test_every_finding_has_a_title_of_its_own_and_no_title_stands_idle():
    codes = {one.code for one in every_finding()}
    assert len(codes) >= 18
    titles = [finding_title(code) for code in sorted(codes)]
    assert len(set(titles)) == len(titles)
    for title in titles:
        assert 5 < len(title) <= 24
        assert title[0].isupper()
        assert not title.endswith(".")
    with pytest.raises(UsageError) as caught:
        finding_title("no-such-finding")
    assert set(str(caught.value).split("there are: ")[1].split(", ")) == codes


# --- the starting jobs -------------------------------------------------------------------


@pytest.mark.parametrize("name", [name for name, _ in starting_jobs()])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_starting_jobs_at_a_glance(name, units):
    job = parse(starting_job(name))
    numbers = {step.id: k for k, step in enumerate(job.bar[0].step, start=1)}
    answer = answers(run(job, "quick"))
    rows = glance(answer, units=units, numbers=numbers, press_limit_kn=222.4)
    check_form(rows)
    tile = {row.key: row for row in rows}
    if job.blade is not None and job.blade.barbs == "none":
        assert tile["tip"].detail.endswith("none is wanted")
    elif job.blade is None:
        assert tile["tip"].headline == tile["barbs"].headline == "no blade"
        assert tile["steel"].detail == "to start with"
    else:
        assert (tile["tip"].headline, tile["tip"].detail) == ("meets the tip", "on, both sides")
        assert tile["barbs"].headline == "lean to the tip"
        assert tile["barbs"].detail.startswith("100 % of the blade, ")
        spare = answer.steel.spare_length_mm[1]
        assert spare > 0.5  # closed forms, of a bar whose bulges are ground off a box
        if units == "mm":
            shown_mm = f"{spare:.0f}" if spare >= 10.0 else f"{spare:.1f}"
            assert tile["steel"].headline == f"{shown_mm} mm longer"
        assert tile["tip"].grade == tile["barbs"].grade == "fine"
    assert tile["press"].headline == "not worked out"
    assert tile["press"].detail == "your press gives 222 kN; not compared yet"
    assert tile["press"].grade == "unknown"
    step = tile["risk"].step
    assert not step or numbers[step]
    assert not step or f"step {numbers[step]}" in tile["risk"].detail.replace("steps", "step")


def test_a_blade_off_the_line_is_a_stop_at_a_glance():
    text = with_value(starting_job("feather"), ("blade", "place", "tip"), "by-numbers")
    text = text.replace('tip = "by-numbers"', 'tip = "by-numbers"\noff_middle_mm = -1.9')
    rows = glance(answers(run(parse(text), "quick")))
    check_form(rows)
    assert (rows[0].headline, rows[0].grade) == ("1.9 mm", "stop")
    assert rows[0].detail.startswith("to the spine: off, worse on the ")
    assert rows[4].headline.endswith("to stop")


# --- each answer -------------------------------------------------------------------------


def test_a_tip_on_the_line_says_how_far_and_which_way():
    assert shown(found(), "tip") == ("0.4 mm", "to the spine: on, both sides", "fine")
    away = found(tip=tip(-0.3))
    assert shown(away, "tip") == ("0.3 mm", "to the edge: on, both sides", "fine")
    assert shown(found(tip=tip(0.02)), "tip") == ("meets the tip", "on, both sides", "fine")
    assert glance(found())[0].spoken == (
        "Tip, fine: the centre line passes the tip 0.4 mm to the spine, which counts as on, both sides."
    )


def test_small_lengths_are_decimal_inches_and_long_ones_fractions():
    """0.4 / 25.4 = 0.0157; 45 / 25.4 = 1.77, to the next eighth 1 3/4."""
    assert shown(found(), "tip", units="in")[0] == ".016 in"
    assert shown(found(), "steel", units="in")[0] == '1 3/4" longer'
    assert shown(found(steel=steel(-12.7)), "steel", units="in")[0] == ".500 in too short"


def test_a_tip_near_or_off_the_line_names_the_worse_side():
    miss = finding("line-misses-tip", "watch", value=1.2)
    near = found(miss, tip=tip(1.2, "near", "off-side", other=1.2))
    assert shown(near, "tip") == ("1.2 mm", "to the spine: near, worse on the off side", "watch")
    off = found(replace(miss, level="stop"), tip=tip(-3.0, "off"))
    assert shown(off, "tip") == ("3.0 mm", "to the edge: off, worse on the mark side", "stop")
    accepted = found(replace(miss, level="stop", accepted=True), tip=tip(-3.0, "off"))
    assert shown(accepted, "tip")[2] == "note"


def test_a_line_nobody_asked_for_may_miss_the_tip():
    answer = found(tip=tip(3.0, "off"), barbs=barbs("none", "none", 1.0, None))
    assert shown(answer, "tip")[2] == "note"


def test_sides_that_disagree_are_told_beside_a_tip_that_is_on():
    answer = found(finding("sides-disagree", value=0.8), tip=tip(0.4, other=-0.4))
    assert shown(answer, "tip") == ("0.4 mm", "to the spine: on, sides 0.8 mm apart", "watch")


def test_blades_without_a_line_say_why():
    assert shown(found(tip=None), "tip") == ("no blade", "in this job", "note")
    none = found(finding("no-line-at-tip", "stop"), tip=NO_LINE)
    assert shown(none, "tip") == ("no centre line", "reaches the tip on both sides", "stop")
    whole = found(finding("no-feather"), tip=NO_LINE, barbs=barbs("none", "tip", 0.0, None))
    assert shown(whole, "tip") == ("no feather", "the steel was never split", "watch")
    assert shown(whole, "barbs") == ("no barbs", "wanted to the tip", "watch")
    plain = found(tip=NO_LINE, barbs=barbs("none", "none", 1.0, None))
    assert shown(plain, "tip") == ("no centre line", "and none is wanted", "note")
    assert shown(plain, "barbs") == ("no barbs", "none are wanted", "fine")


@pytest.mark.parametrize(
    ("given", "codes", "expected"),
    [
        ({}, (), ("lean to the tip", "96 % of the blade, 31° mid-way", "fine")),
        ({"share": 0.9999}, (), ("lean to the tip", "99 % of the blade, 31° mid-way", "fine")),
        ({"share": 1.0}, (), ("lean to the tip", "100 % of the blade, 31° mid-way", "fine")),
        (
            {"towards": "handle", "share": 0.0},
            ("barbs-wrong-way",),
            ("lean to the handle", "wanted to the tip, 31° mid-way", "watch"),
        ),
        (
            {"towards": "mixed", "wanted": "handle", "share": 0.45},
            ("barbs-wrong-way",),
            ("lean both ways", "45 % to the handle, 31° mid-way", "watch"),
        ),
        (
            {"wanted": "none", "share": 0.0},
            ("barbs-wrong-way",),
            ("lean to the tip", "none are wanted, 31° mid-way", "watch"),
        ),
        (
            {"share": 0.8},
            ("uncut-in-blade",),
            ("lean to the tip", "80 % of the blade, 12 mm without a line", "watch"),
        ),
    ],
)
def test_barbs_say_which_way_and_on_how_much_of_the_blade(given, codes, expected):
    answer = found(*(finding(code, value=12.0) for code in codes), barbs=barbs(**given))
    assert shown(answer, "barbs") == expected


@pytest.mark.parametrize(
    ("length", "headline", "detail"),
    [
        (45.2, "45 mm longer", "than needed"),
        (9.96, "10 mm longer", "than needed"),
        (9.94, "9.9 mm longer", "than needed"),
        (0.01, "just long enough", "for the blade"),
        (-54.0, "54 mm too short", "for the blade"),
        (-1234.0, "1234 mm too short", "for the blade"),
        (None, "not worked out", "what is spare of a bent bar"),
    ],
)
def test_steel_says_what_the_bar_has_to_spare(length, headline, detail):
    short = length is not None and length < 0
    codes = (finding("too-little-length", "stop"),) if short else ()
    grade = "stop" if short else "unknown" if length is None else "fine"
    assert shown(found(*codes, steel=steel(length)), "steel") == (headline, detail, grade)


def test_steel_names_the_worst_of_what_else_is_wrong_with_the_bar():
    thin = finding("too-little-thickness", "stop", value=-0.3)
    narrow = finding("too-little-width", "watch", value=-1.5)
    edge = finding("near-an-edge", value=1.0)
    assert shown(found(edge, narrow, thin), "steel") == (
        "45 mm longer", "than needed; 0.3 mm too thin", "stop"
    )  # fmt: skip
    assert shown(found(edge, narrow), "steel")[1:] == ("than needed; 1.5 mm too narrow", "watch")
    assert shown(found(edge), "steel")[1:] == ("than needed; outline near an edge", "watch")
    assert shown(found(replace(edge, accepted=True)), "steel")[1:] == ("than needed", "note")
    off = finding("outline-off-steel", "stop", value=3.0)
    bent = shown(found(off, steel=steel(None)), "steel")
    assert bent == ("not worked out", "outline off the steel", "stop")


def test_steel_without_a_blade_is_what_there_is_to_start_with():
    assert shown(found(steel=None), "steel") == ("3.59 kg", "to start with", "note")


def test_press_says_what_is_known_and_no_more():
    assert shown(found(), "press") == ("not worked out", "forces are not worked out yet", "unknown")
    assert shown(found(), "press", press_limit_kn=222.4) == (
        "not worked out", "your press gives 222 kN; not compared yet", "unknown"
    )  # fmt: skip
    known = found(press=Press(peak_kn=200.0, step="on-edge"))
    assert shown(known, "press") == ("about 200 kN", "step on-edge", "note")
    how = {"press_limit_kn": 222.0, "numbers": {"on-edge": 8}}
    assert shown(known, "press", **how) == ("about 200 kN", "of your 222 kN, step 8", "fine")
    assert glance(known, **how)[3].step == "on-edge"
    much = found(press=Press(peak_kn=300.0, step="on-edge", limit_kn=222.0))
    told = ("about 300 kN", "of your 222 kN, step 8", "watch")
    assert shown(much, "press", numbers={"on-edge": 8}) == told


def test_press_says_how_sure_it_is_and_whether_the_range_goes_beyond_the_press():
    known = found(press=Press(peak_kn=112.3, peak_range_kn=(88.0, 163.9), step="on-edge"))
    told = {"numbers": {"on-edge": 8}}
    assert shown(known, "press", **told) == ("about 110 kN", "88 to 160, step 8", "note")
    detail = "88 to 160 of your 222 kN, step 8"
    assert shown(known, "press", press_limit_kn=222.0, **told) == ("about 110 kN", detail, "fine")
    assert shown(known, "press", press_limit_kn=150.0, **told)[2] == "note"
    assert "may be too little" in glance(known, press_limit_kn=150.0, **told)[3].spoken
    assert shown(known, "press", press_limit_kn=100.0, **told)[2] == "watch"


def test_a_job_worked_out_without_a_press_has_nothing_to_tell_of_one():
    answer = Answers(
        level="fine", findings=(), start_kg=1.0, tip=tip(), barbs=barbs(), steel=steel(), press=Press()
    )
    assert shown(answer, "press") == ("nothing pressed", "in this job", "note")


@pytest.mark.parametrize(
    ("findings", "expected"),
    [
        ((), ("nothing found", "of what is looked for", "fine")),
        (
            (finding("mark-lost", step="b"), finding("notch-left", step="d")),
            ("2 to watch", "steps 12 and 16", "watch"),
        ),
        (
            (finding("rough-step", "note", "a"), finding("line-misses-tip", "stop")),
            ("1 to stop", "the blade", "stop"),
        ),
        (
            (finding("mark-lost", step="b"), finding("barbs-wrong-way")),
            ("2 to watch", "step 12 and the blade", "watch"),
        ),
        ((finding("rough-step", "note", "a"),), ("nothing found", "step 3 only a sketch", "fine")),
        ((finding("unknown-acceptance", "note"),), ("1 to note", "the blade", "note")),
        ((finding("mark-lost", step="b", accepted=True),), ("1 accepted", "step 12", "note")),
        (tuple(finding("mark-lost", step=s) for s in "aab"), ("3 to watch", "steps 3 and 12", "watch")),
        (
            (*(finding("mark-lost", step=s) for s in "abcd"), finding("rough-step", "note", "a")),
            ("4 to watch", "steps 3, 12, 14 and 16", "watch"),
        ),
    ],
)
def test_risk_counts_the_worst_and_says_where(findings, expected):
    numbers = {"a": 3, "b": 12, "c": 14, "d": 16}
    assert shown(found(*findings), "risk", numbers=numbers) == expected


def test_risk_points_at_the_first_of_the_worst():
    rows = glance(found(finding("rough-step", "note", "a"), finding("mark-lost", step="b")))
    assert rows[4].step == "b"
    assert rows[4].spoken == "Risk, 1 to watch: mark lost; step b."


def test_a_job_that_stops_at_a_step_says_where_and_judges_nothing_else():
    rows = unworked("draw-two", "the bar is too short.", numbers={"draw-two": 13}, press_limit_kn=222.4)
    check_form(rows)
    assert [row.grade for row in rows] == ["unknown"] * 4 + ["stop"]
    assert rows[0].detail == "step 13 cannot be done"
    assert (rows[4].headline, rows[4].step) == ("1 to stop", "draw-two")
    assert rows[4].spoken == "Risk, step 13 cannot be done: the bar is too short."
    check_form(unworked("x" * 26, "so"))
    inch = unworked("a", "the bar is 50.8 mm long; start with 76.2 mm.", units="in")
    assert inch[4].spoken == 'Risk, step a cannot be done: the bar is 2" long; start with 3".'


def test_where_nothing_is_worked_nothing_is_judged():
    rows = nothing_worked("all steps are skipped")
    check_form(rows)
    assert {row.headline for row in rows} == {"not worked out"}
    assert {row.detail for row in rows} == {"all steps are skipped"}
    assert {row.grade for row in rows} == {"unknown"}
    long = nothing_worked(
        "the blade is to come from bar feather, but all its steps are skipped; use them"
    )
    assert all(len(row.detail) <= DETAIL for row in long)
    assert long[4].spoken.endswith("use them.")


def test_no_answer_speaks_of_how_the_program_works():
    rows = (
        *glance(found(finding("rough-step", "note", "a")), press_limit_kn=100.0), *glance(found()),
        *unworked("a", "why"), *nothing_worked("why"),
    )  # fmt: skip
    for row in rows:
        for word in ("level", "closed form", "finite", " deg", "100%"):
            assert word not in f"{row.headline} {row.detail} {row.spoken}"


def test_whatever_is_found_fits():
    long = "a-step-with-a-name-as-long-as-they-get-x"
    offsets = ((0.49, "on"), (-1.5, "near"), (1234.5, "off"))
    for units, (offset, verdict), length, codes in itertools.product(
        ("mm", "in"), offsets, (None, -1234.5, 4321.0), itertools.combinations(CODES, 3)
    ):
        findings = [finding(code, "stop", long if code == "mark-lost" else "", 1.0) for code in codes]
        answer = found(
            *findings,
            tip=tip(offset, verdict, "off-side", other=-offset),
            steel=steel(length),
            press=Press(
                peak_kn=12345.0, peak_range_kn=(9876.0, 16543.0), limit_kn=22222.0, step="short"
            ),
        )
        check_form(glance(answer, units=units))
