"""Job files: values, reading, writing, starting jobs."""

from __future__ import annotations

from patternsim.job.model import FORMAT, Bar, Blade, GrindNumbers, Job, Place
from patternsim.job.reading import line_of, load, parse
from patternsim.job.starting import starting_job, starting_jobs
from patternsim.job.wiring import WiringError, forge_order, joined_bars
from patternsim.job.writing import save, with_value

__all__ = [
    "FORMAT",
    "Bar",
    "Blade",
    "GrindNumbers",
    "Job",
    "Place",
    "WiringError",
    "forge_order",
    "joined_bars",
    "line_of",
    "load",
    "parse",
    "save",
    "starting_job",
    "starting_jobs",
    "with_value",
]
