"""A job's text edited: values, steps, accepted findings. Text in, text out.

What is not edited stays byte for byte: only the signs of a value, or whole lines of a step, are
exchanged. Every result is read again before it is given out, see `rewriting`. Files are read and
written elsewhere.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from patternsim.errors import JobError
from patternsim.job.faults import shown
from patternsim.job.layout import Layout, read_layout
from patternsim.job.model import Job
from patternsim.job.patching import Plain, put_many, without_spans, written, written_key
from patternsim.job.places import Way
from patternsim.job.reading import MOST_BYTES
from patternsim.job.rewriting import Change, differing, edited, plain_text, set_value, value_at

LONGEST_ID = 40


# --- values ------------------------------------------------------------------------------


def changed(text: str, way: Way, value: Plain | None) -> str:
    """Return the job text with one value changed, added, or with None taken out.

    Parameters
    ----------
    text : str
    way : tuple of str and int
        As ('blade', 'place', 'turn_deg'); tables missing on the way are made. One behind the last
        entry of a list adds an entry.
    value : str, number, bool, list, table or None
        Of a list or a table only what differs is written anew. None: back to the default.

    Raises
    ------
    JobError
        If there is no such place, or the result is no job.
    """
    return changed_many(text, [(way, value)])


def changed_many(text: str, changes: Sequence[Change]) -> str:
    """Return the job text with several values changed, one after the other; see `changed`.

    Only the whole result has to be a job, so that values which need one another go together.
    """
    singles: list[Change] = []

    def expect(data: dict[str, Any]) -> None:
        for way, value in changes:
            singles.extend(differing(data, way, value))
            set_value(data, way, value)

    return edited(text, lambda plain: put_many(plain, singles), expect)


def accepted(text: str, code: str, on: bool) -> str:
    """Return the job text with the finding `code` accepted, or not any more.

    Raises
    ------
    JobError
    """
    now = [str(one) for one in plain_text(text)[1].get("accept", [])]
    left = [one for one in now if one != code] + ([code] if on else [])
    if on and code in now:
        return text
    return changed(text, ("accept",), left or None)


def skipped(text: str, ids: Collection[str], on: bool) -> str:
    """Return the job text with the steps `ids` left out of the work, or back in it.

    Raises
    ------
    JobError
        If there is no such step.
    """
    return changed_many(text, [((*way, "skip"), True if on else None) for way in _ways(text, ids)])


def renamed_step(text: str, step_id: str, new_id: str) -> str:
    """Return the job text with another id for a step.

    Raises
    ------
    JobError
        If there is no such step, or the new id cannot be one.
    """
    return changed(text, (*step_way(text, step_id), "id"), new_id)


# --- steps -------------------------------------------------------------------------------


def step_way(job: str | Job, step_id: str) -> Way:
    """Return the way to a step: ('bar', 0, 'step', 3).

    Raises
    ------
    JobError
        If there is no such step.
    """
    return _ways(job, [step_id])[0]


def fresh_id(job: str | Job, kind: str) -> str:
    """Return an id for a new step of a kind: 'draw', or 'draw-2' where that is taken."""
    return _free(kind, _ids(plain_text(job)[1] if isinstance(job, str) else job))


def with_step(text: str, bar: str, at: int, step: Mapping[str, Plain]) -> str:
    """Return the job text with a further step.

    Parameters
    ----------
    text : str
    bar : str
        Name of the bar.
    at : int
        Its place in the bar, from 0; the number of steps to put it last.
    step : mapping
        Its fields in the order they are to be written, `id` and `kind` first.

    Raises
    ------
    JobError
        If there is no such bar or place, or the result is no job.
    """
    return _inserted(text, bar, at, [dict(step)], [step_lines(step)])


def without_steps(text: str, ids: Collection[str]) -> str:
    """Return the job text without the steps `ids` and the remarks directly above them.

    Raises
    ------
    JobError
        If there is no such step, or what is left is no job.
    """
    ways = _ways(text, ids)

    def work(plain: str) -> str:
        layout = read_layout(plain)
        blocks = [layout.block(_step_heading(layout, way)) for way in ways]
        return without_spans(plain, [(block.start, block.end) for block in blocks])

    def expect(data: dict[str, Any]) -> None:
        for way in sorted(ways, reverse=True):
            set_value(data, way, None)
            if not value_at(data, way[:-1]):
                set_value(data, way[:-1], None)

    return edited(text, work, expect)


def moved_steps(text: str, ids: Collection[str], to: int) -> str:
    """Return the job text with steps of one bar moved within it.

    Parameters
    ----------
    text : str
    ids : collection of str
        They keep their order; remarks directly above a step go with it.
    to : int
        Where in the bar the first of them comes to stand, counted without them.

    Raises
    ------
    JobError
        If the steps are not of one bar, there is no such place, or the result is no job.
    """
    ways = sorted(set(_ways(text, ids)))
    if not ways:
        return text
    if len({way[:2] for way in ways}) > 1:
        raise JobError("the steps are of several bars; move those of one bar at a time")
    bar, moved = ways[0][:3], {int(way[3]) for way in ways}

    def expect(data: dict[str, Any]) -> None:
        steps = value_at(data, bar)
        taken = [steps[k] for k in sorted(moved)]
        left = [step for k, step in enumerate(steps) if k not in moved]
        _refuse_place(to, len(left), "are left")
        steps[:] = [*left[:to], *taken, *left[to:]]

    def work(plain: str) -> str:
        layout = read_layout(plain)
        blocks = [layout.block(number) for number in _step_headings(layout, bar)]
        taken = [blocks[k] for k in sorted(moved)]
        left = [block for k, block in enumerate(blocks) if k not in moved]
        at = left[to].start if to < len(left) else left[-1].end if left else taken[0].start
        spans = [(block.start, block.end) for block in taken]
        lines = "".join(plain[start:end] for start, end in spans)
        head = without_spans(plain[:at], [span for span in spans if span[0] < at])
        tail = [(start - at, end - at) for start, end in spans if start >= at]
        return head + lines + without_spans(plain[at:], tail)

    return edited(text, work, expect)


# --- copied steps ------------------------------------------------------------------------


def copied(text: str, ids: Collection[str]) -> str:
    """Return the steps `ids` as text by themselves, remarks included, in the order of the job.

    Raises
    ------
    JobError
        If there is no such step.
    """
    plain, data = plain_text(text)
    layout = read_layout(plain)
    parts = []
    for way in sorted(set(_ways_in(data, ids))):
        number = layout.heading_of(way)
        if number is None:
            parts.append("".join(f"{line}\n" for line in step_lines(value_at(data, way))))
        else:
            block = layout.block(number)
            parts.append(plain[block.remarks : block.end].replace("\r\n", "\n"))
    return "\n".join(parts)


def pasted(text: str, bar: str, at: int, fragment: str) -> str:
    """Return the job text with copied steps put in at a place of a bar.

    Parameters
    ----------
    text : str
    bar : str
        Name of the bar.
    at : int
        Place in the bar, from 0.
    fragment : str
        As `copied` gives it. An id that is taken already is replaced by a fresh one.

    Raises
    ------
    JobError
        If the fragment holds no steps, there is no such place, or the result is no job.
    """
    steps = _steps_in(fragment)
    plain = plain_text(fragment)[0].replace("\r\n", "\n")
    taken = set(_ids(plain_text(text)[1]))
    named: list[Change] = []
    for number, step in enumerate(steps):
        new = _free(str(step.get("id", step.get("kind", "step"))), taken)
        taken.add(new)
        named.append((("bar", "step", number, "id"), new))
    plain = put_many(plain, named)
    layout = read_layout(plain)
    blocks = [layout.block(number) for number in _step_headings(layout, ("bar", "step"))]
    rows = [plain[block.remarks : block.end].removesuffix("\n").split("\n") for block in blocks]
    return _inserted(text, bar, at, _steps_in(plain), rows)


def _steps_in(fragment: str) -> list[dict[str, Any]]:
    """Return the steps a fragment holds, and nothing else."""
    refusal = JobError("what is pasted holds no steps; copy steps of a job card first")
    if len(fragment.encode("utf-8", "replace")) > MOST_BYTES:
        raise refusal
    try:
        plain, data = plain_text(fragment)
        bar = data.pop("bar")
        steps = bar.pop("step")
        only = not data and not bar and all(isinstance(one, dict) for one in steps)
        headed = read_layout(plain).heading_of(("bar", "step", 0)) is not None
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError, JobError) as error:
        raise refusal from error
    if not (only and headed and steps):
        raise refusal
    return list(steps)


# --- putting steps in --------------------------------------------------------------------


def _inserted(text: str, bar: str, at: int, steps: list[dict[str, Any]], rows: list[list[str]]) -> str:
    """Put steps in before the step that stands at a place now, or behind the last one."""
    bars = plain_text(text)[1].get("bar", [])
    number = next((k for k, one in enumerate(bars) if one.get("name") == bar), None)
    if number is None:
        raise JobError(f"there is no bar {shown(bar)} in this job; name one that is there")
    way: Way = ("bar", number, "step")

    def work(plain: str) -> str:
        layout = read_layout(plain)
        blocks = [layout.block(heading) for heading in _step_headings(layout, way)]
        _refuse_place(at, len(blocks), "are there")
        place = blocks[at].start if at < len(blocks) else blocks[-1].end
        end = layout.line_end
        lines = "".join(end + "".join(f"{line}{end}" for line in row) for row in rows)
        return plain[:place] + lines + plain[place:]

    def expect(data: dict[str, Any]) -> None:
        value_at(data, way)[at:at] = copy.deepcopy(steps)

    return edited(text, work, expect)


def step_lines(step: Mapping[str, Plain]) -> list[str]:
    """Return a step as the lines of its table."""
    rows = [f"{written_key(key)} = {written(value)}" for key, value in step.items()]
    return ["[[bar.step]]", *"\n".join(rows).split("\n")]


def _step_heading(layout: Layout, way: Way) -> int:
    number = layout.heading_of(way)
    if number is None:
        raise JobError(
            "the steps of this bar are written in one list; to add, move or take out steps, write "
            "each one as a table headed [[bar.step]]"
        )
    return number


def _step_headings(layout: Layout, bar: Way) -> list[int]:
    """Return the headings of the steps of a bar, in order."""
    steps = [
        k
        for k, one in enumerate(layout.headings)
        if one.way[:-1] == bar and isinstance(one.way[-1], int)
    ]
    return steps or [_step_heading(layout, (*bar, 0))]


def _refuse_place(at: int, most: int, what: str) -> None:
    if not 0 <= at <= most:
        raise JobError(f"there is no place {at} in the bar, of which {most} steps {what}")


def _ways(job: str | Job, ids: Collection[str]) -> list[Way]:
    """Return the ways to some steps; `JobError` where one is not there."""
    return _ways_in(plain_text(job)[1] if isinstance(job, str) else job, ids)


def _ways_in(job: Mapping[str, Any] | Job, ids: Collection[str]) -> list[Way]:
    known = _ids(job)
    for one in ids:
        if one not in known:
            raise JobError(f'there is no step "{one}" in this job; name one that is there')
    return [known[one] for one in ids]


def _ids(job: Mapping[str, Any] | Job) -> dict[str, Way]:
    """Return the ways to all steps, by their ids."""
    if isinstance(job, Job):
        rows = [[step.id for step in bar.step] for bar in job.bar]
    else:
        rows = [[str(step.get("id", "")) for step in bar.get("step", [])] for bar in job.get("bar", [])]
    return {one: ("bar", k, "step", n) for k, row in enumerate(rows) for n, one in enumerate(row)}


def _free(wanted: str, taken: Collection[str]) -> str:
    if wanted not in taken:
        return wanted
    stem = re.sub(r"-\d+$", "", wanted)
    number = 2
    while (one := f"{stem[: LONGEST_ID - len(str(number)) - 1]}-{number}") in taken:
        number += 1
    return one
