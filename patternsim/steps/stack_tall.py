"""Stack tall: pieces laid on one another and stood up, so that the stack becomes the length."""

from __future__ import annotations

from typing import ClassVar, Literal

from patternsim.errors import StepError
from patternsim.piece import Piece
from patternsim.relay import TALL, gap_measures, laid_together, quarter_turns, relaid
from patternsim.step import Context, Outcome, Part, Step, choice, clauses, register, slot


@register
class StackTall(Step):
    """Stack every piece and stand the block up: its height becomes the blade's length.

    x' = z, y' = y, z' = -x: the stacking direction becomes the length, the bar's width stays the
    width, the bar's own length becomes the thickness, so that the end grain is on the face.
    """

    title: ClassVar[str] = "Stack tall"

    kind: Literal["stack-tall"] = "stack-tall"
    turned: Literal["none", "end-for-end", "over"] = choice(
        "none", label="Alternate pieces turned",
        reason="half a turn about the thickness or the width",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the loose tall block."""
        if not pieces:
            raise StepError(f"{self.id}: there is nothing to stack")
        turns = {"end-for-end": quarter_turns(2, 2), "over": quarter_turns(1, 2)}
        laid = [
            relaid(piece, turns[self.turned], what=self.id) if self.turned != "none" and k % 2 else piece
            for k, piece in enumerate(pieces)
        ]
        block = laid_together(laid, axis=2, what=self.id, name=self.id)
        return Outcome(pieces=(relaid(block, TALL, what=self.id),), measures=gap_measures(block, axis=0))

    def sentence(self) -> str:
        """Return the step as a sentence."""
        turned = "" if self.turned == "none" else f", alternate pieces turned {self.turned}"
        return f"Stack all pieces tall{turned}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        turned = () if self.turned == "none" else ("every other one turned ", slot(self, "turned"))
        return clauses(("stack all pieces tall",), turned)
