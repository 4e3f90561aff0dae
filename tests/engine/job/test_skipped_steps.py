"""A skipped step is kept in the job, but neither brings steel nor uses up bars."""

import tomllib

import pytest

from patternsim.errors import JobError
from patternsim.job import forge_order, joined_bars, parse, starting_job, starting_jobs

STACK = (
    'kind = "stack"\nstrips = [{ steel = "1084", thickness_mm = 3.0 }]\n'
    "width_mm = 40.0\nlength_mm = 90.0"
)
DRAW = 'kind = "draw"\nwidth_mm = 30.0\nthickness_mm = 20.0'
HEAD = 'format = 1\nname = "x"\n'


def bar(name, *steps):
    rows = [f'[[bar]]\nname = "{name}"\n']
    rows += [f'[[bar.step]]\nid = "{name}-{k}"\n{step}\n' for k, step in enumerate(steps)]
    return "".join(rows)


def join(*names):
    return f'kind = "join"\nbars = [{", ".join(chr(34) + name + chr(34) for name in names)}]'


def off(step):
    return f"{step}\nskip = true"


def refusal(text):
    with pytest.raises(JobError) as caught:
        parse(text)
    return str(caught.value)


def test_a_bar_whose_first_step_is_skipped_still_reads():
    job = parse(HEAD + bar("a", off(STACK), DRAW))
    assert job.bar[0].step[0].skip
    assert not job.bar[0].step[1].skip


def test_a_stack_may_stand_behind_a_skipped_one_in_its_stead():
    job = parse(HEAD + bar("a", off(STACK), STACK, DRAW))
    assert [step.skip for step in job.bar[0].step] == [True, False, False]
    assert parse(HEAD + bar("a", STACK, off(STACK), DRAW))


def test_two_stacks_that_are_both_worked_are_refused_as_before():
    assert "there is steel already" in refusal(HEAD + bar("a", STACK, STACK))
    assert "there is steel already" in refusal(HEAD + bar("a", off(STACK), STACK, STACK))


def test_a_first_step_that_brings_no_steel_is_refused_unless_it_is_skipped():
    assert '"draw" cannot begin a bar' in refusal(HEAD + bar("a", DRAW))
    assert parse(HEAD + bar("a", off(DRAW), STACK))


def test_the_steels_of_a_skipped_stack_are_looked_up_when_it_is_worked_again():
    unknown = STACK.replace("1084", "no-such-steel")
    assert parse(HEAD + bar("a", off(unknown), STACK))
    assert "no-such-steel" in refusal(HEAD + bar("a", unknown))


def test_a_skipped_join_uses_no_bar_up():
    two = bar("a", STACK) + bar("b", STACK)
    job = parse(HEAD + two + bar("c", off(join("a", "b")), STACK))
    assert joined_bars(job.bar[2].step[0]) == ()
    assert sorted(forge_order(job)) == [0, 1, 2]
    assert parse(HEAD + two + bar("c", off(join("a", "b"))) + bar("d", join("a", "b")))


def test_a_blade_may_come_from_a_bar_that_only_a_skipped_join_names():
    text = HEAD + bar("a", STACK) + bar("b", STACK, "JOIN") + '[blade]\nbar = "a"\n'
    assert "which a join uses up" in refusal(text.replace("JOIN", join("a")))
    assert parse(text.replace("JOIN", off(join("a")))).blade.bar == "a"


def test_a_skipped_join_may_name_what_is_not_there_or_close_a_ring():
    assert parse(HEAD + bar("a", STACK, off(join("gone"))))
    ring = HEAD + bar("a", STACK, join("b")) + bar("b", STACK, "JOIN")
    assert "wait for one another" in refusal(ring.replace("JOIN", join("a")))
    job = parse(ring.replace("JOIN", off(join("a"))))
    assert forge_order(job) == [1, 0]


def test_ids_of_skipped_steps_count():
    text = HEAD + bar("a", STACK, off(DRAW)).replace("a-1", "a-0")
    assert 'two steps have the id "a-0"' in refusal(text)


@pytest.mark.parametrize(("line", "words"), [
    ('skip = "yes"', '"skip" is "yes"; give true or false'),
    ("skip = 1", '"skip" is 1; give true or false'),
    ('stage = "' + "x" * 41 + '"', '"stage" is longer than 40 letters'),
    ("stage = 3", '"stage" is 3; give a text in quotes'),
])  # fmt: skip
def test_bad_values_are_refused_in_words(line, words):
    assert words in refusal(HEAD + bar("a", f"{STACK}\n{line}"))


@pytest.mark.parametrize("name", [name for name, _ in starting_jobs()])
def test_the_starting_jobs_begin_with_their_remarks_and_read(name):
    text = starting_job(name)
    assert text.startswith("# ")
    assert "Sizes are cold and finished, mm." in text
    stages = [step.get("stage") for bar in tomllib.loads(text)["bar"] for step in bar["step"]]
    assert [step.stage for bar in parse(text).bar for step in bar.step] == [one or "" for one in stages]
