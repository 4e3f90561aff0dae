"""Writing a job: one value changed, everything else byte for byte as it was."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any

from patternsim.errors import JobError

Way = tuple[str | int, ...]


def with_value(text: str, way: Way, value: str | float | bool) -> str:
    """Return the job text with the value at `way` changed; comments and order stay.

    Parameters
    ----------
    text : str
    way : tuple of str and int
        As ('bar', 0, 'step', 3, 'height_mm').
    value : str, number or bool

    Raises
    ------
    JobError
        If the way leads nowhere.
    """
    import tomlkit

    document = tomlkit.parse(text)
    table: Any = document
    try:
        for part in way[:-1]:
            table = table[part]
        table[way[-1]] = value
    except (KeyError, IndexError, TypeError) as error:
        raise JobError(f"the job has no place {'.'.join(map(str, way))}") from error
    return tomlkit.dumps(document)


def save(text: str, path: str | Path) -> None:
    """Write a job file whole or not at all: beside the target first, then in its place.

    Raises
    ------
    JobError
        If the place cannot be written; the old file is then untouched.
    """
    target = Path(path)
    beside = None
    try:
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
        beside = Path(name)
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        beside.chmod(0o644)
        beside.replace(target)
    except OSError as error:
        if beside is not None:
            beside.unlink(missing_ok=True)
        reason = (error.strerror or "cannot be written").lower()
        raise JobError(f"{target}: {reason}; the job was not saved there") from error
