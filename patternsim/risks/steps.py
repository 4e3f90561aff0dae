"""Findings about steps."""

from __future__ import annotations

from patternsim.risks.finding import Finding
from patternsim.wording import told_mm

SKETCH = "rough-step"
"""Finding of a step that is drawn by a stand-in: said, but no risk of the forge."""


def mark_lost(step: str, name: str) -> Finding:
    """A chisel mark can no longer be seen."""
    return Finding(
        code="mark-lost",
        step=step,
        level="watch",
        place=f"mark {name}",
        text=f"The mark {name} is gone after this step: ground, sawn, scaled off or welded over.",
        remedy="Make it again before this step, where it stays in sight.",
        source="geometry; layers cannot be seen at heat",
    )


def rough_step(step: str, why: str) -> Finding:
    """A step is drawn by a stand-in."""
    return Finding(
        code=SKETCH,
        step=step,
        level="note",
        place="section",
        text=f"This step is a sketch: {why}.",
        remedy="Do not read it closely; etch a slice of the real bar after it.",
        source="fitted to the computed flow of steel; no real steel was measured",
    )


def mark_set_aside(step: str, name: str, offcut: str) -> Finding:
    """A chisel mark leaves with an off-cut."""
    return Finding(
        code="mark-set-aside",
        step=step,
        level="watch",
        place=f"mark {name}",
        text=f"The mark {name} goes with the off-cut {offcut}: the bar has it no more.",
        remedy="Make it again on what is left of the bar, before this step.",
        source="geometry; layers cannot be seen at heat",
    )


def notch_left(step: str, left_mm: float) -> Finding:
    """The crop is shallower than the notch of the wedge."""
    return Finding(
        code="notch-left",
        step=step,
        level="watch",
        place="entry end",
        value=left_mm,
        limit=0.0,
        unit="mm",
        text=f"The notch of the wedge reaches {told_mm(left_mm)} deeper than this crop.",
        remedy=f"Crop {left_mm + 3.0:.0f} mm more (the notch and 3 mm); until then up to 1 % of the "
        "steel counted is not there.",
        source="common practice, no source; depth of the notch as the split is worked out",
    )


def unknown_acceptance(code: str) -> Finding:
    """The job accepts a finding there is none of."""
    return Finding(
        code="unknown-acceptance",
        level="note",
        place="job",
        text=f'The job accepts "{code}", but nothing of that name was found.',
        remedy="Mend its spelling, or take it out.",
        source="as the job says",
    )
