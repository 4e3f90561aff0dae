"""What several parts of the window say of a result: the numbers of its steps, what it is worth."""

from __future__ import annotations

from patternsim.job import Job, forge_order
from patternsim_app.tasks import WorkDone

NOTE = "The shaft itself, and how gaps close, are not predicted."


def step_numbers(job: Job) -> dict[str, int]:
    """Return the numbers of the steps on the card by their ids: their places in forge order."""
    ids = [step.id for k in forge_order(job) for step in job.bar[k].step]
    return {name: k for k, name in enumerate(ids, start=1)}


def before_words(done: WorkDone) -> str:
    """Return 'As it was before step 7.' where a step cannot be done; empty where all could be."""
    refused = done.worked.refused
    number = step_numbers(done.job).get(refused.step) if refused is not None else None
    return "" if number is None else f"As it was before step {number}."


def face_note(done: WorkDone) -> str:
    """Return what is to be said of the picture of the face."""
    numbers = step_numbers(done.job)
    rough = [str(numbers[row.step.id]) for row in done.worked.result.steps if row.outcome.rough]
    said = [before_words(done), "An estimate."]
    if rough:
        said.append(f"{'Step' if len(rough) == 1 else 'Steps'} {', '.join(rough)}: a sketch.")
    return " ".join(part for part in (*said, NOTE) if part)
