"""Findings about steps."""

from __future__ import annotations

from patternsim.risks.finding import Finding


def mark_lost(step: str, name: str) -> Finding:
    """A chisel mark can no longer be seen."""
    return Finding(
        code="mark-lost",
        step=step,
        level="watch",
        place=f"mark {name}",
        value=None,
        limit=None,
        unit="",
        text=f"The mark {name} is gone after this step: ground, sawn, scaled off or welded over.",
        remedy="Make it again before this step, where it stays in sight.",
        source="geometry; layers cannot be seen at heat",
    )


def rough_step(step: str) -> Finding:
    """A step is drawn by a stand-in."""
    return Finding(
        code="rough-step",
        step=step,
        level="note",
        place="section",
        value=None,
        limit=None,
        unit="",
        text="This step is drawn roughly: a fitted fold, squared again; true corners stay round.",
        remedy="Read the shape of the layers near the corners as a sketch.",
        source="fitted to finite-element runs",
    )
