"""Presses that were worked out are not worked out again: in memory, and on the user's shelf."""

import dataclasses
import os
import threading

import numpy as np
import pytest

from patternsim.errors import Cancelled
from patternsim.press import HalfBlock, Level, Pass, PressProblem, SplitProblem, Squeeze, press, split
from patternsim.press.keeping import ENDING, IN_MEMORY, Shelf, key_of

SQUEEZE = PressProblem(
    width=40.0,
    height=40.0,
    passes=(Pass(across=40.0, along=40.0, height=30.0, sideways=0.5, turned=False),),
    friction=0.6,
    goal=Squeeze(to=34.0, sideways=0.5, bite=30.0),
)
HALF = HalfBlock(
    length=60.0, width=40.0, outer=20.0, outer_slope=0.0, nose_depth=52.0, nose=4.0,
    included_deg=45.0, friction=0.8,
)  # fmt: skip


# --- closed forms: in memory -----------------------------------------------------------------


def test_an_equal_press_is_taken_over():
    again = dataclasses.replace(SQUEEZE)
    assert again is not SQUEEZE
    assert press(again, Level.QUICK) is press(SQUEEZE, Level.QUICK)


@pytest.mark.parametrize("change", [{"width": 40.001}, {"friction": 0.61}, {"corners": 0.3}])
def test_another_press_is_worked_out(change):
    first, other = (
        press(SQUEEZE, Level.QUICK),
        press(dataclasses.replace(SQUEEZE, **change), Level.QUICK),
    )
    assert not np.array_equal(first.grid.coefs, other.grid.coefs)


def test_an_equal_split_is_taken_over_and_another_is_not():
    problem = SplitProblem(low=HALF, high=HALF, down=True)
    assert split(dataclasses.replace(problem)) is split(problem)
    up = split(dataclasses.replace(problem, down=False))
    assert up.low.origin != split(problem).low.origin


def test_what_is_kept_cannot_be_changed():
    answer = press(SQUEEZE, Level.QUICK)
    with pytest.raises(ValueError, match="read-only"):
        answer.grid.coefs[0, 0, 0] = 0.0


# --- the flow: on the shelf ------------------------------------------------------------------


@pytest.fixture
def shelf(tmp_path, monkeypatch):
    """Return an empty shelf, used by all presses of a test."""
    own = Shelf(tmp_path / "presses")
    monkeypatch.setattr("patternsim.press.keeping.shelf", lambda: own)
    return own


@pytest.fixture
def worked(monkeypatch):
    """Return the list of goals the flow really went for."""
    from patternsim.press import flowing

    goals = []
    reach = flowing.Pressing.reach

    def counted(pressing, goal):
        goals.append(goal)
        reach(pressing, goal)

    monkeypatch.setattr(flowing.Pressing, "reach", counted)
    return goals


def files(tmp_path):
    return sorted((tmp_path / "presses").glob("*" + ENDING))


def same(one, other):
    assert one.grid.coefs.tobytes() == other.grid.coefs.tobytes()
    assert (one.grid.origin, one.grid.step) == (other.grid.origin, other.grid.step)
    assert one.outline.tobytes() == other.outline.tobytes()
    assert (one.loads, one.damage, one.lengthened) == (other.loads, other.damage, other.lengthened)


def test_the_same_press_again_is_a_look_at_the_shelf(shelf, worked, tmp_path):
    first = press(SQUEEZE, Level.COARSE)
    same(first, press(dataclasses.replace(SQUEEZE), Level.COARSE))
    assert len(worked) == len(files(tmp_path)) == 1


def test_the_next_start_finds_it_on_disk(shelf, worked, tmp_path, monkeypatch):
    first = press(SQUEEZE, Level.COARSE)
    next_start = Shelf(tmp_path / "presses")
    monkeypatch.setattr("patternsim.press.keeping.shelf", lambda: next_start)
    same(first, press(SQUEEZE, Level.COARSE))
    assert len(worked) == 1


def test_the_same_shape_at_another_size_is_the_same_press(shelf, worked):
    # Steel between dies knows no length of its own: twice as large is worked as far, twice as wide.
    first = press(SQUEEZE, Level.COARSE)
    twice = dataclasses.replace(
        SQUEEZE, width=80.0, height=80.0, goal=Squeeze(to=68.0, sideways=0.5, bite=60.0)
    )
    larger = press(twice, Level.COARSE)
    assert len(worked) == 1
    assert larger.outline == pytest.approx(2.0 * first.outline)
    assert larger.grid.coefs == pytest.approx(2.0 * first.grid.coefs)
    assert larger.grid.step == pytest.approx(2.0 * np.array(first.grid.step))
    assert larger.lengthened == first.lengthened
    assert larger.loads[0].width == pytest.approx(2.0 * first.loads[0].width)


@pytest.mark.parametrize(
    "change",
    [
        {"width": 40.1},
        {"friction": 0.61},
        {"goal": Squeeze(to=33.9, sideways=0.5, bite=30.0)},
        {"goal": Squeeze(to=34.0, sideways=0.6, bite=30.0)},
        {"gaps": lambda points: points[:, 0] > 15.0},
    ],
    ids=["wider", "drier", "deeper", "more-sideways", "gap"],
)
def test_another_press_is_worked_out_anew(change, shelf, worked):
    first = press(SQUEEZE, Level.COARSE)
    other = press(dataclasses.replace(SQUEEZE, **change), Level.COARSE)
    assert len(worked) == 2
    assert not np.array_equal(first.outline, other.outline)


def test_levels_do_not_stand_in_for_one_another(shelf, worked):
    coarse, fine = press(SQUEEZE, Level.COARSE), press(SQUEEZE, Level.FINE)
    assert len(worked) == 2
    assert (coarse.source, fine.source) == ("coarse", "fine")


def test_a_kept_press_cannot_be_changed(shelf):
    answer = press(SQUEEZE, Level.COARSE)
    with pytest.raises(ValueError, match="read-only"):
        answer.grid.coefs[0, 0, 0] = 0.0


def test_called_off_leaves_nothing(shelf, tmp_path):
    class Off:
        def at(self, fraction, text):
            raise Cancelled

    with pytest.raises(Cancelled):
        press(SQUEEZE, Level.COARSE, Off())
    assert not files(tmp_path)
    assert press(SQUEEZE, Level.COARSE).source == "coarse"


# --- the shelf itself ------------------------------------------------------------------------


def arrays(value=1.0, size=4):
    return {"coefs": np.full(size, value), "told": np.array([value])}


class Work:
    """Something to work out that counts how often it was."""

    def __init__(self, value=1.0, size=4):
        self.times, self.value, self.size = 0, value, size

    def __call__(self):
        self.times += 1
        return arrays(self.value, self.size)


@pytest.mark.parametrize("damage", ["empty", "no archive", "half", "other arrays"])
def test_a_damaged_file_is_written_anew(damage, tmp_path):
    work = Work()
    Shelf(tmp_path).kept("key", work)
    (file,) = tmp_path.glob("*" + ENDING)
    whole = file.read_bytes()
    if damage == "other arrays":
        with file.open("wb") as out:
            np.savez(out, coefs=np.array([{"an": "object"}], dtype=object))
    else:
        file.write_bytes({"empty": b"", "no archive": b"not an archive", "half": whole[:40]}[damage])
    again = Shelf(tmp_path).kept("key", work)
    assert work.times == 2
    assert again["coefs"].tolist() == [1.0] * 4
    Shelf(tmp_path).kept("key", work)
    assert work.times == 2


def test_every_byte_that_falls_over_is_noticed(tmp_path):
    """A bit turned over anywhere gives the true arrays or a press worked out anew, never others."""
    work = Work(size=50)
    Shelf(tmp_path).kept("key", work)
    (file,) = tmp_path.glob("*" + ENDING)
    whole = file.read_bytes()
    for place in range(0, len(whole), 7):
        broken = bytearray(whole)
        broken[place] ^= 0x10
        file.write_bytes(bytes(broken))
        found = Shelf(tmp_path).kept("key", work)
        assert set(found) == {"coefs", "told"}, place
        assert found["coefs"].tolist() == [1.0] * 50, place
        assert found["told"].tolist() == [1.0], place


def test_those_not_used_for_longest_go_when_the_folder_is_full(tmp_path):
    wide = Shelf(tmp_path)
    for number, key in enumerate(("first", "second", "third")):
        wide.kept(key, Work(size=1000))
        os.utime(tmp_path / (key + ENDING), (1000.0 + number, 1000.0 + number))
    one = (tmp_path / ("first" + ENDING)).stat().st_size
    looked_at = Work(size=1000)
    Shelf(tmp_path).kept("first", looked_at)  # looked at: now the second is the oldest
    assert looked_at.times == 0
    Shelf(tmp_path, cap=int(2.5 * one)).kept("fourth", Work(size=1000))
    left = {path.name.removesuffix(ENDING) for path in tmp_path.glob("*" + ENDING)}
    assert left == {"first", "fourth"}


def test_what_is_larger_than_the_cap_is_kept_alone(tmp_path):
    small = Shelf(tmp_path, cap=10)
    small.kept("first", Work())
    small.kept("second", Work())
    assert [path.name for path in tmp_path.iterdir()] == ["second" + ENDING]


def test_memory_keeps_the_last_ones_only(tmp_path):
    shelf = Shelf(tmp_path)
    work = [Work(float(k)) for k in range(IN_MEMORY + 1)]
    for k, one in enumerate(work):
        shelf.kept(str(k), one)
    for file in tmp_path.iterdir():
        file.unlink()
    shelf.kept(str(IN_MEMORY), work[-1])
    shelf.kept("0", work[0])
    assert (work[0].times, work[-1].times) == (2, 1)


def test_what_fails_leaves_nothing(tmp_path):
    def fails():
        raise ValueError("gave out")

    shelf = Shelf(tmp_path / "presses")
    with pytest.raises(ValueError, match="gave out"):
        shelf.kept("key", fails)
    assert not list(tmp_path.rglob("*.*"))
    assert shelf.kept("key", Work())["told"].tolist() == [1.0]


def test_a_folder_that_cannot_be_written_to(tmp_path):
    (tmp_path / "presses").write_text("a file where the folder should be")
    shelf, work = Shelf(tmp_path / "presses"), Work()
    for _ in range(2):
        assert shelf.kept("key", work)["told"].tolist() == [1.0]
    assert work.times == 1
    assert (tmp_path / "presses").read_text() == "a file where the folder should be"


def test_two_threads_at_once(tmp_path):
    shelf = Shelf(tmp_path)
    together, found = threading.Barrier(2), []

    def work():
        together.wait(10.0)  # both are past the look at the shelf
        return arrays()

    def ask():
        found.append(shelf.kept("key", work))

    threads = [threading.Thread(target=ask) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20.0)
    assert [one["coefs"].tolist() for one in found] == [[1.0] * 4] * 2
    assert [path.name for path in tmp_path.iterdir()] == ["key" + ENDING]
    assert Shelf(tmp_path).kept("key", work)["told"].tolist() == [1.0]


def test_keys_tell_apart_what_is_asked():
    asked = [
        ("press", 1.0), ("press", 2.0), ("wedge", 1.0), ("press", None), ("press1.0",),
        ("press", np.zeros(4)), ("press", np.zeros((2, 2))), ("press", np.zeros(4, np.float32)),
        ("press", np.array([0.0, 0.0, 0.0, 1e-12])),
    ]  # fmt: skip
    keys = [key_of(*told) for told in asked]
    assert len(set(keys)) == len(asked)
    assert keys == [key_of(*told) for told in asked]
