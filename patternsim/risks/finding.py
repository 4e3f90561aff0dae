"""What a finding is: one risk with place, value, limit and remedy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Grade = Literal["note", "watch", "stop"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing a smith should know before the forge is lit.

    Attributes
    ----------
    code : str
        Stable name of the kind of finding.
    step : str
        Id of the step it comes from; empty for the blade.
    level : str
        'note', 'watch' or 'stop'.
    place : str
        Where on the piece or blade.
    value, limit : float or None
        In `unit`.
    unit : str
    text, remedy : str
        What is so, and what to do about it.
    source : str
        What the limit stands on.
    accepted : bool
        The job accepts this kind of finding.
    """

    code: str
    step: str = ""
    level: Grade
    place: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    text: str
    remedy: str
    source: str
    accepted: bool = False
