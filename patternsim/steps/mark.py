"""Mark: a chisel nick that is followed through every later step."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

import numpy as np

from patternsim.errors import StepError
from patternsim.piece import Mark as Nick
from patternsim.piece import Piece
from patternsim.step import Context, Outcome, Part, Step, choice, clauses, number, register, slot
from patternsim.wording import told_mm, told_sizes

FACES = {
    "mark-side": (2, 1),
    "off-side": (2, -1),
    "low-edge": (1, -1),
    "high-edge": (1, 1),
    "near-end": (0, -1),
    "far-end": (0, 1),
}


@register
class Mark(Step):
    """Cut a nick into a face, so that side and end are known at heat."""

    title: ClassVar[str] = "Mark"

    kind: Literal["mark"] = "mark"
    name: str = choice("nick", label="Name", reason="what the mark is called on every sheet")
    face: Literal["mark-side", "off-side", "low-edge", "high-edge", "near-end", "far-end"] = choice(
        "mark-side", label="On", reason="the face it is cut into"
    )
    along_mm: float | None = number(
        None, label="From the near end", unit="mm", low=0.0, high=5000.0,
        reason="along the length; left out, the middle",
    )  # fmt: skip
    off_middle_mm: float = number(
        0.0, label="Off the middle", unit="mm", low=-500.0, high=500.0,
        reason="across the face, towards the high edge; on an edge towards the mark side",
    )  # fmt: skip
    depth_mm: float = number(
        2.0, label="Depth", unit="mm", above=0.0, high=20.0,
        reason="a shallow nick is ground or scaled away",
    )  # fmt: skip
    piece: int = number(
        1, label="Piece", unit="", low=1, high=1000, reason="which piece of the bar, first is 1"
    )

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the pieces, one of them with the mark."""
        if self.piece > len(pieces):
            raise StepError(f"{self.id}: piece {self.piece} is asked for; the bar has {len(pieces)}")
        piece = pieces[self.piece - 1]
        if piece.shaped:
            raise StepError(
                f"{self.id}: the piece is no longer a straight bar (step {piece.shaped}); mark it "
                "before that step"
            )
        axis, side = FACES[self.face]
        at = np.array([piece.size[0] / 2 if self.along_mm is None else self.along_mm, 0.0, 0.0])
        at[2 if axis == 1 else 1] = self.off_middle_mm
        if axis == 0:
            at[0] = 0.0 if side < 0 else piece.size[0]
        else:
            at[axis] = side * piece.size[axis] / 2
        low, high = piece.box()
        if np.any(at < np.array(low) - 1e-9) or np.any(at > np.array(high) + 1e-9):
            size = told_sizes(piece.size)
            raise StepError(
                f"{self.id}: the mark lies beside the piece, which is {size}; give a place on it"
            )
        if self.depth_mm >= piece.size[axis]:
            raise StepError(
                f"{self.id}: a nick {told_mm(self.depth_mm)} deep goes through; the piece is "
                f"{told_mm(piece.size[axis])} there; nick it less deep"
            )
        if any(mark.name == self.name and not mark.lost_in for p in pieces for mark in p.marks):
            raise StepError(
                f'{self.id}: there is a mark called "{self.name}" already; give this one its own name'
            )
        nick = Nick(
            name=self.name, at=(float(at[0]), float(at[1]), float(at[2])), depth_mm=self.depth_mm
        )
        done = list(pieces)
        done[self.piece - 1] = replace(piece, marks=(*piece.marks, nick))
        return Outcome(pieces=tuple(done))

    def sentence(self) -> str:
        """Return the step as a sentence."""
        return f"Nick the {self.face.replace('-', ' ')}, {self.depth_mm:g} mm deep: {self.name}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        along: tuple[Part, ...] = ()
        if self.along_mm is not None:
            along = (slot(self, "along_mm"), " along")
        return clauses(("nick the ", slot(self, "face")), along, (slot(self, "depth_mm"), " deep"))
