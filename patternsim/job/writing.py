"""Writing a job: one value changed, everything else byte for byte as it was."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any

from patternsim.errors import JobError
from patternsim.job.places import Way


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
        If the way leads nowhere, or the text is none of a job.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    mark = "\ufeff" if text.startswith("\ufeff") else ""
    try:
        document = tomlkit.parse(text.removeprefix(mark))
        table: Any = document
        for part in way[:-1]:
            if isinstance(part, int) and part < 0:
                raise IndexError(part)
            table = table[part]
        table[way[-1]] = value
    except (KeyError, IndexError, TypeError) as error:
        raise JobError(
            f"the job has no place {'.'.join(map(str, way))}; name one that is there"
        ) from error
    except TOMLKitError as error:
        raise JobError("the job cannot be read, so no value of it can be changed; mend it") from error
    changed = mark + tomlkit.dumps(document)
    _refuse_unknown(changed)
    return changed


def _refuse_unknown(text: str) -> None:
    """Raise `JobError` where the change put in a key that no job has; other faults are left to it."""
    from patternsim.job.reading import parse

    try:
        parse(text, name="the changed job")
    except JobError as error:
        # Numbers of another profile are no fault of the change: the next one may mend them.
        if "unknown key" in str(error) and "for the profile" not in str(error):
            raise


def save(text: str, path: str | Path) -> None:
    """Write a job file whole or not at all: beside the target first, then in its place.

    Raises
    ------
    JobError
        If the place cannot be written; the old file is then untouched.
    """
    beside = None
    try:
        # Through a link to the file it stands for: the link itself is to stay.
        target = Path(os.path.realpath(path))
        raw = text.encode("utf-8")
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:40]}.")
        beside = Path(name)
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        beside.chmod(_mode(target))
        beside.replace(target)
        beside = None
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or "no usable path or text").lower()
        raise JobError(
            f"{path}: {reason}; the job was not saved, choose a place that can be written"
        ) from error
    finally:
        if beside is not None:
            beside.unlink(missing_ok=True)


def _mode(target: Path) -> int:
    """Return the rights the file has, or those a new file gets here."""
    if target.exists():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
