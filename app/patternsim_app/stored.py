"""The last picture of each job, kept so that the window has something to show at once.

Kept in a cache that may be thrown away at any time, by the text of the job; never inside the job. Plain
arrays and words, nothing that could run. A damaged or foreign file counts as none.
"""

from __future__ import annotations

import dataclasses
import hashlib
import io
import json
import zipfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from patternsim_app.shown import AnswerTile, FacePicture, FaceShown, Patch, Rgba

VERSION = 1
MOST_FILES = 24


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Kept:
    """What the window showed: the face of the mark side, etched, and the five answers."""

    shown: FaceShown
    picture: FacePicture
    tiles: tuple[AnswerTile, ...]


def key_of(text: str) -> str:
    """Return the name a job's picture is kept under."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:32]


def packed(kept: Kept) -> bytes:
    """Return what is kept as bytes."""
    words = {
        "version": VERSION,
        "shown": dataclasses.asdict(kept.shown),
        "patch": dataclasses.asdict(kept.picture.patch),
        "tiles": [dataclasses.asdict(tile) for tile in kept.tiles],
    }
    arrays = {"bar": _two(kept.picture.bar)}
    if kept.picture.blade is not None:
        arrays["blade"] = _two(kept.picture.blade)
    made = io.BytesIO()
    text = np.frombuffer(json.dumps(words).encode(), dtype=np.uint8)
    np.savez_compressed(made, allow_pickle=False, words=text, **arrays)
    return made.getvalue()


def unpacked(raw: bytes) -> Kept | None:
    """Return what `packed` made; None where it is damaged or of another release."""
    try:
        with np.load(io.BytesIO(raw), allow_pickle=False) as file:
            words = json.loads(file["words"].tobytes())
            if words["version"] != VERSION:
                return None
            blade = _four(file["blade"]) if "blade" in file else None
            picture = FacePicture(
                patch=Patch(**words["patch"]), bar=_four(file["bar"]), blade=blade, draft=True
            )
        return Kept(
            shown=_face(words["shown"]),
            picture=picture,
            tiles=tuple(AnswerTile(**tile) for tile in words["tiles"]),
        )
    except (OSError, EOFError, ValueError, KeyError, TypeError, IndexError, zipfile.BadZipFile):
        return None


def load(folder: Path, text: str) -> Kept | None:
    """Return what is kept of a job in a folder, or what the program brings along for it."""
    name = f"{key_of(text)}.npz"
    for place in (folder / name, Path(__file__).with_name("data") / name):
        try:
            raw = place.read_bytes()
        except OSError:
            continue
        kept = unpacked(raw)
        if kept is not None:
            return kept
    return None


def keep(folder: Path, text: str, kept: Kept) -> None:
    """Keep what was shown of a job; the oldest of many are let go. A full disk is no one's loss."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        target = folder / f"{key_of(text)}.npz"
        beside = target.with_suffix(".part")
        beside.write_bytes(packed(kept))
        beside.replace(target)
        files = sorted(folder.glob("*.npz"), key=lambda path: path.stat().st_mtime)
        for old in files[:-MOST_FILES]:
            old.unlink(missing_ok=True)
    except OSError:
        return


def _two(picture: Rgba) -> Rgba:
    """Etched steel is grey: one tone and the transparency are enough."""
    return np.ascontiguousarray(picture[..., (0, 3)])


def _four(pair: Rgba) -> Rgba:
    if pair.ndim != 3 or pair.shape[2] != 2 or pair.dtype != np.uint8:
        raise ValueError("not a picture of the face")
    return np.ascontiguousarray(pair[..., (0, 0, 0, 1)])


def _face(words: dict[str, object]) -> FaceShown:
    """Return the overlay from plain lists."""
    held = {name: _tuples(value) for name, value in words.items()}
    return FaceShown(**held)  # type: ignore[arg-type]


def _tuples(value: object) -> object:
    return tuple(_tuples(one) for one in value) if isinstance(value, list) else value
