"""Slice: sawn in a plane along the piece, through its thickness or its width."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

from patternsim.errors import StepError
from patternsim.forming import Losses, trimmed
from patternsim.piece import Piece, Triple, dealt_marks
from patternsim.step import Context, Outcome, Part, Step, choice, clauses, number, register, slot
from patternsim.wording import told_mm


@register
class Slice(Step):
    """Saw along the piece into plates, lowest first."""

    title: ClassVar[str] = "Slice"

    kind: Literal["slice"] = "slice"
    across: Literal["thickness", "width"] = choice(
        "thickness", label="Divides the", reason="the size that is sawn into parts"
    )
    pieces: int = number(
        2, label="Plates", unit="", low=2, high=50, reason="equal plates; or give where to saw"
    )
    at_mm: float | None = number(
        None, label="Saw at", unit="mm", above=0.0, high=1000.0,
        reason="from the low side, for two unequal plates",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the plates, lowest first, piece after piece."""
        done: list[Piece] = []
        losses = Losses()
        axis = 2 if self.across == "thickness" else 1
        for piece in pieces:
            if piece.loose or piece.open_cut or piece.shaped:
                why = "is loose" if piece.loose else "stands open"
                why = f"is no longer straight (step {piece.shaped})" if piece.shaped else why
                raise StepError(
                    f"{self.id}: the piece {why}; only a sound, straight piece can be sliced"
                )
            plates, saw = self._plates(piece, axis, context.shop.kerf_mm)
            done += plates
            losses += Losses(saw=saw)
        return Outcome(pieces=tuple(done), losses=losses)

    def _plates(self, piece: Piece, axis: int, kerf: float) -> tuple[list[Piece], float]:
        whole = piece.size[axis]
        if self.at_mm is not None and "pieces" in self.model_fields_set and self.pieces != 2:
            raise StepError(
                f"{self.id}: {self.pieces} equal plates and a cut at {told_mm(self.at_mm)} are asked "
                "for; give either the plates or where to saw"
            )
        count = 2 if self.at_mm is not None else self.pieces
        each = (whole - (count - 1) * kerf) / count
        thick = [each] * count
        if self.at_mm is not None:
            thick = [self.at_mm - kerf / 2, whole - self.at_mm - kerf / 2]
        if min(thick) <= 0.0:
            cuts = "a saw cut" if count == 2 else f"{count - 1} saw cuts"
            raise StepError(
                f"{self.id}: {cuts} of {told_mm(kerf)} and the plates take more than the "
                f"{told_mm(whole)} there is; saw fewer, or elsewhere"
            )
        starts = [sum(thick[:k]) + k * kerf for k in range(count)]
        spans = [(at - whole / 2, at + part - whole / 2) for at, part in zip(starts, thick, strict=True)]
        marks = dealt_marks(piece.marks, axis, spans)
        plates = []
        for number_, (at, part, own) in enumerate(zip(starts, thick, marks, strict=True), start=1):
            plate, _ = trimmed(
                replace(piece, marks=own, name=f"{piece.name} {number_}"),
                low=_along(axis, at),
                high=_along(axis, whole - at - part),
                step_id=self.id,
                what=self.id,
                recount=True,
            )
            plates.append(plate)
        return plates, piece.volume_mm3 - sum(plate.volume_mm3 for plate in plates)

    def sentence(self) -> str:
        """Return the step as a sentence."""
        if self.at_mm is not None:
            return f"Slice the {self.across} in two at {self.at_mm:g} mm"
        return f"Slice the {self.across} into {self.pieces}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        if self.at_mm is not None:
            return clauses(("slice the ", slot(self, "across"), " at ", slot(self, "at_mm")))
        return clauses(("slice the ", slot(self, "across"), " into ", slot(self, "pieces")))


def _along(axis: int, value: float) -> Triple:
    sizes = [0.0, 0.0, 0.0]
    sizes[axis] = value
    return sizes[0], sizes[1], sizes[2]
