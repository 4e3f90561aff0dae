"""A piece of steel at one moment of the job: size, field, layers, marks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from patternsim.errors import PatternSimError, StepError
from patternsim.fields import (
    Affine,
    Clip,
    Domain,
    Halve,
    Node,
    Program,
    carry_forward,
    lay_out,
    moved,
    walk,
)
from patternsim.layers import Layers
from patternsim.section import Section, grown

if TYPE_CHECKING:
    from patternsim.wedge import Wedge

Floats = NDArray[np.float64]
Triple = tuple[float, float, float]
HAIR_MM = 1e-4
KEPT = 12
"""Pieces whose field is kept laid out: the same piece is asked again and again."""
AXES = ("length", "width", "thickness")
"""What a smith calls the x, y and z axis of a piece."""


def triple(values: Floats) -> Triple:
    """Return three numbers of an array as a plain tuple."""
    return float(values[0]), float(values[1]), float(values[2])


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A chisel nick: a point of the piece, followed through every step.

    Attributes
    ----------
    name : str
    at : (x, y, z) mm
        In the frame of the piece.
    depth_mm : float
        What is left of its depth; at nought the mark is gone.
    lost_in : str
        Id of the step that removed it; empty while it can be seen.
    """

    name: str
    at: Triple
    depth_mm: float
    lost_in: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutLine:
    """Where the halves of a split meet.

    Attributes
    ----------
    halve : Halve
        The link at which a point goes to one half or the other.
    before : Clip
        The limits of the block before the wedge came: where its own coordinates are read.
    nose_x : float, mm
        Where the nose stopped along x, in the frame of that link.
    down : bool
        The wedge ran towards x = 0.
    """

    halve: Halve
    before: Clip
    nose_x: float
    down: bool


@lru_cache(maxsize=KEPT)
def program_of(piece: Piece) -> Program:
    """Return the field of a piece within its limits, laid out; kept, since pieces do not change."""
    return lay_out(piece.solid())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Parted:
    """A split that was worked out, while it stands open: what closing it goes on from.

    Attributes
    ----------
    block : Piece
        The block before the wedge came.
    wedge : Wedge
        What was asked of it.
    """

    block: Piece
    wedge: Wedge


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """A piece of steel.

    Attributes
    ----------
    name : str
    size : (x, y, z) mm
        Length, width, thickness. x runs from 0, y and z are centred.
    volume_mm3 : float
    density : float, kg/mm3
    field : Node
        Where each point came from.
    layers : Layers
    lips : (float, float) mm
        How far ragged ends reach beyond x = 0 and x = length (the entry of a wedge).
    notch_mm : float
        Depth of the notch at a ragged end, from the nominal end.
    loose : bool
        Strips not welded yet.
    open_cut : bool
        Split and not closed.
    shaped : str
        '' for a box; else the step that made it something a flat press cannot work ('taper', 'bend').
    cuts : tuple of CutLine
        Centre lines of splits, latest last.
    marks : tuple of Mark
    limits : tuple of float or None
        Limits of the solid where it is no box: (x0, y0, z0, x1, y1, z1) mm.
    section : Section or None
        Outline of a piece whose sides a press has left bulged or its corners round; None: straight.
    parted : Parted or None
        The halves of a split as the wedge left them, where that was worked out.
    """

    name: str
    size: Triple
    volume_mm3: float
    density: float
    field: Node
    layers: Layers
    lips: tuple[float, float] = (0.0, 0.0)
    notch_mm: float = 0.0
    loose: bool = False
    open_cut: bool = False
    shaped: str = ""
    cuts: tuple[CutLine, ...] = ()
    marks: tuple[Mark, ...] = ()
    limits: tuple[float, float, float, float, float, float] | None = None
    section: Section | None = None
    parted: Parted | None = None

    @property
    def mass_kg(self) -> float:
        """Mass of the piece, kg."""
        return self.volume_mm3 * self.density

    @property
    def outlined_mm3(self) -> float:
        """Volume within the outline, gaps included, mm3."""
        if self.section is None:
            return self.size[0] * self.size[1] * self.size[2]
        return self.section.area * self.size[self.section.along]

    def box(self) -> tuple[Triple, Triple]:
        """Return the low and the high corner of the solid, lips included."""
        if self.limits is not None:
            return self.limits[:3], self.limits[3:]
        x, y, z = self.size
        return (-self.lips[0], -y / 2, -z / 2), (x + self.lips[1], y / 2, z / 2)

    def solid(self) -> Clip:
        """Return the field with the limits of the piece before it: what pictures are taken of."""
        low, high = self.box()
        return Clip(self.outlined(), low=low, high=high)

    def outlined(self, *, gap: bool = False) -> Node:
        """Return the field with its outline before it; beyond is a `gap` or outside."""
        if self.section is None:
            return self.field
        polygon = grown(self.section.polygon(), HAIR_MM)
        return Domain(self.field, plane=self.section.plane, polygon=polygon, gap=gap)

    def carried(
        self,
        field_after: Node,
        guess: Callable[[Floats], Floats],
        *,
        within: tuple[Triple, Triple] | None = None,
    ) -> tuple[Mark, ...]:
        """Return the marks, followed forwards to a field whose walk leads through this piece's.

        Parameters
        ----------
        field_after : Node
        guess : callable
            (n, 3) points before -> about where they are after.
        within : (low, high), optional
            Box after, mm: it is searched instead, where the steel moves too far for a guess.
        """
        there = [mark for mark in self.marks if not mark.lost_in]
        if not there:
            return self.marks
        # A hair inside the skin, or rounding would decide whether a mark on it is steel.
        low, high = (np.array(corner) for corner in self.box())
        before = np.clip([mark.at for mark in there], low + HAIR_MM, high - HAIR_MM)
        if self.section is not None:
            before = self.section.into(before, 2.0 * HAIR_MM)
        after = followed(field_after, before, self.field, guess(before), within)
        lost = np.asarray(~np.isfinite(after).all(axis=1))
        if lost.any():
            names = ", ".join(mark.name for mark, gone in zip(there, lost, strict=True) if gone)
            raise StepError(
                f"the marks {names} cannot all be followed through this step; make them after it"
            )
        moved_marks = iter(after)
        return tuple(
            mark if mark.lost_in else replace(mark, at=triple(next(moved_marks))) for mark in self.marks
        )


def followed(
    field_after: Node,
    before: Floats,
    stop: Node,
    guess: Floats,
    within: tuple[Triple, Triple] | None,
) -> Floats:
    """Return where points (n, 3) before, at link `stop`, came to lie; NaN rows where that is not found.

    By Newton's method; where that fails and a box `within` is given, by looking through it closer and
    closer: a nick on a skin that folds has no slope to follow.
    """
    out = np.full_like(before, np.nan)
    for row in range(len(before)):
        one = slice(row, row + 1)
        try:
            out[one] = carry_forward(field_after, before[one], stop=stop, guess=guess[one])
        except PatternSimError:
            if within is not None:
                out[row] = _searched(field_after, before[row], stop, within)
    return out


LOOKED_AT = (30, 30, 15)
"""Places along each axis among which a mark is looked for."""
CLOSER, NARROWER = 8, 6.0
"""Times it is looked for again, and how much nearer about the best place each time."""
FOUND_MM = 0.5
"""A mark found this near counts as found."""


def _searched(field_after: Node, before: Floats, stop: Node, within: tuple[Triple, Triple]) -> Floats:
    low, high = np.array(within[0]), np.array(within[1])
    best, off = np.full(3, np.nan), np.inf
    program = lay_out(field_after, stop=stop)
    for _ in range(CLOSER):
        axes = [np.linspace(low[k], high[k], many) for k, many in enumerate(LOOKED_AT)]
        places = np.stack([a.ravel() for a in np.meshgrid(*axes, indexing="ij")], axis=1)
        hits = walk(program, places, stop=stop, workers=1)
        away = np.where(hits.inside, np.linalg.norm(hits.points - before, axis=1), np.nan)
        if np.isfinite(away).any() and np.nanmin(away) <= off:
            best, off = places[int(np.nanargmin(away))], float(np.nanmin(away))
        if not np.isfinite(best).all():
            break
        reach = (high - low) / NARROWER
        low, high = np.maximum(best - reach, within[0]), np.minimum(best + reach, within[1])
    return best if off < FOUND_MM else np.full(3, np.nan)


ON_FACE_MM = 0.5
"""A nick this near to a face was cut into it; nicks do not lie deeper, but maps round a little."""


def kept_marks(
    marks: tuple[Mark, ...], old: tuple[Triple, Triple], new: tuple[Triple, Triple], step_id: str
) -> tuple[Mark, ...]:
    """Return the marks after steel between the boxes `old` and `new` (low, high; mm) was taken off.

    A nick reaches `depth_mm` into the steel from the face it was cut into: what is ground off that
    face makes it shallower, and it is put back on the surface; at nought, or where steel is taken
    off beside it, it is lost in `step_id`.
    """
    low, high = new
    result = []
    for mark in marks:
        if mark.lost_in:
            result.append(mark)
            continue
        here = np.array(mark.at)
        at = np.clip(here, low, high)
        off = np.abs(at - here)
        near = np.minimum(np.abs(here - old[0]), np.abs(here - old[1])) <= ON_FACE_MM
        beside = float(off[~near].max(initial=0.0))
        depth = 0.0 if beside > ON_FACE_MM else mark.depth_mm - float(off.max())
        place = triple(at)
        if depth <= 1e-9:
            result.append(replace(mark, at=place, depth_mm=0.0, lost_in=step_id))
        else:
            result.append(replace(mark, at=place, depth_mm=depth))
    return tuple(result)


def dealt_marks(
    marks: Sequence[Mark], axis: int, spans: Sequence[tuple[float, float]]
) -> list[tuple[Mark, ...]]:
    """Deal the marks of a piece out to the parts it is sawn into along `axis` (spans in mm).

    Each goes to the part it lies in or is nearest to, and is lost there if its steel is not; what is
    lost already stays with the last part.
    """
    dealt: list[list[Mark]] = [[] for _ in spans]
    for mark in marks:
        at = mark.at[axis]
        off = [max(low - at, at - high, 0.0) for low, high in spans]
        dealt[-1 if mark.lost_in else off.index(min(off))].append(mark)
    return [tuple(part) for part in dealt]


def shifted(
    piece: Piece,
    *,
    by: Triple,
    size: Triple,
    step_id: str,
    keep_lips: bool = False,
    skin: Triple | None = None,
) -> Piece:
    """Return a box of `size` cut out of `piece`, its origin at `by` (mm) in the old frame.

    The volume becomes that of the box, or of what the outline leaves of it. With `skin` (mm along each
    axis) the outline is not cut straight but loses a skin all around. Lips at the ends stay where
    nothing was taken off there, or everywhere with `keep_lips`.
    """
    low_cut = by[0] > 1e-9 and not keep_lips
    high_cut = by[0] + size[0] < piece.size[0] - 1e-9 and not keep_lips
    lips = (0.0 if low_cut else piece.lips[0], 0.0 if high_cut else piece.lips[1])
    after: Affine = moved(piece.field, by=by)
    marks = tuple(
        mark if mark.lost_in else replace(mark, at=triple(np.subtract(mark.at, by)))
        for mark in piece.marks
    )
    x, y, z = size
    old_low, old_high = piece.box()
    old = (triple(np.subtract(old_low, by)), triple(np.subtract(old_high, by)))
    new = ((-lips[0], -y / 2, -z / 2), (x + lips[1], y / 2, z / 2))
    marks = kept_marks(marks, old, new, step_id)
    section, volume = piece.section, x * y * z
    if section is not None:
        section = _cut_out(section, by, new, skin)
    if section is not None:
        volume = section.area * size[section.along]
    if piece.volume_mm3 > 0.0:
        volume *= piece.volume_mm3 / piece.outlined_mm3  # gaps stay gaps
    return replace(
        piece, size=size, volume_mm3=volume, field=after, lips=lips, marks=marks, section=section
    )


def _cut_out(
    section: Section, by: Triple, box: tuple[Triple, Triple], skin: Triple | None
) -> Section | None:
    first, second = section.axes
    there = section.moved((-by[first], -by[second]))
    if skin is not None:
        return there.skinned((skin[first], skin[second]))
    low, high = box
    (a, b), (c, d) = there.box()
    if a >= high[first] or c <= low[first] or b >= high[second] or d <= low[second]:
        raise StepError("nothing of the outline would be left; take less off")
    return there.within((low[first], low[second]), (high[first], high[second]))
