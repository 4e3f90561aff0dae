"""A damaged job file is refused at once, in one sentence that a smith can act on."""

import codecs
import os
import re
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

from patternsim import cli
from patternsim.job import starting_job

FEATHER = starting_job("feather-from-w")
PLAIN = """\
format = 1
name = "Two bars"

[[bar]]
name = "one"

[[bar.step]]
id = "stack-one"
kind = "stack"
strips = [
    { steel = "1084", thickness_mm = 3.0 },
    { steel = "15N20", thickness_mm = 1.5 },
]
repeat = 5
width_mm = 40.0
length_mm = 120.0

[[bar.step]]
id = "weld-one"
kind = "forge-weld"
heats = 3
down_pct = 14.0

[[bar.step]]
id = "saw-one"
kind = "cut"
piece_mm = 110.0

[[bar]]
name = "two"

[[bar.step]]
id = "stack-two"
kind = "stack"
strips = [{ steel = "1084", thickness_mm = 8.0 }]
width_mm = 40.0
length_mm = 120.0

[[bar.step]]
id = "weld-two"
kind = "forge-weld"
heats = 1
down_pct = 10.0

[[bar.step]]
id = "saw-two"
kind = "cut"
piece_mm = 110.0

[[bar.step]]
id = "lay-on"
kind = "join"
bars = ["one"]

[[bar.step]]
id = "weld-both"
kind = "forge-weld"
down_pct = 10.0
width_mm = 42.0

[blade]
bar = "two"
profile = "hunter"
barbs = "none"
outline = { length_mm = 100.0 }

[blade.place]
tip = "by-numbers"
"""


@dataclass
class Case:
    """A damaged file, and what its one sentence must tell."""

    content: str | bytes
    told: str
    line: int | None = None
    place: str = ""


def changed(old, new, told, *, text=PLAIN, place="", line=None):
    """Return a job with the first `old` changed to `new`; the line is that of the change."""
    assert old in text
    at = text.index(old)
    if line is None:
        line = text.count("\n", 0, at) + 1
    return Case(text[:at] + new + text[at + len(old) :], told, line, place)


def at(text, part):
    """Return the line (from 1) on which `part` first stands."""
    return text.count("\n", 0, text.index(part)) + 1


def without(text, told, old, **more):
    return changed(old, "", told, text=text, **more)


WELD_ONE = "(step weld-one of bar one)"
WELD_BOTH = "(step weld-both of bar two)"
CASES = {
    # the file
    "empty": Case("", "is empty; `patternsim new` lists"),
    "blank": Case("\n \n\t\n", "is empty"),
    "binary": Case(bytes(range(256)) * 20, "not UTF-8 text; save the job as UTF-8", 1),
    "latin-1": Case(PLAIN.replace("Two", "Zwölf").encode("latin-1"), "not UTF-8 text", 2),
    "utf-16": Case(PLAIN.encode("utf-16"), "not UTF-8 text", 1),
    "utf-16 without a mark": Case(PLAIN.encode("utf-16-le"), "not UTF-8 text", 1),
    "zeros at the end": Case(PLAIN.encode() + bytes(512), "not UTF-8 text", PLAIN.count("\n") + 1),
    "picture": Case(b"\x89PNG\r\n\x1a\n" + bytes(99), "not UTF-8 text", 1),
    "no job": Case("[project]\nname = 'x'\n", 'a job begins with "format = 1"', 1),
    # the text
    "cut in a text": Case(
        PLAIN[: PLAIN.index("two") + 2], "a text is not closed; add the quote", at(PLAIN, '"two"')
    ),
    "cut in a list": Case(
        PLAIN[: PLAIN.index("]\nrepeat")], "the file ends before its last value is complete", 12
    ),
    "cut after a key": Case(
        PLAIN[: PLAIN.index("5\nwidth")].rstrip(), "the file ends before its last value is complete", 14
    ),
    "cut in a heading": Case(PLAIN[: PLAIN.index("]]\nname")], "the brackets are not closed", 4),
    "cut after a step": Case(
        PLAIN[: PLAIN.index('id = "weld-one"')],
        "the step has no kind; use one of: bend, check",
        18,
        "(step 2 of bar one)",
    ),
    "key given twice": changed(
        "heats = 3", "heats = 3\nheats = 3", '"heats" is given twice', line=at(PLAIN, "heats = 3") + 1
    ),
    "table given twice": Case(
        PLAIN + '[blade]\nbar = "two"\n', "this table is there already", PLAIN.count("\n") + 1
    ),
    "key twice in braces": changed("thickness_mm = 3.0", "steel = 3.0", "twice between the braces"),
    "decimal comma": changed("width_mm = 40.0", "width_mm = 40,0", "with a decimal point and no unit"),
    "unit after a number": changed(
        "width_mm = 40.0", "width_mm = 40 mm", "with a decimal point and no unit"
    ),
    "fraction": changed("width_mm = 40.0", "width_mm = 1/2", "with a decimal point and no unit"),
    "no quotes": changed('"1084"', "W1", "a text in quotes"),
    "remark without a sign": changed("heats = 3", "heats three", "write it as key = value"),
    "single bar bracket": Case(
        PLAIN.replace("[[bar]]", "[bar]", 1), "keep one, or write [[bar]] with two brackets", 29
    ),
    "deep lists": Case("format = 1\nname = " + "[" * 20_000, "brackets are nested too deep", 2),
    "deep braces": Case("format = 1\nname = " + "{a=" * 20_000, "brackets are nested too deep", 2),
    "endless key": Case("format = 1\n" + "a." * 200_000 + "a = 1", "a key of more than 40 parts", 2),
    "endless heading": Case("format = 1\n[" + "a." * 200_000 + "a]", "a key of more than 40 parts", 2),
    "endless quoted key": Case(
        "format = 1\n" + "'a'." * 90_000 + "a = 1", "a key of more than 40 parts", 2
    ),
    # the format
    "no format": without(
        PLAIN, 'a job begins with "format = 1"; put it on the first line', "format = 1\n"
    ),
    "future format": changed(
        "format = 1", "format = 2", "format 2 is newer than this release can read (1)"
    ),
    "format as text": changed(
        "format = 1", 'format = "1"', 'the format is "1"; write it as a number, format = 1'
    ),
    "format with decimals": changed("format = 1", "format = 1.0", "write it as a number, format = 1"),
    "format zero": changed("format = 1", "format = 0", "the format is 0"),
    "format true": changed("format = 1", "format = true", "the format is true"),
    # keys
    "unknown key of the job": changed(
        'name = "Two bars"',
        'name = "x"\ncolour = 1',
        'unknown key "colour"; it may have: format, name, about, shop, bar, blade, accept',
        line=3,
    ),
    "unknown key of a bar": changed(
        'name = "one"', 'name = "one"\nbars = 1', 'unknown key "bars"', line=6, place="(bar one)"
    ),
    "unknown key of a step": changed(
        "heats = 3", "hats = 3", 'unknown key "hats"; did you mean "heats"?', place=WELD_ONE
    ),
    "key of another step": changed(
        "down_pct = 14.0",
        "side_mm = 14.0",
        'unknown key "side_mm"; it may have: heats, temperature_c,',
        place=WELD_ONE,
    ),
    "misspelt key that is needed": changed("width_mm", "widht_mm", 'did you mean "width_mm"?'),
    "unknown key of a strip": changed(
        "thickness_mm = 1.5", "thick = 1.5", 'unknown key "thick"; did you mean "thickness_mm"?'
    ),
    "unknown key of the blade": changed(
        "barbs = ", "barb = ", 'unknown key "barb"; did you mean "barbs"?'
    ),
    "unknown key of the outline": changed(
        "length_mm = 100",
        "lenght_mm = 100",
        'unknown key "lenght_mm" for the profile hunter; did you mean "length_mm"?',
    ),
    "unknown number of the outline": changed(
        "length_mm = 100", "glow = 100", 'unknown key "glow" for the profile hunter; it has:'
    ),
    "unknown key of the place": changed(
        'tip = "by', 'tipp = "by', 'unknown key "tipp"; did you mean "tip"?'
    ),
    "unknown key of the shop": changed(
        "[blade]", "[shop]\nkerf = 2.0\n[blade]", 'unknown key "kerf"', line=at(PLAIN, "[blade]") + 1
    ),
    "unknown key of the grind": changed(
        "[blade.place]",
        "[blade.grind]\nspin_mm = 3.0\n[blade.place]",
        'did you mean "spine_mm"?',
        line=at(PLAIN, "[blade.place]") + 1,
    ),
    "unknown table": changed("[blade]", "[knife]", 'unknown key "knife"'),
    "misspelt heading": changed(
        "[[bar.step]]", "[[bar.steps]]", 'unknown key "steps"; did you mean "step"?'
    ),
    "key with a line break": changed("heats = 3", '"he\\nats" = 3', r'unknown key "he\nats"'),
    # values
    "text for a number": changed(
        "heats = 3", 'heats = "3"', '"heats" is "3"; give a whole number', place=WELD_ONE
    ),
    "text for a length": changed(
        "width_mm = 40.0",
        'width_mm = "40"',
        '"width_mm" is "40"; give a number, such as 12.5, without quotes',
    ),
    "true for a number": changed(
        "heats = 3", "heats = true", '"heats" is true; give a whole number', place=WELD_ONE
    ),
    "true for a length": changed(
        "width_mm = 40.0", "width_mm = true", '"width_mm" is true; give a number'
    ),
    "date for a number": changed(
        "width_mm = 40.0", "width_mm = 1979-05-27", '"width_mm" is 1979-05-27; give a number'
    ),
    "list for a number": changed(
        "width_mm = 40.0", "width_mm = [40.0]", '"width_mm" is a list; give a number'
    ),
    "half a heat": changed("heats = 3", "heats = 2.5", '"heats" is 2.5; give a whole number'),
    "number for a name": changed(
        'name = "one"', "name = 1", '"name" is 1; give a text in quotes', place="(bar 1)"
    ),
    "number for a choice": changed('profile = "hunter"', "profile = 3", '"profile" is 3; use "chef"'),
    "unknown choice": changed(
        '"hunter"', '"hunt"', '"profile" is "hunt"; use "chef", "hunter" or "dagger"'
    ),
    "nan": changed("width_mm = 40.0", "width_mm = nan", '"width_mm" is nan; give a plain number'),
    "inf": changed("down_pct = 14.0", "down_pct = inf", '"down_pct" is inf; give a plain number'),
    "minus inf in the outline": changed(
        "length_mm = 100.0", "length_mm = -inf", '"length_mm" is -inf; give a plain number'
    ),
    "nan in the outline": changed(
        "length_mm = 100.0", "length_mm = nan", '"length_mm" is nan; give a plain number'
    ),
    "negative length": changed(
        "width_mm = 40.0", "width_mm = -40.0", '"width_mm" is -40.0; it must be more than 0'
    ),
    "nothing": changed(
        "thickness_mm = 3.0", "thickness_mm = 0", '"thickness_mm" is 0; it must be more than 0'
    ),
    "no heats": changed("heats = 3", "heats = 0", '"heats" is 0; it must be at least 1'),
    "absurd length": changed(
        "length_mm = 120.0", "length_mm = 1e9", '"length_mm" is 1000000000.0; it must be at most 5000'
    ),
    "absurd repeat": changed("repeat = 5", "repeat = 1000000000", "it must be at most 10000"),
    "number of 300 figures": changed(
        "repeat = 5",
        "repeat = 1" + "0" * 300,
        "a number of more than 40 figures; it must be at most 10000",
    ),
    "length of 400 figures": changed("width_mm = 40.0", "width_mm = 1" + "0" * 400, '"width_mm" is'),
    "number of 9000 figures": changed(
        "repeat = 5", "repeat = " + "9" * 9000, "a number of thousands of figures; write a plain number"
    ),
    "temperature of the sun": changed(
        "heats = 3", "temperature_c = 5500.0", '"temperature_c" is 5500.0; it must be at most 1320'
    ),
    "endless name": changed("Two bars", "x" * 5000, '"name" is longer than 200 letters'),
    "empty name": changed('"Two bars"', '""', '"name" is empty'),
    "capitals in an id": changed(
        '"weld-one"', '"Weld One"', '"id" is "Weld One"; use small letters, figures and dashes'
    ),
    "missing name": without(PLAIN, '"name" is missing', 'name = "Two bars"\n', line=1),
    "missing length": without(PLAIN, '"length_mm" is missing; give it', "length_mm = 120.0\n", line=7),
    "missing id": without(PLAIN, '"id" is missing', 'id = "weld-one"\n', line=18),
    "missing bar of the blade": without(
        PLAIN, '"bar" is missing', 'bar = "two"\n', line=at(PLAIN, "[blade]")
    ),
    "no bars": Case('format = 1\nname = "x"\n', "there is no [[bar]]", 1),
    "bars as a number": Case(
        'format = 1\nname = "x"\nbar = 3\n', "tables headed [[bar]], with two brackets", 3
    ),
    "one bar with one bracket": Case(
        'format = 1\nname = "x"\n[bar]\nname = "a"\n', "headed [[bar]], with two brackets", 3
    ),
    "bar without steps": Case(
        'format = 1\nname = "x"\n[[bar]]\nname = "a"\n', "there is no [[bar.step]]", 3
    ),
    "step with one bracket": Case(
        'format = 1\nname = "x"\n[[bar]]\nname = "a"\n[bar.step]\nid = "a"\n',
        "headed [[bar.step]], with two brackets",
        5,
    ),
    "steps as numbers": Case(
        'format = 1\nname = "x"\n[[bar]]\nname = "a"\nstep = [1, 2]\n',
        "a step is a table headed [[bar.step]]",
        5,
    ),
    "blade as a text": Case(
        PLAIN[: PLAIN.index("[[bar]]")]
        + 'blade = "two"\n'
        + PLAIN[PLAIN.index("[[bar]]") : PLAIN.index("[blade]")],
        '"blade" is "two"; give a table',
        4,
    ),
    "bare strip": changed(
        '{ steel = "1084", thickness_mm = 8.0 }', '"1084"', 'entry 1 of "strips" is "1084"; give a table'
    ),
    "hundreds of bars": Case(
        'format = 1\nname = "x"\n'
        + "".join(
            f'[[bar]]\nname = "b{k}"\nstep = [{{id = "s{k}", kind = "check"}}]\n' for k in range(101)
        ),
        "101 bars; a job has at most 100",
        3,
    ),
    "thousands of steps": Case(
        'format = 1\nname = "x"\n[[bar]]\nname = "a"\n'
        + "".join(f'[[bar.step]]\nid = "s{k}"\nkind = "check"\n' for k in range(2001)),
        "more than 2000 steps",
        3,
        "(bar a)",
    ),
    # how the parts hang together
    "unknown step kind": changed(
        '"forge-weld"',
        '"forge-wedl"',
        'there is no step kind "forge-wedl"; did you mean "forge-weld"?',
        place=WELD_ONE,
    ),
    "strange step kind": changed(
        '"forge-weld"',
        '"solder"',
        'there is no step kind "solder"; use one of: bend, check',
        place=WELD_ONE,
    ),
    "number as a step kind": changed(
        '"forge-weld"', "4", "there is no step kind 4; use one of", place=WELD_ONE
    ),
    "unknown steel": changed(
        '"15N20"',
        '"15N2"',
        'there is no steel "15N2"; did you mean "15N20"?',
        place="(step stack-one of bar one)",
    ),
    "strange steel": changed(
        '"15N20"', '"bronze"', 'there is no steel "bronze"; use one of: 1075, 1084'
    ),
    "endless steel": changed('"15N20"', '"' + "q" * 3000 + '"', "use one of: 1075, 1084"),
    "no strips": changed(
        '[{ steel = "1084", thickness_mm = 8.0 }]', "[]", "no strips are given; name at least one steel"
    ),
    "two bars of one name": changed(
        'name = "two"', 'name = "one"', 'two bars are called "one"; give each its own name'
    ),
    "two steps of one id": changed(
        '"weld-two"', '"weld-one"', 'two steps have the id "weld-one" (the first in bar one)'
    ),
    "two steps of one id in a bar": changed(
        '"weld-both"', '"weld-two"', 'two steps have the id "weld-two"; give each its own'
    ),
    "draw before there is steel": changed(
        'name = "two"',
        'name = "two"\n[[bar.step]]\nid = "a"\nkind = "draw"\nwidth_mm = 9.0\nthickness_mm = 9.0',
        '"draw" cannot begin a bar',
        line=at(PLAIN, '"two"') + 3,
        place="(step a of bar two)",
    ),
    "stack on steel": changed(
        'kind = "join"\nbars = ["one"]',
        'kind = "stack"\nstrips = [{ steel = "1084", thickness_mm = 8.0 }]\nwidth_mm = 9\nlength_mm = 9',
        "a stack is the first step of a bar",
        place="(step lay-on of bar two)",
    ),
    "join of an unknown bar": changed(
        '["one"]',
        '["three"]',
        'there is no bar "three" to join; the bars are: one, two',
        place="(step lay-on of bar two)",
    ),
    "join of itself": changed('["one"]', '["two"]', 'the bar "two" cannot be joined to itself'),
    "bar joined twice": changed(
        '["one"]', '["one", "one"]', 'the bar "one" is used up here already; a bar can be joined once'
    ),
    "bar joined in two steps": changed(
        'id = "weld-both"',
        'id = "again"\nkind = "join"\nbars = ["one"]\n[[bar.step]]\nid = "weld-both"',
        'the bar "one" is used up in step lay-on already',
        line=at(PLAIN, '"weld-both"') + 2,
    ),
    "ring of joins": changed(
        "down_pct = 14.0",
        'down_pct = 14.0\n[[bar.step]]\nid = "back"\nkind = "join"\nbars = ["two"]',
        "the bars one, two wait for one another",
        line=at(PLAIN, "down_pct") + 4,
    ),
    "text as the bars of a join": changed(
        '["one"]', '"one"', '"bars" is "one"; give a list in brackets'
    ),
    "blade from a used bar": changed(
        'bar = "two"', 'bar = "one"', 'the bar "one", which a join uses up'
    ),
    "blade from no bar": changed(
        'bar = "two"', 'bar = "tow"', 'a bar "tow", which does not exist; the bars are: one, two'
    ),
    "blade from no piece": changed(
        'bar = "two"',
        'bar = "two"\npiece = 3',
        "piece 3 of bar two, which ends with 1 piece",
        line=at(PLAIN, 'bar = "two"') + 1,
    ),
    "blade too long to be one": changed(
        "length_mm = 100.0", "length_mm = 5000.0", "the length is 5000 mm; it must be from 40 to 1000 mm"
    ),
    "edge thicker than the spine": changed(
        "[blade.place]",
        "[blade.grind]\nedge_mm = 9.0\n[blade.place]",
        "the edge before sharpening is 9 mm thick",
        line=at(PLAIN, "[blade.place]"),
    ),
    # what only the steel itself can refuse
    "both of two numbers": changed(
        "down_pct = 14.0", "down_pct = 14.0\nheight_mm = 20.0", "both are given", place=WELD_ONE, line=18
    ),
    "neither of two numbers": without(
        PLAIN, "say either height_mm or down_pct", "down_pct = 14.0\n", place=WELD_ONE, line=18
    ),
    "pressed to nothing": changed(
        "down_pct = 10.0\nwidth_mm = 42.0",
        "height_mm = 500.0",
        "does nothing",
        place=WELD_BOTH,
        line=at(PLAIN, 'id = "weld-both"') - 1,
    ),
}


@pytest.fixture
def damaged(tmp_path):
    """Return a function that writes a damaged file and gives its path."""

    def write(content, name="knife.toml"):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


def refused(capsys, path, *, within=2.0):
    """Return the sentence with which the command line refuses a file."""
    # The time of this process alone: others may keep the machine busy.
    start = time.process_time()
    code = cli.main(["answers", str(path), "--level", "quick"])
    taken = time.process_time() - start
    out, err = capsys.readouterr()
    assert (code, out) == (3, ""), err
    assert taken < within
    assert err.startswith("patternsim: ")
    assert err.endswith("\n")
    sentence = err.removeprefix("patternsim: ").removesuffix("\n")
    assert sentence.isprintable(), "more than one line, or signs that disturb the terminal"
    assert "Traceback" not in sentence
    # One sentence: nothing ends before the end (figures, file names and "[[bar.step]]" apart).
    assert not re.search(r"\.\s+[A-Z]", sentence)
    assert not sentence.endswith((".", ";", ":"))
    assert len(sentence) < 420
    # What is wrong and what to do about it.
    assert ";" in sentence or " give " in sentence
    return sentence


@pytest.mark.parametrize("name", CASES)
def test_a_damaged_file_is_refused_with_place_and_remedy(name, damaged, capsys):
    case = CASES[name]
    path = damaged(case.content)
    sentence = refused(capsys, path)
    assert case.told in sentence
    assert sentence.startswith(("knife.toml", str(path)))
    assert case.place in sentence
    if case.line is not None:
        assert re.match(rf"knife\.toml, line {case.line}\b", sentence), sentence


def test_the_undamaged_files_are_taken(damaged, capsys):
    assert cli.main(["answers", str(damaged(PLAIN)), "--level", "quick"]) in (0, 1), (
        capsys.readouterr().err
    )
    capsys.readouterr()
    assert cli.main(["answers", str(damaged(FEATHER)), "--level", "quick"]) == 0, capsys.readouterr().err


def test_a_byte_order_mark_and_other_line_ends_do_no_harm(damaged, capsys):
    text = codecs.BOM_UTF8 + PLAIN.replace("\n", "\r\n").encode()
    assert cli.main(["steps", str(damaged(text)), "--level", "quick"]) == 0, capsys.readouterr().err
    broken = text.replace(b"heats = 3", b"heats = -3")
    capsys.readouterr()
    assert "line 21 (step weld-one of bar one)" in refused(capsys, damaged(broken))


@pytest.mark.parametrize("size", [500_001, 50_000_000])
def test_a_file_of_many_megabytes_is_not_read_through(size, tmp_path, capsys):
    path = tmp_path / "big.toml"
    with path.open("wb") as file:
        file.write(b'format = 1\nname = "')
        file.truncate(size)
    assert "is larger than 500 kB" in refused(capsys, path)


def test_the_largest_files_that_are_read_take_no_longer(damaged, capsys):
    full = "format = 1\n" + "".join(f"key-{k} = {k}\n" for k in range(22_000))
    refused(capsys, damaged(full))
    refused(capsys, damaged("format = 1\nname = '" + "x" * 490_000 + "'\n"))
    refused(capsys, damaged("format = 1\n[[bar]]\n" + "[[bar.step]]\n" * 35_000))
    refused(capsys, damaged("format = 1\n" + "".join(f"[a{k}.b.c]\n" for k in range(29_000))))
    refused(capsys, damaged("format = 1\nbar = [" + "{}," * 160_000 + "]\n"))
    refused(capsys, damaged('format = 1\nname = "' + "'" * 450_000))
    refused(capsys, damaged("format = 1\n" + "a" * 450_000))


def test_a_folder_is_no_job(tmp_path, capsys):
    assert "is a folder; give the path of a job file" in refused(capsys, tmp_path)


def test_a_missing_file_is_named(tmp_path, capsys):
    sentence = refused(capsys, tmp_path / "nowhere" / "knife.toml")
    assert "no such file or directory; give the path of a job file" in sentence
    assert "nowhere" in sentence


@pytest.mark.parametrize("path", ["a\0b", "x" * 5000, "line\nbreak"])
def test_a_path_that_cannot_be_one(path, capsys):
    assert "give the path of a job file" in refused(capsys, path)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device here")
def test_a_device_without_end_is_not_read_for_ever(capsys):
    assert "is larger than 500 kB" in refused(capsys, "/dev/zero")


@pytest.mark.skipif(os.name == "nt", reason="rights of another kind")
def test_a_file_that_may_not_be_read(damaged, capsys):
    path = damaged(PLAIN)
    path.chmod(0)
    user = os.geteuid()
    if user == 0:
        os.seteuid(65534)  # nobody: the superuser may read everything
    try:
        sentence = refused(capsys, path)
    finally:
        os.seteuid(user)
    assert "permission denied" in sentence
