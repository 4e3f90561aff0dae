"""Crush corners: a square bar set on its corner and pressed, both ways, and squared again."""

from __future__ import annotations

import math
from typing import ClassVar, Literal

from patternsim.errors import StepError
from patternsim.forming import descaled, refuse_unworkable, squeezed
from patternsim.piece import Piece
from patternsim.press import Corners, Level
from patternsim.step import Context, HotStep, Outcome, Part, clauses, number, register, slot
from patternsim.tally import Tally
from patternsim.wording import percent, told_mm, told_sizes

OUT_OF_SQUARE = 0.05
"""How far two sides may differ and still be crushed as one square."""
MOST_FLAT = 0.6
"""Widest flats over the side that the fitted fold knows; there the bar stands nearly on its corners."""

ROUGH = "a fitted fold, squared again; true corners stay round"


@register
class CrushCorners(HotStep):
    """Knock the corners in both ways; drawn as squared again, of the same section."""

    title: ClassVar[str] = "Crush corners"

    kind: Literal["crush-corners"] = "crush-corners"
    flat_mm: float | None = number(
        None, label="Flats", unit="mm", above=0.0, high=1000.0,
        reason="width of the new flats on the corners; or give what is left of the old faces",
    )  # fmt: skip
    old_face_mm: float | None = number(
        None, label="Old face left", unit="mm", above=0.0, high=1000.0,
        reason="width of each old face between the flats; or give the flats",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the crushed pieces."""
        if (self.flat_mm is None) == (self.old_face_mm is None):
            both = "both are given" if self.flat_mm else "neither is given"
            raise StepError(f"{self.id}: give either the flats or the old face left; {both}")
        tally = Tally(self, context)
        for piece in pieces:
            refuse_unworkable(piece, self.id)
            clean, lost = descaled(
                piece, heats=self.heats, skin=context.shop.skin_forge_mm, step_id=self.id
            )
            flats = self._flats(clean)
            side = (clean.size[1] + clean.size[2]) / 2
            one, answer = squeezed(
                clean,
                clean.size,
                plane="yz",
                passes=[],
                goal=Corners(flat=flats * side, bite=clean.size[1] / 2),
                friction=context.shop.friction_dies,
                level=context.level,
                corners=flats,
                progress=context.progress,
                like=tally.like_press(),
            )
            tally.add(piece, one, lost, answer)
        return tally.outcome(rough=ROUGH if context.level is Level.QUICK else "")

    def _flats(self, piece: Piece) -> float:
        y, z = piece.size[1], piece.size[2]
        if abs(y - z) > OUT_OF_SQUARE * max(y, z):
            raise StepError(
                f"{self.id}: the section is {told_sizes((y, z))}; corners are crushed on a square "
                f"bar (within {percent(OUT_OF_SQUARE)}); square it up first"
            )
        side = (y + z) / 2
        flat = self.flat_mm if self.flat_mm else (side - (self.old_face_mm or 0.0)) / math.sqrt(2)
        if not 0.0 < flat <= MOST_FLAT * side:
            least = side * (1.0 - MOST_FLAT * math.sqrt(2))
            raise StepError(
                f"{self.id}: flats of {told_mm(flat)} on a side of {told_mm(side)}; they must be over 0 "
                f"and at most {told_mm(MOST_FLAT * side)}, so that {told_mm(least)} or more of each old "
                "face is left"
            )
        return flat / side

    def sentence(self) -> str:
        """Return the step as a sentence."""
        if self.flat_mm:
            return f"Crush corners to flats of {self.flat_mm:g} mm, {self.heats_text()}"
        if self.old_face_mm is None:
            return f"Crush corners, how far is not said, {self.heats_text()}"
        left = f"{self.old_face_mm:g} mm of each old face is left"
        return f"Crush corners until {left}, {self.heats_text()}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        how: tuple[Part, ...] = ()
        if self.flat_mm is not None:
            how = (" to flats of ", slot(self, "flat_mm"))
        elif self.old_face_mm is not None:
            how = (", leave ", slot(self, "old_face_mm"), " of each face")
        return clauses(("crush corners", *how), self.heats_clause())
