"""Opening and saving a job changes nothing but what was changed."""

import os
import stat
import tomllib
from pathlib import Path

import pytest
import tomlkit

from engine.job.yardstick import with_value
from patternsim.errors import JobError
from patternsim.job import (
    changed,
    line_of,
    lines_of,
    parse,
    read_text,
    save,
    starting_job,
    starting_jobs,
)
from patternsim.job.patching import put
from patternsim.steels import find_steel, steel_table

NAMES = [name for name, _ in starting_jobs()]
WIDE = """\
# A remark before everything
format = 1 # of the file
name = "Odd, but \\"allowed\\""
about = \"\"\"
[[bar]]
name = "not this one"
\"\"\"
accept = [ # codes
    'rough-step', # looked at
    "line-misses-tip",
]

[shop] # mine
"kerf_mm"   =   1.5

[[ bar ]]
name = 'one'
step = [
  { id = "a", kind = "stack", strips = [{ steel = "1084", thickness_mm = 3 },
      { steel = "15N20", thickness_mm = 1.5 }], width_mm = 40, length_mm = 100 },
  { id = "b", kind = "forge-weld", down_pct = 10 },
]
[blade]
bar = "one"
outline.length_mm = 100.0
profile = "hunter"
place.tip = "by-numbers"
place . turn_deg = 1.5
"""


def values(table, way=()):
    """Yield the way to every single value of a job, and the value."""
    for key, value in table.items() if isinstance(table, dict) else enumerate(table):
        if isinstance(value, (dict, list)):
            yield from values(value, (*way, key))
        else:
            yield (*way, key), value


def ways(name):
    return [
        pytest.param(name, way, value, id=".".join(map(str, way)))
        for way, value in values(tomllib.loads(starting_job(name)))
    ]


ALL = [param for name in NAMES for param in ways(name)]


def other(value):
    """Return another value of the same kind."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, (int, float)):
        return value + 1
    return value + "-other"


# --- open and save -----------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_open_and_save_gives_the_same_bytes(name, end, mark, tmp_path):
    raw = (mark + starting_job(name).replace("\n", end)).encode("utf-8")
    first, second = tmp_path / "first.toml", tmp_path / "second.toml"
    first.write_bytes(raw)
    text = read_text(first)
    save(text, second)
    assert second.read_bytes() == raw
    assert parse(text) == parse(starting_job(name))


@pytest.mark.parametrize("name", NAMES)
def test_both_readers_read_the_same(name):
    text = starting_job(name)
    assert tomlkit.parse(text).unwrap() == tomllib.loads(text)
    assert tomlkit.dumps(tomlkit.parse(text)) == text


# --- one value changed -------------------------------------------------------------------


@pytest.mark.parametrize(("name", "way", "value"), ALL)
def test_a_value_is_set_where_an_outside_writer_sets_it(name, way, value):
    text = starting_job(name)
    done = put(text, way, other(value))
    assert done == with_value(text, way, other(value))
    before, after = text.split("\n"), done.split("\n")
    assert len(before) == len(after)
    differ = [k for k, pair in enumerate(zip(before, after, strict=True), start=1) if pair[0] != pair[1]]
    assert differ == [line_of(text, way)]
    assert dict(values(tomllib.loads(done))) == {
        **dict(values(tomllib.loads(text))),
        way: other(value),
    }
    assert tomllib.loads(put(done, way, value)) == tomllib.loads(text)


def test_a_changed_value_keeps_the_remark_behind_it():
    assert put(WIDE, ("format",), 2).split("\n")[1] == "format = 2 # of the file"


@pytest.mark.parametrize("value", [0.1, 1e-7, 12.0, 3, -2.5])
def test_a_number_comes_back_as_it_was_given(value):
    text = put(starting_job("w-bar"), ("bar", 0, "step", 0, "width_mm"), value)
    found = tomllib.loads(text)["bar"][0]["step"][0]["width_mm"]
    assert (found, type(found)) == (value, type(value))


@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_a_changed_value_keeps_line_ends_and_byte_order_mark(mark):
    text = mark + starting_job("w-bar").replace("\n", "\r\n")
    done = changed(text, ("bar", 0, "step", 1, "heats"), 4)
    assert done == text.replace("heats = 3\r\n", "heats = 4\r\n", 1)


def test_a_key_that_was_left_out_is_given_in_its_table():
    text = starting_job("feather")
    done = changed(text, ("bar", 0, "step", 2, "bite_mm"), 30.0)
    found = tomllib.loads(done)
    assert found == tomllib.loads(with_value(text, ("bar", 0, "step", 2, "bite_mm"), 30.0))
    assert found["bar"][0]["step"][2].pop("bite_mm") == 30.0
    assert found == tomllib.loads(text)
    removed = [line for line in text.split("\n") if line and line not in done.split("\n")]
    assert removed == []


@pytest.mark.parametrize(
    "way",
    [
        ("bars", 0, "name"),
        ("bar", 7, "name"),
        ("bar", "first", "name"),
        ("name", 0),
        ("bar", 0, "step", 0, "strips", 9, "steel"),
        ("format", "x"),
    ],
)
def test_a_way_that_leads_nowhere_is_refused(way):
    with pytest.raises(JobError, match=f"no place {'.'.join(map(str, way))}; name one"):
        changed(starting_job("feather"), way, 1)


def test_a_text_that_is_no_job_is_refused():
    with pytest.raises(JobError, match="nothing of it can be changed"):
        changed("format = = 1", ("format",), 1)


# --- lines -------------------------------------------------------------------------------


def named_on(line, way, value):
    """Tell whether a line of a starting job can be the place of a value."""
    key = next((part for part in reversed(way) if isinstance(part, str)), "")
    shown = f'"{value}"' if isinstance(value, str) else str(value).lower()
    return key in line and shown in line


@pytest.mark.parametrize(("name", "way", "value"), ALL)
def test_the_line_of_a_value_holds_its_key_and_the_value(name, way, value):
    lines = starting_job(name).split("\n")
    assert named_on(lines[line_of(starting_job(name), way) - 1], way, value)


def test_the_line_of_a_value_is_the_one_whose_change_changes_it():
    """Every line is found from the text alone: a new value on it arrives at the same way."""
    text = starting_job("feather-from-w")
    lines = text.split("\n")
    tried = 0
    for way, value in values(tomllib.loads(text)):
        if isinstance(value, float):
            number = line_of(text, way) - 1
            key = way[-1] if isinstance(way[-1], str) else str(value)
            head, sign, tail = lines[number].partition(key)
            tail = tail.replace(str(value), "77.125", 1) if isinstance(way[-1], str) else ""
            line = head + sign + tail if tail else lines[number].replace(str(value), "77.125", 1)
            changed = "\n".join([*lines[:number], line, *lines[number + 1 :]])
            assert dict(values(tomllib.loads(changed)))[way] == 77.125, way
            tried += 1
    assert tried > 50


@pytest.mark.parametrize(
    ("way", "line"),
    [
        (("format",), 2),
        (("about",), 4),
        (("accept",), 8),
        (("accept", 1), 10),
        (("shop",), 13),
        (("shop", "kerf_mm"), 14),
        (("bar", 0), 16),
        (("bar", 0, "name"), 17),
        (("bar", 0, "step", 0, "id"), 19),
        (("bar", 0, "step", 0, "strips", 1, "steel"), 20),
        (("bar", 0, "step", 0, "length_mm"), 20),
        (("bar", 0, "step", 1), 21),
        (("blade",), 23),
        (("blade", "outline", "length_mm"), 25),
        (("blade", "profile"), 26),
        (("blade", "place", "tip"), 27),
        (("blade", "place", "turn_deg"), 28),
        # What is not there is looked for around: its table, or the top of the file.
        (("bar", 0, "step", 1, "heats"), 21),
        (("blade", "grind", "edge_mm"), 23),
        (("nothing",), 1),
        ((), 1),
    ],
)
def test_lines_are_found_in_every_way_of_writing(way, line):
    parse(WIDE)
    assert line_of(WIDE, way) == line
    assert line_of("\ufeff" + WIDE.replace("\n", "\r\n"), way) == line


def test_every_value_of_a_job_has_a_line_of_its_own_entry():
    for text in (WIDE, *map(starting_job, NAMES)):
        assert {way for way, _ in values(tomllib.loads(text))} <= lines_of(text).keys()


@pytest.mark.parametrize(
    "text", ["", "=", "a = [", "a = {b", "[a", "a = [" * 5000, 'a = """', "a.", "\0"]
)
def test_text_that_is_no_job_has_lines_as_far_as_it_goes(text):
    assert line_of(text, ("a", "b")) == 1


# --- whole or not at all -----------------------------------------------------------------


def test_saving_replaces_the_file_and_leaves_nothing_else(tmp_path):
    target = tmp_path / "knife.toml"
    target.write_text("old")
    save("format = 1\n", target)
    assert target.read_bytes() == b"format = 1\n"
    assert os.listdir(tmp_path) == ["knife.toml"]  # noqa: PTH208 - hidden files too


def broken(*args, **kwargs):
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize("name", ["fsync", "fdopen"])
def test_a_failing_write_leaves_the_old_file_and_no_other(name, tmp_path, monkeypatch):
    target = tmp_path / "knife.toml"
    target.write_text("old")
    monkeypatch.setattr(os, name, broken)
    with pytest.raises(JobError, match="no space left on device; the job was not saved"):
        save("new", target)
    monkeypatch.undo()
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_failing_replacement_leaves_the_old_file_and_no_other(tmp_path, monkeypatch):
    target = tmp_path / "knife.toml"
    target.write_text("old")
    monkeypatch.setattr(Path, "replace", broken)
    with pytest.raises(JobError, match="not saved"):
        save("new", target)
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


def test_an_interrupted_write_leaves_the_old_file_and_no_other(tmp_path, monkeypatch):
    target = tmp_path / "knife.toml"
    target.write_text("old")

    def interrupt(handle):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        save("new", target)
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


def test_text_that_cannot_be_written_leaves_the_old_file(tmp_path):
    target = tmp_path / "knife.toml"
    target.write_text("old")
    with pytest.raises(JobError, match="no usable path or text"):
        save("\ud800", target)
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.parametrize("place", ["no/such/folder/knife.toml", ".", "a\0b"])
def test_a_place_that_cannot_be_written_is_told(place, tmp_path):
    with pytest.raises(JobError, match="the job was not saved, choose a place"):
        save("format = 1\n", f"{tmp_path}/{place}")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name == "nt", reason="rights of another kind")
def test_saving_keeps_the_rights_of_the_file(tmp_path):
    target = tmp_path / "knife.toml"
    target.write_text("old")
    target.chmod(0o640)
    save("new", target)
    assert stat.S_IMODE(target.stat().st_mode) == 0o640


@pytest.mark.skipif(os.name == "nt", reason="rights of another kind")
def test_a_new_file_gets_the_usual_rights(tmp_path):
    (tmp_path / "usual").write_text("")
    save("new", tmp_path / "knife.toml")
    assert (tmp_path / "knife.toml").stat().st_mode == (tmp_path / "usual").stat().st_mode


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_saving_through_a_link_keeps_the_link(tmp_path):
    (tmp_path / "real").mkdir()
    real, link = tmp_path / "real" / "knife.toml", tmp_path / "knife.toml"
    real.write_text("old")
    link.symlink_to(real)
    save("new", link)
    assert link.is_symlink()
    assert real.read_text() == "new"


# --- steels ------------------------------------------------------------------------------


def test_a_steel_is_known_by_its_names_elsewhere():
    for steel in steel_table().values():
        for name in (steel.name, *steel.also):
            assert find_steel(name) is steel
    assert find_steel("75Ni8").name == "15N20"


def test_no_name_stands_for_two_steels():
    names = [name for steel in steel_table().values() for name in (steel.name, *steel.also)]
    assert len(names) == len(set(names))
    assert all(len(name) < 20 for name in names)


def test_a_job_may_use_the_name_from_elsewhere():
    text = starting_job("w-bar").replace('"15N20"', '"75Ni8"')
    assert parse(text).bar[0].step[0].strips[1].steel == "75Ni8"
