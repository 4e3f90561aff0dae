"""Progress and cancelling: one small protocol, silent by default."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    """What long work reports to. Raise `errors.Cancelled` from `at` to stop it."""

    def at(self, fraction: float, text: str) -> None:
        """Work stands at `fraction` (0 to 1) and is now doing `text`."""


class Silent:
    """Progress that nobody watches."""

    def at(self, fraction: float, text: str) -> None:
        """Do nothing."""
