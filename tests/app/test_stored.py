"""The last picture of a job is kept, comes back the same, and does no harm where it is damaged."""

import dataclasses

import numpy as np
import pytest

from patternsim_app import stored
from patternsim_app.shown import AnswerTile, FacePicture, FaceShown, Patch
from patternsim_app.stored import Kept


@pytest.fixture
def kept():
    rng = np.random.default_rng(1)
    tone = rng.integers(0, 255, (40, 90, 1), dtype=np.uint8)
    steel = np.concatenate((tone, tone, tone, 255 - tone), axis=2)
    patch = Patch(left_mm=-3.5, top_mm=30.25, pixels_per_mm=1.9, width=90, height=40)
    shown = FaceShown(
        box=(0.0, -28.0, 315.0, 28.0),
        outline=((100.0, 20.0), (300.0, 0.0)),
        silhouette=((100.0, 20.0), (300.0, 0.0)),
        line=((0.0, 0.1), (315.0, 0.2)),
        lacking=((0, 1, 2.5),),
        length_mm=210.0,
    )
    tile = AnswerTile(
        key="tip", name="Tip", headline="0.0 mm", detail="on", grade="fine", spoken="Tip: fine"
    )
    return Kept(shown=shown, picture=FacePicture(patch=patch, bar=steel, blade=steel), tiles=(tile,))


def same(one, other):
    assert one.shown == other.shown
    assert one.tiles == other.tiles
    assert one.picture.patch == other.picture.patch
    assert np.array_equal(one.picture.bar, other.picture.bar)
    assert np.array_equal(one.picture.blade, other.picture.blade)


def test_what_is_kept_comes_back_the_same(kept, tmp_path):
    stored.keep(tmp_path / "new", "job one", kept)
    back = stored.load(tmp_path / "new", "job one")
    same(back, kept)
    assert back.picture.draft, "it is to be replaced by a fresh one"
    assert stored.load(tmp_path / "new", "job two") is None


@pytest.mark.parametrize("part", [0, 0.3, 0.9, 0.999])
def test_a_damaged_file_counts_as_none(kept, tmp_path, part):
    raw = stored.packed(kept)
    assert stored.unpacked(raw[: int(len(raw) * part)]) is None


def test_a_file_of_another_release_counts_as_none(kept, monkeypatch):
    raw = stored.packed(kept)
    monkeypatch.setattr(stored, "VERSION", 99)
    assert stored.unpacked(raw) is None


def test_anything_that_could_run_is_refused(tmp_path):
    """An array of objects would be read by pickle: numpy refuses it unless asked."""
    file = tmp_path / f"{stored.key_of('job')}.npz"
    np.savez(file, words=np.array([{"version": 1}], dtype=object))
    assert stored.load(tmp_path, "job") is None


def test_only_so_many_are_kept_and_the_oldest_go(kept, tmp_path):
    for k in range(stored.MOST_FILES + 3):
        stored.keep(tmp_path, f"job {k}", kept)
    assert len(list(tmp_path.glob("*.npz"))) == stored.MOST_FILES
    assert stored.load(tmp_path, f"job {stored.MOST_FILES + 2}") is not None


def test_a_place_that_cannot_be_written_is_no_trouble(kept, tmp_path):
    blocker = tmp_path / "file"
    blocker.write_text("")
    stored.keep(blocker / "folder", "job", kept)


def test_a_picture_without_a_blade(kept, tmp_path):
    bare = dataclasses.replace(kept, picture=dataclasses.replace(kept.picture, blade=None))
    stored.keep(tmp_path, "job", bare)
    assert stored.load(tmp_path, "job").picture.blade is None
