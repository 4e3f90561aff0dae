"""Findings about the blade in its piece."""

from __future__ import annotations

from patternsim.risks.finding import Finding, Grade
from patternsim.wording import percent, told_mm

PRACTICE = "common practice, no source"


def line_misses_tip(offset_mm: float, limit_mm: float, level: Grade, side: str) -> Finding:
    """The centre line runs out beside the tip."""
    where = "spine" if offset_mm > 0 else "edge"
    return Finding(
        code="line-misses-tip",
        level=level,
        place=f"tip, {side.replace('-', ' ')}",
        value=offset_mm,
        limit=limit_mm,
        unit="mm",
        text=f"The centre line passes the tip {told_mm(abs(offset_mm))} towards the {where}.",
        remedy='Lay the tip on the line (place.tip = "on-line"), turn the outline, or split off centre.',
        source=PRACTICE,
    )


def no_line_at_tip() -> Finding:
    """No centre line reaches the tip."""
    return Finding(
        code="no-line-at-tip",
        level="stop",
        place="tip",
        unit="mm",
        text="No centre line reaches the tip on both sides.",
        remedy="Point the tip to the end where the wedge went in, or split deeper.",
        source=PRACTICE,
    )


def sides_disagree(apart_mm: float, limit_mm: float) -> Finding:
    """The line of one side misses that of the other."""
    return Finding(
        code="sides-disagree",
        level="watch",
        place="tip",
        value=apart_mm,
        limit=limit_mm,
        unit="mm",
        text=f"The centre lines of the two sides lie {told_mm(apart_mm)} apart at the tip.",
        remedy="Set the wedge square to the face: it leans through the thickness.",
        source=PRACTICE,
    )


def _barb_words(word: str) -> str:
    return {"tip": "to the tip", "handle": "to the handle", "mixed": "both ways"}.get(word, "none")


def barbs_wrong_way(wanted: str, towards: str) -> Finding:
    """The barbs lean the other way, or both ways."""
    return Finding(
        code="barbs-wrong-way",
        level="watch",
        place="blade",
        text=f"Barbs wanted: {_barb_words(wanted)}; they lean: {_barb_words(towards)}.",
        remedy="Turn the outline end for end in the bar, or drive the wedge from the other end.",
        source="geometry: layers are dragged the way the wedge runs",
    )


def outline_beyond_bar(beyond_mm: float) -> Finding:
    """The outline does not fit the bar."""
    return Finding(
        code="outline-beyond-bar",
        level="stop",
        place="outline",
        value=beyond_mm,
        limit=0.0,
        unit="mm",
        text=f"The outline reaches {told_mm(beyond_mm)} beyond the bar.",
        remedy="Draw the bar longer or wider, move the outline, or choose a smaller blade.",
        source="geometry",
    )


def outline_off_steel(share: float) -> Finding:
    """Part of the outline lies where there is no steel."""
    return Finding(
        code="outline-off-steel",
        level="stop",
        place="outline",
        value=share * 100.0,
        limit=0.0,
        unit="%",
        text=f"{percent(share, 1)} of the face lies where there is no steel: beside the bar, or in a "
        "notch.",
        remedy="Move the outline, crop more off the end where a wedge went in, or draw the bar wider.",
        source="geometry",
    )


def uncut_in_blade(length_mm: float, limit_mm: float) -> Finding:
    """The uncut end lies inside the blade."""
    return Finding(
        code="uncut-in-blade",
        level="watch",
        place="blade",
        value=length_mm,
        limit=limit_mm,
        unit="mm",
        text=f"{length_mm:.0f} mm of the blade have no centre line: the uncut end lies inside it.",
        remedy="Move the outline towards the tip end, leave less uncut, or crop more there.",
        source="by eye, no source",
    )


def too_little_steel(size: str, spare_mm: float, level: Grade) -> Finding:
    """The bar is too small for the blade and its allowances."""
    return Finding(
        code=f"too-little-{size}",
        level=level,
        place="bar",
        value=spare_mm,
        limit=0.0,
        unit="mm",
        text=f"The bar lacks {told_mm(-spare_mm)} of {size} for blade, tang and allowances.",
        remedy="Start with more steel, lose less (fewer heats, less cropped), or a smaller blade.",
        source="volume is kept; losses as the shop gives them",
    )


def not_sound(*, open_cut: bool) -> Finding:
    """The blade is to come from steel that is not welded."""
    what = "its split stands open" if open_cut else "its strips or pieces are loose"
    return Finding(
        code="not-welded",
        level="stop",
        place="bar",
        text=f"The steel the blade is cut from is not welded: {what}.",
        remedy="Close and weld the split." if open_cut else "Forge-weld it.",
        source="as the steps of the job leave it",
    )


def no_feather() -> Finding:
    """Barbs are wanted of steel that was never split."""
    return Finding(
        code="no-feather",
        level="watch",
        place="blade",
        text="Barbs are wanted, but the steel was never split: there is no feather on this blade.",
        remedy='Add a split, or say barbs = "none" for this blade.',
        source="as the steps of the job leave it",
    )


def near_an_edge(near_mm: float, allowance_mm: float) -> Finding:
    """The outline lies too near an edge of a bar that is wide enough."""
    return Finding(
        code="near-an-edge",
        level="watch",
        place="outline",
        value=near_mm,
        limit=allowance_mm,
        unit="mm",
        text=f"The outline comes within {told_mm(near_mm)} of an edge of the bar; "
        f"{allowance_mm:g} mm are wanted.",
        remedy=f"Move the outline {told_mm(allowance_mm - near_mm)} away from it; the bar is wide "
        "enough.",
        source=PRACTICE,
    )
