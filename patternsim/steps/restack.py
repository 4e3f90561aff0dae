"""Restack: the pieces of a bar laid together again, n high and m wide."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

from patternsim.errors import StepError
from patternsim.piece import Piece
from patternsim.relay import gap_measures, laid_together, quarter_turns, relaid
from patternsim.step import Context, Outcome, Part, Step, choice, clauses, number, register, slot

TURNS = {"end-for-end": (2, 2), "over": (1, 2)}
"""Alternate pieces: axis and quarters of the half turn."""


@register
class Restack(Step):
    """Lay all pieces together, rows from the bottom up; the result is loose until welded."""

    title: ClassVar[str] = "Restack"

    kind: Literal["restack"] = "restack"
    high: int = number(2, label="High", unit="", low=1, high=200, reason="pieces on one another")
    wide: int = number(1, label="Wide", unit="", low=1, high=200, reason="pieces beside one another")
    turned: Literal["none", "end-for-end", "over"] = choice(
        "none", label="Alternate pieces turned",
        reason="half a turn about the thickness or the width; the length runs the other way too",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the loose block."""
        if len(pieces) != self.high * self.wide:
            raise StepError(
                f"{self.id}: {self.high} high x {self.wide} wide needs {self.high * self.wide} "
                f"pieces; the bar has {len(pieces)}"
            )
        if len(pieces) < 2:
            raise StepError(f"{self.id}: restacking needs two pieces or more; there is {len(pieces)}")
        laid = [self._laid(piece, k) for k, piece in enumerate(pieces)]
        rows = []
        for row in range(self.high):
            part = laid[row * self.wide : (row + 1) * self.wide]
            if self.wide == 1:
                rows.append(part[0])
            else:
                rows.append(laid_together(part, axis=1, what=self.id, name=self.id))
        if self.wide > 1:
            rows = [replace(row, loose=False) for row in rows]
        block = laid_together(rows, axis=2, what=self.id, name=self.id)
        done = replace(block, loose=len(pieces) > 1)
        return Outcome(pieces=(done,), measures=gap_measures(done, 0))

    def _laid(self, piece: Piece, number_: int) -> Piece:
        across, up = number_ % self.wide, number_ // self.wide
        if self.turned == "none" or (across + up) % 2 == 0:
            return piece
        axis, quarters = TURNS[self.turned]
        return relaid(piece, quarter_turns(axis, quarters), what=self.id)

    def sentence(self) -> str:
        """Return the step as a sentence."""
        turned = "" if self.turned == "none" else f", alternate pieces turned {self.turned}"
        return f"Restack {self.high} high, {self.wide} wide{turned}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        return clauses(
            ("restack ", slot(self, "high"), " high"),
            (slot(self, "wide"), " wide"),
            () if self.turned == "none" else ("every other one turned ", slot(self, "turned")),
        )
