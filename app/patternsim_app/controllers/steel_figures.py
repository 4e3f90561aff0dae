"""What the steel line shows of a result: a column a step, what is needed, what is spare."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patternsim.glance import LEAST_MM
from patternsim.sizes import format_off
from patternsim_app.shown import Grade, SteelColumn, StepRow, Units

if TYPE_CHECKING:
    from patternsim.answers import Answers
    from patternsim.work import Result, StepRefused, StepResult


def steel_column(
    row: StepRow, result: StepResult | None, grade: Grade, refused: StepRefused | None
) -> SteelColumn:
    """Return the column of a step on the card: of its result, or of what became of it."""
    if result is None:
        stopped = refused is not None and refused.step == row.key
        return SteelColumn(
            key=row.key, number=row.number, kg=0.0, lost_kg=0.0, worked=False, refused=stopped,
            grade="stop" if stopped else "fine",
        )  # fmt: skip
    aside = sum(piece.mass_kg for piece in result.outcome.offcuts)
    return SteelColumn(
        key=row.key,
        number=row.number,
        kg=result.mass_kg,
        lost_kg=result.lost_kg + aside,
        grade=grade,
    )


def steel_needed(found: Answers | None, result: Result) -> tuple[float | None, int]:
    """Return what the bars the blade comes from must weigh, and how many there are."""
    spec = result.job.blade
    pieces = result.bars.get(spec.bar, ()) if spec is not None else ()
    spare = found.steel.spare_kg[1] if found is not None and found.steel is not None else None
    if spare is None or not pieces:
        return None, 1
    return sum(piece.mass_kg - spare for piece in pieces), len(pieces)


def steel_spare(found: Answers | None, units: Units) -> tuple[str, str]:
    """Return how much longer the bar is than needed: a figure and what it is; empty if not judged."""
    if found is None or found.steel is None:
        return "", ""
    length = found.steel.spare_length_mm[1]
    if length is None:
        return "not worked out", "of a bent bar"
    if abs(length) < LEAST_MM:
        return "just long enough", "for the blade"
    off = format_off(abs(length), units)
    return (f"{off} longer", "than needed") if length > 0 else (f"{off} too short", "for the blade")
