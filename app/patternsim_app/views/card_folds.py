"""Stages of the job card that are folded: their steps are one line, and stay in the job as they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from patternsim_app.models.steps_model import is_step
from patternsim_app.shown import Grade, StepRow

_WORST: tuple[Grade, ...] = ("stop", "watch")


@dataclass(frozen=True, slots=True)
class Folded:
    """A folded stage.

    Attributes
    ----------
    first, last : int
        Its rows.
    grade : str
        'stop' where one of its steps cannot be done or has such a finding, 'watch' likewise; else
        'fine'.
    """

    first: int
    last: int
    grade: Grade

    @property
    def words(self) -> str:
        """How many steps are hidden: '4 steps'."""
        count = self.last - self.first + 1
        return "1 step" if count == 1 else f"{count} steps"


def stage_around(rows: Sequence[StepRow], at: int) -> tuple[int, int] | None:
    """Return the first and the last row of the stage a row is in; None where it is in none.

    A stage begins at a step with a heading and ends before the next one.
    """
    if not 0 <= at < len(rows) or not is_step(rows[at]):
        return None
    first = next((k for k in range(at, -1, -1) if rows[k].heading), -1)
    if first < 0:
        return None
    beyond = (k for k in range(at + 1, len(rows)) if rows[k].heading or not is_step(rows[k]))
    return first, next(beyond, len(rows)) - 1


class Folds:
    """Which stages are folded, by the key of their first step."""

    def __init__(self) -> None:
        self._keys: set[str] = set()
        self.folded: dict[str, Folded] = {}
        """By the key of the first step, for the rows given last."""
        self.hidden: set[int] = set()
        """Rows that are not shown."""

    def follow(self, rows: Sequence[StepRow]) -> None:
        """Find the folded stages in new rows; a stage that is gone is forgotten."""
        self.folded, self.hidden = {}, set()
        for first, row in enumerate(rows):
            if row.key not in self._keys:
                continue
            stage = stage_around(rows, first)
            if stage is None or stage[0] != first:
                continue
            inside = rows[first : stage[1] + 1]
            self.folded[row.key] = Folded(first, stage[1], _grade(inside))
            self.hidden |= set(range(first + 1, stage[1] + 1))
        self._keys = set(self.folded)

    def fold(self, rows: Sequence[StepRow], at: int, *, on: bool) -> bool:
        """Fold the stage a row is in, or unfold it; False where nothing changes."""
        stage = stage_around(rows, at)
        if stage is None or (rows[stage[0]].key in self._keys) == on:
            return False
        self._keys ^= {rows[stage[0]].key}
        self.follow(rows)
        return True

    def fold_all(self, rows: Sequence[StepRow], *, on: bool) -> None:
        """Fold all stages, or unfold them."""
        self._keys = {row.key for row in rows if on and row.heading and is_step(row)}
        self.follow(rows)


def _grade(rows: Sequence[StepRow]) -> Grade:
    grades = {"stop" if row.state == "refused" else row.grade for row in rows}
    return next((grade for grade in _WORST if grade in grades), "fine")
