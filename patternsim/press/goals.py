"""What is asked of a press: once down to a size, drawn to two sizes, corners crushed, pressed on end."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Squeeze:
    """Press once along one axis of the section.

    Attributes
    ----------
    to : float, mm
        Die gap at the end.
    sideways : float
        Share of the squeeze that goes sideways in the plane (ln ratio over ln ratio), the rest into
        the third axis. 1: plane strain.
    turned : bool
        The stroke runs along the first axis of the plane instead of the second.
    width : float or None, mm
        Size across that edge blows hold the steel to; None: it is left as it comes.
    bite : float, mm
        Length of steel under the die.
    tilt_deg, lean_deg : float
        The top die out of parallel; the stack out of upright.
    bow_mm : float
        How far the middle of the stack stands out of line before it is pressed.
    """

    to: float
    sideways: float
    turned: bool = False
    width: float | None = None
    bite: float
    tilt_deg: float = 0.0
    lean_deg: float = 0.0
    bow_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """Press down to two sizes by passes turned a quarter.

    Attributes
    ----------
    width, thickness : float, mm
        Die gaps at the end along the first and the second axis of the plane.
    bite : float, mm
    """

    width: float
    thickness: float
    bite: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Corners:
    """Press a square on its corners, both ways, until the new flats are `flat` mm wide."""

    flat: float
    bite: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Grooves:
    """Press grooves with a round die, one after another, across the first axis of the plane.

    Attributes
    ----------
    places : tuple of float, mm
        Along the first axis, from its low end, as the steel lies before.
    depth, radius : float, mm
        Of each groove; of the die.
    faces : str
        'both', 'mark-side', 'off-side' or 'alternate'. Against one face the other lies on a flat die.
    """

    places: tuple[float, ...]
    depth: float
    radius: float
    faces: str


Goal = Squeeze | Draw | Corners | Grooves


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What a pass asks of the press.

    Attributes
    ----------
    width : float, mm
        Largest force per length of bar, over the flow stress at the mean rate of the pass.
    height : float, mm
        Between the dies at the end: speed over height is the rate.
    strain : float
        Mean strain of the pass.
    """

    width: float
    height: float
    strain: float
