"""Writing a job file: whole, or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from patternsim.errors import JobError


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
