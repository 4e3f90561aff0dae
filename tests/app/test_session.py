"""The open job: opened, changed, undone, saved; nothing is lost on the way."""

import random
import time
import tomllib

import pytest

from patternsim.errors import JobError, NewerFormatError, UsageError
from patternsim.job import (
    accepted,
    changed,
    copied,
    fresh_id,
    moved_steps,
    parse,
    pasted,
    renamed_step,
    skipped,
    starting_job,
    starting_jobs,
    with_bar,
    with_step,
    without_steps,
)
from patternsim_app.session import MOST_UNDOS, ChangedOutsideError, Session

NAMES = [name for name, _ in starting_jobs()]
FORMS = ("unix", "dos", "marked", "unix")
FEATHER = starting_job("feather")


@pytest.fixture
def session(qapp):
    session = Session()
    session.open_text(FEATHER)
    return session


def heard(signal):
    """Return a list that fills with what a signal says."""
    calls = []
    signal.connect(lambda *values: calls.append(values))
    return calls


def with_nose(text, value):
    return changed(text, ("bar", 0, "step", 11, "nose_mm"), value)


def nose(session, value, **more):
    return session.change(with_nose(session.document.text, value), f"Split: nose {value:g} mm", **more)


def nose_of(session):
    return session.document.job.bar[0].step[11].nose_mm


# --- opening -----------------------------------------------------------------------------


def test_there_is_a_job_from_the_start(qapp):
    session = Session()
    assert session.document.job.name == "Feather from W"
    assert not session.is_changed


def test_opening_a_starting_job_tells_everyone(session):
    opened, told, clean = heard(session.opened), heard(session.changed), heard(session.clean_changed)
    session.start("w-bar")
    assert session.document.text == starting_job("w-bar")
    assert (session.document.path, session.document.name) == (None, "W bar")
    assert opened == [(session.document,)]
    assert told == [(session.document, "")]
    assert clean == [(True,)]
    with pytest.raises(UsageError, match="no starting job"):
        session.start("w-bars")


@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("name", NAMES)
def test_opening_and_saving_gives_the_same_bytes(session, name, end, mark, tmp_path):
    raw = (mark + starting_job(name).replace("\n", end).removesuffix(end)).encode()
    file = tmp_path / "job.toml"
    file.write_bytes(raw)
    session.open(file)
    assert not session.document.read_only
    session.save()
    assert file.read_bytes() == raw
    session.save_as(tmp_path / "other.toml")
    assert (tmp_path / "other.toml").read_bytes() == raw


def test_a_job_that_cannot_be_read_leaves_the_open_one(session, tmp_path):
    nose(session, 3.0)
    before, told = session.document, heard(session.changed)
    (tmp_path / "bad.toml").write_text(FEATHER.replace("nose_mm", "noes_mm"))
    for path, words in (("bad.toml", "bad.toml, line .*nose_mm"), ("none.toml", "no such file")):
        with pytest.raises(JobError, match=words):
            session.open(tmp_path / path)
    with pytest.raises(JobError, match="format"):
        session.open_text("name = 'x'")
    with pytest.raises(JobError, match="recovered job"):
        session.recover("name = 'x'", None)
    assert session.document is before
    assert session.undo_stack.canUndo()
    assert told == []


def test_opening_drops_what_could_be_undone(session):
    nose(session, 3.0)
    session.start("w-bar")
    assert not session.undo_stack.canUndo()
    assert not session.is_changed


# --- newer files -------------------------------------------------------------------------


@pytest.mark.parametrize("form", [FEATHER, "\ufeff" + FEATHER.replace("\n", "\r\n"), FEATHER.rstrip()])
def test_a_job_of_a_newer_release_is_open_to_be_looked_at(session, form, tmp_path):
    file = tmp_path / "newer.toml"
    raw = form.replace("format = 1", "format = 2").encode()
    file.write_bytes(raw)
    session.open(file)
    document = session.document
    assert document.read_only
    assert document.job == parse(FEATHER)
    assert (
        "newer.toml was written by a newer release (format 2; this one writes format 1)" in document.note
    )
    for act in (lambda: session.change(FEATHER, "Older"), session.save):
        with pytest.raises(JobError, match="cannot be changed here, use a newer release"):
            act()
    assert session.document is document
    assert not session.undo_stack.canUndo()
    assert file.read_bytes() == raw
    session.save_as(tmp_path / "copy.toml")
    assert (tmp_path / "copy.toml").read_bytes() == raw


def of_format_7(text):
    return text.replace("format = 1", "format = 7")


@pytest.mark.parametrize("more", ["[temper]\nheats = 2\n", "[[bar]]\nname = 'feather'\n"])
def test_a_job_of_a_newer_release_that_cannot_be_read_is_refused(session, more, tmp_path):
    file, before = tmp_path / "newer.toml", session.document
    file.write_text(of_format_7(FEATHER) + more)
    with pytest.raises(NewerFormatError, match=r"format 7; this one writes format 1.*file is untouched"):
        session.open(file)
    assert session.document is before
    assert file.read_text() == of_format_7(FEATHER) + more


# --- changing ----------------------------------------------------------------------------


def test_a_change_is_told_with_its_row_and_can_be_undone_by_name(session):
    told, clean = heard(session.changed), heard(session.clean_changed)
    assert nose(session, 3.0, focus="split")
    assert nose_of(session) == 3.0
    assert session.undo_stack.undoText() == "Split: nose 3 mm"
    session.undo_stack.undo()
    assert session.document.text == FEATHER
    assert session.undo_stack.redoText() == "Split: nose 3 mm"
    session.undo_stack.redo()
    assert nose_of(session) == 3.0
    assert [focus for _, focus in told] == ["split"] * 3
    assert [document.text == FEATHER for document, _ in told] == [False, True, False]
    assert clean == [(False,), (True,), (False,)]


def test_the_last_edit_is_named_as_it_is_told(session):
    named = []
    session.changed.connect(lambda document, focus: named.append(session.last_label))
    nose(session, 3.0)
    nose(session, 3.5)
    session.undo_stack.undo()
    session.undo_stack.undo()
    session.undo_stack.setIndex(2)
    assert named == [
        "Split: nose 3 mm", "Split: nose 3.5 mm", "Split: nose 3 mm", "",
        "Split: nose 3 mm", "Split: nose 3.5 mm",
    ]  # fmt: skip
    session.start("w-bar")
    assert named[-1] == ""


def test_a_drag_is_named_by_its_last_value(session):
    session.begin_gesture()
    for value in (3.9, 3.5):
        nose(session, value, merge="nose")
    session.end_gesture()
    assert session.last_label == "Split: nose 3.5 mm"
    session.undo_stack.undo()
    assert session.last_label == ""
    session.undo_stack.redo()
    assert session.last_label == "Split: nose 3.5 mm"


def test_no_change_is_no_entry(session):
    told = heard(session.changed)
    assert not session.change(FEATHER, "Nothing")
    assert not session.undo_stack.canUndo()
    assert told == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (FEATHER.replace("nose_mm", "noes_mm"), "nose_mm"),
        ("", "empty"),
        (FEATHER + "# " + "x" * 500_000, "larger than 500 kB"),
        (FEATHER.replace("format = 1", "format = 2"), "newer"),
    ],
)
def test_text_that_is_no_job_changes_nothing(session, text, words):
    before, told = session.document, heard(session.changed)
    with pytest.raises(JobError, match=words):
        session.change(text, "Bad")
    assert session.document is before
    assert session.undo_stack.count() == 0
    assert told == []


def test_a_drag_is_one_entry(session):
    session.begin_gesture()
    for value in (3.9, 3.5, 3.0, 2.5):
        nose(session, value, merge="split nose_mm")
    session.end_gesture()
    assert (session.undo_stack.count(), nose_of(session)) == (1, 2.5)
    assert session.undo_stack.undoText() == "Split: nose 2.5 mm"
    session.undo_stack.undo()
    assert session.document.text == FEATHER


def test_two_drags_are_two_entries(session):
    for values in ((3.9, 3.5), (3.0, 2.5)):
        session.begin_gesture()
        for value in values:
            nose(session, value, merge="split nose_mm")
        session.end_gesture()
    assert session.undo_stack.count() == 2
    session.undo_stack.undo()
    assert nose_of(session) == 3.5


def test_edits_of_two_fields_or_without_a_word_stand_alone(session):
    nose(session, 3.9, merge="one")
    nose(session, 3.8, merge="two")
    nose(session, 3.7)
    nose(session, 3.6)
    assert session.undo_stack.count() == 4


def test_a_drag_there_and_back_leaves_no_entry(session):
    nose(session, 3.0)
    text = session.document.text
    session.begin_gesture()
    for value in (3.5, 3.9, 3.0):
        nose(session, value, merge="nose")
    session.end_gesture()
    assert (session.undo_stack.count(), session.document.text) == (1, text)
    session.undo_stack.undo()
    assert session.document.text == FEATHER


def test_what_follows_an_undo_is_an_entry_of_its_own(session):
    nose(session, 3.9, merge="nose")
    nose(session, 3.0)
    session.undo_stack.undo()
    nose(session, 3.5, merge="nose")
    assert session.undo_stack.count() == 2
    session.undo_stack.undo()
    assert nose_of(session) == 3.9


def test_the_oldest_edits_are_let_go(session):
    for k in range(MOST_UNDOS + 5):
        nose(session, 5.0 + k / 100)
    while session.undo_stack.canUndo():
        session.undo_stack.undo()
    assert nose_of(session) == 5.04
    assert session.is_changed


# --- saving ------------------------------------------------------------------------------


def test_a_new_job_asks_for_a_file_and_keeps_its_undos(session, tmp_path):
    nose(session, 3.0)
    with pytest.raises(JobError, match="no file yet; choose where"):
        session.save()
    saved, clean = heard(session.saved), heard(session.clean_changed)
    session.save_as(tmp_path / "mine.toml")
    assert (session.document.path, session.document.name) == (tmp_path / "mine.toml", "mine.toml")
    assert (tmp_path / "mine.toml").read_text() == session.document.text == with_nose(FEATHER, 3.0)
    assert (len(saved), clean) == (1, [(True,)])
    session.undo_stack.undo()
    assert session.document.text == FEATHER
    assert session.document.path == tmp_path / "mine.toml"
    assert session.is_changed
    session.undo_stack.redo()
    assert not session.is_changed


def test_the_same_text_is_saved_however_it_came_about(session):
    nose(session, 3.0)
    nose(session, 4.0)
    assert session.document.text == FEATHER
    assert not session.is_changed
    assert session.edits_since_save == 0


def test_edits_since_the_last_save_are_counted(session, tmp_path):
    assert session.edits_since_save == 0
    nose(session, 3.0)
    nose(session, 3.5)
    assert session.edits_since_save == 2
    session.save_as(tmp_path / "mine.toml")
    assert session.edits_since_save == 0
    session.undo_stack.undo()
    assert session.edits_since_save == 1


def test_a_drag_across_a_save_does_not_hide_what_was_saved(session, tmp_path):
    session.begin_gesture()
    nose(session, 3.0, merge="nose")
    session.save_as(tmp_path / "mine.toml")
    nose(session, 2.0, merge="nose")
    session.undo_stack.undo()
    assert nose_of(session) == 3.0
    assert not session.is_changed


def test_a_save_that_fails_leaves_file_and_state(session, tmp_path, monkeypatch):
    file = tmp_path / "mine.toml"
    session.save_as(file)
    nose(session, 3.0)
    saved = heard(session.saved)

    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(JobError, match="no space left"):
        session.save()
    monkeypatch.undo()
    assert file.read_text() == FEATHER
    assert session.is_changed
    assert saved == []
    with pytest.raises(JobError, match="not saved"):
        session.save_as(tmp_path / "no" / "such.toml")
    assert session.document.path == file


def test_a_file_changed_by_another_program_is_not_written_over_unasked(session, tmp_path):
    file = tmp_path / "mine.toml"
    session.save_as(file)
    nose(session, 3.0)
    file.write_text(with_nose(FEATHER, 9.0))
    with pytest.raises(ChangedOutsideError, match=r"mine.toml was changed by another program"):
        session.save()
    assert file.read_text() == with_nose(FEATHER, 9.0)
    assert session.is_changed
    session.save(over=True)
    assert file.read_text() == with_nose(FEATHER, 3.0)


@pytest.mark.parametrize("raw", [b"\xff\xfe caf\xe9", b"x" * 600_000, b"a\0b"])
def test_what_another_program_put_there_is_kept_even_if_it_cannot_be_read(session, raw, tmp_path):
    file = tmp_path / "mine.toml"
    session.save_as(file)
    nose(session, 3.0)
    file.write_bytes(raw)
    with pytest.raises(ChangedOutsideError, match=r"mine.toml was changed by another program"):
        session.save()
    assert file.read_bytes() == raw
    assert session.is_changed
    session.save(over=True)
    assert file.read_text() == with_nose(FEATHER, 3.0)


def test_a_file_that_is_gone_is_written_again(session, tmp_path):
    file = tmp_path / "mine.toml"
    session.save_as(file)
    file.unlink()
    session.save()
    assert file.read_text() == FEATHER


def test_a_recovered_job_is_unsaved_against_the_file_there_is(session, tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text(FEATHER)
    session.recover(with_nose(FEATHER, 3.0), file)
    assert session.is_changed
    assert session.document.saved_text == FEATHER
    session.save()
    assert file.read_text() == with_nose(FEATHER, 3.0)
    session.recover(with_nose(FEATHER, 3.0), file)
    assert not session.is_changed
    session.recover(FEATHER, tmp_path / "gone.toml")
    assert session.is_changed
    session.recover(FEATHER, None)
    assert session.is_changed


# --- two thousand edits ------------------------------------------------------------------


def random_edit(text, luck):
    """Return the text after one edit of a random kind."""
    plain = tomllib.loads(text.removeprefix("\ufeff"))
    rows = [(bar["name"], k, n, step) for k, bar in enumerate(plain["bar"])
            for n, step in enumerate(bar["step"])]  # fmt: skip
    bar, k, at, step = luck.choice([row for row in rows if row[2] > 0] or rows)
    many = len(plain["bar"][k]["step"])
    what = luck.choice(
        [
            "value",
            "value",
            "shop",
            "stage",
            "add",
            "out",
            "move",
            "skip",
            "rename",
            "paste",
            "note",
            "bar",
        ]
    )
    if what == "value":
        numbers = [
            key for key, value in step.items() if key in ("heats", "width_mm", "faces_mm", "bite_mm")
        ]
        if numbers:
            key = luck.choice(numbers)
            value = luck.randint(1, 9) if key == "heats" else round(luck.uniform(1.0, 90.0), 2)
            return changed(text, ("bar", k, "step", at, key), value)
    if what == "stage":
        return changed(text, ("bar", k, "step", at, "stage"), luck.choice(["Bow", 'Split "it"', None]))
    if what == "add" and len(rows) < 40:
        new = {"id": fresh_id(text, "draw"), "kind": "draw", "width_mm": 30.0, "thickness_mm": 28.5}
        return with_step(text, bar, luck.randint(1, many), new)
    if what == "out" and many > 2 and at:
        return without_steps(text, [step["id"]])
    if what == "move" and at and many > 2:
        return moved_steps(text, [step["id"]], luck.randint(1, many - 1))
    if what == "skip":
        return skipped(text, [step["id"]], luck.random() < 0.5)
    if what == "rename":
        return renamed_step(text, step["id"], fresh_id(text, "named"))
    if what == "paste" and len(rows) < 40 and at:
        return pasted(text, bar, luck.randint(1, many), copied(text, [step["id"]]))
    if what == "note":
        return accepted(text, luck.choice(["rough-step", "lips-left"]), luck.random() < 0.5)
    if what == "bar" and len(plain["bar"]) < 3:
        strips = [{"steel": "1084", "thickness_mm": 6.0}]
        stack = {"id": fresh_id(text, "stack"), "kind": "stack", "strips": strips}
        stack |= {"width_mm": 40.0, "length_mm": 90.0}
        return with_bar(text, f"bar {len(plain['bar']) + 1}", [stack])
    return changed(text, ("shop", "kerf_mm"), luck.choice([None, 1.0, 1.5, 2.0]))


@pytest.mark.slow
@pytest.mark.parametrize(("name", "form"), list(zip(NAMES, FORMS, strict=True)))
def test_two_thousand_edits_undos_and_redos_lead_back_and_forth_to_the_same_bytes(qapp, name, form):
    text = starting_job(name)
    text = text.replace("\n", "\r\n") if form == "dos" else "\ufeff" + text if form == "marked" else text
    luck = random.Random(f"{name} {form}")
    session = Session()
    session.undo_stack.clear()
    session.undo_stack.setUndoLimit(0)
    session.open_text(text)
    stack, states = session.undo_stack, [text]
    began, edits = time.monotonic(), 0
    for _ in range(2000 // len(NAMES) + 1):
        act = luck.random()
        if act < 0.15 and stack.canUndo():
            stack.undo()
        elif act < 0.3 and stack.canRedo():
            stack.redo()
        else:
            new = random_edit(session.document.text, luck)
            edits += 1
            if session.change(new, f"Edit {edits}"):
                states = [*states[: stack.index()], new]
        assert session.document.text == states[stack.index()]
        assert session.document.job == parse(session.document.text)
    last = stack.count()
    stack.setIndex(last)
    end = session.document.text
    while stack.canUndo():
        stack.undo()
    assert session.document.text == text
    assert not session.is_changed
    while stack.canRedo():
        stack.redo()
    assert session.document.text == end == states[-1]
    assert stack.index() == last
    assert edits > 400
    assert time.monotonic() - began < 60.0  # of a busy machine; about ten seconds of a quiet one
