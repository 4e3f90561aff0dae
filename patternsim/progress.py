"""Progress and cancelling: one small protocol, silent by default."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol


class Progress(Protocol):
    """What long work reports to. Raise `errors.Cancelled` from `at` to stop it."""

    def at(self, fraction: float, text: str) -> None:
        """Work stands at `fraction` (0 to 1) and is now doing `text`."""


class Silent:
    """Progress that nobody watches."""

    def at(self, fraction: float, text: str) -> None:
        """Do nothing."""


class Part:
    """Progress of a part of some work, told as progress of the whole.

    Parameters
    ----------
    whole : Progress
    start, share : float
        Where the part begins, and how much of the whole it is.
    """

    def __init__(self, whole: Progress, start: float, share: float) -> None:
        self._whole = whole
        self._start = start
        self._share = share

    def at(self, fraction: float, text: str) -> None:
        """The part stands at `fraction`."""
        self._whole.at(self._start + self._share * fraction, text)


class Worded:
    """Progress whose words are put otherwise on their way.

    Parameters
    ----------
    whole : Progress
    words : callable
        From the words told to those that are passed on.
    """

    def __init__(self, whole: Progress, words: Callable[[str], str]) -> None:
        self._whole, self._words = whole, words

    def at(self, fraction: float, text: str) -> None:
        """Work stands at `fraction`."""
        self._whole.at(fraction, self._words(text))
