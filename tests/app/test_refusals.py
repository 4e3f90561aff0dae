"""Why a change cannot be: told by step and value, never by a line of a file nobody looks at."""

import re

import pytest

from patternsim.errors import PatternSimError
from patternsim.job import (
    accepted,
    moved_steps,
    parse,
    pasted,
    starting_job,
    starting_jobs,
    without_steps,
)
from patternsim_app.controllers.bench_mark import BLADE, SHOP
from patternsim_app.controllers.edits import part_of, with_field
from patternsim_app.controllers.result_words import refusal_words
from patternsim_app.controllers.sheets import field_rows

NAMES = [name for name, _ in starting_jobs()]
PLACE = re.compile(r"\bline \d|the changed job|\.toml|\bkey\b|\btable\b|\w+_(?:mm|deg|pct|c)\b|\[\[")
WORDS = ("", "two", "Not Good", "x" * 500, "a\nb", None)
TYPED = {  # what each kind of box can give
    "number": (-1.0, 0.0, 0.3, 3.5, 1e5, 1e300, None),
    "count": (-1, 0, 3, 10**6, None),
    "text": WORDS,
    "choice": WORDS,
    "switch": (True, False, None),
}


def told(text, job, key, field, value):
    try:
        with_field(text, job, key, field, value)
    except PatternSimError as error:
        return refusal_words(error, job)
    return ""


@pytest.mark.parametrize("name", NAMES)
def test_what_is_typed_on_the_sheet_is_refused_without_places_of_the_file(name):
    text = starting_job(name)
    job = parse(text)
    keys = [SHOP, *([BLADE] if job.blade else []), *(step.id for bar in job.bar for step in bar.step)]
    seen = set()
    for key in keys:
        for row in field_rows(part_of(job, key)):
            for value in TYPED[row.kind]:
                said = told(text, job, key, row.field, value)
                assert not PLACE.search(said), (key, row.field, value, said)
                seen.add(said)
    assert len(seen) > 10


@pytest.mark.parametrize("name", NAMES)
def test_edits_of_steps_are_refused_without_places_of_the_file(name):
    text = starting_job(name)
    job = parse(text)
    first = job.bar[0].step[0].id
    last = job.bar[-1].step[-1].id
    edits = [
        lambda: without_steps(text, [first]),
        lambda: without_steps(text, [step.id for step in job.bar[0].step]),
        lambda: moved_steps(text, [first], 2),
        lambda: moved_steps(text, [last], 0),
        lambda: pasted(text, job.bar[0].name, 0, "no steps"),
        lambda: accepted(text, "x" * 5000, True),
    ]
    count = 0
    for edit in edits:
        try:
            edit()
        except PatternSimError as error:
            count += 1
            said = refusal_words(error, job)
            assert not re.search(r"\bline \d|the changed job", said), said
    assert count >= 3
