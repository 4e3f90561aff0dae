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


def rough_step(step: str, why: str) -> Finding:
    """A step is drawn by a stand-in."""
    return Finding(
        code="rough-step",
        step=step,
        level="note",
        place="section",
        value=None,
        limit=None,
        unit="",
        text=f"This step is drawn roughly: {why}.",
        remedy="Read it as a sketch, and etch a slice of the real bar after it.",
        source="fitted to finite-element runs",
    )
