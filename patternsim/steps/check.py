"""Check: a hold point; go on only if what is seen is right."""

from __future__ import annotations

import textwrap
from typing import ClassVar, Literal

from patternsim.piece import Piece
from patternsim.step import CARD_LETTERS, Context, Outcome, Part, Step, choice, register


@register
class Check(Step):
    """Stop and look; nothing happens to the steel."""

    title: ClassVar[str] = "Check"

    kind: Literal["check"] = "check"
    look: str = choice(
        "cold edges and ends, tap, diagonals; an open line is ground to clean metal first",
        label="Look at",
        reason="go on only if it is right",
    )

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the pieces as they are."""
        return Outcome(pieces=pieces)

    def sentence(self) -> str:
        """Return the step as a sentence."""
        return f"Hold: {self.look}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        # What to look at first; the whole of it is told by `sentence`.
        first = self.look.split(";")[0].strip()
        if not first:
            return ("Check",)
        return (f"Check: {textwrap.shorten(first, CARD_LETTERS, placeholder=' ...')}",)
