"""The piece after a step as it lies on the die: worked out in the background, ready to be drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from patternsim.progress import Progress
from patternsim_app.shown import BilletShown, MarkShown, OutlineShown, Pose
from patternsim_app.tasks import stands_on_end

if TYPE_CHECKING:
    from patternsim.piece import Mark, Piece
    from patternsim.work import StepResult

BILLET_PX = 560
END_PX = 240
MOST_PX_PER_MM = 12.0
ALIKE_MM = 0.05
"""Pieces whose sizes differ by less are alike to the eye."""
OPEN_NOTE = "How far the halves spread is not worked out: they are drawn a little open."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BilletGiven:
    """A step whose piece is to be drawn, and all steps, which tell how it lies."""

    row: StepResult
    rows: Sequence[StepResult]
    number: int
    """Of the step on the card."""
    note: str = ""
    """What else is to be said of it."""


def draw_billet(given: BilletGiven, progress: Progress) -> BilletShown:
    """Draw the piece after a step as it lies on the die."""
    from patternsim.pictures.bench import piece_picture
    from patternsim.pictures.opened import opened
    from patternsim.pictures.plain import half_thickness
    from patternsim.pictures.solid import is_box, outlines

    closed = given.row.outcome.pieces[0]
    piece = opened(closed)
    low, high = piece.box()
    length, wide, thick = (b - a for a, b in zip(low, high, strict=True))
    scale = min(BILLET_PX / max(length, wide), MOST_PX_PER_MM)
    finer = min(END_PX / max(thick, wide), MOST_PX_PER_MM)
    faces = []
    for k, (plane, pixels) in enumerate((("blank", scale), ("low-edge", scale), ("far-end", finer))):
        progress.at(k / 4, "drawing the billet")
        faces.append(piece_picture(piece, plane, pixels, draft=True))
    progress.at(0.75, "drawing the billet")
    found = () if is_box(piece) else outlines(piece, pixels_per_mm=scale)
    along, half = half_thickness(piece)
    size = closed.size
    if closed.parted is not None:
        size = (length, wide, thick)  # its halves stand as the wedge left them
    return BilletShown(
        size=size,
        top=faces[0],
        side=faces[1],
        end=faces[2],
        marks=tuple(
            _mark(mark, shown, closed) for mark, shown in zip(closed.marks, piece.marks, strict=True)
        ),
        pieces=_alike(given.row),
        words=_words(given.row),
        spoken=_spoken(given.row, given.number, size),
        notes=(*((given.note,) if given.note else ()), *_notes(given.row)),
        pose=_pose(given),
        box=None if is_box(piece) else (low, high),
        outlines=tuple(
            OutlineShown(points=tuple((float(x), float(y)) for x, y in one.points), wall=one.wall)
            for one in found
        ),
        profile=tuple((float(x), float(h)) for x, h in zip(along, half, strict=True)),
        shape=_shape(closed),
        wedge=_wedge(closed),
    )


def _pose(given: BilletGiven) -> Pose:
    """Return how the piece lies: a wedge always comes from above."""
    if not stands_on_end(given.rows, given.row):
        return "lying"
    piece = given.row.outcome.pieces[0]
    return "head-down" if piece.open_cut and not piece.cuts[-1].down else "standing"


def _shape(piece: Piece) -> Literal["straight", "bent", "tapered"]:
    if not piece.shaped:
        return "straight"
    return "tapered" if piece.limits is None else "bent"


def _wedge(piece: Piece) -> tuple[float, float] | None:
    """Return where the wedge went in, x and y, half way through the thickness."""
    if not piece.open_cut:
        return None
    cut = piece.cuts[-1]
    low, high = piece.box() if piece.parted is not None else ((0.0, 0.0, 0.0), piece.size)
    x = high[0] if cut.down else low[0]
    normal = cut.halve.normal
    return x, float((cut.halve.at - normal[0] * x) / normal[1])


def _alike(row: StepResult) -> int:
    """Return how many pieces there are of the first one's sizes; 1 where they differ."""
    pieces = row.outcome.pieces
    first = pieces[0].size
    alike = all(
        abs(a - b) < ALIKE_MM for piece in pieces for a, b in zip(piece.size, first, strict=True)
    )
    return len(pieces) if alike else 1


def _words(row: StepResult) -> str:
    pieces = row.outcome.pieces
    said = f"{pieces[0].layers.text()} layers, {pieces[0].mass_kg:.2f} kg"
    if len(pieces) == 1:
        return said
    if _alike(row) > 1:
        return f"{_alike(row)} alike: {said} each"
    return f"{said}; the first of {len(pieces)} pieces"


def _spoken(row: StepResult, number: int, size: tuple[float, float, float]) -> str:
    told = " by ".join(f"{v:.1f}" for v in size)
    count = _alike(row)
    what = f"{count} pieces, {told} mm each" if count > 1 else f"{told} mm"
    return f"After step {number}: {what}, {_words(row)}"


def _notes(row: StepResult) -> tuple[str, ...]:
    rough = row.outcome.rough
    notes = [f"{rough[:1].upper()}{rough[1:]}."] if rough else []
    piece = row.outcome.pieces[0]
    if piece.open_cut and piece.parted is None:
        notes.append(OPEN_NOTE)
    return tuple(notes)


def _mark(mark: Mark, shown: Mark, piece: Piece) -> MarkShown:
    """Return a mark where it is shown, with the face it lies nearest to."""
    low, high = piece.box()
    away = {
        "mark-side": high[2] - mark.at[2],
        "off-side": mark.at[2] - low[2],
        "high-edge": high[1] - mark.at[1],
        "low-edge": mark.at[1] - low[1],
        "far-end": high[0] - mark.at[0],
        "near-end": mark.at[0] - low[0],
    }
    face = min(away, key=lambda name: abs(away[name]))
    return MarkShown(name=mark.name, at=shown.at, face=face, lost=bool(mark.lost_in))  # type: ignore[arg-type]
