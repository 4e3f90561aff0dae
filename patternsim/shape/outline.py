"""The outline of a blade: its cutting edge, its spine, its neck and tang.

Frame of the blade: u runs along it, the heel at u = 0 and the tip at u = length; v runs up from
the edge to the spine, with v = 0 at the height of the tip, so that the tip is the point
(length, 0); w runs through the thickness, w = 0 in the middle, the mark side at +w.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# Two ends that are meant to meet may differ by rounding, never by anything a file could show.
_MEET_MM = 1e-9
# The greatest height found on the lines may differ this much from the width that was asked for.
_WIDTH_MM = 1e-6
_ARC_POINTS = 17


def polygon_area(polygon: Floats) -> float:
    """Area enclosed by a closed polygon, positive when it runs counter-clockwise.

    Parameters
    ----------
    polygon : (k, 2) array
        Corners in mm, the last equal to the first.

    Returns
    -------
    float
        Signed area, mm2.
    """
    # Measured from the first corner: products of large numbers would eat digits far from 0.
    x, y = (polygon - polygon[0]).T
    return 0.5 * float(np.dot(x[:-1], y[1:]) - np.dot(x[1:], y[:-1]))


def inside_polygon(polygon: Floats, points: Floats) -> Flags:
    """Which points lie inside a closed polygon, by the even-odd rule.

    Parameters
    ----------
    polygon : (k, 2) array
        Corners in mm, the last equal to the first.
    points : (..., 2) array
        Points in mm.

    Returns
    -------
    (...) bool array
        A point exactly on the polygon may fall on either side.
    """
    x, y = points[..., 0], points[..., 1]
    inside = np.zeros(x.shape, dtype=np.bool_)
    for (x0, y0), (x1, y1) in pairwise(polygon):
        if y0 != y1:
            crossing = x0 + (y - y0) * ((x1 - x0) / (y1 - y0))
            inside ^= ((y0 > y) != (y1 > y)) & (x < crossing)
    return inside


@dataclass(frozen=True, slots=True, kw_only=True)
class Tang:
    """Neck and tang stub behind the heel.

    Attributes
    ----------
    neck_mm, neck_height_mm : float
        Length of the neck (on a hunter or dagger, of the ricasso) and its height, mm.
    tang_mm, tang_height_mm, tang_end_height_mm : float
        Length of the tang stub, its height at the shoulder and at its end, mm.
    choil_radius_mm, shoulder_radius_mm : float
        Inside radii where heel meets neck and where neck meets tang, mm: a sharp inside corner
        is where a blade cracks in the quench.
    hung_from : {'spine', 'centre'}
        Whether the top of the neck carries on the line of the spine, or the neck lies about
        the middle of the heel.

    Raises
    ------
    ValueError
        If a length is not positive or a height or a radius does not fit.
    """

    neck_mm: float
    neck_height_mm: float
    tang_mm: float
    tang_height_mm: float
    tang_end_height_mm: float
    choil_radius_mm: float
    shoulder_radius_mm: float
    hung_from: Literal["spine", "centre"]

    def __post_init__(self) -> None:
        """Refuse sizes that cannot be drawn."""
        tang, neck = self.tang_height_mm, self.neck_height_mm
        step = (neck - tang) / 2.0
        limits = (
            ("neck length", self.neck_mm, 1.0, 200.0, "Choose another neck."),
            ("tang length", self.tang_mm, 5.0, 300.0, "Choose another tang."),
            ("neck height", neck, 3.0, 200.0, "Choose another neck."),
            ("tang height", tang, 2.0, neck, "Make the tang lower or the neck higher."),
            ("tang end height", self.tang_end_height_mm, 1.0, tang, "Let the tang taper."),
            ("choil radius", self.choil_radius_mm, 0.0, self.neck_mm, "Use a smaller radius."),
            ("shoulder radius", self.shoulder_radius_mm, 0.0, step, "Use a smaller radius."),
        )
        for what, value, low, high, remedy in limits:
            if not low <= value <= high:
                raise ValueError(
                    f"The {what} is {value:g} mm; it must be from {low:g} to {high:g} mm. {remedy}"
                )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """Outline of one blade in the blade frame.

    Attributes
    ----------
    name : str
        Slug of the kind of knife, such as 'chef'.
    length_mm : float
        Heel to tip along u, mm.
    width_mm : float
        Greatest height from edge to spine, mm.
    edge : (n, 2) array
        Cutting edge as points (u, v) from heel to tip, mm; read-only. Of a dagger, the lower.
    spine : (m, 2) array
        Spine from heel to tip, mm; read-only. Of a dagger, the upper edge.
    tang : Tang
        Neck and tang stub.

    Raises
    ------
    ValueError
        If the lines do not run from the heel to one tip, turn back, cross, or do not have the
        length and width said.
    """

    name: str
    length_mm: float
    width_mm: float
    edge: Floats = field(repr=False)
    spine: Floats = field(repr=False)
    tang: Tang

    def __post_init__(self) -> None:
        """Take read-only copies of the lines and refuse lines that make no blade."""
        for what in ("edge", "spine"):
            line = np.array(getattr(self, what), dtype=np.float64)
            self._check_line(what, line)
            line.flags.writeable = False
            object.__setattr__(self, what, line)
        stations = self.stations()
        heights = self.height_at(stations)
        if not np.all(heights[:-1] > 0.0):
            place = float(stations[int(np.argmin(heights[:-1]))])
            raise ValueError(
                f"Edge and spine meet or cross {place:g} mm from the heel; the edge must stay "
                "below the spine up to the tip. Lower the edge or raise the spine there."
            )
        widest = float(heights.max())
        if not abs(widest - self.width_mm) <= _WIDTH_MM:
            raise ValueError(
                f"The width is given as {self.width_mm:g} mm but the lines are {widest:g} mm "
                "apart at the widest place. Give the width that was drawn."
            )
        self._check_tang()

    def _check_line(self, what: str, line: Floats) -> None:
        if line.ndim != 2 or line.shape[0] < 2 or line.shape[1] != 2:
            raise ValueError(
                f"The {what} has shape {line.shape}; it must be a list of 2 or more points "
                "(u, v). Draw it from heel to tip."
            )
        if not np.all(np.isfinite(line)) or not np.all(np.diff(line[:, 0]) > 0.0):
            raise ValueError(
                f"The {what} turns back on itself or has a missing number; it must run forward "
                "from heel to tip. Redraw the part that turns back."
            )
        gaps = (line[0, 0], line[-1, 0] - self.length_mm, line[-1, 1])
        if not np.max(np.abs(gaps)) <= _MEET_MM:
            raise ValueError(
                f"The {what} runs from u = {line[0, 0]:g} mm to ({line[-1, 0]:g}, "
                f"{line[-1, 1]:g}) mm; it must run from 0 to the tip at ({self.length_mm:g}, 0). "
                "Move the line so that it starts at the heel and ends at the tip."
            )

    def _check_tang(self) -> None:
        top, bottom = self._neck_heights()
        room = bottom - float(self.edge[0, 1])
        if self.tang.hung_from == "centre":
            room = min(room, float(self.spine[0, 1]) - top)
        if not self.tang.choil_radius_mm <= room:
            highest = self.tang.neck_height_mm + min(room, 0.0)
            raise ValueError(
                f"The neck is {self.tang.neck_height_mm:g} mm high with a choil radius of "
                f"{self.tang.choil_radius_mm:g} mm, and only {room:g} mm are left at the heel "
                f"(limit {highest:g} mm high, no radius). Lower the neck or use a smaller radius."
            )

    def stations(self) -> Floats:
        """Every u at which the edge or the spine has a point, in order, (k,) mm."""
        return np.union1d(self.edge[:, 0], self.spine[:, 0])

    def edge_at(self, u: npt.ArrayLike) -> Floats:
        """Height v of the edge at u, mm; beyond the ends the height of the end."""
        return _follow(u, self.edge[:, 0], self.edge[:, 1])

    def spine_at(self, u: npt.ArrayLike) -> Floats:
        """Height v of the spine at u, mm; beyond the ends the height of the end."""
        return _follow(u, self.spine[:, 0], self.spine[:, 1])

    def height_at(self, u: npt.ArrayLike) -> Floats:
        """Height from edge to spine at u, mm."""
        return self.spine_at(u) - self.edge_at(u)

    def edge_slope_at(self, u: npt.ArrayLike) -> Floats:
        """Slope dv/du of the edge at u, smooth between the points of the line."""
        return _slope(self.edge, u)

    def spine_slope_at(self, u: npt.ArrayLike) -> Floats:
        """Slope dv/du of the spine at u, smooth between the points of the line."""
        return _slope(self.spine, u)

    @property
    def tip(self) -> tuple[float, float]:
        """The point of the blade (u, v), mm."""
        return (self.length_mm, 0.0)

    @property
    def heel(self) -> tuple[float, float]:
        """The corner (u, v) where the cutting edge begins, mm."""
        return (0.0, float(self.edge[0, 1]))

    @property
    def area_mm2(self) -> float:
        """Area of the blade without neck and tang, mm2."""
        return polygon_area(self.polygon())

    @property
    def far_mm(self) -> float:
        """Greatest distance of the blade from the line through the tip at v = 0, mm.

        A bar whose centre line is to run into the tip is at least twice this wide. Neck and
        tang are left out: they can be forged to place.
        """
        return float(max(np.abs(self.edge[:, 1]).max(), np.abs(self.spine[:, 1]).max()))

    @property
    def bounding_box(self) -> tuple[float, float, float, float]:
        """Smallest u, smallest v, greatest u, greatest v of the blade, mm."""
        low, high = float(self.edge[:, 1].min()), float(self.spine[:, 1].max())
        return (0.0, low, self.length_mm, high)

    def polygon(self) -> Floats:
        """Blade without neck and tang, (k, 2) mm, counter-clockwise, last point = first."""
        return np.concatenate((self.edge, self.spine[-2::-1], self.edge[:1]))

    def tang_polygon(self) -> Floats:
        """Neck and tang stub, (k, 2) mm, counter-clockwise, last point = first."""
        behind = self._behind()
        return np.concatenate((behind, behind[:1]))

    def silhouette(self) -> Floats:
        """Blade, neck and tang in one, (k, 2) mm, counter-clockwise, last point = first."""
        behind = self._behind()
        at_spine = self.tang.hung_from == "spine"
        back = self.spine[-2:0:-1] if at_spine else self.spine[-2::-1]
        return np.concatenate((self.edge, back, behind, self.edge[:1]))

    def contains(self, points: npt.ArrayLike, *, tang: bool = False) -> Flags:
        """Which points lie on the blade.

        Parameters
        ----------
        points : (..., 2) array
            Points (u, v), mm.
        tang : bool
            Count neck and tang as well.

        Returns
        -------
        (...) bool array
            Points exactly on the outline of the blade count as inside.
        """
        at = np.asarray(points, dtype=np.float64)
        u, v = at[..., 0], at[..., 1]
        # Both lines run forward only, so the even-odd rule comes down to one comparison each;
        # a picture asks this for millions of points.
        inside: Flags = (u >= 0.0) & (u <= self.length_mm)
        inside = inside & (v >= self.edge_at(u)) & (v <= self.spine_at(u))
        if tang:
            inside = inside | inside_polygon(self.tang_polygon(), at)
        return inside

    def _neck_heights(self) -> tuple[float, float]:
        """Top and bottom of the neck at the heel, mm."""
        edge, spine = float(self.edge[0, 1]), float(self.spine[0, 1])
        height = self.tang.neck_height_mm
        top = spine if self.tang.hung_from == "spine" else (edge + spine + height) / 2.0
        return top, top - height

    def _behind(self) -> Floats:
        """Line round neck and tang from the spine at the heel to the edge at the heel, (k, 2)."""
        tang = self.tang
        top, bottom = self._neck_heights()
        end = -(tang.neck_mm + tang.tang_mm)
        half = tang.tang_height_mm / 2.0
        half_end = tang.tang_end_height_mm / 2.0
        middle = (top + bottom) / 2.0
        choil, shoulder = tang.choil_radius_mm, tang.shoulder_radius_mm
        if tang.hung_from == "spine":
            # The neck carries on the line of the spine, so the back shows no break at the heel.
            rise = float(self.spine_slope_at(0.0)) * tang.neck_mm
            upper = np.array([[0.0, top], [-tang.neck_mm, top - rise]])
        else:
            arc = _inside_arc(0.0, top, choil, up=True)
            upper = np.concatenate((arc, [[-tang.neck_mm, top]]))
        return _without_repeats(
            np.concatenate(
                (
                    upper,
                    _inside_arc(-tang.neck_mm, middle + half, shoulder, up=True),
                    [[end, middle + half_end], [end, middle - half_end]],
                    _inside_arc(-tang.neck_mm, middle - half, shoulder, up=False)[::-1],
                    [[-tang.neck_mm, bottom]],
                    _inside_arc(0.0, bottom, choil, up=False)[::-1],
                )
            )
        )


def _follow(u: npt.ArrayLike, at: Floats, values: Floats) -> Floats:
    return np.asarray(np.interp(np.asarray(u, dtype=np.float64), at, values))


def _slope(line: Floats, u: npt.ArrayLike) -> Floats:
    # Slopes at the points, then straight between: chords alone would light up as facets.
    order: Literal[1, 2] = 2 if line.shape[0] > 2 else 1
    slopes = np.gradient(line[:, 1], line[:, 0], edge_order=order)
    return _follow(u, line[:, 0], slopes)


def _inside_arc(u: float, v: float, radius: float, *, up: bool) -> Floats:
    """Quarter circle from the upright line at u to the level line at v, into the corner."""
    angle = np.linspace(0.0, np.pi / 2.0, _ARC_POINTS)
    away = 1.0 if up else -1.0
    du = radius * (np.cos(angle) - 1.0)
    dv = away * radius * (1.0 - np.sin(angle))
    return np.column_stack((u + du, v + dv))


def _without_repeats(line: Floats) -> Floats:
    moved = np.any(np.abs(np.diff(line, axis=0)) > _MEET_MM, axis=1)
    return line[np.concatenate(([True], moved))]
