"""Fuller: grooves pressed across the bar with a round die, so that grinding cuts through hills."""

from __future__ import annotations

from typing import ClassVar, Literal

from patternsim.errors import StepError
from patternsim.forming import descaled, refuse_unworkable, squeezed
from patternsim.piece import Piece
from patternsim.press import Grooves, Level
from patternsim.step import Context, HotStep, Outcome, Part, choice, clauses, number, register, slot
from patternsim.tally import Tally
from patternsim.wording import told_mm

DEEPEST = 0.35
"""Depth of the grooves, both faces together, over the thickness: deeper, the bar is cut, not grooved.
Common practice, no source."""
MOST = 40
"""Grooves of one step."""


@register
class Fuller(HotStep):
    """Press grooves across the bar; ground off or pressed flat, they leave bands, hills and hollows."""

    title: ClassVar[str] = "Fuller grooves"

    kind: Literal["fuller"] = "fuller"
    places_mm: tuple[float, ...] = choice(
        label="Places", reason="of the grooves, from the near end, in the order they are pressed",
        longest=MOST,
    )  # fmt: skip
    depth_mm: float = number(
        label="Depth", unit="mm", above=0.0, high=50.0, reason="of each groove, on each face it is on"
    )
    radius_mm: float = number(
        8.0, label="Die radius", unit="mm", above=0.0, high=100.0,
        reason="of the round die; a small one makes narrow grooves",
    )  # fmt: skip
    faces: Literal["both", "mark-side", "off-side", "alternate"] = choice(
        "both", label="Faces", reason="both at once, one side on a flat die, or turned over each time"
    )

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the grooved pieces."""
        tally = Tally(self, context)
        # There is no closed form for a groove: the quick picture is the coarse flow.
        level = Level.COARSE if context.level is Level.QUICK else context.level
        for piece in pieces:
            refuse_unworkable(piece, self.id)
            clean, lost = descaled(
                piece, heats=self.heats, skin=context.shop.skin_forge_mm, step_id=self.id
            )
            self._refuse(clean)
            goal = Grooves(
                places=self.places_mm, depth=self.depth_mm, radius=self.radius_mm, faces=self.faces
            )
            like = tally.like_press()
            one, answer = squeezed(
                clean, clean.size, plane="xz", passes=[], goal=goal,
                friction=context.shop.friction_dies,
                level=level if like is None else context.level,
                progress=context.progress, like=like,
            )  # fmt: skip
            tally.add_on_edge(piece, one, lost, answer)
        return tally.outcome()

    def _refuse(self, piece: Piece) -> None:
        long, thick = piece.size[0], piece.size[2]
        if not self.places_mm:
            raise StepError(f"{self.id}: no place is given; say where the grooves go")
        for place in self.places_mm:
            if not thick / 2 <= place <= long - thick / 2:
                raise StepError(
                    f"{self.id}: a groove at {told_mm(place)} of {told_mm(long)}; keep half the "
                    f"thickness, {told_mm(thick / 2)}, from both ends"
                )
        deep = self.depth_mm * (2.0 if self.faces == "both" else 1.0)
        if deep > DEEPEST * thick:
            raise StepError(
                f"{self.id}: grooves take {told_mm(deep)} of a thickness of {told_mm(thick)}; "
                f"{told_mm(DEEPEST * thick)} at most, or the bar is cut through"
            )

    def sentence(self) -> str:
        """Return the step as a sentence."""
        count = len(self.places_mm)
        faces = {"both": "both faces", "alternate": "the faces in turn"}.get(
            self.faces, f"the {self.faces.replace('-', ' ')}"
        )
        grooves = "1 groove" if count == 1 else f"{count} grooves"
        return (
            f"Fuller {grooves} {self.depth_mm:g} mm deep into {faces}, die radius "
            f"{self.radius_mm:g} mm, "
            f"{self.heats_text()}"
        )

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        count = len(self.places_mm)
        grooves = "1 groove " if count == 1 else f"{count} grooves "
        return clauses(
            ("fuller ", grooves, slot(self, "depth_mm"), " deep"),
            ("radius ", slot(self, "radius_mm")),
            (slot(self, "faces"),),
            self.heats_clause(),
        )
