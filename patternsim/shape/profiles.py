"""Blade profiles drawn from a few numbers.

Each line of a profile is a straight followed by one cubic that leaves the straight with no
curvature, so that the only corners of a blade are the heel and the tip. All default sizes and
shares are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from patternsim.shape.outline import Floats, Outline, Tang

# Points this far apart leave less than 0.005 mm between chord and curve at a 10 mm radius.
_SPACING_MM = 0.5
_MEET_MM = 0.01
# Where the second control point lies on the way to the third. Here the curvature of the usual
# lines grows from nothing and does not fall again before the tip.
_EASE = 0.36
# Limits of the sizes: outside them the numbers are a slip of the unit, not a blade.
_LENGTH_MM = (40.0, 1000.0)
_WIDTH_MM = 8.0
_FULLNESS = (1.6, 3.0)


def chef_knife(
    *,
    length_mm: float = 210.0,
    width_mm: float = 46.0,
    tip_height_mm: float = 20.0,
    flat_mm: float | None = None,
    spine_straight_mm: float | None = None,
    spine_fall_mm: float | None = None,
    belly: float = 2.8,
    point: float = 2.6,
    neck_mm: float = 12.0,
    tang_mm: float = 40.0,
) -> Outline:
    """Chef's knife: flat at the heel, fair belly, back falling gently to the tip.

    Parameters
    ----------
    length_mm, width_mm : float
        Heel to tip, and edge to spine at the heel, mm.
    tip_height_mm : float
        Height of the tip above the line of the flat, mm.
    flat_mm : float, optional
        Length of the straight part of the edge from the heel, mm; 0.28 of the length.
    spine_straight_mm : float, optional
        Length of the straight part of the spine, mm; 0.44 of the length.
    spine_fall_mm : float, optional
        How far the straight of the spine, drawn on, has come down over the length of the blade,
        mm; 0.20 of the height of the heel's spine above the tip.
    belly, point : float
        How steeply edge and spine run into the tip, against their mean slope over the curve:
        1.6 a long even curve, 3 straight for long and then quickly up or down.
    neck_mm, tang_mm : float
        Length of neck and tang stub, mm.

    Raises
    ------
    ValueError
        If the numbers make no such knife; the message says which, its limit and what to do.

    Defaults are common practice, without a source.
    """
    _check_size(length_mm, width_mm)
    _check("tip height", tip_height_mm, 0.1 * width_mm, 0.9 * width_mm, "Move the tip.")
    above = width_mm - tip_height_mm
    flat = _share(flat_mm, 0.28, length_mm)
    straight = _share(spine_straight_mm, 0.44, length_mm)
    fall = _share(spine_fall_mm, 0.20, above)
    _check("flat", flat, 0.0, 0.85 * length_mm, "Shorten the flat.")
    _check("straight of the spine", straight, 0.0, 0.85 * length_mm, "Shorten the straight.")
    _check("fall of the spine", fall, 0.0, 0.8 * above, "Let the spine fall less.")
    neck_height = 0.42 * width_mm
    return Outline(
        name="chef",
        length_mm=length_mm,
        width_mm=width_mm,
        edge=_line(-tip_height_mm, 0.0, flat, length_mm, belly, "belly"),
        spine=_line(above, -fall / length_mm, straight, length_mm, point, "point"),
        tang=_tang(neck_mm, neck_height, tang_mm, 0.13 * width_mm),
    )


def drop_point_hunter(
    *,
    length_mm: float = 100.0,
    width_mm: float = 28.0,
    tip_drop_mm: float | None = None,
    flat_mm: float | None = None,
    spine_straight_mm: float | None = None,
    belly: float = 2.6,
    point: float = 2.4,
    neck_mm: float = 12.0,
    tang_mm: float = 40.0,
) -> Outline:
    """Drop-point hunter: full belly, the back dropping in one convex curve to the point.

    Parameters
    ----------
    length_mm, width_mm : float
        Heel to tip, and edge to spine at the heel, mm.
    tip_drop_mm : float, optional
        How far the tip lies below the line of the spine, mm; 0.25 of the width.
    flat_mm : float, optional
        Length of the straight part of the edge from the heel, mm; 0.30 of the length.
    spine_straight_mm : float, optional
        Length of the straight part of the spine, mm; 0.40 of the length.
    belly, point : float
        How steeply edge and spine run into the tip, as for `chef_knife`.
    neck_mm, tang_mm : float
        Length of ricasso and tang stub, mm.

    Returns
    -------
    Outline
        Named 'hunter'.

    Raises
    ------
    ValueError
        If the numbers make no such knife; the message says which, its limit and what to do.

    Notes
    -----
    Defaults: common practice, no source.
    """
    _check_size(length_mm, width_mm)
    drop = _share(tip_drop_mm, 0.25, width_mm)
    flat = _share(flat_mm, 0.30, length_mm)
    straight = _share(spine_straight_mm, 0.40, length_mm)
    _check("drop of the tip", drop, 0.05 * width_mm, 0.6 * width_mm, "Move the tip.")
    _check("flat", flat, 0.0, 0.85 * length_mm, "Shorten the flat.")
    _check("straight of the spine", straight, 0.0, 0.85 * length_mm, "Shorten the straight.")
    return Outline(
        name="hunter",
        length_mm=length_mm,
        width_mm=width_mm,
        edge=_line(drop - width_mm, 0.0, flat, length_mm, belly, "belly"),
        spine=_line(drop, 0.0, straight, length_mm, point, "point"),
        tang=_tang(neck_mm, 0.86 * width_mm, tang_mm, 0.09 * width_mm),
    )


def dagger(
    *,
    length_mm: float = 180.0,
    width_mm: float = 30.0,
    point_mm: float | None = None,
    taper: float = 0.57,
    point: float = 2.4,
    neck_mm: float = 12.0,
    tang_mm: float = 40.0,
) -> Outline:
    """Dagger: two edges alike, straight in taper, then fair to the point.

    Parameters
    ----------
    length_mm, width_mm : float
        Heel to tip, and edge to edge at the heel, mm.
    point_mm : float, optional
        Length of the curved part before the tip, mm; 0.34 of the length.
    taper : float
        Width where the curved part begins, as a share of the width at the heel.
    point : float
        How steeply the edges run into the tip, as for `chef_knife`.
    neck_mm, tang_mm : float
        Length of ricasso and tang stub, mm.

    Returns
    -------
    Outline
        Named 'dagger'; `edge` is the lower edge and `spine` the upper.

    Raises
    ------
    ValueError
        If the numbers make no such blade; the message says which, its limit and what to do.

    Notes
    -----
    Defaults: common practice, no source.
    """
    _check_size(length_mm, width_mm)
    curved = _share(point_mm, 0.34, length_mm)
    _check("length of the point", curved, 0.1 * length_mm, 0.9 * length_mm, "Move its start.")
    # Below the lower limit the straights, drawn on, would cross before the tip: a hollow point.
    lowest = 1.05 * curved / length_mm
    _check("taper", taper, lowest, 1.0, "Keep more width or shorten the point.", unit="")
    straight = length_mm - curved
    slope = -(1.0 - taper) * width_mm / 2.0 / straight
    upper = _line(width_mm / 2.0, slope, straight, length_mm, point, "point")
    return Outline(
        name="dagger",
        length_mm=length_mm,
        width_mm=width_mm,
        edge=upper * (1.0, -1.0),
        spine=upper,
        tang=_tang(neck_mm, 0.62 * width_mm, tang_mm, 0.08 * width_mm, centred=True),
    )


PROFILES: dict[str, Callable[..., Outline]] = {
    "chef": chef_knife,
    "hunter": drop_point_hunter,
    "dagger": dagger,
}
"""Profile by its slug; every profile can be drawn without giving a number."""


def _line(
    heel_v: float, slope: float, straight: float, length: float, fullness: float, what: str
) -> Floats:
    """One line from the heel at (0, heel_v) to the tip at (length, 0), (n, 2) mm."""
    _check(what, fullness, *_FULLNESS, "Choose a number between.", unit="")
    # A straight too short to be seen would put two points on one another.
    straight = straight if straight > _MEET_MM else 0.0
    span = length - straight
    third = 1.0 - 1.0 / fullness
    # The first three control points lie on the straight: no bend and no curvature at the join.
    u = straight + span * np.array([0.0, _EASE * third, third, 1.0])
    v = heel_v + slope * u
    v[3] = 0.0
    steps = int(np.ceil(np.hypot(span, abs(heel_v)) / _SPACING_MM))
    t = np.linspace(0.0, 1.0, steps + 1)[1:]
    s = 1.0 - t
    weights = np.column_stack((s**3, 3.0 * s**2 * t, 3.0 * s * t**2, t**3))
    curve = weights @ np.column_stack((u, v))
    before = np.linspace(0.0, straight, int(np.ceil(straight / _SPACING_MM)) + 1)
    line = np.concatenate((np.column_stack((before, heel_v + slope * before)), curve))
    line[-1] = (length, 0.0)
    return line


def _tang(neck: float, neck_height: float, tang: float, choil: float, *, centred: bool = False) -> Tang:
    """Neck and tang in the usual proportions to a neck of this size; common practice, no source."""
    tang_height = 0.6 * neck_height
    return Tang(
        neck_mm=neck,
        neck_height_mm=neck_height,
        tang_mm=tang,
        tang_height_mm=tang_height,
        tang_end_height_mm=0.75 * tang_height,
        choil_radius_mm=min(choil, neck),
        shoulder_radius_mm=min(1.5, 0.15 * neck_height),
        hung_from="centre" if centred else "spine",
    )


def _share(value: float | None, share: float, of: float) -> float:
    return share * of if value is None else value


def _check_size(length: float, width: float) -> None:
    _check("length", length, *_LENGTH_MM, "Give the blade in millimetres.")
    _check("width", width, max(_WIDTH_MM, 0.05 * length), 0.6 * length, "Check width against length.")


def _check(what: str, value: float, low: float, high: float, remedy: str, *, unit: str = " mm") -> None:
    # Asked this way round, a missing number (nan) is refused as well.
    if not low <= value <= high:
        raise ValueError(
            f"The {what} is {value:g}{unit}; it must be from {low:g} to {high:g}{unit}. {remedy}"
        )
