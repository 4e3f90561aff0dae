"""What several parts of the window say of a result: the numbers of its steps, what it is worth."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from pydantic import BaseModel

from patternsim.declared import fields_of
from patternsim.errors import JobError, PatternSimError
from patternsim.job import Job, step_numbers
from patternsim.sizes import told_in
from patternsim.wording import lowered
from patternsim_app.shown import FaceShown, Units
from patternsim_app.tasks import WorkDone

if TYPE_CHECKING:
    from patternsim.work import StepResult
    from patternsim_app.controllers.working import Working

NOTE = "The shaft itself, and how gaps close, are not predicted."


def before_words(done: WorkDone) -> str:
    """Return 'As it was before step 7.' where a step cannot be done; empty where all could be."""
    refused = done.worked.refused
    number = step_numbers(done.job).get(refused.step) if refused is not None else None
    return "" if number is None else f"As it was before step {number}."


def face_caption(done: WorkDone, chosen: str) -> str:
    """Return what the face shows, however early the chosen step is: 'The blade, after step 32.'."""
    rows, spec = done.worked.result.steps, done.job.blade
    own = [row for row in rows if spec is None or row.bar == spec.bar] or list(rows)
    if not own:
        return ""
    numbers = step_numbers(done.job)
    finished = spec is not None and done.worked.refused is None
    last = own[-1].step.id
    said = f"The {'blade' if finished else 'bar'}, after step {numbers[last]}."
    if chosen not in numbers or chosen == last:
        return said
    return f"{said} Step {numbers[chosen]} itself is on the die."


def die_caption(done: WorkDone, row: StepResult) -> str:
    """Return whose piece lies on the die: 'After step 22, stack tall.'."""
    return f"After step {step_numbers(done.job)[row.step.id]}, {lowered(row.step.title)}."


def spoken_face(shown: FaceShown, side: str, units: Units, beside: list[str]) -> str:
    """Return the face in a sentence, with what stands beside it."""
    side = side.replace("-", " ")
    length = told_in(f"{shown.length_mm:g} mm", units)
    what = f"{length} blade, {side}" if shown.outline else f"bar, {side}"
    return f"{what}. {'; '.join(part for part in beside if part)}"


def rough_words(working: Working) -> str:
    """Return what is to be said of a rough result; empty for one that is worked out."""
    if working.keeps_shown:
        return "As it was the last time; being worked out again."
    if not working.is_rough:
        return ""
    if working.dragging:
        return "Rough, while the number is dragged."
    return "Rough, being worked out." if working.is_refining else "Rough."


def face_note(done: WorkDone) -> str:
    """Return what is to be said of the picture of the face; nothing where there is none."""
    if not done.worked.result.steps:
        return before_words(done)
    numbers, rows = step_numbers(done.job), done.worked.result.steps
    rough = [] if done.is_rough else [str(numbers[row.step.id]) for row in rows if row.outcome.rough]
    said = [before_words(done), "An estimate."]
    if rough:
        said.append(f"{'Step' if len(rough) == 1 else 'Steps'} {', '.join(rough)}: a sketch.")
    return " ".join(part for part in (*said, NOTE) if part)


def refusal_words(error: PatternSimError, job: Job, units: Units = "mm") -> str:
    """Return why a change of `job` cannot be, with the step by number and name instead of a line."""
    if not isinstance(error, JobError) or not error.fault:
        return told_in(str(error), units)
    found, number = job.find_step(error.place), step_numbers(job).get(error.place)
    where = {"": "", "blade": "Blade", "shop": "Shop"}.get(error.place, f"Step {error.place}")
    if found is not None and number is not None:
        bar, at = found
        where = f"Step {number}, {bar.step[at].title}"
    part: BaseModel | None = {"blade": job.blade, "shop": job.shop}.get(error.place)
    if found is not None:
        part = found[0].step[found[1]]
    fault = error.fault if part is None else _as_on_the_sheet(error.fault, part)
    return told_in(f"{where}: {fault}" if where else fault, units)


def _as_on_the_sheet(fault: str, part: BaseModel) -> str:
    """Return a fault with the labels of the sheet for the names a job file has."""
    for one in fields_of(part):
        key = str(one.way[-1])
        words = {str(value): text for value, text in one.choices}
        for found in re.findall(rf'\b{key} = "([^"]*)"', fault):
            fault = fault.replace(f'{key} = "{found}"', f"“{one.label}: {words.get(found, found)}”")
        fault = fault.replace(f'"{key}"', f"“{one.label}”")
    return fault
