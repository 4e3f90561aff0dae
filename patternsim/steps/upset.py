"""Upset: pressed on end, shorter and thicker."""

from __future__ import annotations

from typing import ClassVar, Literal

from patternsim.drawing import pressed_on_end
from patternsim.forming import refuse_unworkable
from patternsim.piece import Piece
from patternsim.step import Context, HotStep, Outcome, Part, clauses, number, register, slot
from patternsim.tally import Tally


@register
class Upset(HotStep):
    """Upset to a length; width and thickness grow alike."""

    title: ClassVar[str] = "Upset"

    kind: Literal["upset"] = "upset"
    length_mm: float = number(
        label="Length", unit="mm", above=0.0, high=5000.0, reason="finished, end to end"
    )

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the upset pieces."""
        tally = Tally(self, context)
        skin = context.shop.skin_forge_mm
        for piece in pieces:
            refuse_unworkable(piece, self.id)
            one, lost, answer = pressed_on_end(
                piece, context, what=self.id, heats=self.heats, skin=skin,
                length=self.length_mm, width=None, like=tally.like_press(),
            )  # fmt: skip
            tally.add_on_end(piece, one, lost, answer)
        return tally.outcome()

    def sentence(self) -> str:
        """Return the step as a sentence."""
        return f"Upset to {self.length_mm:g} mm long, {self.heats_text()}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        return clauses(("upset to ", slot(self, "length_mm"), " long"), self.heats_clause())
