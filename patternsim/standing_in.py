"""What of a result worked out last may stand in, roughly, while numbers are changed."""

from __future__ import annotations

from collections.abc import Iterable

from patternsim.job import Job, kind_of
from patternsim.step import Step

WEDGED = ("split", "reweld")
"""Steps of one wedge: closed forms draw both as one map, the flow each by itself."""


def remembered(
    job: Job, worked: Iterable[tuple[Step, tuple[object, ...]]]
) -> dict[str, tuple[object, ...]]:
    """Return what steps answered: presses follow their new sizes, a wedge only stays as it is.

    Parameters
    ----------
    job : Job
        As it is now.
    worked : of (step, answers)
        As they were worked out, in their order.

    Returns
    -------
    dict
        Answers by the ids of the steps they may stand in for.
    """
    now = {step.id: step for bar in job.bar for step in bar.step}
    known: dict[str, tuple[object, ...]] = {}
    split = ""
    for was, answers in worked:
        step, kind = now.get(was.id), kind_of(was)
        same = step == was or (kind not in WEDGED and step is not None and kind_of(step) == kind)
        if answers and same:
            known[was.id] = answers
        if kind == "split":
            split = was.id
        elif kind == "reweld" and (not same or split not in known):
            # Closed forms do both or neither: the drag of the wedge and the closing are one map there.
            known.pop(split, None)
            known.pop(was.id, None)
    return known
