"""What lies on the bench: face, tip, barbs, sections, billet."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from patternsim_app.shown.basics import Grade, Points, Pose, Rgba, Units


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TipShown:
    """The tip gauge: a window on the tip, enlarged.

    Attributes
    ----------
    picture : Rgba or None
    pixels_per_mm : float
        Of the picture.
    centre : (x, y)
        Pixel of the tip in the picture.
    outline, line : tuple of (along, across) mm
        From the tip: along the blade away from the tip is negative, across is towards the spine.
        `line` is empty where no centre line runs there.
    offset_mm : float or None
        Where the centre line passes the tip, positive towards the spine.
    allowed_mm : float
        Half the width of the band that counts as on.
    tip_right : bool
        The tip points right in the picture.
    words : str
        'mark side: on, the line passes 0.4 mm to the spine side'.
    grade : str
    units : str
        Of the scale on the plate: 'mm' or 'in'.
    """

    picture: Rgba | None
    pixels_per_mm: float
    centre: tuple[float, float]
    outline: tuple[tuple[float, float], ...]
    line: tuple[tuple[float, float], ...]
    offset_mm: float | None
    allowed_mm: float
    tip_right: bool
    words: str
    grade: Grade
    units: Units = "mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class BarbsShown:
    """Which way the barbs lean.

    Attributes
    ----------
    towards : str
        'tip', 'handle', 'mixed' or 'none'.
    angle_deg : float or None
        To the centre line, half way out.
    tip_right : bool
        So that the chevron points as the picture does.
    turns_at_mm : tuple of float
        Places, mm from the tip, where the lean turns round.
    words : tuple of str
        A headline and further lines.
    grade : str
    """

    towards: Literal["tip", "handle", "mixed", "none"]
    angle_deg: float | None
    tip_right: bool
    turns_at_mm: tuple[float, ...]
    words: tuple[str, ...]
    grade: Grade


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StationShown:
    """A section at one station.

    Attributes
    ----------
    picture : Rgba
    caption : str
        'at 80 mm'; the heading says from where.
    size_mm : (float, float)
        Width and height the picture stands for.
    thick : float
        How many times thicker than true it is drawn; 1 for true shape.
    """

    picture: Rgba
    caption: str
    size_mm: tuple[float, float]
    thick: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkShown:
    """A chisel mark on the billet: name and place (x, y, z) mm; on which face, and lost or not."""

    name: str
    at: tuple[float, float, float]
    face: Literal["mark-side", "off-side", "low-edge", "high-edge", "near-end", "far-end"]
    lost: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OutlineShown:
    """A closed line round steel on the mark side, mm, steel on its left; and the wall under it.

    The wall's picture runs evenly along the line, from the mark side down.
    """

    points: Points
    wall: Rgba


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BilletShown:
    """A piece as it lies on the die.

    Attributes
    ----------
    size : (x, y, z) mm
        As it is measured; of a split piece as it is closed.
    top, side, end : Rgba
        Its mark side (x to the right, y up), its low edge seen from -y (x to the right, z up) and its
        far end seen from +x (y to the right, z up).
    marks : tuple of MarkShown
    pieces : int
        How many like it there are.
    words : str
        '48 layers, 0.31 kg each'. Ready to be shown.
    spoken : str
    notes : tuple of str
        What is rough or not modelled.
    pose : str
        'lying', 'standing' (the far end up) or 'head-down' (the near end up).
    box : two corners, mm, or None
        Round the piece; None where the piece fills the box of its size.
    outlines : tuple of OutlineShown
        The true shape where the piece does not fill its box; empty else.
    profile : tuple of (x, half the thickness) mm
        Of a piece with outlines: its thickness along it, straight between.
    shape : str
        'straight'; 'bent': its length is measured along the bend; 'tapered': its width and thickness
        are those of its full end.
    wedge : (x, y) mm or None
        Where a wedge went in, between halves that stand open.
    """

    size: tuple[float, float, float]
    top: Rgba
    side: Rgba
    end: Rgba
    marks: tuple[MarkShown, ...]
    pieces: int
    words: str
    spoken: str
    notes: tuple[str, ...] = ()
    pose: Pose = "lying"
    box: tuple[tuple[float, float, float], tuple[float, float, float]] | None = None
    outlines: tuple[OutlineShown, ...] = ()
    profile: tuple[tuple[float, float], ...] = ()
    shape: Literal["straight", "bent", "tapered"] = "straight"
    wedge: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Legend:
    """What the colours of the layer drawing stand for: (letter, steel, '#rrggbb')."""

    steels: tuple[tuple[str, str, str], ...] = field(default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """Which part of the face, and how large, a picture shows.

    Attributes
    ----------
    left_mm, top_mm : float
        x and y of the bar at the upper left corner.
    pixels_per_mm : float
    width, height : int
        Pixels.
    mirrored : bool
        Seen from the off side: x runs to the left.
    """

    left_mm: float
    top_mm: float
    pixels_per_mm: float
    width: int
    height: int
    mirrored: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FacePicture:
    """A picture of the face: the bar's skin and, over it, the ground blade.

    `draft` where it is to be replaced by a better one soon.
    """

    patch: Patch
    bar: Rgba
    blade: Rgba | None
    draft: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceShown:
    """What lies on the face besides its picture, all in mm of the bar.

    Attributes
    ----------
    box : (x0, y0, x1, y1)
        Of the bar.
    outline, silhouette : points
        Closed lines of the blade, and of the blade with its tang; empty where there is no blade.
    tip, heel, belly : (x, y)
        Where the grips are.
    line : points
        The centre line; empty where there is none.
    allowance_mm : float
        Wanted round the outline.
    lacking : tuple of (first point, last point, mm)
        Stretches of `outline` that lack allowance.
    tang_lacking : tuple of (first point, last point, mm)
        Stretches of `silhouette` beyond the ends of the bar.
    length_mm : float
        Of the blade, for the ruler.
    spoken : str
        The whole face in one sentence.
    """

    box: tuple[float, float, float, float]
    outline: Points = ()
    silhouette: Points = ()
    tip: tuple[float, float] = (0.0, 0.0)
    heel: tuple[float, float] = (0.0, 0.0)
    belly: tuple[float, float] = (0.0, 0.0)
    line: Points = ()
    allowance_mm: float = 0.0
    lacking: tuple[tuple[int, int, float], ...] = ()
    tang_lacking: tuple[tuple[int, int, float], ...] = ()
    length_mm: float = 0.0
    spoken: str = ""
