"""Job files: values, reading, writing, editing, starting jobs."""

from __future__ import annotations

from patternsim.job.bars import with_bar, without_bar
from patternsim.job.editing import (
    accepted,
    changed,
    changed_many,
    copied,
    fresh_id,
    moved_steps,
    pasted,
    renamed_step,
    skipped,
    step_way,
    with_step,
    without_steps,
)
from patternsim.job.model import FORMAT, Bar, Blade, GrindNumbers, Job, Place
from patternsim.job.new_steps import new_step
from patternsim.job.patching import Plain
from patternsim.job.places import Way, line_of, lines_of
from patternsim.job.reading import load, parse, place_words, read_text
from patternsim.job.rewriting import Change
from patternsim.job.starting import starting_job, starting_jobs
from patternsim.job.wiring import (
    FIRST_KINDS,
    WiringError,
    forge_order,
    joined_bars,
    kind_of,
    step_numbers,
)
from patternsim.job.writing import save

__all__ = [
    "FIRST_KINDS",
    "FORMAT",
    "Bar",
    "Blade",
    "Change",
    "GrindNumbers",
    "Job",
    "Place",
    "Plain",
    "Way",
    "WiringError",
    "accepted",
    "changed",
    "changed_many",
    "copied",
    "forge_order",
    "fresh_id",
    "joined_bars",
    "kind_of",
    "line_of",
    "lines_of",
    "load",
    "moved_steps",
    "new_step",
    "parse",
    "pasted",
    "place_words",
    "read_text",
    "renamed_step",
    "save",
    "skipped",
    "starting_job",
    "starting_jobs",
    "step_numbers",
    "step_way",
    "with_bar",
    "with_step",
    "without_bar",
    "without_steps",
]
