"""The tip gauge and the barbs' sign, worked out in the background: plain functions, without Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patternsim.progress import Progress
from patternsim.sizes import format_off
from patternsim.wording import SIDE_WORDS
from patternsim_app.shown import BarbsShown, Grade, TipShown, Units
from patternsim_app.tasks import Lying

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from patternsim.answers import Answers
    from patternsim.knife.placement import PlacedBlade
    from patternsim.shape.grind import Side

BACK_MM, AHEAD_MM, ACROSS_MM = 17.0, 6.0, 5.5
"""The gauge looks so far back along the blade, ahead of it, and to each side."""
PX_PER_MM = 18.0
MEETS_MM = 0.05
"""A line that passes nearer than this is told to meet the tip: it would be told 0.0 mm off."""
GRADES: dict[str, Grade] = {"on": "fine", "near": "watch", "off": "stop"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TipGiven:
    """A blade whose tip is looked at. `tip_right`: the tip points right on the face."""

    lying: Lying
    side: Side
    tip_right: bool
    draft: bool = False
    units: Units = "mm"


def draw_tip(given: TipGiven, progress: Progress) -> TipShown | None:
    """Draw the tip gauge of one side; None where there is no blade."""
    import numpy as np

    from patternsim.answers import line_on
    from patternsim.answers.tip import ON_MM, judge
    from patternsim.knife.placement import placed
    from patternsim.pictures.bench import DRAFT_FINE, grey
    from patternsim.pictures.face import View, etched_face

    if given.lying.spec is None:
        return None
    blade = placed(given.lying.spec, given.lying.piece)
    outline, length = blade.outline, blade.outline.length_mm
    stations = np.linspace(length - BACK_MM, length, 69)
    line = line_on(blade, given.side, stations)
    there = np.isfinite(line)
    offset = float(line[-1]) if there[-1] else None
    scale = PX_PER_MM / (2.0 if given.draft else 1.0)
    wide, high = round((BACK_MM + AHEAD_MM) * scale), round(2 * ACROSS_MM * scale)
    mirrored = not given.tip_right
    centre = ((AHEAD_MM if mirrored else BACK_MM) * scale, ACROSS_MM * scale)
    sign = -1.0 if mirrored else 1.0
    view = View(
        pixels_per_mm=scale, left=centre[0] - sign * length * scale, top=centre[1], mirrored=mirrored
    )
    extra = {"fine": DRAFT_FINE, "shade_every": 4} if given.draft else {}
    light, cover = etched_face(
        blade, given.side, view, (high, wide), shaft_mm=given.lying.shaft_mm, progress=progress,
        **extra,
    )  # fmt: skip
    shaft = given.lying.shaft_mm
    body = outline.polygon()
    near = body[body[:, 0] >= length - BACK_MM - 2.0]
    return TipShown(
        picture=grey(light, cover),
        pixels_per_mm=scale,
        centre=centre,
        outline=tuple((float(u) - length, float(v)) for u, v in _in_turn(near)),
        line=tuple(
            (float(u) - length, float(v)) for u, v in zip(stations[there], line[there], strict=True)
        ),
        offset_mm=offset,
        allowed_mm=max(ON_MM, shaft / 2),
        tip_right=given.tip_right,
        words=_tip_words(offset, blade, given.side, shaft, given.units),
        units=given.units,
        grade="unknown" if offset is None else GRADES[judge(offset, shaft)],
    )


def _in_turn(line: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the points of the outline near the tip from one side over the tip to the other."""
    import numpy as np

    tip = int(np.argmax(line[:, 0]))
    upper = line[line[:, 1] > line[tip, 1]]
    lower = line[line[:, 1] <= line[tip, 1]]
    return np.concatenate((upper[np.argsort(upper[:, 0])], lower[np.argsort(-lower[:, 0])]))


def _tip_words(offset: float | None, blade: PlacedBlade, side: Side, shaft: float, units: Units) -> str:
    """Return one sentence: whether it is on, by how much the line passes the tip, and on which side."""
    from patternsim.answers.tip import judge

    where = SIDE_WORDS[side]
    if offset is None:
        reason = "no centre line here" if blade.piece.cuts else "no feather in this bar"
        return f"{where}: {reason}"
    off = format_off(abs(offset), units)
    if abs(offset) < MEETS_MM:
        return f"{where}: on the line, {off} off"
    towards = "spine" if offset > 0 else "edge"
    return f"{where}: {judge(offset, shaft)}, the line passes {off} to the {towards} side"


def barbs_shown(found: Answers, *, tip_right: bool, units: Units = "mm") -> BarbsShown | None:
    """Return the barbs' sign from the answers, judged and put as their tile is; None without a blade."""
    from patternsim.glance import glance

    barbs = found.barbs
    if barbs is None:
        return None
    tile = next(one for one in glance(found, units=units) if one.key == "barbs")
    headline = "No barbs" if barbs.towards == "none" else f"Barbs {tile.headline}"
    return BarbsShown(
        towards=barbs.towards,
        angle_deg=barbs.angle_deg,
        tip_right=tip_right,
        turns_at_mm=(),
        words=(headline, tile.detail),
        grade=tile.grade,
    )
