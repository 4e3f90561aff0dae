"""Worked-out presses kept on disk: the same press asked for again costs a look.

A file each, named by what was asked; plain arrays without pickles. A damaged file counts as none and is
written anew; files appear whole or not at all; beyond the cap those not used for longest go.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import tempfile
from collections import OrderedDict
from collections.abc import Callable
from functools import cache
from pathlib import Path
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray

Arrays = dict[str, NDArray[Any]]

CAP_BYTES = 300_000_000
IN_MEMORY = 96
"""Presses at hand, some 0.2 MB each: as many as a long job has."""
ENDING = ".press.npz"


class Shelf:
    """A folder of worked-out presses, the last ones in memory.

    Parameters
    ----------
    folder : Path
        Made when first written to.
    cap : int
        Bytes that may lie there.
    """

    def __init__(self, folder: Path, *, cap: int = CAP_BYTES) -> None:
        self._folder, self._cap = folder, cap
        self._near: OrderedDict[str, Arrays] = OrderedDict()
        self._lock = Lock()

    def kept(self, key: str, work: Callable[[], Arrays]) -> Arrays:
        """Return what is kept under a key; worked out and kept now where nothing is.

        What `work` raises is passed on; nothing is kept then.
        """
        with self._lock:
            if key in self._near:
                self._near.move_to_end(key)
                return self._near[key]
        found = self._read(key)
        if found is None:
            found = work()
            self._write(key, found)
        for array in found.values():
            array.setflags(write=False)
        with self._lock:
            self._near[key] = found
            while len(self._near) > IN_MEMORY:
                self._near.popitem(last=False)
        return found

    def _read(self, key: str) -> Arrays | None:
        path = self._folder / (key + ENDING)
        try:
            with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as file:
                found = {name: file[name] for name in file.files}
        except FileNotFoundError:
            return None
        except Exception:  # a damaged archive raises what its reader happens to trip over
            with contextlib.suppress(OSError):
                path.unlink()
            return None
        with contextlib.suppress(OSError):
            os.utime(path)
        return found or None

    def _write(self, key: str, arrays: Arrays) -> None:
        """Keep a press; a folder that cannot be written to is no reason to stop."""
        with contextlib.suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self._folder, suffix=".part")
            try:
                with os.fdopen(handle, "wb") as file:
                    np.savez(file, **arrays)  # type: ignore[arg-type]
                Path(name).replace(self._folder / (key + ENDING))
            finally:
                Path(name).unlink(missing_ok=True)
            self._make_room()

    def _make_room(self) -> None:
        files = sorted(self._folder.glob("*" + ENDING), key=lambda path: path.stat().st_mtime)
        total = sum(path.stat().st_size for path in files)
        for path in files[:-1]:
            if total <= self._cap:
                return
            total -= path.stat().st_size
            path.unlink(missing_ok=True)


@cache
def shelf() -> Shelf:
    """Return the shelf of this user."""
    import platformdirs

    return Shelf(platformdirs.user_cache_path("patternsim") / "presses")


def key_of(*told: object) -> str:
    """Return a key for what was asked: numbers and words as they are written, arrays bit by bit."""
    digest = hashlib.sha256(_code().encode())
    for one in told:
        if isinstance(one, np.ndarray):
            digest.update(f"{one.dtype}{one.shape}".encode())
            digest.update(np.ascontiguousarray(one).tobytes())
        else:
            digest.update(repr(one).encode())
        digest.update(b"\0")
    return digest.hexdigest()[:40]


@cache
def _code() -> str:
    """Return a digest of the code that works presses out: what other code found is not the same."""
    digest = hashlib.sha256()
    here = Path(__file__).parent
    for folder in (here, here.parent / "flow"):
        for path in sorted(folder.rglob("*.py")):
            digest.update(path.read_bytes())
    for name in ("fields/grid.py", "section.py", "wedge.py"):
        digest.update((here.parent / name).read_bytes())
    return digest.hexdigest()
