"""One published problem: what is known of it, and how this program answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A problem with a published answer.

    Attributes
    ----------
    name, source : str
        What is asked; who published the answer.
    published : float
    tolerance : float
        Largest error that is accepted, relative unless `absolute`.
    compute : callable
        Works it out.
    absolute : bool
        The published value is nought: error and tolerance are absolute.
    slow : bool
        Takes more than a few seconds.
    """

    name: str
    source: str
    published: float
    tolerance: float
    compute: Callable[[], float]
    absolute: bool = False
    slow: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A check worked out.

    Attributes
    ----------
    error : float
        (computed - published) / published, or the difference where the published value is nought.
    passed : bool
    """

    name: str
    source: str
    published: float
    computed: float
    error: float
    tolerance: float
    passed: bool

    def as_data(self) -> dict[str, Any]:
        """Return the row as plain data."""
        return asdict(self)


def worked(check: Check) -> Row:
    """Work a check out."""
    computed = float(check.compute())
    error = computed - check.published
    if not check.absolute:
        error /= check.published
    return Row(
        name=check.name,
        source=check.source,
        published=check.published,
        computed=computed,
        error=error,
        tolerance=check.tolerance,
        passed=bool(abs(error) <= check.tolerance),
    )


def row_line(row: Row) -> str:
    """Return a row as words: what is asked, who answered, both answers and the error."""
    exact = row.published == 0.0
    error = f"{row.error:.1e}" if exact else f"{100 * row.error:+.1f} %"
    allowed = f"{row.tolerance:.0e}" if exact else f"{100 * row.tolerance:.1f} %"
    verdict = "" if row.passed else ", beyond"
    return (
        f"{row.name}\n    published {row.published:.4g} ({row.source})\n"
        f"    here {row.computed:.4g}: {error}, allowed {allowed}{verdict}"
    )
