"""Pattern-welded steel, worked out before the forge is lit.

The way through: `load` a job file, `run` it, then ask for a `picture` or the `answers`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from patternsim.answers import Answers, answers
from patternsim.errors import PatternSimError
from patternsim.job import Job, load
from patternsim.pictures import picture as _draw
from patternsim.press import Level
from patternsim.progress import Progress
from patternsim.work import Result, run

__version__ = "0.1.0"

__all__ = [
    "Answers",
    "Job",
    "Level",
    "PatternSimError",
    "Progress",
    "Result",
    "answers",
    "load",
    "picture",
    "run",
]


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
    return _draw(result, what, after=after, dpi=dpi).pixels
