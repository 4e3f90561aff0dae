"""Presses kept on disk: the same again, never another, and no harm from damage or a full folder."""

import os
from dataclasses import replace

import numpy as np
import pytest

from patternsim.errors import Cancelled
from patternsim.flow import COARSE, between_flats, march
from patternsim.flow.boundary import polygon_curve
from patternsim.flow.settings import Law
from patternsim.flow.store import ENDING, Store, key_of, solved

SQUARE = polygon_curve(np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]))


def press(to=1.6, friction=0.4):
    return between_flats(SQUARE, to=to, friction=friction, fineness=COARSE)


@pytest.fixture
def store(tmp_path):
    return Store(tmp_path / "flows")


@pytest.fixture
def counted(monkeypatch):
    """Return the list of presses that were really worked out."""
    worked = []

    def counting(operation, progress=None):
        worked.append(operation)
        return march(operation, progress)

    monkeypatch.setattr("patternsim.flow.store.march", counting)
    return worked


def same(one, other):
    points = np.random.default_rng(0).uniform([-1.1, -0.75], [1.1, 0.75], (300, 2))
    assert one.chain.back(points).tobytes() == other.chain.back(points).tobytes()
    assert one.mesh.nodes.tobytes() == other.mesh.nodes.tobytes()
    assert one.curve().tobytes() == other.curve().tobytes()
    for name in ("reason", "steps", "damage", "strain", "stretch", "bow", "tension", "drift"):
        assert getattr(one.report, name) == getattr(other.report, name)
    for name, force in one.report.force.items():
        assert force.tobytes() == other.report.force[name].tobytes()


def test_the_same_again(store, counted):
    first = solved(press(), store)
    again = solved(press(), store)
    assert len(counted) == 1
    same(first, again)


def test_anything_else_is_worked_out(store, counted):
    solved(press(), store)
    solved(press(friction=0.41), store)
    solved(press(to=1.59), store)
    solved(replace(press(), law=Law(exponent=0.2)), store)
    assert len(counted) == 4
    keys = {key_of(press()), key_of(press(friction=0.41)), key_of(press(to=1.59))}
    assert len(keys) == 3


def test_uneven_steel_is_not_kept(store, counted, tmp_path):
    uneven = replace(press(), strength=lambda points: 1.0 + 0.1 * (points[:, 0] > 0.5))
    solved(uneven, store)
    solved(uneven, store)
    assert len(counted) == 2
    assert not (tmp_path / "flows").exists()


@pytest.mark.parametrize("damage", [b"", b"not an archive", None])
def test_a_damaged_file_is_written_anew(store, counted, tmp_path, damage):
    first = solved(press(), store)
    (file,) = (tmp_path / "flows").glob("*" + ENDING)
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) // 2] if damage is None else damage)
    same(first, solved(press(), store))
    assert len(counted) == 2
    solved(press(), store)
    assert len(counted) == 2


def test_the_oldest_go_when_the_folder_is_full(tmp_path):
    folder = tmp_path / "flows"
    wide = Store(folder)
    for number, friction in enumerate((0.1, 0.2, 0.3)):
        solved(press(friction=friction), wide)
        newest = max(folder.glob("*" + ENDING), key=lambda path: path.stat().st_mtime_ns)
        os.utime(newest, (1000.0 + number, 1000.0 + number))
    one = max(path.stat().st_size for path in folder.glob("*" + ENDING))
    narrow = Store(folder, cap=int(2.5 * one))
    solved(press(friction=0.5), narrow)
    kept = {path.name.removesuffix(ENDING) for path in folder.glob("*" + ENDING)}
    assert len(kept) == 2
    assert key_of(press(friction=0.5)) in kept
    assert key_of(press(friction=0.1)) not in kept


def test_called_off_leaves_nothing(store, tmp_path):
    class Off:
        def at(self, fraction, text):
            raise Cancelled

    with pytest.raises(Cancelled):
        solved(press(), store, Off())
    assert not list(tmp_path.rglob("*.npz"))


def test_a_folder_that_cannot_be_written_to(tmp_path, counted):
    (tmp_path / "flows").write_text("a file where the folder should be")
    done = solved(press(), Store(tmp_path / "flows"))
    assert done.report.reason == "stroke"
