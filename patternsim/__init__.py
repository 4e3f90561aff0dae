"""Pattern-welded steel, worked out before the forge is lit.

The way through: `load` a job file, `run` it, then ask for a `picture` or the `answers`. What a name
needs is imported when it is first asked for, so that reading a job waits for nothing else.
"""

from __future__ import annotations

import importlib
import sys
import types
import typing

if typing.TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from patternsim.answers import Answers, answers
    from patternsim.errors import PatternSimError
    from patternsim.job import Job, load
    from patternsim.press import Level
    from patternsim.progress import Progress
    from patternsim.work import Result, Worked, run, work_out

__version__ = "0.1.0"

__all__ = [
    "Answers",
    "Job",
    "Level",
    "PatternSimError",
    "Progress",
    "Result",
    "Worked",
    "answers",
    "load",
    "picture",
    "run",
    "work_out",
]

_HOMES = {
    "Answers": "answers",
    "Job": "job",
    "Level": "press",
    "PatternSimError": "errors",
    "Progress": "progress",
    "Result": "work",
    "Worked": "work",
    "answers": "answers",
    "load": "job",
    "run": "work",
    "work_out": "work",
}
"""Module of every name."""


def picture(
    result: Result, what: str = "mark-side", dpi: float = 300.0, *, after: str | None = None
) -> NDArray[np.uint8]:
    """Draw a picture of a worked job.

    Parameters
    ----------
    result : Result
        From `run`.
    what : str
        'mark-side', 'off-side', 'section' or 'blank'.
    dpi : float
        Dots an inch, true size.
    after : str, optional
        Id of a step: the piece as it is after it; sections and blanks only.

    Returns
    -------
    (h, w, 3) uint8, sRGB

    Raises
    ------
    UsageError
        If there is no such picture of this job.
    """
    from patternsim.pictures import picture as draw

    return draw(result, what, after=after, dpi=dpi).pixels


def __getattr__(name: str) -> typing.Any:  # noqa: ANN401 - whatever the name stands for
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module 'patternsim' has no attribute {name!r}")
    return getattr(importlib.import_module(f"patternsim.{home}"), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})


class _Door(types.ModuleType):
    """A package whose `answers` is the function whether or not the package of that name is loaded.

    Loading a module sets it as an attribute of its package, which would hide the function.
    """

    def __setattr__(self, name: str, value: object) -> None:
        if name != "answers" or not isinstance(value, types.ModuleType):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Door
