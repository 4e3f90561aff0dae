"""Which steps of a result are only rough, and whether a job is all known from one worked out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patternsim.job import forge_order, joined_bars

if TYPE_CHECKING:
    from patternsim.job import Job
    from patternsim.work import Result


def holds_all(result: Result, job: Job) -> bool:
    """Tell whether all steps of a job were worked as they are: headings of the card touch no steel."""
    if result.job.shop != job.shop:
        return False
    worked = [(row.bar, row.step.model_copy(update={"stage": ""})) for row in result.steps]
    wanted = [
        (job.bar[k].name, step.model_copy(update={"stage": ""}))
        for k in forge_order(job)
        for step in job.bar[k].step
        if not step.skip
    ]
    return worked == wanted


def rough_steps(result: Result, fine: Result | None) -> frozenset[str]:
    """Return the steps whose steel is rough: pressed roughly, or made of such; by their ids."""
    known = set() if fine is None else {id(row.outcome) for row in fine.steps}
    bars: set[str] = set()
    found = set()
    for row in result.steps:
        if id(row.outcome) in known:
            continue
        if row.outcome.source == "quick" or bars & {row.bar, *joined_bars(row.step)}:
            bars.add(row.bar)
            found.add(row.step.id)
    return frozenset(found)
