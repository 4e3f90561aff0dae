"""What brings a job back after the program was killed: every edit is written beside, never to its file.

A session keeps its last few states as files of their own, each with a checksum, and a lock that tells
other starts of the program that it lives. Knows no job and no window.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import secrets
import time
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path

from PySide6.QtCore import QLockFile

from patternsim.errors import PatternSimError

GENERATIONS = 5
"""States a session keeps."""
MOST_SET_ASIDE = 10
HEAD = "patternsim journal 1"


class JournalError(PatternSimError):
    """The journal cannot be written; the job is in no danger yet, but would not be recovered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A job as it was after an edit.

    Attributes
    ----------
    path : str
        Its file; empty where it has none.
    name, text : str
    label : str
        What undo calls the last edit.
    edits : int
        How many the file lacks; nothing is to be recovered where it is 0.
    time : float, s
        When, since 1970.
    """

    path: str
    name: str
    text: str
    label: str
    edits: int
    time: float = field(default_factory=time.time)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recovered:
    """What a session that is gone has left.

    Attributes
    ----------
    session : str
        Name its files begin with.
    entry : Entry
    note : str
        What was lost; empty where it is the last state.
    """

    session: str
    entry: Entry
    note: str = ""

    @property
    def when(self) -> str:
        """Day and time of the last edit: '2026-11-24 14:05'."""
        return time.strftime("%Y-%m-%d %H:%M", time.localtime(self.entry.time))


class Journal:
    """The journal of one session, and what others have left in the same folder."""

    def __init__(self, folder: Path) -> None:
        self.notes: list[str] = []
        """What could not be recovered, in words."""
        self._folder = folder
        self._session = f"{os.getpid()}-{secrets.token_hex(4)}"
        self._locks: dict[str, QLockFile] = {}
        self._number = 0
        self._unsettled: set[Path] = set()

    # --- this session --------------------------------------------------------------------

    def write(self, entry: Entry) -> None:
        """Keep a state; whole or not at all, the ones before stay for the worst case.

        Raises
        ------
        JournalError
            If it cannot be written.
        """
        target = self._generation(self._number)
        beside = target.with_suffix(".new")
        try:
            self._claim_own()
            beside.write_bytes(_packed(entry, self._number))
            beside.replace(target)
        except OSError as error:
            raise JournalError(
                f"the journal in {self._folder} cannot be written ({error.strerror}); save the job often"
            ) from error
        self._number += 1
        self._unsettled.add(target)

    def settle(self) -> None:
        """Have what was written reach the disk itself; slow, so not after every edit."""
        for path in sorted(self._unsettled):
            # Removed in the meantime, or a disk that cannot: the state is written all the same.
            with contextlib.suppress(OSError), path.open("rb+") as file:
                os.fsync(file.fileno())
        self._unsettled.clear()

    def clear(self) -> None:
        """Drop the states of this session: the job is saved."""
        self._unsettled.clear()
        if self._session in self._locks:
            # The oldest first: killed half way, what is left is what was saved, not what was before.
            _remove(self._generation(self._number + k) for k in range(GENERATIONS))

    def close(self) -> None:
        """Leave nothing of this session; what others have left and nobody looked at stays."""
        self.clear()
        for lock in self._locks.values():
            lock.unlock()
        self._locks.clear()

    def _generation(self, number: int) -> Path:
        return self._folder / f"{self._session}.{number % GENERATIONS}.journal"

    def _claim_own(self) -> None:
        if self._session in self._locks:
            return
        self._folder.mkdir(parents=True, exist_ok=True)
        if not self._locked(self._session):
            raise OSError(errno.EACCES, "its lock cannot be made")

    def _locked(self, session: str) -> bool:
        """Take the lock of a session; False where a living program holds it."""
        if session in self._locks:
            return True
        lock = QLockFile(str(self._folder / f"{session}.lock"))
        # However old, a lock is only void when its program is gone.
        lock.setStaleLockTime(0)
        if not lock.tryLock(0):
            return False
        self._locks[session] = lock
        return True

    # --- sessions that are gone ----------------------------------------------------------

    def found(self) -> list[Recovered]:
        """Return what sessions that are gone have left, newest first.

        Each is held from now on, so that two starts of the program do not offer the same. What
        holds nothing to recover, or is damaged altogether, is set aside. Of a session killed with
        everything saved there is only the lock, or a first edit cut off half way: that is removed.
        """
        result = []
        for session in self._others():
            if not self._locked(session):
                continue
            recovered = self._read(session)
            if recovered is None and any(self._folder.glob(f"{session}.*.journal")):
                self._set_aside_damaged(session)
            elif recovered is None:
                self._forget(session)
            elif recovered.entry.edits:
                result.append(recovered)
            else:
                self.discard(recovered)
        return sorted(result, key=lambda one: one.entry.time, reverse=True)

    def discard(self, recovered: Recovered) -> None:
        """Take a state off the list; its job is kept in the folder `set-aside`, with the last few.

        Raises
        ------
        JournalError
            If it cannot be set aside; it then stays on the list.
        """
        kept = "".join(sign if sign.isalnum() else "-" for sign in recovered.entry.name)[:40]
        stamp = time.strftime("%Y%m%d-%H%M%S", time.localtime(recovered.entry.time))
        target = self._aside(f"{stamp}-{kept or 'job'}", ".toml")
        try:
            target.write_bytes(recovered.entry.text.encode("utf-8", "surrogatepass"))
        except OSError as error:
            raise JournalError(
                f"the job cannot be set aside in {target.parent} ({error.strerror}); it stays as it is"
            ) from error
        self._forget(recovered.session)

    def _others(self) -> list[str]:
        try:
            files = [
                path for end in ("journal", "new", "lock") for path in self._folder.glob(f"*.{end}")
            ]
        except OSError as error:
            self.notes.append(f"{self._folder} cannot be looked through ({error.strerror})")
            return []
        return sorted({path.name.split(".")[0] for path in files} - {self._session})

    def _read(self, session: str) -> Recovered | None:
        """Return the newest state of a session that is whole, or None."""
        whole, damaged = [], 0
        for path in self._files(session):
            state = _unpacked(path)
            if state is not None:
                whole.append(state)
            elif path.suffix == ".journal":
                damaged += 1
        if not whole:
            return None
        _, entry = max(whole, key=lambda state: state[0])
        note = "a state of the journal is damaged; this is the newest that is whole" if damaged else ""
        return Recovered(session=session, entry=entry, note=note)

    def _set_aside_damaged(self, session: str) -> None:
        for path in self._files(session):
            with contextlib.suppress(OSError):  # what cannot be moved is met again at the next start
                path.replace(self._aside(path.stem, ".damaged"))
        where = self._folder / "set-aside"
        self.notes.append(f"a journal is damaged and nothing could be read from it; it lies in {where}")
        self._forget(session)

    def _aside(self, stem: str, ending: str) -> Path:
        """Return a free name in the folder for what is set aside, and let the oldest there go."""
        folder = self._folder / "set-aside"
        with contextlib.suppress(OSError):
            folder.mkdir(parents=True, exist_ok=True)
            old = sorted(folder.iterdir(), key=lambda path: path.stat().st_mtime_ns)
            _remove(old[: max(len(old) - MOST_SET_ASIDE + 1, 0)])
        names = [f"{stem}{ending}", *(f"{stem}-{k}{ending}" for k in range(2, 2 * MOST_SET_ASIDE))]
        # There is always a free one: fewer files are kept than there are names.
        return next(path for name in names if not (path := folder / name).exists())

    def _forget(self, session: str) -> None:
        _remove(self._files(session))
        lock = self._locks.pop(session, None)
        if lock is not None:
            lock.unlock()

    def _files(self, session: str) -> Iterator[Path]:
        yield from sorted(self._folder.glob(f"{session}.*.journal"))
        yield from sorted(self._folder.glob(f"{session}.*.new"))


def _remove(paths: Iterable[Path]) -> None:
    for path in paths:
        with contextlib.suppress(OSError):  # held by another program: it is met again later
            path.unlink(missing_ok=True)


def _packed(entry: Entry, number: int) -> bytes:
    body = json.dumps({"number": number, **asdict(entry)}).encode()
    return f"{HEAD} {hashlib.sha256(body).hexdigest()}\n".encode() + body


def _unpacked(path: Path) -> tuple[int, Entry] | None:
    """Return number and state a file holds; None where it is damaged or foreign."""
    try:
        head, _, body = path.read_bytes().partition(b"\n")
        if head.decode("ascii") != f"{HEAD} {hashlib.sha256(body).hexdigest()}":
            return None
        data = json.loads(body)
        number = int(data.pop("number"))
        return number, Entry(**data)
    except (OSError, ValueError, LookupError, TypeError, AttributeError):
        return None
