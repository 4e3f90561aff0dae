"""Where the blade lies in its piece: from blade to piece coordinates and back."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.errors import UsageError
from patternsim.job import Blade
from patternsim.knife.line import line_across
from patternsim.piece import Piece
from patternsim.shape.grind import GRINDS, Grind, Side
from patternsim.shape.outline import Outline
from patternsim.shape.profiles import PROFILES

Floats = NDArray[np.float64]
SKIN_MM = 1e-3
"""The forged skin is looked at this far under it, clear of the border."""
SIDES: tuple[Side, Side] = ("mark-side", "off-side")


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """The blade in its piece: tip and heading.

    Attributes
    ----------
    tip_x, tip_y : float, mm
        Where the tip lies in the piece.
    turn : float, rad
        About the tip; positive lifts the heel towards the spine side.
    far : bool
        The tip points to the far end of the piece; else the blade is turned half about z.
    length : float, mm
        Of the blade.
    """

    tip_x: float
    tip_y: float
    turn: float
    far: bool
    length: float

    def to_piece(self, u: Floats, v: Floats, w: Floats) -> Floats:
        """Return (n, 3) mm in the piece of blade points u, v, w (n,) mm."""
        sign = 1.0 if self.far else -1.0
        along, up = u - self.length, v
        c, s = math.cos(self.turn), math.sin(self.turn)
        # The heel lies at negative `along`: lifting it takes a turn the other way round.
        x = self.tip_x + sign * (c * along + s * up)
        y = self.tip_y + sign * (-s * along + c * up)
        return np.stack([x, y, w], axis=-1)

    def from_piece(self, x: Floats, y: Floats) -> tuple[Floats, Floats]:
        """Return u and v (mm) of the blade at x, y (mm) of the piece: the way back of `to_piece`."""
        sign = 1.0 if self.far else -1.0
        dx, dy = sign * (x - self.tip_x), sign * (y - self.tip_y)
        c, s = math.cos(self.turn), math.sin(self.turn)
        return self.length + c * dx - s * dy, s * dx + c * dy


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlacedBlade:
    """A blade ready to be looked at: piece, outline, grind, place."""

    piece: Piece
    outline: Outline
    grind: Grind
    placement: Placement
    spec: Blade

    def surface(self, u: Floats, v: Floats, side: Side) -> Floats:
        """Return (n, 3) mm in the piece of points u, v (n,) on the finished surface of `side`.

        Where the grind asks for more than the bar is thick, the forged skin is what is left.
        """
        half = self.piece.size[2] / 2 - SKIN_MM
        w = np.clip(self.grind.surface_w(self.outline, u, v, side), -half, half)
        return self.placement.to_piece(u, v, w)


def outline_for(spec: Blade) -> Outline:
    """Return the outline a job asks for."""
    return PROFILES[spec.profile](**spec.outline)


def grind_for(spec: Blade) -> Grind:
    """Return the grind a job asks for; what it leaves out is as usual for the profile.

    Raises
    ------
    UsageError
        If the numbers do not make a grind.
    """
    try:
        return spec.grind.over(GRINDS[spec.profile])
    except ValueError as error:
        raise UsageError(f"the grind of the blade: {error}") from error


def placed(spec: Blade, piece: Piece) -> PlacedBlade:
    """Lay the blade into `piece`.

    Where the tip is wanted on the centre line but no line runs there, it is laid on the middle of
    the width, and a blade without a feather on the middle by its own width.
    """
    outline, grind = outline_for(spec), grind_for(spec)
    place = spec.place
    far = place.tip_end == "far"
    # A bent bar reaches less far than it is long.
    (near_end, _, _), (far_end, _, _) = piece.box()
    if piece.limits is None:
        near_end, far_end = 0.0, piece.size[0]
    tip_x = far_end - place.from_end_mm if far else near_end + place.from_end_mm
    off = place.off_middle_mm if far else -place.off_middle_mm
    if place.tip == "on-line":
        found = _line_at(piece, tip_x, grind.edge_mm / 2)
        if found is None:
            # Without a line there the blade itself lies on the middle of the bar.
            body = outline.polygon()[:, 1]
            middle = 0.0 if piece.cuts else float(body.max() + body.min()) / 2
            found = -middle if far else middle
        off = found
    return PlacedBlade(
        piece=piece,
        outline=outline,
        grind=grind,
        placement=Placement(
            tip_x=tip_x,
            tip_y=off,
            turn=math.radians(place.turn_deg),
            far=far,
            length=outline.length_mm,
        ),
        spec=spec,
    )


def _line_at(piece: Piece, x: float, half: float) -> float | None:
    """Where the centre line crosses x, mean of both sides; None where none does."""
    if not piece.cuts:
        return None
    low, high = piece.box()

    def at(s: Floats, y: Floats) -> Floats:
        return np.stack([np.full_like(y, x), y, s], axis=-1)

    both = line_across(piece, at, np.array([half, -half]), low=low[1], high=high[1])
    return float(np.mean(both)) if np.all(np.isfinite(both)) else None
