"""Cut: ends cropped, off-cuts set aside, the bar sawn into equal lengths."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

from pydantic import BaseModel, ConfigDict

from patternsim.errors import StepError
from patternsim.forming import Losses
from patternsim.piece import Piece, dealt_marks, shifted
from patternsim.step import (
    CARD_LETTERS,
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
from patternsim.wording import counted, told_mm


class Offcut(BaseModel):
    """A named length set aside, sawn from the near end after the crop."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    name: str = choice(label="Name", reason="what the off-cut is kept for")
    length_mm: float = number(
        label="Length", unit="mm", above=0.0, high=5000.0, reason="finished, saw kerf apart"
    )


@register
class Cut(Step):
    """Saw across the length: crop both ends, set off-cuts aside, part the rest."""

    title: ClassVar[str] = "Saw"

    kind: Literal["cut"] = "cut"
    crop_near_mm: float = number(
        0.0, label="Crop, near end", unit="mm", low=0.0, high=1000.0, reason="unsound end, scrap"
    )
    crop_far_mm: float = number(
        0.0, label="Crop, far end", unit="mm", low=0.0, high=1000.0, reason="unsound end, scrap"
    )
    offcuts: tuple[Offcut, ...] = choice((), label="Set aside", reason="named lengths, such as a guard")
    pieces: int = number(
        1, label="Pieces", unit="", low=1, high=200, reason="equal lengths the rest is sawn into"
    )
    piece_mm: float | None = number(
        None, label="Length of a piece", unit="mm", above=0.0, high=5000.0,
        reason="left out, the rest is shared equally; else what is over is cropped",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the lengths, near end first, piece after piece."""
        done: list[Piece] = []
        aside: list[Piece] = []
        losses = Losses()
        for piece in pieces:
            if piece.loose:
                raise StepError(f"{self.id}: the strips are loose; forge-weld the stack first")
            if piece.open_cut or piece.shaped:
                why = "stands open" if piece.open_cut else f"is not straight (step {piece.shaped})"
                raise StepError(f"{self.id}: the piece {why}; saw it before that, or trim it")
            lengths, offcuts, lost = self._part(piece, context.shop.kerf_mm)
            done += lengths
            aside += offcuts
            losses += lost
        return Outcome(pieces=tuple(done), losses=losses, offcuts=tuple(aside))

    def _length(self, whole: float, kerf: float) -> float:
        """Length of one piece of a bar `whole` long."""
        cuts = len(self.offcuts) + self.pieces - 1
        used = self.crop_near_mm + self.crop_far_mm + sum(o.length_mm for o in self.offcuts)
        left = whole - used - cuts * kerf
        each = left / self.pieces
        if each <= 0.0:
            raise StepError(
                f"{self.id}: crops, off-cuts and {cuts} saw cuts of {kerf:g} mm take "
                f"{told_mm(used + cuts * kerf)} of a bar {told_mm(whole)} long; nothing is left; "
                "crop or keep less, or start longer"
            )
        if self.piece_mm is not None:
            need = self.piece_mm * self.pieces
            if need > left + 1e-9:
                raise StepError(
                    f"{self.id}: {self.pieces} pieces of {told_mm(self.piece_mm)} need {told_mm(need)}; "
                    f"after crops, off-cuts and {cuts} saw cuts {told_mm(left)} are left of "
                    f"{told_mm(whole)}; saw fewer or shorter pieces"
                )
            return self.piece_mm
        return each

    def _part(self, piece: Piece, kerf: float) -> tuple[list[Piece], list[Piece], Losses]:
        each = self._length(piece.size[0], kerf)
        at = self.crop_near_mm
        plan = [(o.name, o.length_mm) for o in self.offcuts]
        plan += [(f"{piece.name} {k + 1}" if self.pieces > 1 else piece.name, each)
                 for k in range(self.pieces)]  # fmt: skip
        starts = [at + sum(length + kerf for _, length in plan[:k]) for k in range(len(plan))]
        spans = [(start, start + length) for start, (_, length) in zip(starts, plan, strict=True)]
        marks = dealt_marks(piece.marks, 0, spans)
        made: list[Piece] = []
        for (name, length), start, own in zip(plan, starts, marks, strict=True):
            part = shifted(
                replace(piece, marks=own, name=name),
                by=(start, 0.0, 0.0),
                size=(length, piece.size[1], piece.size[2]),
                step_id=self.id,
            )
            ends = ((start, 0.0, 0.0), (piece.size[0] - start - length, 0.0, 0.0))
            made.append(replace(part, layers=piece.layers.kept(*ends, piece.size)))
        saw = kerf * (len(plan) - 1) * piece.size[1] * piece.size[2]
        total = sum(part.volume_mm3 for part in made)
        losses = Losses(saw=saw, crop=max(piece.volume_mm3 - total - saw, 0.0))
        return made[len(self.offcuts) :], made[: len(self.offcuts)], losses

    def sentence(self) -> str:
        """Return the step as a sentence."""
        parts = []
        if self.crop_near_mm and self.crop_near_mm == self.crop_far_mm:
            parts.append(f"crop {self.crop_near_mm:g} mm off each end")
        else:
            ends = (("near", self.crop_near_mm), ("far", self.crop_far_mm))
            parts += [f"crop {value:g} mm off the {end} end" for end, value in ends if value]
        parts += [f"set {one.length_mm:g} mm aside for {one.name}" for one in self.offcuts]
        each = f"{self.piece_mm:g} mm" if self.piece_mm else ""
        if self.pieces > 1:
            parts.append(f"saw into {self.pieces}" + (f" of {each}" if each else ""))
        elif each:
            parts.append(f"saw to {each}")
        text = ", ".join(parts) or "saw nothing off"
        return text[:1].upper() + text[1:]

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        rows: list[tuple[Part, ...]] = []
        if self.crop_near_mm and self.crop_far_mm:
            rows.append(("crop ", slot(self, "crop_near_mm"), " and ", slot(self, "crop_far_mm")))
        elif self.crop_near_mm or self.crop_far_mm:
            end = "near" if self.crop_near_mm else "far"
            rows.append(("crop ", slot(self, f"crop_{end}_mm"), f" off the {end} end"))
        if len(self.offcuts) == 1 and len(self.offcuts[0].name) <= CARD_LETTERS // 3:
            rows.append(("keep ", slot(self, "offcuts.0.length_mm"), f" for {self.offcuts[0].name}"))
        elif self.offcuts:
            rows.append((f"set {counted(len(self.offcuts), 'off-cut')} aside",))
        if self.piece_mm is not None:
            rows.append(("saw ", slot(self, "pieces"), " of ", slot(self, "piece_mm")))
        elif self.pieces > 1 or not rows:
            rows.append(("saw into ", slot(self, "pieces")))
        return clauses(*rows)
