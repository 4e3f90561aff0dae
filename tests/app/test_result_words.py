"""What the window says of results and refusals."""

import pytest

from patternsim.errors import JobError
from patternsim.job import changed_many, parse, starting_job, step_numbers
from patternsim_app.controllers.result_words import refusal_words

TEXT = starting_job("feather-from-w")
JOB = parse(TEXT)


def refused(way, value):
    with pytest.raises(JobError) as caught:
        changed_many(TEXT, [(way, value)])
    return caught.value


def test_steps_are_numbered_as_on_the_card():
    numbers = step_numbers(JOB)
    assert (numbers["stack"], numbers["split"], len(numbers)) == (1, 26, 32)


def test_a_step_is_named_by_number_and_name():
    error = refused(("bar", 0, "step", 25, "included_deg"), 450.0)
    assert "line" in str(error), "the command line keeps the line"
    said = refusal_words(error, JOB)
    assert said.startswith("Step 26, Split down the middle: ")
    assert said.endswith("it must be at most 120")
    assert "line" not in said.replace("down the middle", "")


def test_the_blade_is_named_and_told_in_the_unit_of_the_window():
    error = refused(("blade", "outline", "length_mm"), 25.4)
    assert refusal_words(error, JOB).startswith("Blade: the length is 25.4 mm")
    assert refusal_words(error, JOB, "in").startswith('Blade: the length is 1"')


def test_a_step_that_is_not_in_the_job_yet_has_its_own_name():
    error = JobError("job, line 3 (step new of bar a): bad")
    error.place, error.fault = "new", "bad"
    assert refusal_words(error, JOB) == "Step new: bad"


def test_other_refusals_stay_as_they_are():
    assert refusal_words(JobError("the job has no file yet"), JOB) == "the job has no file yet"
