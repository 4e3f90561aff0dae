"""Rows for tests of the job card, made from a starting job."""

from dataclasses import replace

import numpy as np

from patternsim.job import parse, starting_job
from patternsim_app.shown import StepRow, Token

JOB = "feather-from-w"


def token(part):
    """A token of a part of a step's short sentence."""
    if isinstance(part, str):
        return Token(text=part)
    return Token(
        field=part.field,
        value=part.value,
        unit=part.unit,
        kind=part.kind,
        choices=tuple((str(value), words) for value, words in part.choices),
        low=part.low,
        above=part.above,
        high=part.high,
        label=part.label,
    )


def layers(seed, height=60, width=40):
    """A picture of wavy layers."""
    y, x = np.mgrid[0:height, 0:width]
    bright = np.sin(0.5 * y + 2.0 * np.sin(0.1 * x + seed)) > 0
    grey = np.where(bright, 205, 60).astype(np.uint8)
    return np.dstack([grey, grey, grey, np.full_like(grey, 255)])


def job_rows():
    """Rows of a starting job of over thirty steps."""
    job = parse(starting_job(JOB), name=JOB)
    steps = [(bar.name, step) for bar in job.bar for step in bar.step]
    return tuple(
        StepRow(
            key=step.id,
            number=number,
            bar=bar,
            heading=step.stage,
            kind=step.kind,
            title=step.title,
            tokens=tuple(token(part) for part in step.card()),
            spoken=step.sentence(),
            state="worked",
            thumb=layers(number),
        )
        for number, (bar, step) in enumerate(steps, start=1)
    )


def numbered(rows):
    """The rows with numbers in their order."""
    return tuple(replace(row, number=at) for at, row in enumerate(rows, start=1))


def plain_row(key, *, bar="bar", field="height_mm", value=20.0, **more):
    """A short row with one length in it."""
    words = (
        Token(text="Press to "),
        Token(field=field, value=value, unit="mm", kind="number", low=1.0, high=100.0, label="Height"),
        Token(text=", "),
        Token(field="heats", value=2, kind="count", low=1.0, high=9.0, label="Heats"),
        Token(text=" heats"),
    )
    given = {
        "number": 1,
        "heading": "",
        "kind": "draw",
        "title": "Press",
        "tokens": words,
        "spoken": f"Press to {value:g} mm, 2 heats",
    }
    return StepRow(key=key, bar=bar, **(given | more))


def plain_rows(keys, **more):
    """Short rows in a row."""
    return numbered(plain_row(key, **more) for key in keys)


def with_value(row, field, value):
    """The row with another value in a field."""
    tokens = tuple(replace(part, value=value) if part.field == field else part for part in row.tokens)
    return replace(row, tokens=tokens)
