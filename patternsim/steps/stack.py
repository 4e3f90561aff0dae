"""Stack: strips of steel laid on one another, as bought or cleaned."""

from __future__ import annotations

import itertools
from typing import ClassVar, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict

from patternsim.errors import StepError
from patternsim.fields import Leaf
from patternsim.layers import Layers
from patternsim.piece import Piece
from patternsim.steels import find_steel
from patternsim.step import (
    CARD_STRIPS,
    Context,
    Outcome,
    Part,
    Step,
    choice,
    clauses,
    number,
    register,
    slot,
)

MOST_LAYERS = 20000
"""More strips than any shop stacks; keeps a mistyped repeat from filling the memory."""


class Strip(BaseModel):
    """One strip of the repeat: steel and thickness."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    steel: str = choice(label="Steel", reason="by the name in the steel list")
    thickness_mm: float = number(
        label="Thickness", unit="mm", above=0.0, high=200.0, reason="of the strip as stacked"
    )


@register
class Stack(Step):
    """Strips laid flat on one another, lowest first, the whole repeated."""

    title: ClassVar[str] = "Stack"

    kind: Literal["stack"] = "stack"
    strips: tuple[Strip, ...] = choice(label="Strips", reason="from the bottom up; the row is repeated")
    repeat: int = number(
        1, label="Repeat", unit="", low=1, high=10000, reason="how often the row is laid"
    )
    width_mm: float = number(label="Width", unit="mm", above=0.0, high=1000.0, reason="of the strips")
    length_mm: float = number(label="Length", unit="mm", above=0.0, high=5000.0, reason="of the strips")

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the loose stack."""
        if pieces:
            raise StepError(f"{self.id}: this bar has steel already; a stack is the first step of a bar")
        if not self.strips:
            raise StepError(f"{self.id}: no strips are given; name at least one steel and thickness")
        count = len(self.strips) * self.repeat
        if count > MOST_LAYERS:
            raise StepError(
                f"{self.id}: {count} strips are asked for; at most {MOST_LAYERS} can be stacked"
            )
        rows = self.strips * self.repeat
        steels = tuple(strip.steel for strip in rows)
        thicknesses = np.array([strip.thickness_mm for strip in rows])
        densities = np.array([find_steel(strip.steel).density for strip in rows])
        height = float(thicknesses.sum())
        same = sum(a == b for a, b in itertools.pairwise(steels))
        leaf = Leaf(
            self.id,
            thicknesses=thicknesses,
            steels=steels,
            length=self.length_mm,
            width=self.width_mm,
        )
        piece = Piece(
            name=self.id,
            size=(self.length_mm, self.width_mm, height),
            volume_mm3=self.length_mm * self.width_mm * height,
            density=float((thicknesses * densities).sum() / height),
            field=leaf,
            layers=Layers(
                axis=2,
                along=count,
                across=1,
                across_axis=-1,
                total=count,
                distinct=count - same,
                ends=(steels[0], steels[-1]),
            ),
            loose=count > 1,
        )
        return Outcome(pieces=(piece,))

    def sentence(self) -> str:
        """Return the step as a sentence."""
        rows = " and ".join(f"{s.steel} at {s.thickness_mm:g}" for s in self.strips)
        row = f"{self.repeat} x ({rows} mm)" if self.repeat > 1 else f"{rows} mm"
        return f"Stack {row}, strips {self.width_mm:g} x {self.length_mm:g} mm"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        rows: list[tuple[Part, ...]] = [
            (slot(self, f"strips.{k}.steel"), " at ", slot(self, f"strips.{k}.thickness_mm"))
            for k in range(len(self.strips))
        ]
        if len(rows) > CARD_STRIPS:
            rows[CARD_STRIPS:] = [(f"{len(rows) - CARD_STRIPS} more",)]
        each = " of " if len(rows) == 1 else " each: "
        first = rows[0] if rows else ()
        return clauses(("stack ", slot(self, "repeat"), each, *first), *rows[1:])
