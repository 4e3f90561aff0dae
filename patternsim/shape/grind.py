"""The ground surface of a blade: its thickness, its slopes, its volume and mass.

At every station u the bevel rises from the edge in a straight line. With the height x above the
edge (on a dagger, above the nearer edge), the bevel height B and the steepness g = (S - e) / B,
the thickness is t = e + g min(x, B): S at the spine or the ridge, e at the edge. The spine thins
in a straight line from the heel to 10 mm before the tip; over the next few millimetres the bevel
settles to one angle, as it does under the grinder's hand, and the spine runs out to the edge
thickness at the point.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from patternsim.shape.outline import Floats, Outline, polygon_area

Side = Literal["mark-side", "off-side"]

TAPER_END_MM = 10.0
"""Where the thickness near the tip is measured, mm before the tip; common practice, no source."""

STEEL_KG_PER_MM3 = 7.85e-6
"""Density of carbon steel; a usual handbook value for cold plain-carbon steel."""

# How fast the bevel settles to one angle after the end of the taper, mm: without it the light
# would show a crease across the blade that no belt leaves. Common practice, no source.
_SETTLE_MM = 3.0

# Within this height a bevel that runs out at the spine bends over into it instead of breaking,
# mm; for the same reason.
_BLEND_MM = 4.0

# Two Gauss points carry a cubic exactly; from point to point of the outline a section is all but
# a quadratic in u.
_GAUSS = 0.5 / np.sqrt(3.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grind:
    """How a blade is ground.

    Attributes
    ----------
    kind : {'flat', 'dagger'}
        'flat': one bevel a side, from the edge to the spine or to `bevel_height_mm`, above it
        the full spine thickness. 'dagger': two bevels a side, meeting in a ridge midway.
    spine_mm : float
        Thickness of spine or ridge at the heel, mm; neck and tang keep it.
    spine_tip_mm : float
        Thickness of spine or ridge 10 mm before the tip, mm.
    edge_mm : float
        Thickness of the edge before sharpening, mm.
    bevel_height_mm : float, optional
        Height of the bevel above the edge, mm; None grinds up to the spine. Where the blade gets
        lower than this the bevel bends over into the spine within 4 mm of height.

    Raises
    ------
    ValueError
        If the thicknesses make no blade; the message says which, its limit and what to do.
    """

    kind: Literal["flat", "dagger"] = "flat"
    spine_mm: float
    spine_tip_mm: float
    edge_mm: float
    bevel_height_mm: float | None = None

    def __post_init__(self) -> None:
        """Refuse thicknesses that make no blade."""
        if self.kind not in ("flat", "dagger"):
            raise ValueError(f"The grind is {self.kind!r}; it must be 'flat' or 'dagger'.")
        limits = (
            ("spine", self.spine_mm, 0.5, 25.0, "Give the thickness in millimetres."),
            ("spine near the tip", self.spine_tip_mm, 0.2, self.spine_mm, "Let the spine thin."),
            ("edge before sharpening", self.edge_mm, 0.0, self.spine_tip_mm, "Thin the edge."),
        )
        for what, value, low, high, remedy in limits:
            if not low <= value <= high:
                raise ValueError(
                    f"The {what} is {value:g} mm thick; it must be from {low:g} to {high:g} mm. {remedy}"
                )
        self._check_bevel()

    def _check_bevel(self) -> None:
        height = self.bevel_height_mm
        if height is None:
            return
        if self.kind == "dagger":
            raise ValueError(
                f"A dagger is given a bevel height of {height:g} mm; its bevels meet in the ridge. "
                "Leave the bevel height out."
            )
        lowest = (self.spine_mm - self.edge_mm) / 2.0
        if not (height > 0.0 and height >= lowest):
            raise ValueError(
                f"The bevel is {height:g} mm high; below {lowest:g} mm it would be steeper than "
                "45 degrees a side. Grind higher or start from thinner steel."
            )

    def thickness(self, outline: Outline, u: npt.ArrayLike, v: npt.ArrayLike) -> Floats:
        """Thickness of the blade.

        Parameters
        ----------
        outline : Outline
            The blade.
        u, v : (...) arrays
            Place on the blade, mm; they broadcast.

        Returns
        -------
        (...) array
            mm. Off the blade the value of the nearest edge or spine at the same u; behind the
            heel, and so on neck and tang, the spine thickness of the heel.
        """
        u, v = _pair(u, v)
        reach, _ = self._reach(outline, u, v)
        ground = self.edge_mm + self._steepness(outline, u) * reach
        return np.asarray(np.where(u < 0.0, self.spine_mm, ground))

    def surface_w(self, outline: Outline, u: npt.ArrayLike, v: npt.ArrayLike, side: Side) -> Floats:
        """Height w of the ground surface of one side, mm: +t/2 on the mark side, -t/2 on the off.

        Parameters
        ----------
        outline : Outline
            The blade.
        u, v : (...) arrays
            Place on the blade, mm.
        side : {'mark-side', 'off-side'}
            Which side.

        Raises
        ------
        ValueError
            If there is no such side.
        """
        return _sign(side) / 2.0 * self.thickness(outline, u, v)

    def slope(
        self, outline: Outline, u: npt.ArrayLike, v: npt.ArrayLike, side: Side
    ) -> tuple[Floats, Floats]:
        """Slopes of the ground surface of one side.

        Parameters
        ----------
        outline : Outline
            The blade.
        u, v : (...) arrays
            Place on the blade, mm.
        side : {'mark-side', 'off-side'}
            Which side.

        Returns
        -------
        tuple of two (...) arrays
            dw/du and dw/dv, mm per mm. On a ridge or at the top of a bevel the slope of one of
            its two flanks; level behind the heel.

        Raises
        ------
        ValueError
            If there is no such side.
        """
        half = _sign(side) / 2.0
        u, v = _pair(u, v)
        steep, change = self._steepness_and_slope(outline, u)
        reach, rising = self._reach(outline, u, v)
        below = np.where(rising < 0.0, outline.spine_slope_at(u), -outline.edge_slope_at(u))
        # Above the bevel the reach is the bevel height itself, which shrinks towards the tip.
        along = np.where(rising == 0.0, self._bevel_slope(outline, u), np.abs(rising) * below)
        along = np.where(reach > 0.0, along, 0.0)
        on_blade = (u >= 0.0) & (u <= outline.length_mm)
        dw_du = half * (change * reach + steep * along)
        return np.where(on_blade, dw_du, 0.0), np.where(on_blade, half * steep * rising, 0.0)

    def bevel_angle_deg(self, outline: Outline, u: npt.ArrayLike) -> Floats:
        """Angle of the bevel against the middle plane at u, degrees per side.

        Notes
        -----
        atan((S - e) / 2 / B), the common rule for a flat bevel.
        """
        return np.degrees(np.arctan(self._steepness(outline, np.asarray(u, dtype=float)) / 2.0))

    def spine_thickness(self, outline: Outline, u: npt.ArrayLike) -> Floats:
        """Thickness of the spine, on a dagger of the ridge, at u, mm."""
        u = np.asarray(u, dtype=np.float64)
        return self.edge_mm + self._steepness(outline, u) * self._bevel(outline, u)

    def volume_mm3(self, outline: Outline) -> float:
        """Volume of the ground blade without neck and tang, mm3, to 1e-6 of itself."""
        knots = self._knots(outline)
        middle, span = (knots[1:] + knots[:-1]) / 2.0, np.diff(knots)
        places = np.concatenate((middle - _GAUSS * span, middle + _GAUSS * span))
        return float(np.dot(self.section_mm2(outline, places), np.tile(span / 2.0, 2)))

    def section_mm2(self, outline: Outline, u: npt.ArrayLike) -> Floats:
        """Area of the cross-section at u, mm2."""
        u = np.asarray(u, dtype=np.float64)
        height, bevel = outline.height_at(u), self._bevel(outline, u)
        # Of a dagger two triangles; else one under the bevel and the full band above it.
        filled = bevel**2 if self.kind == "dagger" else bevel * (height - bevel / 2.0)
        return self.edge_mm * height + self._steepness(outline, u) * filled

    def tang_volume_mm3(self, outline: Outline) -> float:
        """Volume of neck and tang stub at the spine thickness of the heel, mm3."""
        return self.spine_mm * polygon_area(outline.tang_polygon())

    def mass_kg(self, outline: Outline, density: float = STEEL_KG_PER_MM3) -> float:
        """Mass of the ground blade without neck and tang, kg; density in kg/mm3."""
        return density * self.volume_mm3(outline)

    def _bevel(self, outline: Outline, u: Floats) -> Floats:
        """Height of the bevel at u, mm."""
        height = outline.height_at(u)
        if self.kind == "dagger":
            return height / 2.0
        if self.bevel_height_mm is None:
            return height
        return _lesser(height, self.bevel_height_mm, self._blend(outline))[0]

    def _bevel_slope(self, outline: Outline, u: Floats) -> Floats:
        slope = outline.spine_slope_at(u) - outline.edge_slope_at(u)
        if self.kind == "dagger":
            return slope / 2.0
        if self.bevel_height_mm is None:
            return slope
        height = outline.height_at(u)
        return slope * _lesser(height, self.bevel_height_mm, self._blend(outline))[1]

    def _blend(self, outline: Outline) -> float:
        """Height over which the bevel bends into the spine, mm; the heel keeps its full bevel."""
        over = float(outline.height_at(0.0)) - (self.bevel_height_mm or 0.0)
        return min(max(over, 0.0), _BLEND_MM)

    def _reach(self, outline: Outline, u: Floats, v: Floats) -> tuple[Floats, Floats]:
        """Height above the nearer edge within the bevel, mm, and which way it rises with v."""
        low, bevel = v - outline.edge_at(u), self._bevel(outline, u)
        reach = np.clip(low, 0.0, bevel)
        rising = np.where((low >= 0.0) & (low <= bevel), 1.0, 0.0)
        if self.kind == "dagger":
            high = outline.spine_at(u) - v
            reach = np.clip(np.minimum(low, high), 0.0, bevel)
            rising = np.where((low >= bevel) & (high >= 0.0), -1.0, rising)
        return reach, rising

    def _steepness(self, outline: Outline, u: Floats) -> Floats:
        """Growth of the thickness up the bevel, mm per mm, both sides together."""
        return self._steepness_and_slope(outline, u)[0]

    def _steepness_and_slope(self, outline: Outline, u: Floats) -> tuple[Floats, Floats]:
        """Steepness g of the bevel and its change dg/du."""
        end = _taper_end(outline)
        held = np.clip(u, 0.0, end)
        bevel = self._bevel(outline, held)
        thinning = (self.spine_tip_mm - self.spine_mm) / end
        steep = (self.spine_mm + thinning * held - self.edge_mm) / bevel
        change = (thinning - steep * self._bevel_slope(outline, held)) / bevel
        # Only a growing steepness runs on: a falling one could pass through zero.
        run_on = np.exp(-np.maximum(u - held, 0.0) / _SETTLE_MM) * np.maximum(change, 0.0)
        settled = steep + _SETTLE_MM * (np.maximum(change, 0.0) - run_on)
        past = u > end
        return np.where(past, settled, steep), np.where(past, run_on, change)

    def _knots(self, outline: Outline) -> Floats:
        """Stations between which edge and spine are straight, and the end of the taper, (k,)."""
        return np.union1d(outline.stations(), [_taper_end(outline)])


# Defaults: common practice, no source.
GRINDS: dict[str, Grind] = {
    "chef": Grind(spine_mm=3.0, spine_tip_mm=1.0, edge_mm=0.3),
    "hunter": Grind(spine_mm=3.6, spine_tip_mm=1.5, edge_mm=0.4, bevel_height_mm=22.0),
    "dagger": Grind(kind="dagger", spine_mm=5.5, spine_tip_mm=1.5, edge_mm=0.5),
}
"""Usual grind by the slug of the profile."""


def _pair(u: npt.ArrayLike, v: npt.ArrayLike) -> tuple[Floats, Floats]:
    along, up = np.broadcast_arrays(np.asarray(u, dtype=np.float64), np.asarray(v, dtype=np.float64))
    return along, up


def _taper_end(outline: Outline) -> float:
    """Station where the straight taper of the spine ends, mm."""
    end = outline.length_mm - TAPER_END_MM
    if end <= 0.0:
        raise ValueError(
            f"The blade is {outline.length_mm:g} mm long; the taper of the spine ends "
            f"{TAPER_END_MM:g} mm before the tip. Draw a longer blade."
        )
    return end


def _lesser(height: Floats, limit: float, blend: float) -> tuple[Floats, Floats]:
    """Lesser of height and limit with a parabola over the break, and its slope by the height."""
    over = height - limit
    near = np.zeros_like(over) if blend == 0.0 else np.clip(1.0 - np.abs(over) / blend, 0.0, 1.0)
    lesser = np.minimum(height, limit) - near**2 * (blend / 4.0)
    return lesser, np.where(over < 0.0, 1.0 - near / 2.0, near / 2.0)


def _sign(side: str) -> float:
    if side not in ("mark-side", "off-side"):
        raise ValueError(f"There is no side {side!r}; ask for 'mark-side' or 'off-side'.")
    return 1.0 if side == "mark-side" else -1.0
