"""Cut: ends cropped, off-cuts set aside, the bar sawn into equal lengths."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

from pydantic import BaseModel, ConfigDict

from patternsim.errors import StepError
from patternsim.forming import Losses
from patternsim.piece import Mark, Piece, shifted
from patternsim.step import Context, Outcome, Step, choice, number, register


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
        if self.piece_mm is not None:
            need = self.piece_mm * self.pieces
            if need > left + 1e-9:
                raise StepError(
                    f"{self.id}: {self.pieces} pieces of {self.piece_mm:.1f} mm need {need:.1f} mm; "
                    f"after crops, off-cuts and {cuts} saw cuts {left:.1f} mm are left of {whole:.1f}"
                )
            return self.piece_mm
        if each <= 0.0:
            raise StepError(
                f"{self.id}: crops, off-cuts and {cuts} saw cuts of {kerf:g} mm take "
                f"{used + cuts * kerf:.1f} mm of a bar {whole:.1f} mm long; nothing is left"
            )
        return each

    def _part(self, piece: Piece, kerf: float) -> tuple[list[Piece], list[Piece], Losses]:
        each = self._length(piece.size[0], kerf)
        at = self.crop_near_mm
        plan = [(o.name, o.length_mm) for o in self.offcuts]
        plan += [(f"{piece.name} {k + 1}" if self.pieces > 1 else piece.name, each)
                 for k in range(self.pieces)]  # fmt: skip
        made: list[Piece] = []
        kept: set[str] = set()
        fill = piece.volume_mm3 / (piece.size[0] * piece.size[1] * piece.size[2])
        for name, length in plan:
            low = at - (piece.lips[0] if at == 0.0 else 0.0)
            high = at + length + (piece.lips[1] if at + length >= piece.size[0] - 1e-9 else 0.0)
            own = tuple(m for m in piece.marks if m.lost_in or low <= m.at[0] <= high)
            kept |= {m.name for m in own}
            part = shifted(
                replace(piece, marks=own),
                by=(at, 0.0, 0.0),
                size=(length, piece.size[1], piece.size[2]),
                step_id=self.id,
            )
            part = replace(part, name=name, volume_mm3=part.volume_mm3 * fill)
            made.append(_counted(part, piece, length))
            at += length + kerf
        gone = tuple(_gone(m, self.id) for m in piece.marks if m.name not in kept)
        made[-1] = replace(made[-1], marks=made[-1].marks + gone)
        saw = kerf * (len(plan) - 1) * piece.size[1] * piece.size[2] * fill
        total = sum(part.volume_mm3 for part in made)
        losses = Losses(saw=saw, crop=max(piece.volume_mm3 - total - saw, 0.0))
        return made[len(self.offcuts) :], made[: len(self.offcuts)], losses

    def sentence(self) -> str:
        """Return the step as a sentence."""
        crop = ""
        if self.crop_near_mm or self.crop_far_mm:
            crop = f"Crop {self.crop_near_mm:g} and {self.crop_far_mm:g} mm"
        aside = "".join(f", {o.length_mm:g} off for {o.name}" for o in self.offcuts)
        saw = f", saw in {self.pieces}" if self.pieces > 1 else ""
        text = crop + aside + saw
        return text.removeprefix(", ").capitalize() if not crop else text


def _gone(mark: Mark, step_id: str) -> Mark:
    return replace(mark, depth_mm=0.0, lost_in=step_id)


def _counted(part: Piece, whole: Piece, length: float) -> Piece:
    """Count layers anew where the layers run along the length."""
    if part.layers.axis != 0:
        return part
    share = length / whole.size[0]
    layers = replace(
        part.layers,
        along=max(1, round(whole.layers.along * share)),
        distinct=max(1, round(whole.layers.distinct * share)),
    )
    return replace(part, layers=layers)
