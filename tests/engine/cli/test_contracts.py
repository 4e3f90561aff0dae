"""What scripts may rest on: keys and types of the data, exit codes, and where which words go."""

import json

import pytest
from PIL import Image

from patternsim import cli
from patternsim.job import parse, starting_job, starting_jobs
from patternsim.step import REGISTRY

NAMES = [name for name, _ in starting_jobs()]
NUMBER = (int, float)
WORKING = ("steps", "answers", "picture")
"""Commands that work a job out."""
OFF_LINE = starting_job("feather").replace('tip = "on-line"', 'tip = "by-numbers"\noff_middle_mm = 4.0')

PRESSED = """
format = 1
name = "x"
[[bar]]
name = "one"
[[bar.step]]
id = "stack"
kind = "stack"
strips = [{ steel = "1084", thickness_mm = 3.0 }, { steel = "15N20", thickness_mm = 1.5 }]
repeat = 6
width_mm = 40.0
length_mm = 120.0
[[bar.step]]
id = "weld"
kind = "forge-weld"
down_pct = 10.0
"""


@pytest.fixture(scope="module")
def jobs(tmp_path_factory):
    """Return the folder with the starting jobs as files, and one whose tip is off the line."""
    folder = tmp_path_factory.mktemp("jobs")
    for name in NAMES:
        (folder / f"{name}.toml").write_text(starting_job(name), encoding="utf-8")
    (folder / "off-line.toml").write_text(OFF_LINE, encoding="utf-8")
    return folder


@pytest.fixture
def pressed(tmp_path):
    """Return the file of a job of one press."""
    path = tmp_path / "pressed.toml"
    path.write_text(PRESSED, encoding="utf-8")
    return path


@pytest.fixture
def command(capsys):
    """Return a function that runs a command and gives exit code, data and words.

    Jobs are worked by closed forms unless a test names another level: what is told is the same.
    """

    def run(*words):
        words = [str(word) for word in words]
        if words and words[0] in WORKING and "--level" not in words:
            words += ["--level", "quick"]
        code = cli.main(words)
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return run


@pytest.fixture
def data(command):
    """Return a function that runs a command which must go well, and gives its JSON."""

    def run(*words, code=0):
        found, out, err = command(*words, "--json")
        assert (found, err) == (code, "")
        return json.loads(out, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))

    return run


def one_sentence(err):
    """Return the sentence of the words on standard error."""
    assert err.startswith("patternsim: ")
    assert err.count("\n") == 1
    return err.removeprefix("patternsim: ").rstrip("\n")


# --- new ---------------------------------------------------------------------------------


def test_new_lists_a_job_a_line_with_its_name_first(command):
    code, out, err = command("new")
    assert (code, err) == (0, "")
    assert [line.split()[0] for line in out.splitlines()] == NAMES
    assert all(len(line.split()) > 4 and len(line) <= 100 for line in out.splitlines())


@pytest.mark.parametrize("name", NAMES)
def test_new_writes_the_job_and_says_so(name, command, tmp_path):
    target = tmp_path / "mine.toml"
    code, out, err = command("new", name, "-o", target)
    assert (code, out) == (0, "")
    assert one_sentence(err) == f"wrote {target}"
    assert target.read_bytes() == starting_job(name).encode("utf-8")
    assert parse(target.read_text(encoding="utf-8")).format == 1


def test_new_does_not_write_over_a_file(command, tmp_path):
    target = tmp_path / "mine.toml"
    target.write_text("mine")
    code, out, err = command("new", "feather", "-o", target)
    assert (code, out) == (2, "")
    assert "is there already; name another file" in one_sentence(err)
    assert target.read_text() == "mine"


def test_new_into_a_folder_that_is_not_there(command, tmp_path):
    code, out, err = command("new", "feather", "-o", tmp_path / "none" / "mine.toml")
    assert (code, out) == (2, "")
    assert f"there is no folder {tmp_path / 'none'}; make it first" in one_sentence(err)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["new", "fether", "-o", "x.toml"], 'no starting job "fether"; there are: feather-from-w'),
        (["new", "feather"], "say where to write it: patternsim new feather -o JOB.toml"),
        (["new", "-o", "x.toml"], "name the starting job to write; `patternsim new` lists them"),
    ],
)
def test_new_asked_for_wrongly(words, told, command, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, err = command(*words)
    assert (code, out) == (2, "")
    assert told in one_sentence(err)
    assert list(tmp_path.iterdir()) == []


# --- steps -------------------------------------------------------------------------------

ROW = {
    "bar": str,
    "id": str,
    "kind": str,
    "size_mm": list,
    "pieces": int,
    "volume_mm3": NUMBER,
    "mass_kg": NUMBER,
    "layers": str,
    "layers_total": int,
    "layers_distinct": int,
    "offcuts": list,
    "force_kn": (*NUMBER, type(None)),
    "lost_kg": NUMBER,
    "losses_kg": dict,
    "source": str,
    "rough": bool,
    "marks": list,
    "text": str,
}


@pytest.mark.parametrize("name", NAMES)
def test_steps_gives_a_row_a_step_with_all_its_keys(name, jobs, data):
    rows = data("steps", jobs / f"{name}.toml")
    job = parse(starting_job(name))
    assert [(row["bar"], row["id"]) for row in rows] == [
        (bar.name, step.id) for bar in job.bar for step in bar.step
    ]
    for row in rows:
        assert row.keys() == ROW.keys()
        wrong = [key for key, kind in ROW.items() if not isinstance(row[key], kind)]
        assert not wrong
        assert row["kind"] in REGISTRY
        assert row["source"] in ("quick", "coarse", "fine", "exact")
        assert len(row["size_mm"]) == 3
        assert min(row["size_mm"]) > 0.0
        assert row["text"].strip()


@pytest.mark.parametrize("name", NAMES)
def test_steps_figures_hang_together(name, jobs, data):
    before = None
    for row in data("steps", jobs / f"{name}.toml"):
        assert row["mass_kg"] == pytest.approx(row["volume_mm3"] * 7.855e-6, rel=0.005)
        assert sum(row["losses_kg"].values()) == pytest.approx(row["lost_kg"], abs=4e-4)
        if before is not None and "set" not in row["text"]:
            assert row["mass_kg"] == pytest.approx(before - row["lost_kg"], abs=4e-4), row["id"]
        before = row["mass_kg"]


def test_steps_follows_a_mark(jobs, data):
    rows = {row["id"]: row for row in data("steps", jobs / "feather.toml")}
    assert rows["tall"]["marks"] == []
    (mark,) = rows["nick"]["marks"]
    assert (mark["name"], mark["lost_in"]) == ("nick", None)
    assert len(mark["at_mm"]) == 3


def test_where_nothing_is_pressed_there_is_no_force(jobs, data):
    rows = data("steps", jobs / "feather.toml")
    cold = [row for row in rows if row["kind"] in ("stack", "grind-clean", "cut", "check", "mark")]
    assert len(cold) > 5
    assert {row["force_kn"] for row in cold} == {None}


# --- answers -----------------------------------------------------------------------------


def kinds(shape, value, way="answers"):
    """Compare data with its shape: types, tuples of types, dicts of keys, lists of one kind."""
    if isinstance(shape, dict):
        assert isinstance(value, dict), way
        assert value.keys() == shape.keys(), way
        for key, one in shape.items():
            kinds(one, value[key], f"{way}.{key}")
    elif isinstance(shape, list):
        assert isinstance(value, list), way
        for k, one in enumerate(value):
            kinds(shape[k % len(shape)], one, f"{way}[{k}]")
        assert len(shape) == 1 or len(value) == len(shape), way
    else:
        assert isinstance(value, shape), f"{way} is {value!r}"


EMPTY = type(None)
MAYBE = (*NUMBER, EMPTY)
SIDE = {"offset_mm": NUMBER, "heading_deg": NUMBER, "wander_mm": NUMBER}
FINDING = {
    "code": str,
    "step": str,
    "level": str,
    "place": str,
    "value": MAYBE,
    "limit": MAYBE,
    "unit": str,
    "text": str,
    "remedy": str,
    "source": str,
    "accepted": bool,
}
ANSWERS = {
    "tip": {
        "offset_mm": MAYBE,
        "side": (str, EMPTY),
        "verdict": (str, EMPTY),
        "spread_mm": [MAYBE, MAYBE],
        "mark_side": SIDE,
        "off_side": SIDE,
    },
    "barbs": {"wanted": str, "towards": str, "share": NUMBER, "angle_deg": MAYBE},
    "steel": {
        "start_kg": NUMBER,
        "blade_kg": NUMBER,
        "spare_kg": [MAYBE, MAYBE, MAYBE],
        "spare_length_mm": [MAYBE, MAYBE, MAYBE],
        "spare_width_mm": NUMBER,
        "spare_thickness_mm": NUMBER,
    },
    "press": {
        "peak_kn": MAYBE,
        "peak_range_kn": [MAYBE, MAYBE],
        "limit_kn": MAYBE,
        "step": (str, EMPTY),
    },
    "level": str,
    "findings": [FINDING],
}


@pytest.mark.parametrize("name", ["feather", "feather-from-w"])
def test_answers_have_all_their_keys(name, jobs, data):
    found = data("answers", jobs / f"{name}.toml")
    kinds(ANSWERS, found)
    assert found["tip"]["verdict"] in ("on", "near", "off")
    assert found["barbs"]["towards"] in ("tip", "handle", "mixed", "none")
    assert 0.0 <= found["barbs"]["share"] <= 1.0
    assert found["level"] == "quick"
    assert {one["level"] for one in found["findings"]} <= {"note", "watch", "stop"}


def test_what_is_not_worked_out_is_null(jobs, data):
    found = data("answers", jobs / "feather.toml")
    if found["press"]["peak_kn"] is None:
        assert found["press"]["step"] is None
        assert found["press"]["peak_range_kn"] == [None, None]
    low, likely, high = found["steel"]["spare_kg"]
    assert (low, high) == (None, None)
    assert likely > 0.0


def test_without_a_blade_three_answers_are_null(jobs, data):
    found = data("answers", jobs / "w-bar.toml")
    assert found.keys() == ANSWERS.keys()
    assert (found["tip"], found["barbs"], found["steel"]) == (None, None, None)


def test_no_centre_line_gives_a_finding_and_no_offset(tmp_path, data):
    text = starting_job("w-bar") + '[blade]\nbar = "w"\nprofile = "hunter"\n'
    (tmp_path / "plain.toml").write_text(text + '[blade.place]\ntip = "by-numbers"\n')
    found = data("answers", tmp_path / "plain.toml")
    assert found["tip"]["offset_mm"] is None
    assert found["tip"]["verdict"] is None
    assert [one["code"] for one in found["findings"] if one["level"] == "watch"] == ["no-feather"]


# --- exit codes --------------------------------------------------------------------------


def test_a_finding_that_says_stop_is_exit_1_until_it_is_accepted(jobs, data, tmp_path):
    found = data("answers", jobs / "off-line.toml", code=1)
    assert found["tip"]["verdict"] == "off"
    assert abs(found["tip"]["offset_mm"]) > 1.5
    codes = sorted({one["code"] for one in found["findings"] if one["level"] == "stop"})
    assert codes
    head, rest = OFF_LINE.split("[[bar]]", 1)
    accepting = f"{head}accept = {json.dumps(codes)}\n\n[[bar]]{rest}"
    (tmp_path / "accepted.toml").write_text(accepting)
    found = data("answers", tmp_path / "accepted.toml", code=0)
    assert {one["code"] for one in found["findings"] if one["accepted"]} == set(codes)


def test_a_finding_stops_the_answers_only(jobs, command, tmp_path):
    assert command("steps", jobs / "off-line.toml")[0] == 0
    assert command("picture", jobs / "off-line.toml", "-o", tmp_path / "a.png", "--dpi", 40)[0] == 0


@pytest.mark.parametrize("words", [["steps"], ["answers"], ["picture", "-o", "x.png"]])
def test_a_bad_file_is_exit_3_without_data(words, command, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bad.toml").write_text("format = 1\nname = 3\n")
    code, out, err = command(*words, "bad.toml")
    assert (code, out) == (3, "")
    assert one_sentence(err).startswith("bad.toml, line ")
    assert [path.name for path in tmp_path.iterdir()] == ["bad.toml"]


@pytest.mark.parametrize("where", ["patternsim.job.reading.load", "patternsim.steps.stack.Stack.work"])
def test_an_interrupt_is_exit_4(where, jobs, command, monkeypatch):
    def interrupt(*args, **kwargs):
        raise KeyboardInterrupt

    monkeypatch.setattr(where, interrupt)
    if where.endswith("load"):
        monkeypatch.setattr("patternsim.job.load", interrupt)
    code, out, err = command("steps", jobs / "feather.toml")
    assert (code, out) == (4, "")
    assert one_sentence(err) == "cancelled; nothing was written"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "name a command: new, steps, answers, picture"),
        (["stepz"], 'there is no command "stepz"; use one of: new, steps, answers, picture'),
        (["steps"], "the following arguments are required: JOB; `patternsim steps --help` tells more"),
        (["steps", "JOB", "--colour"], "--colour; `patternsim --help` tells more"),
        (["--colour"], "tells more"),
        (["steps", "JOB", "more.toml"], "more.toml; `patternsim --help` tells more"),
        (["steps", "JOB", "--jso"], "--jso; `patternsim --help` tells more"),
        (["steps", "JOB", "--level"], "--level"),
        (["steps", "JOB", "--level", "best"], 'no level "best"; use one of: quick, coarse, fine'),
        (["answers", "JOB", "--level", "FINE"], 'there is no level "FINE"'),
        (["picture", "JOB"], "required: -o/--output"),
        (["picture", "JOB", "-o", "x.bmp"], "x.bmp: a picture ends in .png, .jpg or .tif"),
        (["picture", "JOB", "-o", "x"], "a picture ends in .png, .jpg or .tif"),
        (["picture", "JOB", "-o", "none/x.png"], "there is no folder none; make it first"),
        (["picture", "JOB", "-o", "x.png", "--what", "front"], 'no picture "front"; use one of'),
        (["picture", "JOB", "-o", "x.png", "--after", "weld-9"], 'weld-9'),
        (["picture", "JOB", "-o", "x.png", "--what", "blank", "--after", "weld-9"],
         'there is no step "weld-9" in this job; the steps are: stack, clean-strips'),
        (["picture", "JOB", "-o", "x.png", "--dpi", "many"], "--dpi"),
        (["picture", "JOB", "-o", "x.png", "--dpi", "nan"], "dots an inch cannot be drawn"),
        (["picture", "JOB", "-o", "x.png", "--dpi", "0"], "0 dots an inch cannot be drawn"),
        (["picture", "JOB", "-o", "x.png", "--dpi", "-300"], "-300"),
        (["picture", "JOB", "-o", "x.png", "--dpi", "1e9"], "cannot be drawn"),
        (["picture", "JOB", "-o", "x.png", "--width", "0"], "cannot be drawn"),
        (["picture", "JOB", "-o", "x.png", "--width", "100000000"], "cannot be drawn"),
        (["picture", "JOB", "-o", "x.png", "--width", "1.5"], "--width"),
        (["picture", "JOB", "-o", "x.png", "--width", "900", "--dpi", "300"], "not allowed with"),
    ],
)  # fmt: skip
def test_wrong_use_is_exit_2_in_one_sentence(words, told, jobs, command, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, err = command(*[jobs / "feather.toml" if word == "JOB" else word for word in words])
    assert (code, out) == (2, "")
    assert told in one_sentence(err)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("level", ["quick", "coarse", "fine"])
def test_every_level_is_offered_and_said_of_each_pressed_step(level, pressed, data):
    rows = data("steps", pressed, "--level", level)
    assert [row["source"] for row in rows] == ["exact", level]
    assert (rows[1]["force_kn"] is None) == (level == "quick")


def test_a_job_is_worked_finely_where_no_level_is_named(pressed, capsys):
    assert cli.main(["steps", str(pressed), "--json"]) == 0
    assert [row["source"] for row in json.loads(capsys.readouterr().out)] == ["exact", "fine"]


def test_a_picture_of_the_blade_needs_a_blade(jobs, command, tmp_path):
    code, out, err = command("picture", jobs / "w-bar.toml", "-o", tmp_path / "x.png")
    assert (code, out) == (2, "")
    assert "the job has no [blade]" in one_sentence(err)


@pytest.mark.parametrize("words", [["--help"], ["new", "--help"], ["picture", "--help"]])
def test_help_is_data(words, command):
    code, out, err = command(*words)
    assert (code, err) == (0, "")
    assert out.startswith("usage: patternsim")
    assert max(map(len, out.splitlines())) <= 100


def test_help_names_every_command(command):
    out = command("--help")[1]
    assert [word for word in cli.COMMANDS if f"\n    {word} " in out] == list(cli.COMMANDS)


def test_version_is_data(command):
    import patternsim

    assert command("--version") == (0, f"patternsim {patternsim.__version__}\n", "")


# --- picture -----------------------------------------------------------------------------


@pytest.mark.parametrize(("ending", "kind"), [("png", "PNG"), ("jpg", "JPEG"), ("TIF", "TIFF")])
def test_picture_writes_the_kind_its_ending_names(ending, kind, jobs, command, tmp_path):
    target = tmp_path / f"face.{ending}"
    code, out, err = command("picture", jobs / "feather.toml", "-o", target, "--dpi", 60)
    assert (code, out) == (0, "")
    assert one_sentence(err).startswith(f"wrote {target}, ")
    with Image.open(target) as image:
        assert image.format == kind
        assert image.mode == "RGB"
        assert image.info["dpi"] == pytest.approx((60, 60), abs=0.5)
        assert f"{image.width} x {image.height} pixels" in err


def test_picture_is_as_wide_as_asked(jobs, command, tmp_path):
    target = tmp_path / "face.png"
    assert command("picture", jobs / "feather.toml", "-o", target, "--width", 700)[0] == 0
    with Image.open(target) as image:
        assert image.width == 700


@pytest.mark.parametrize("what", ["mark-side", "off-side", "section", "blank"])
def test_picture_draws_each_kind(what, jobs, command, tmp_path):
    target = tmp_path / f"{what}.png"
    words = ["picture", jobs / "feather.toml", "-o", target, "--what", what, "--dpi", 60]
    assert command(*words)[0] == 0
    with Image.open(target) as image:
        assert len(image.getcolors(1 << 24)) > 8


def test_picture_after_a_step(jobs, command, tmp_path):
    words = ["picture", jobs / "w-bar.toml", "--what", "section", "--dpi", 100]
    assert command(*words, "-o", tmp_path / "a.png", "--after", "corners")[0] == 0
    assert command(*words, "-o", tmp_path / "b.png")[0] == 0
    assert (tmp_path / "a.png").read_bytes() != (tmp_path / "b.png").read_bytes()


# --- verify ------------------------------------------------------------------------------


@pytest.fixture
def two_checks(monkeypatch):
    """Let `verify` work out two quick problems only."""
    from patternsim.verify import table

    quick = tuple(check for check in table.CHECKS if "punch" in check.name or "platens" in check.name)
    real = table.rows
    monkeypatch.setattr("patternsim.verify.rows", lambda: real(checks=quick[:2]))


def test_verify_as_data(data, two_checks):
    rows = data("verify")
    assert len(rows) == 2
    for row in rows:
        assert set(row) == {
            "name", "source", "published", "computed", "error", "tolerance", "passed",
        }  # fmt: skip
        assert row["error"] == pytest.approx(row["computed"] / row["published"] - 1.0)
        assert row["passed"] is True


def test_verify_in_words(command, two_checks):
    code, out, err = command("verify")
    assert (code, err) == (0, "")
    assert "flat punch" in out
    assert "published 5.142" in out
    assert "allowed 2.0 %" in out
