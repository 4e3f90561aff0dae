"""Editing a job's text: the edit is made, and nothing else is touched."""

import tomllib

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from patternsim.errors import JobError
from patternsim.job import (
    accepted,
    changed,
    changed_many,
    copied,
    fresh_id,
    moved_steps,
    parse,
    pasted,
    renamed_step,
    skipped,
    starting_job,
    starting_jobs,
    step_way,
    with_bar,
    with_step,
    without_bar,
    without_steps,
)

NAMES = [name for name, _ in starting_jobs()]
ODD = """\
# A remark before everything
format = 1 # of the file
name = "Odd, but \\"allowed\\""
about = \"\"\"
[[bar.step]]
# no remark
\"\"\"
accept = [ # codes
    'rough-step', # looked at
    "line-misses-tip"
]

[[ bar ]]
name = 'one'
# of the stack
[[bar."step"]]
id = "a"
kind = "stack"
width_mm = 40
length_mm = 100
  [[bar.step.strips]]
  steel = "1084" # high
  thickness_mm = 3
  [[bar.step.strips]]
  steel = "15N20"
  thickness_mm = 1.5
# behind the stack

# by itself

# first of two
# second of two
[[bar.step]]
id = "b"
kind = "forge-weld"
down_pct = 10

[shop]
kerf_mm = 1.5
# before the last step
[[bar.step]]
id = "c"
kind = "check"


[blade]
bar = "one"
outline.length_mm = 100.0
profile = "hunter"
place . turn_deg = 1.5 # turned
# the end"""
LISTED = """\
format = 1
name = "In lists"
blade = { bar = "one", outline = {} }
[[bar]]
name = "one"
step = [
  { id = "a", kind = "stack", strips = [{ steel = "1084", thickness_mm = 3 }], width_mm = 40,
      length_mm = 100 },
  # a check
  { id = "b", kind = "check" }, # looked at
]
"""
LISTED = LISTED.replace("width_mm = 40,\n     ", "width_mm = 40,")
IN_BRACES = """\
format = 1
name = "In braces"
bar = [{ name = "one", step = [{ id = "a", kind = "stack", strips = [
  { steel = "1084", thickness_mm = 3 } ], width_mm = 40, length_mm = 100 }] }]
"""
STEP = {"id": "more", "kind": "draw", "heats": 2, "width_mm": 30.0, "thickness_mm": 28.5}


def forms(text):
    """Return a text with the line ends and byte order mark that editors give it."""
    return [text, text.replace("\n", "\r\n"), "\ufeff" + text, text.rstrip("\n")]


def ids(text, bar=0):
    return [step["id"] for step in tomllib.loads(text.removeprefix("\ufeff"))["bar"][bar]["step"]]


# --- values ------------------------------------------------------------------------------


@pytest.mark.parametrize("text", forms(starting_job("feather")))
def test_a_value_in_a_table_that_is_missing_makes_the_table(text):
    done = changed(text, ("blade", "grind", "edge_mm"), 0.5)
    end = "\r\n" if "\r\n" in text else "\n"
    tail = f"{end}[blade.grind]{end}edge_mm = 0.5{end}"
    assert done == (text + tail if text.endswith("\n") else text + end + tail.removesuffix("\n"))
    assert parse(done).blade.grind.edge_mm == 0.5


def test_a_missing_shop_comes_before_the_bars():
    text = starting_job("feather")
    done = changed(text, ("shop", "kerf_mm"), 1.5)
    assert done == text.replace("\n[[bar]]", "\n[shop]\nkerf_mm = 1.5\n\n[[bar]]", 1)


def test_a_missing_outline_is_written_in_braces():
    text = starting_job("feather")
    bare = changed(text, ("blade", "outline"), None)
    assert "outline" not in bare
    done = changed(bare, ("blade", "outline", "length_mm"), 200.0)
    assert 'barbs = "tip"\noutline = { length_mm = 200.0 }\n' in done


def test_a_whole_blade_is_added_and_taken_away_again():
    text = starting_job("w-bar")
    blade = {"bar": "w", "outline": {"length_mm": 180.0}, "place": {"tip": "by-numbers"}}
    done = changed(text, ("blade",), blade)
    assert done == text + (
        '\n[blade]\nbar = "w"\noutline = { length_mm = 180.0 }\n\n[blade.place]\ntip = "by-numbers"\n'
    )
    assert changed(done, ("blade",), None) == text


def test_leaving_a_value_out_takes_its_line():
    text = starting_job("feather")
    done = changed(text, ("bar", 0, "step", 2, "heats"), None)
    assert done == text.replace("heats = 3\n", "", 1)
    assert changed(done, ("bar", 0, "step", 2, "heats"), None) == done


def test_a_change_to_what_is_there_changes_nothing():
    text = starting_job("feather").replace("2.40", "2.400")
    way = ("bar", 0, "step", 0, "strips")
    strips = tomllib.loads(text)["bar"][0]["step"][0]["strips"]
    assert changed(text, way, strips) == text
    assert changed(text, (*way, 0, "thickness_mm"), 2.4) == text


def test_of_a_list_only_what_differs_is_written():
    text = starting_job("feather").replace("2.40 },", "2.40 }, # bought")
    way = ("bar", 0, "step", 0, "strips")
    strips = tomllib.loads(text)["bar"][0]["step"][0]["strips"]
    more = changed(text, way, [strips[0], {**strips[1], "thickness_mm": 1.5}, strips[0]])
    new = '1.5 },\n    { steel = "1084", thickness_mm = 2.4 },\n'
    assert more == text.replace("1.25 },\n", new, 1)
    assert changed(more, way, strips) == text
    # The thicknesses of the next step stand for the same strips, so one strip alone needs one.
    fewer = changed_many(text, [((*way, 0), None), (("bar", 0, "step", 1, "strips_to_mm"), [1.2])])
    assert "bought" not in fewer
    assert "strips_to_mm = [1.2]\n" in fewer


def test_values_that_need_one_another_go_together():
    text = starting_job("feather")
    with pytest.raises(JobError, match="for the profile hunter"):
        changed(text, ("blade", "profile"), "hunter")
    done = changed_many(
        text, [(("blade", "profile"), "hunter"), (("blade", "outline"), {"length_mm": 110.0})]
    )
    assert parse(done).blade.outline == {"length_mm": 110.0}


@pytest.mark.parametrize(
    ("way", "value", "old", "new"),
    [
        (("accept",), ["rough-step"], ', # looked at\n    "line-misses-tip"\n', " # looked at\n"),
        (("accept",), None, ODD[ODD.index("accept") : ODD.index("]\n\n") + 2], ""),
        (("name",), 'A "b" \\ c\td', '"Odd, but \\"allowed\\""', '"A \\"b\\" \\\\ c\\td"'),
        (("format",), 1, "", ""),
        (("shop", "skin_weld_mm"), 0.2, "kerf_mm = 1.5\n", "kerf_mm = 1.5\nskin_weld_mm = 0.2\n"),
        (("blade", "place", "tip_end"), "near", "# turned\n", '# turned\nplace.tip_end = "near"\n'),
        (("blade", "place", "turn_deg"), -2.0, "= 1.5 # turned", "= -2.0 # turned"),
        (("blade", "place"), None, "place . turn_deg = 1.5 # turned\n", ""),
        (("blade", "outline", "width_mm"), 30.0, "100.0\n", "100.0\noutline.width_mm = 30.0\n"),
        (("bar", 0, "step", 0, "repeat"), 4, "length_mm = 100\n", "length_mm = 100\nrepeat = 4\n"),
        (("bar", 0, "step", 0, "strips", 1, "steel"), "1095", '"15N20"', '"1095"'),
        (("bar", 0, "step", 0, "strips", 0, "thickness_mm"), 2.0, "= 3\n", "= 2.0\n"),
    ],
)
def test_values_are_changed_in_every_way_of_writing(way, value, old, new):
    assert old in ODD
    for mark, end in (("", "\n"), ("", "\r\n"), ("\ufeff", "\n")):
        text, before, after = (one.replace("\n", end) for one in (ODD, old, new))
        assert changed(mark + text, way, value) == mark + text.replace(before, after, 1)


@pytest.mark.parametrize(
    "about",
    ["", "\n", "one\ntwo", 'a "b"\n"""\n', "back \\n\nslash\\", "\n\n\t\x7f\x00\u2028\n", "a\r\nb"],
)
def test_a_text_of_several_lines_comes_back_as_it_was(about):
    for text in forms(starting_job("feather")):
        done = changed(text, ("about",), about)
        assert parse(done).about == about
        assert changed(done, ("about",), parse(text).about) == text
    assert changed(ODD, ("about",), "[[bar.step]]\n# a remark\n") == ODD.replace("# no", "# a", 1)


def test_entries_in_braces_and_lists_come_and_go():
    done = changed(LISTED, ("blade", "piece"), 1)
    assert 'blade = { bar = "one", outline = {}, piece = 1 }\n' in done
    assert changed(done, ("blade", "piece"), None) == LISTED
    done = changed(LISTED, ("blade", "outline", "length_mm"), 90.0)
    assert "outline = { length_mm = 90.0 } }" in done
    done = changed(LISTED, ("blade", "place", "turn_deg"), 1.0)
    assert "outline = {}, place = { turn_deg = 1.0 } }" in done
    assert skipped(LISTED, ["b"], True) == LISTED.replace('"check" }', '"check", skip = true }')
    assert skipped(skipped(LISTED, ["b"], True), ["b"], False) == LISTED
    done = changed(LISTED, ("bar", 0, "step", 1), None)
    assert done == LISTED.replace('  { id = "b", kind = "check" }, # looked at\n', "")
    done = changed(LISTED, ("bar", 0, "step", 2), {"id": "c", "kind": "check"})
    assert done == LISTED.replace("looked at\n", 'looked at\n  { id = "c", kind = "check" },\n')


@pytest.mark.parametrize(
    ("before", "entry", "after"),
    [
        ("[1.0, 2.0]", None, "[1.0]"),
        ("[1.0, 2.0,]", None, "[1.0,]"),
        ("[ 1.0 , 2.0 ]", None, "[ 1.0 ]"),
        ("[1.0, # one\n 2.0 # two\n]", None, "[1.0 # one\n]"),
        ("[\n  1.0,\n  2.0\n]", None, "[\n  1.0\n]"),
        ("[1.0]", 5.0, "[1.0, 5.0]"),
        ("[1.0,]", 5.0, "[1.0, 5.0]"),
        ("[]", 5.0, "[5.0]"),
        ("[\n  1.0\n]", 5.0, "[\n  1.0,\n  5.0\n]"),
        ("[\n  1.0, # one\n]", 5.0, "[\n  1.0, # one\n  5.0,\n]"),
        ("[\n  1.0 # one\n]", 5.0, "[\n  1.0, # one\n  5.0\n]"),
    ],
)
def test_a_list_keeps_its_form_when_an_entry_comes_or_goes(before, entry, after):
    text = starting_job("feather").replace("[2.32, 1.20]", before)
    way = ("bar", 0, "step", 1, "strips_to_mm")
    now = tomllib.loads(text)["bar"][0]["step"][1]["strips_to_mm"]
    wanted = now[:-1] if entry is None else [*now, entry]
    assert changed(text, way, wanted) == starting_job("feather").replace("[2.32, 1.20]", after)


@pytest.mark.parametrize(
    ("way", "value", "words"),
    [
        (("bars", 0, "name"), "x", "no place bars.0.name"),
        (("bar", 7, "name"), "x", "no place bar.7.name"),
        (("bar", -1, "name"), "x", "no place bar.-1.name"),
        (("name", "x"), 1, "no place name.x"),
        ((), 1, "no place"),
        (("bar", 0, "step", 0, "strips", 9), {"steel": "1084", "thickness_mm": 1.0}, "no place"),
        (("bar", 0, "step", 2, "hieght_mm"), 1.0, "unknown key"),
        (("bar", 0, "step", 4, "width_mm"), -1.0, "must be more than 0"),
        (("bar", 0, "step", 4, "width_mm"), float("nan"), "give a plain number"),
        (("bar", 0, "step", 4, "width_mm"), "wide", "give a number"),
        (("bar", 0, "step", 4, "width_mm"), None, "is missing"),
        (("name",), "\ud800", "cannot be saved"),
        (("name",), object(), "cannot hold"),
        (("format",), 2, "newer"),
    ],
)
def test_what_cannot_be_changed_is_refused_with_the_reason(way, value, words):
    with pytest.raises(JobError, match=words):
        changed(starting_job("feather"), way, value)


def test_text_that_is_no_job_cannot_be_edited():
    for edit in (lambda text: changed(text, ("name",), "x"), lambda text: skipped(text, ["a"], True)):
        with pytest.raises(JobError, match="nothing of it can be changed; mend it"):
            edit("format = = 1")


def test_a_layout_that_does_not_allow_an_edit_is_refused():
    text = LISTED.replace('[{ steel = "1084", thickness_mm = 3 }]', "[ # none\n]")
    with pytest.raises(JobError, match="no place"):
        changed(text, ("bar", 0, "step", 0, "strips", 0), {"steel": "1084", "thickness_mm": 1.0})
    for edit in (
        lambda: with_step(LISTED, "one", 1, STEP),
        lambda: without_steps(LISTED, ["b"]),
        lambda: moved_steps(LISTED, ["b"], 0),
    ):
        with pytest.raises(JobError, match=r"write each one as a table headed \[\[bar.step\]\]"):
            edit()


# --- steps -------------------------------------------------------------------------------


def test_a_step_is_written_as_in_the_starting_jobs():
    text = starting_job("feather")
    step = {
        "id": "more",
        "kind": "cut",
        "crop_near_mm": 10.0,
        "offcuts": [{"name": "guard", "length_mm": 12.0}],
        "pieces": 2,
    }
    done = with_step(text, "feather", 5, step)
    lines = (
        '\n[[bar.step]]\nid = "more"\nkind = "cut"\ncrop_near_mm = 10.0\n'
        'offcuts = [{ name = "guard", length_mm = 12.0 }]\npieces = 2\n'
    )
    place = text.index('\n[[bar.step]]\nid = "saw-six"')
    assert done == text[:place] + lines + text[place:]


def test_a_starting_job_is_written_as_it_is_from_its_steps():
    """Number for number, but for noughts at the end: 2.40 is written 2.4."""
    for name in NAMES:
        text = starting_job(name)
        bar = parse(text).bar[0].name
        rows = tomllib.loads(text)["bar"][0]["step"]
        for at, step in enumerate(rows[1:], start=1):
            again = with_step(without_steps(text, [step["id"]]), bar, at, step)
            assert again == text.replace("1.20]", "1.2]") if "strips_to_mm" in step else again == text


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("form", range(4))
def test_a_step_put_in_and_taken_out_leaves_the_same_bytes(name, form):
    text = forms(starting_job(name))[form]
    job = parse(text)
    for at in range(1, len(job.bar[0].step) + 1):
        done = with_step(text, job.bar[0].name, at, STEP)
        assert ids(done)[at] == "more"
        assert without_steps(done, ["more"]) == text


def test_steps_of_an_odd_file_carry_their_own_remarks():
    for text in forms(ODD):
        if "\r\n" in text:
            continue
        gone = without_steps(text, ["b"])
        assert "of two" not in gone
        assert gone.count("# by itself") == 1
        assert "# behind the stack" in gone
        assert "# before the last step" in gone
        moved = moved_steps(text, ["c"], 1)
        assert ids(moved) == ["a", "c", "b"]
        first, second = moved.index("# before the last step"), moved.index("# first of two")
        assert moved.index("# by itself") < first < moved.index('"check"') < second
        # The way back leads behind [shop], which belongs to no step.
        assert ids(moved_steps(moved, ["c"], 2)) == ["a", "b", "c"]
        added = with_step(text, "one", 3, STEP)
        assert ids(added) == ["a", "b", "c", "more"]
        assert without_steps(added, ["more"]) == text


def test_steps_move_together_and_keep_their_order():
    text = starting_job("feather")
    was = ids(text)
    done = moved_steps(text, ["close", "nick", "split"], 3)
    left = [one for one in was if one not in ("nick", "split", "close")]
    assert ids(done) == [*left[:3], "nick", "split", "close", *left[3:]]
    assert sorted(done.split("\n")) == sorted(text.split("\n"))


@pytest.mark.parametrize("form", range(4))
@settings(max_examples=25)
@given(st.data())
def test_a_move_there_and_back_leaves_the_same_bytes(form, data):
    text = forms(starting_job(data.draw(st.sampled_from(NAMES))))[form]
    was = ids(text)
    at = data.draw(st.integers(1, len(was) - 1))
    to = data.draw(st.integers(1, len(was) - 1))
    there = moved_steps(text, [was[at]], to)
    assert ids(there)[to] == was[at]
    assert moved_steps(there, [was[at]], at) == text


def test_skipping_a_step_and_using_it_again_leaves_the_same_bytes():
    for text in [form for name in NAMES for form in forms(starting_job(name))]:
        for one in ids(text)[1:]:
            done = skipped(text, [one], True)
            assert [step.id for step in parse(done).bar[0].step if step.skip] == [one]
            assert skipped(done, [one], False) == text


def test_a_step_is_renamed():
    text = starting_job("feather")
    assert renamed_step(text, "split", "wedge") == text.replace('id = "split"', 'id = "wedge"')
    with pytest.raises(JobError, match="two steps have the id"):
        renamed_step(text, "split", "close")
    with pytest.raises(JobError, match="small letters"):
        renamed_step(text, "split", "A Wedge")


def test_findings_are_accepted_and_not_any_more():
    text = starting_job("feather")
    one = accepted(text, "rough-step", True)
    assert 'knives."\naccept = ["rough-step"]\n' in one
    two = accepted(one, "lips-left", True)
    assert parse(two).accept == ("rough-step", "lips-left")
    assert accepted(two, "lips-left", True) == two
    assert accepted(two, "lips-left", False) == one
    assert accepted(one, "rough-step", False) == text
    assert accepted(text, "rough-step", False) == text
    assert parse(accepted(ODD, "rough-step", False)).accept == ("line-misses-tip",)


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (lambda text: with_step(text, "bow", 1, STEP), 'no bar "bow"'),
        (lambda text: with_step(text, "feather", 99, STEP), "no place 99"),
        (lambda text: with_step(text, "feather", -1, STEP), "no place -1"),
        (lambda text: with_step(text, "feather", 0, STEP), "begin with stack or join"),
        (lambda text: with_step(text, "feather", 1, {**STEP, "id": "split"}), "two steps have the id"),
        (lambda text: with_step(text, "feather", 1, {**STEP, "kind": "drow"}), "no step kind"),
        (lambda text: without_steps(text, ["splat"]), 'no step "splat"'),
        (lambda text: without_steps(text, ["stack"]), "begin with stack or join"),
        (lambda text: without_steps(text, ids(text)), r"\[\[bar.step\]\]"),
        (lambda text: moved_steps(text, ["split"], 99), "no place 99"),
        (lambda text: moved_steps(text, ["split"], 0), "cannot begin a bar"),
        (lambda text: skipped(text, ["splat"], True), 'no step "splat"'),
        (lambda text: copied(text, ["splat"]), 'no step "splat"'),
    ],
)
def test_an_edit_of_steps_that_cannot_be_is_refused_with_the_reason(edit, words):
    with pytest.raises(JobError, match=words):
        edit(starting_job("feather"))


def test_no_steps_moved_or_taken_out_is_no_change():
    text = starting_job("feather")
    assert moved_steps(text, [], 3) == without_steps(text, []) == skipped(text, [], True) == text


def test_steps_of_two_bars_do_not_move_together():
    text = two_bars()
    with pytest.raises(JobError, match="one bar at a time"):
        moved_steps(text, ["check", "lay"], 1)


def two_bars():
    return starting_job("w-bar").replace('id = "check-weld"', 'id = "check"') + (
        '\n[[bar]]\nname = "core"\n\n[[bar.step]]\nid = "lay"\nkind = "stack"\n'
        'strips = [{ steel = "1084", thickness_mm = 6.0 }]\nwidth_mm = 40.0\nlength_mm = 90.0\n'
    )


def test_the_way_and_a_free_id_are_the_same_from_text_and_job():
    text = two_bars()
    assert step_way(text, "lay") == step_way(parse(text), "lay") == ("bar", 1, "step", 0)
    assert fresh_id(text, "draw") == fresh_id(parse(text), "draw") == "draw"
    assert fresh_id(text, "check") == fresh_id(parse(text), "check") == "check-2"
    assert fresh_id(renamed_step(text, "lay", "check-2"), "check") == "check-3"
    assert fresh_id(renamed_step(text, "lay", "x" * 40), "x" * 40) == "x" * 38 + "-2"


# --- bars --------------------------------------------------------------------------------

LAY = {
    "id": "lay",
    "kind": "stack",
    "strips": [{"steel": "1084", "thickness_mm": 6.0}],
    "width_mm": 40.0,
    "length_mm": 90.0,
}


def test_a_bar_is_written_behind_the_last_one():
    for name in NAMES:
        for text in forms(starting_job(name)):
            done = with_bar(text, "core", [LAY, {"id": "tap", "kind": "check"}])
            assert ids(done, 1) == ["lay", "tap"]
            assert without_bar(done, "core") == text
    text = starting_job("w-bar")
    assert with_bar(text, "core", [LAY]) == two_bars().replace('id = "check"', 'id = "check-weld"')
    done = with_bar(starting_job("feather"), "core", [LAY])
    assert done.index('"draw-blades"') < done.index('"core"') < done.index("[blade]")


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (lambda text: with_bar(text, "feather", [LAY]), "two bars are called"),
        (lambda text: with_bar(text, "core", []), r"there is no \[\[bar.step\]\]"),
        (lambda text: with_bar(text, "core", [STEP]), "begin with stack or join"),
        (lambda text: with_bar(IN_BRACES, "core", [LAY]), "headed"),
        (lambda text: without_bar(IN_BRACES, "one"), "headed"),
        (lambda text: without_bar(text, "core"), 'no bar "core"'),
        (lambda text: without_bar(text, "feather"), r"there is no \[\[bar\]\]"),
        (lambda text: without_bar(ODD, "one"), "text editor|step"),
    ],
)
def test_a_bar_that_cannot_be_is_refused_with_the_reason(edit, words):
    with pytest.raises(JobError, match=words):
        edit(starting_job("feather"))


# --- copied steps ------------------------------------------------------------------------


def test_copied_steps_are_pasted_under_ids_of_their_own():
    text = starting_job("feather")
    fragment = copied(text, ["close", "split"])
    assert fragment in text
    done = pasted(text, "feather", 13, fragment)
    assert ids(done)[13:15] == ["split-2", "close-2"]
    again = pasted(done, "feather", 15, fragment)
    assert ids(again)[15:17] == ["split-3", "close-3"]
    assert without_steps(again, ["split-2", "close-2", "split-3", "close-3"]) == text


def test_pasted_steps_take_the_line_ends_of_the_job():
    text = starting_job("feather")
    for form in forms(text):
        done = pasted(form, "feather", 3, copied(ODD.replace("\n", "\r\n"), ["b"]))
        assert "\r\n# first of two" in done if "\r\n" in form else "\r\n" not in done
        assert ids(done)[3] == "b"
        assert without_steps(done, ["b"]) == form


def test_steps_copied_from_lists_and_inner_tables_can_be_pasted():
    text = two_bars()
    assert copied(LISTED, ["b"]) == '[[bar.step]]\nid = "b"\nkind = "check"\n'
    assert ids(pasted(text, "core", 1, copied(LISTED, ["b"])), 1) == ["lay", "b"]
    fragment = copied(ODD, ["a"])
    assert fragment.startswith("# of the stack\n")
    assert fragment.endswith("# behind the stack\n")
    with pytest.raises(JobError, match="a stack is the first step"):
        pasted(text, "core", 1, fragment)
    saw = (
        '# kept\n[[bar.step]]\nkind = "cut"\nid = "lay"\n'
        "  [[bar.step.offcuts]]\n  name = 'guard' # small\n  length_mm = 9\n"
    )
    done = pasted(text, "core", 1, saw)
    assert done == text + "\n" + saw.replace('"lay"', '"lay-2"')
    assert parse(done).bar[1].step[1].offcuts[0].length_mm == 9.0


@pytest.mark.parametrize(
    "fragment",
    [
        "",
        "hello",
        "x = 1",
        "[[bar]]\nname = 'x'",
        "[bar]\nstep = 3",
        "[bar]\nstep = [{ id = 'a', kind = 'check' }]",
        "bar = 3",
        "[[bar.step]]\nid = 'a'\n[shop]",
        "[" * 5000,
        "\ud800",
        "#" * 600_000,
    ],
)
def test_what_holds_no_steps_is_not_pasted(fragment):
    with pytest.raises(JobError, match="holds no steps; copy steps of a job card first"):
        pasted(starting_job("feather"), "feather", 1, fragment)


def test_steps_without_an_id_get_one():
    done = pasted(starting_job("feather"), "feather", 1, "[[bar.step]]\nkind = 'check'\n")
    assert ids(done)[1] == "check"


# --- many edits --------------------------------------------------------------------------


@st.composite
def edits(draw, text):
    """Return an edited text and the ids of the steps that the edit touched."""
    was = ids(text)
    one = draw(st.sampled_from(was[1:]))
    at = draw(st.integers(1, len(was)))
    what = draw(
        st.sampled_from(["value", "add", "out", "move", "skip", "use", "rename", "paste", "note"])
    )
    bar = parse(text).bar[0].name
    if what == "value":
        return changed(
            text, (*step_way(text, one), "stage"), draw(st.sampled_from(["Bow", 'A "b"', None]))
        ), {one}
    if what == "add":
        new = fresh_id(text, "draw")
        return with_step(text, bar, at, {**STEP, "id": new}), {new}
    if what == "out":
        return without_steps(text, [one]), {one}
    if what == "move":
        return moved_steps(text, [one], min(at, len(was) - 1)), set()
    if what in ("skip", "use"):
        return skipped(text, [one], what == "skip"), {one}
    if what == "rename":
        new = fresh_id(text, "named")
        return renamed_step(text, one, new), {one, new}
    if what == "paste":
        done = pasted(text, bar, at, copied(text, [one]))
        return done, set(ids(done)) - set(was)
    code = draw(st.sampled_from(["rough-step", "lips-left"]))
    return accepted(text, code, draw(st.booleans())), set()


@pytest.mark.parametrize("name", NAMES)
@settings(max_examples=15)
@given(st.data())
def test_many_edits_leave_every_other_step_as_it_was(name, data):
    text = forms(starting_job(name))[data.draw(st.integers(0, 3))]
    start = tomllib.loads(text.removeprefix("\ufeff"))
    for _ in range(data.draw(st.integers(1, 8))):
        if len(ids(text)) < 3:
            break
        before = tomllib.loads(text.removeprefix("\ufeff"))
        old = text
        text, touched = data.draw(edits(text))
        after = tomllib.loads(text.removeprefix("\ufeff"))
        steps = [{step["id"]: step for step in one["bar"][0]["step"]} for one in (before, after)]
        for one in steps[0].keys() - touched:
            assert steps[1][one] == steps[0][one]
        # No other line has changed either.
        assert len(set(old.splitlines()) - set(text.splitlines())) <= 12
        assert text.startswith("\ufeff") == old.startswith("\ufeff")
        assert ("\r\n" in text) == ("\r\n" in old)
        assert text.count("\n") == text.count("\r\n") or "\r\n" not in text
        plain = text.removeprefix("\ufeff")
        assert tomlkit.parse(plain).unwrap() == after
    for key in ("format", "name", "about", "shop", "blade"):
        assert after.get(key) == start.get(key)
