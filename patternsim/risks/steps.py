"""Findings about steps."""

from __future__ import annotations

from patternsim.risks.finding import Finding
from patternsim.wording import force_words, told_mm

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


def gaps_left(step: str, gap_mm2: float, share: float) -> Finding:
    """Pieces that are not flat where they meet were laid together."""
    return Finding(
        code="gap-in-stack",
        step=step,
        level="watch",
        place="where pieces meet",
        value=gap_mm2,
        limit=0.0,
        unit="mm2",
        text=f"Round corners and bulged sides leave gaps of {gap_mm2:.1f} mm2 in the section of this "
        f"stack, {100.0 * share:.1f} % of it.",
        remedy="Grind edges and faces of the pieces farther down before this step, or square the bar in "
        "more passes; whether a gap closes under the press is not worked out: it stays open here.",
        source="outlines as the flow of the steel leaves them",
    )


def too_much_force(step: str, force_kn: float, limit_kn: float, bite_mm: float) -> Finding:
    """A step asks for more than the press gives."""
    fits = max(bite_mm * limit_kn / force_kn, 1.0)
    return Finding(
        code="force-beyond-press",
        step=step,
        level="watch",
        place="under the dies",
        value=force_kn,
        limit=limit_kn,
        unit="kN",
        text=f"The press gives {limit_kn:.0f} kN; this step asks for {force_words(force_kn)} with "
        f"{told_mm(bite_mm)} of steel under the dies.",
        remedy=f"Take {told_mm(fits)} at a time and more heats, or work it hotter.",
        source="flow of the steel; hot strength by Shida 1969, Misaka and Yoshimoto 1967",
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
