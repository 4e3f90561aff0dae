"""What is not saved comes back after the program was killed."""

import json
import os
import random
import re
import subprocess
import sys
import time
from dataclasses import asdict
from pathlib import Path

import pytest

from patternsim.job import parse, starting_job
from patternsim_app.journal import (
    GENERATIONS,
    MOST_SET_ASIDE,
    Entry,
    Journal,
    JournalError,
)

TEXT = starting_job("feather")


def edited(number):
    """Return the job's text after an edit, 0 for none."""
    return TEXT.replace('about = "A', f'about = "Edit {number}: A') if number else TEXT


def entry(number, **more):
    usual = {"path": "/forge/feather.toml", "name": "Feather", "edits": number + 1}
    return Entry(text=edited(number), label=f"Edit {number}", **{**usual, **more})


def gone(folder, *entries):
    """Leave what a session leaves that was killed after some edits."""
    script = (
        "import sys, json, os\n"
        "from pathlib import Path\n"
        "from patternsim_app.journal import Entry, Journal\n"
        "journal = Journal(Path(sys.argv[1]))\n"
        "for row in json.loads(sys.stdin.read()):\n"
        "    journal.write(Entry(**row))\n"
        "os._exit(1)\n"
    )
    subprocess.run(
        [sys.executable, "-c", script, str(folder)],
        input=json.dumps([asdict(one) for one in entries]), text=True, env=environment(), check=False,
    )  # fmt: skip


def environment():
    root = Path(__file__).resolve().parents[2]
    return {**os.environ, "PYTHONPATH": os.pathsep.join([str(root), str(root / "app")])}


def journals(folder):
    return sorted(path.name for path in folder.glob("*.journal"))


# --- one session -------------------------------------------------------------------------


def test_a_living_session_is_not_offered(tmp_path):
    mine, other = Journal(tmp_path), Journal(tmp_path)
    mine.write(entry(1))
    assert other.found() == []
    assert mine.found() == []
    mine.close()


def test_the_last_few_states_are_kept(tmp_path):
    journal = Journal(tmp_path)
    for number in range(12):
        journal.write(entry(number))
    journal.settle()
    assert len(journals(tmp_path)) == GENERATIONS
    journal.close()


def test_a_clean_end_leaves_nothing(tmp_path):
    journal = Journal(tmp_path)
    journal.write(entry(1))
    journal.close()
    assert list(tmp_path.iterdir()) == []


def test_a_saved_job_leaves_no_state_and_later_edits_are_kept_again(tmp_path):
    journal = Journal(tmp_path)
    journal.write(entry(1))
    journal.clear()
    assert journals(tmp_path) == []
    journal.settle()
    journal.write(entry(2))
    assert len(journals(tmp_path)) == 1
    journal.close()


def test_a_session_that_wrote_nothing_makes_nothing(tmp_path):
    journal = Journal(tmp_path / "none")
    assert journal.found() == []
    journal.settle()
    journal.clear()
    journal.close()
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize("broken", ["write_bytes", "replace", "mkdir"])
def test_a_journal_that_cannot_be_written_says_so(broken, tmp_path, monkeypatch):
    journal = Journal(tmp_path / "journal")
    if broken != "mkdir":
        journal.write(entry(1))

    def full(*args, **kwargs):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, broken, full)
    with pytest.raises(JournalError, match=r"cannot be written \(No space left on device\); save"):
        journal.write(entry(2))
    monkeypatch.undo()
    journal.write(entry(3))
    journal.close()


def test_writing_is_quick_enough_for_every_edit(tmp_path):
    journal = Journal(tmp_path)
    times = []
    for number in range(200):
        began = time.perf_counter()
        journal.write(entry(number))
        times.append(time.perf_counter() - began)
    journal.close()
    assert sorted(times)[100] < 0.02


# --- sessions that are gone --------------------------------------------------------------


def test_what_a_killed_session_left_is_offered_and_can_be_thrown_away(tmp_path):
    before = time.time()
    gone(tmp_path, *(entry(number) for number in range(8)))
    journal = Journal(tmp_path)
    [found] = journal.found()
    assert (found.entry.text, found.entry.label, found.entry.edits) == (edited(7), "Edit 7", 8)
    assert (found.entry.name, found.entry.path, found.note) == ("Feather", "/forge/feather.toml", "")
    assert abs(found.entry.time - before) < 60.0
    assert re.fullmatch(r"\d{4}-\d\d-\d\d \d\d:\d\d", found.when)
    journal.discard(found)
    assert journal.found() == []
    assert journals(tmp_path) == []
    [aside] = (tmp_path / "set-aside").iterdir()
    assert aside.suffix == ".toml"
    assert aside.read_text() == edited(7)
    journal.close()
    assert [path.name for path in tmp_path.iterdir()] == ["set-aside"]


def test_two_starts_do_not_offer_the_same(tmp_path):
    gone(tmp_path, entry(1))
    first, second = Journal(tmp_path), Journal(tmp_path)
    assert len(first.found()) == len(first.found()) == 1
    assert second.found() == []
    first.close()
    assert len(second.found()) == 1
    second.close()


def test_several_sessions_are_offered_newest_first(tmp_path):
    gone(tmp_path, entry(1, time=1000.0))
    gone(tmp_path, entry(2, time=3000.0))
    gone(tmp_path, entry(3, time=2000.0))
    journal = Journal(tmp_path)
    assert [found.entry.label for found in journal.found()] == ["Edit 2", "Edit 3", "Edit 1"]
    journal.close()
    assert len(journals(tmp_path)) == 3


def newest(folder):
    return max(folder.glob("*.journal"), key=lambda path: path.stat().st_mtime_ns)


def cut(path):
    path.write_bytes(path.read_bytes()[:-20])


def turned(path):
    raw = bytearray(path.read_bytes())
    raw[len(raw) // 2] ^= 1
    path.write_bytes(raw)


@pytest.mark.parametrize(
    "damage",
    [
        cut,
        turned,
        lambda path: path.write_bytes(b""),
        lambda path: path.write_bytes(b"\0" * 4096),
        lambda path: path.write_text("hello\nworld"),
        lambda path: path.unlink(),
    ],
)
def test_of_a_damaged_state_the_one_before_is_offered(damage, tmp_path):
    gone(tmp_path, *(entry(number) for number in range(3)))
    damage(newest(tmp_path))
    journal = Journal(tmp_path)
    [found] = journal.found()
    assert found.entry.text == edited(1)
    assert ("damaged" in found.note) == (len(journals(tmp_path)) == 3)
    journal.close()


def test_a_journal_damaged_altogether_is_set_aside_and_told(tmp_path):
    gone(tmp_path, entry(1), entry(2))
    for path in tmp_path.glob("*.journal"):
        cut(path)
    journal = Journal(tmp_path)
    assert journal.found() == []
    assert len(journal.notes) == 1
    assert "nothing could be read from it; it lies in" in journal.notes[0]
    assert [path.suffix for path in (tmp_path / "set-aside").iterdir()] == [".damaged"] * 2
    journal.close()


def test_a_state_that_was_written_but_not_put_in_place_counts(tmp_path):
    gone(tmp_path, *(entry(number) for number in range(3)))
    last = newest(tmp_path)
    last.rename(last.with_suffix(".new"))
    journal = Journal(tmp_path)
    [found] = journal.found()
    assert found.entry.text == edited(2)
    journal.discard(found)
    assert [path.name for path in tmp_path.iterdir()] == ["set-aside"]
    journal.close()


def only_new(folder):
    """Leave of what was written only the last state, not put in place yet."""
    last = newest(folder)
    last.rename(last.with_suffix(".new"))
    for path in folder.glob("*.journal"):
        path.unlink()
    return last.with_suffix(".new")


def test_the_first_edit_after_a_save_counts_before_it_is_put_in_place(tmp_path):
    gone(tmp_path, *(entry(number) for number in range(3)))
    only_new(tmp_path)
    journal = Journal(tmp_path)
    [found] = journal.found()
    assert (found.entry.text, found.note) == (edited(2), "")
    journal.close()


def test_of_a_job_that_was_saved_a_kill_leaves_nothing(tmp_path):
    gone(tmp_path, entry(1))
    for path in tmp_path.glob("*.journal"):
        path.unlink()
    assert [path.suffix for path in tmp_path.iterdir()] == [".lock"]
    journal = Journal(tmp_path)
    assert (journal.found(), journal.notes) == ([], [])
    assert list(tmp_path.iterdir()) == []
    journal.close()


def test_a_first_edit_cut_off_half_way_leaves_nothing(tmp_path):
    gone(tmp_path, entry(1))
    cut(only_new(tmp_path))
    journal = Journal(tmp_path)
    assert (journal.found(), journal.notes) == ([], [])
    assert list(tmp_path.iterdir()) == []
    journal.close()


def test_the_lock_of_a_living_session_without_states_stays(tmp_path):
    mine, other = Journal(tmp_path), Journal(tmp_path)
    mine.write(entry(1))
    mine.clear()
    assert other.found() == []
    assert [path.suffix for path in tmp_path.iterdir()] == [".lock"]
    mine.write(entry(2))
    assert other.found() == []
    mine.close()


def test_what_holds_nothing_to_recover_is_not_offered(tmp_path):
    gone(tmp_path, entry(1, edits=0))
    journal = Journal(tmp_path)
    assert journal.found() == []
    assert journals(tmp_path) == []
    journal.close()


def test_the_last_few_set_aside_are_kept(tmp_path):
    for number in range(MOST_SET_ASIDE + 3):
        journal = Journal(tmp_path)
        gone(tmp_path, entry(number, time=float(number // 2), name="Feather / W: *?"))
        [found] = journal.found()
        journal.discard(found)
        journal.close()
    kept = list((tmp_path / "set-aside").iterdir())
    assert len(kept) == MOST_SET_ASIDE
    assert {path.read_text() for path in kept} == {edited(n) for n in range(3, MOST_SET_ASIDE + 3)}


def test_what_cannot_be_set_aside_stays(tmp_path):
    gone(tmp_path, entry(1))
    (tmp_path / "set-aside").write_text("a file where the folder should be")
    journal = Journal(tmp_path)
    [found] = journal.found()
    with pytest.raises(JournalError, match="cannot be set aside"):
        journal.discard(found)
    assert journal.found() == [found]
    journal.close()


# --- killed at any moment ----------------------------------------------------------------

KILLS = 50
# Edits as fast as it can, saves every seventh time, and says what it has done.
EDITING = """
import os, sys
from pathlib import Path
from patternsim.job.writing import save
from patternsim_app.journal import Entry, Journal

folder, file, text = Path(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[2]).read_text()
journal = Journal(folder)
for number in range(1, 100000):
    new = text.replace('about = "A', f'about = "Edit {number}: A')
    journal.write(Entry(path=str(file), name="Feather", text=new, label=f"Edit {number}", edits=1))
    os.write(1, f"edited {number}\\n".encode())
    if number % 7 == 0:
        save(new, file)
        os.write(1, f"saved {number}\\n".encode())
        journal.clear()
"""


def number_in(text):
    """Return which edit a text is the result of, 0 for none; every other text is refused."""
    found = re.search(r'about = "Edit (\d+): A', text)
    number = int(found.group(1)) if found else 0
    assert text == edited(number)
    return number


def editing(folder):
    folder.mkdir()
    (folder / "feather.toml").write_text(TEXT)
    return subprocess.Popen(
        [sys.executable, "-c", EDITING, str(folder / "journal"), str(folder / "feather.toml")],
        stdout=subprocess.PIPE, env=environment(),
    )  # fmt: skip


@pytest.mark.slow
def test_a_session_killed_at_any_moment_loses_one_edit_at_most(tmp_path):
    luck = random.Random(2026)
    lost = []
    running = [editing(tmp_path / str(k)) for k in range(2)]
    for k in range(KILLS):
        process = running.pop(0)
        first = process.stdout.readline()
        assert first == b"edited 1\n"
        time.sleep(luck.uniform(0.0, 0.05))
        process.kill()
        said = (first + process.stdout.read()).decode().split("\n")[:-1]
        process.stdout.close()
        assert process.wait() != 0
        if k + 2 < KILLS:
            running.append(editing(tmp_path / str(k + 2)))
        last = max(int(line.split()[1]) for line in said)
        saved = max([int(line.split()[1]) for line in said if line.startswith("saved")], default=0)
        folder = tmp_path / str(k)
        on_disk = number_in((folder / "feather.toml").read_text())
        assert on_disk >= saved
        journal = Journal(folder / "journal")
        found = journal.found()
        assert len(found) <= 1
        assert journal.notes == []
        kept = max([number_in(one.entry.text) for one in found], default=0)
        for one in found:
            assert parse(one.entry.text).name == "Feather"
        lost.append(last - max(kept, on_disk))
        journal.close()
    # What was said to be kept is kept; the edit under way may be there or not.
    assert max(lost) <= 0
    assert min(lost) >= -1
