"""What a smith reads in the terminal: lists that line up and fit, in trade words."""

import re
from functools import cache

import pytest

from patternsim import cli
from patternsim.answers import answers
from patternsim.job import parse, starting_job, starting_jobs
from patternsim.listing import answer_lines, json_text, step_lines, step_rows
from patternsim.wording import counted, signed_spare, spare_words
from patternsim.work import run

NAMES = [name for name, _ in starting_jobs()]
SIZE = re.compile(r"(?:\d+ of )?[\d.]+ x [\d.]+ x [\d.]+")
NOT_SHOWN = (
    "node",
    "mesh",
    "solver",
    "seed",
    "pipeline",
    "parameter",
    "project",
    "kernel",
    "None",
    "nan",
)


@cache
def result_of(text):
    """Return the worked job of a text; each is worked once."""
    return run(parse(text), "quick")


@cache
def answers_of(text):
    return answers(result_of(text))


def printed(command, text, columns=100):
    """Return the lines a command prints at a width."""
    if command == "answers":
        return answer_lines(answers_of(text), columns)
    lines = step_lines(step_rows(result_of(text)), columns, "quick")
    return [line for one in lines for line in one.split("\n")]


def joined():
    """Return the text of a job of two bars, one laid on the other."""
    bar = """
[[bar]]
name = "{0}"
[[bar.step]]
id = "stack-{0}"
kind = "stack"
strips = [{{ steel = "1084", thickness_mm = 3.0 }}, {{ steel = "15N20", thickness_mm = 1.5 }}]
width_mm = 40.0
length_mm = 120.0
[[bar.step]]
id = "weld-{0}"
kind = "forge-weld"
down_pct = 10.0
"""
    join = '[[bar.step]]\nid = "lay"\nkind = "join"\nbars = ["low"]\n'
    return 'format = 1\nname = "x"\n' + bar.format("low") + bar.format("high") + join


@pytest.fixture
def by_command(tmp_path, capsys, monkeypatch):
    """Return a function that gives the lines the command line itself prints at a width."""

    def run_it(command, text, columns):
        monkeypatch.setenv("COLUMNS", str(columns))
        path = tmp_path / "job.toml"
        path.write_text(text, encoding="utf-8")
        assert cli.main([command, str(path), "--level", "quick"]) == 0
        out, err = capsys.readouterr()
        assert err == ""
        return out.splitlines()

    return run_it


@pytest.mark.parametrize("command", ["steps", "answers"])
def test_the_command_line_prints_the_list_at_the_width_of_the_terminal(command, by_command):
    for columns in (80, 110):
        text = starting_job("w-bar")
        assert by_command(command, text, columns) == printed(command, text, columns)


@pytest.mark.parametrize("columns", [72, 80, 100, 120])
@pytest.mark.parametrize("command", ["steps", "answers"])
@pytest.mark.parametrize("name", NAMES)
def test_the_lists_fit_the_terminal(name, command, columns):
    lines = printed(command, starting_job(name), columns)
    # Beside the figures a sentence keeps 24 columns, even where the terminal has not so many.
    figures = lines[2].index("Stack") if command == "steps" else 0
    assert max(map(len, lines)) <= max(columns, figures + 24)
    assert all(line == line.rstrip() for line in lines)


@pytest.mark.parametrize(("columns", "width"), [(40, 72), (400, 120)])
def test_very_narrow_and_very_wide_terminals_are_not_followed(columns, width, by_command):
    text = starting_job("w-bar")
    assert by_command("answers", text, columns) == printed("answers", text, width)


@pytest.mark.parametrize("name", NAMES)
def test_every_step_is_one_row_and_its_figures_line_up(name):
    rows = step_rows(result_of(starting_job(name)))
    lines = printed("steps", starting_job(name))
    heading = next(line for line in lines if line.startswith("step "))
    size_at = heading.index("long x wide x thick, mm")
    starts = [line for line in lines if line[:1].strip() and SIZE.match(line[size_at:])]
    assert [line.split()[0] for line in starts] == [row["id"] for row in rows]
    ends = {line[: heading.index("kg") + 2][-5:] for line in starts}
    assert all(re.fullmatch(r"[ \d]\d\.\d{3}|\d\.\d{3}", end) for end in ends), ends


@pytest.mark.parametrize("name", NAMES)
def test_every_sentence_is_printed_whole(name):
    words = " ".join(" ".join(printed("steps", starting_job(name))).split())
    lines = printed("steps", starting_job(name))
    heading = next(line for line in lines if line.startswith("step "))
    # The column of the sentences begins behind all figures.
    at = len(heading) + 2
    column = " ".join(line[at:].strip() for line in lines[2:] if len(line) > at)
    assert result_of(starting_job(name)).steps[0].step.id in words
    for row in step_rows(result_of(starting_job(name))):
        assert " ".join(row["text"].split()) in column


def test_one_bar_is_named_once():
    lines = printed("steps", starting_job("feather"))
    assert lines[0] == "Bar feather"
    assert sum("Bar feather" in line for line in lines) == 1


def test_each_of_two_bars_has_its_heading():
    lines = printed("steps", joined())
    assert [line for line in lines if line.startswith("Bar ")] == ["Bar low", "Bar high"]
    assert sum(line.startswith("step ") for line in lines) == 2
    assert lines.index("") + 1 == lines.index("Bar high")


def test_the_list_of_steps_ends_with_level_loss_and_what_is_rough():
    last = printed("steps", starting_job("w-bar"))[-1]
    lost = sum(row["lost_kg"] for row in step_rows(result_of(starting_job("w-bar"))))
    assert last.startswith(f"13 steps, {lost:.2f} kg lost. An estimate (level quick).")
    rough = [row["id"] for row in step_rows(result_of(starting_job("w-bar"))) if row["rough"]]
    assert (f"A sketch only: {', '.join(rough)}." in last) == bool(rough)


def test_forces_are_shown_where_there_are_any():
    rows = step_rows(result_of(starting_job("w-bar")))
    assert not any(
        "kN" in line for line in step_lines([{**r, "force_kn": None} for r in rows], 100, "q")
    )
    rows[1]["force_kn"] = 163.4
    lines = step_lines(rows, 100, "quick")
    assert lines[1].endswith("kN")
    row = next(line for line in lines if line.startswith("first-weld"))
    assert row[: len(lines[1])].endswith("163")
    assert max(map(len, lines)) <= 100


def test_figures_stay_with_their_units():
    for name in NAMES:
        for columns in range(72, 121):
            for line in step_lines(step_rows(result_of(starting_job(name))), columns, "quick"):
                assert not re.match(r"\s*(mm|deg|heats?|kg|%)\b", line), (columns, line)


def test_one_heat_and_two_heats():
    text = " ".join(" ".join(printed("steps", starting_job("feather-from-w"))).split())
    assert "1 heats" not in text
    assert "1 heat" in text
    assert "2 heats" in text


@pytest.mark.parametrize("name", NAMES)
def test_the_answers_come_in_their_order(name):
    lines = printed("answers", starting_job(name))
    named = [line.split()[0] for line in lines if line[:1].strip()]
    assert named[:5] == ["Tip", "Barbs", "Steel", "Press", "Risk"]
    assert lines[-1].startswith("An estimate (level quick).")


def test_the_answers_speak_trade_words():
    for name in NAMES:
        words = set(re.findall(r"[A-Za-z]+", " ".join(printed("answers", starting_job(name)))))
        assert not words & set(NOT_SHOWN)
    text = " ".join(printed("answers", starting_job("feather")))
    assert "centre line meets the tip" in text
    assert "mm longer than needed" in text
    assert "-0.0" not in text


def test_a_miss_is_told_with_side_and_remedy():
    text = starting_job("feather").replace('tip = "on-line"', 'tip = "by-numbers"\noff_middle_mm = 4.0')
    lines = printed("answers", text)
    assert re.match(r"Tip +off: the centre line passes the tip \d\.\d mm to the (edge|spine);", lines[0])
    risk = next(line for line in lines if line.startswith("Risk"))
    assert re.search(r"[1-9] to stop", risk)
    assert any(re.match(r" {7}stop   ", line) for line in lines)


def test_an_accepted_finding_is_still_named():
    text = starting_job("w-bar").replace('name = "W bar"', 'name = "W bar"\naccept = ["rough-step"]')
    lines = printed("answers", text)
    if any("rough-step" in line for line in lines):
        assert any(line.startswith("       accepted  step corners: ") for line in lines)
        assert any("accepted" in line and "sketch" in line for line in lines)
        assert "accepted" not in next(line for line in lines if line.startswith("Risk"))


def test_bars_without_letters_of_this_terminal_are_printed(tmp_path, monkeypatch):
    import io
    import sys

    narrow = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr(sys, "stdout", narrow)
    path = tmp_path / "job.toml"
    path.write_text(starting_job("w-bar").replace('name = "w"', 'name = "刀"'), encoding="utf-8")
    assert cli.main(["steps", str(path), "--level", "quick"]) == 0
    narrow.seek(0)
    assert narrow.read().startswith("Bar \\u5200")


def test_numbers_that_are_none_are_null():
    assert json_text({"a": float("nan"), "b": [float("inf"), 1.5]}).split() == (
        ["{", '"a":', "null,", '"b":', "[", "null,", "1.5", "]", "}"]
    )


@pytest.mark.parametrize(
    ("spare", "words"),
    [(45.2, "bar 45 mm longer than needed"), (-54.0, "bar 54 mm too short")],
)
def test_spare_length_in_words(spare, words):
    assert signed_spare(spare) == words


@pytest.mark.parametrize(
    ("spare", "words"), [(1.5, "1.5 mm over"), (-0.24, "0.2 mm too little"), (0.04, "just enough")]
)
def test_spare_width_in_words(spare, words):
    assert spare_words(spare) == words


@pytest.mark.parametrize(("count", "words"), [(0, "0 heats"), (1, "1 heat"), (2, "2 heats")])
def test_counts_in_words(count, words):
    assert counted(count, "heat") == words
