"""Join: other bars of the job laid to this one."""

from __future__ import annotations

from typing import ClassVar, Literal

from patternsim.errors import StepError
from patternsim.piece import Piece
from patternsim.relay import laid_together
from patternsim.step import CARD_LETTERS, Context, Outcome, Part, Step, choice, clauses, register, slot


@register
class Join(Step):
    """Lay the pieces of this bar and of the bars named together; they are used up."""

    title: ClassVar[str] = "Join"

    kind: Literal["join"] = "join"
    bars: tuple[str, ...] = choice(label="Bars", reason="names of bars of this job, in order")
    side: Literal["on-top", "beside", "end-to-end"] = choice(
        "on-top",
        label="Laid",
        reason="through the thickness, across the width, or along the length",
    )

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the loose pack."""
        laid = [*pieces]
        for name in self.bars:
            laid += context.bars[name]
        if len(laid) < 2:
            raise StepError(f"{self.id}: joining needs two pieces or more; there is {len(laid)}")
        axis = {"on-top": 2, "beside": 1, "end-to-end": 0}[self.side]
        return Outcome(pieces=(laid_together(laid, axis=axis, what=self.id, name=self.id),))

    def sentence(self) -> str:
        """Return the step as a sentence."""
        return f"Join {', '.join(self.bars)}, laid {self.side.replace('-', ' ')}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        names = " and ".join(self.bars)
        if len(names) > CARD_LETTERS:
            names = f"{len(self.bars)} bars"
        return clauses((f"join {names}",), ("laid ", slot(self, "side")))
