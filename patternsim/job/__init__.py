"""Job files: values, reading, writing, starting jobs."""

from __future__ import annotations

from patternsim.job.model import FORMAT, Bar, Blade, GrindNumbers, Job, Place
from patternsim.job.places import Way, line_of, lines_of
from patternsim.job.reading import load, parse, place_words, read_text
from patternsim.job.starting import starting_job, starting_jobs
from patternsim.job.wiring import FIRST_KINDS, WiringError, forge_order, joined_bars, kind_of
from patternsim.job.writing import save, with_value

__all__ = [
    "FIRST_KINDS",
    "FORMAT",
    "Bar",
    "Blade",
    "GrindNumbers",
    "Job",
    "Place",
    "Way",
    "WiringError",
    "forge_order",
    "joined_bars",
    "kind_of",
    "line_of",
    "lines_of",
    "load",
    "parse",
    "place_words",
    "read_text",
    "save",
    "starting_job",
    "starting_jobs",
    "with_value",
]
