"""Turn: a re-lay of the piece on the bench."""

from __future__ import annotations

from typing import ClassVar, Literal

from patternsim.piece import AXES, Piece
from patternsim.relay import quarter_turns, relaid
from patternsim.step import Context, Outcome, Part, Step, choice, clauses, register, slot


@register
class Turn(Step):
    """Turn the piece by quarters about its length, width or thickness."""

    title: ClassVar[str] = "Turn"

    kind: Literal["turn"] = "turn"
    about: Literal["length", "width", "thickness"] = choice(
        "length", label="About", reason="the axis the piece is turned about"
    )
    degrees: Literal[90, 180, 270] = choice(90, label="Degrees", reason="right-handed about the axis")

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the pieces in their new frame."""
        turn = quarter_turns(AXES.index(self.about), self.degrees // 90)
        return Outcome(pieces=tuple(relaid(piece, turn, what=self.id) for piece in pieces))

    def sentence(self) -> str:
        """Return the step as a sentence."""
        return f"Turn {self.degrees}° about the {self.about}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        return clauses(("turn ", slot(self, "degrees"), "° about ", slot(self, "about")))
