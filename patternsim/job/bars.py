"""Whole bars put into a job's text and taken out of it; steps are edited in `editing`."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from patternsim.errors import JobError
from patternsim.job.editing import step_lines
from patternsim.job.faults import shown
from patternsim.job.layout import Layout, read_layout
from patternsim.job.patching import Plain, written
from patternsim.job.rewriting import edited, plain_text


def with_bar(text: str, name: str, steps: Sequence[Mapping[str, Plain]]) -> str:
    """Return the job text with a further bar behind the last one.

    Parameters
    ----------
    text : str
    name : str
        Of the bar; the job has no other of that name.
    steps : sequence of mapping
        Its steps, the first a stack or a join; fields in the order they are to be written.

    Raises
    ------
    JobError
        If the result is no job.
    """
    rows = [["[[bar]]", f"name = {written(name)}"], *(step_lines(step) for step in steps)]

    def work(plain: str) -> str:
        layout = read_layout(plain)
        at = layout.behind_block(_bars(layout)[-1])
        end = layout.line_end
        lines = "".join(end + "".join(f"{line}{end}" for line in row) for row in rows)
        return plain[:at] + lines + plain[at:]

    def expect(data: dict[str, Any]) -> None:
        data["bar"].append({"name": name, **({"step": copy.deepcopy(list(steps))} if steps else {})})

    return edited(text, work, expect)


def without_bar(text: str, name: str) -> str:
    """Return the job text without the bar `name` and the remarks directly above it.

    Raises
    ------
    JobError
        If there is no such bar, or what is left is no job.
    """
    names = [bar.get("name") for bar in plain_text(text)[1].get("bar", [])]
    if name not in names:
        raise JobError(f"there is no bar {shown(name)} in this job; name one that is there")
    number = names.index(name)

    def work(plain: str) -> str:
        layout = read_layout(plain)
        block = layout.block(_bars(layout)[number])
        return plain[: block.start] + plain[block.end :]

    def expect(data: dict[str, Any]) -> None:
        del data["bar"][number]
        if not data["bar"]:
            del data["bar"]

    return edited(text, work, expect)


def _bars(layout: Layout) -> list[int]:
    """Return the headings of the bars, in order."""
    found = [k for k, one in enumerate(layout.headings) if one.in_list and len(one.way) == 2
             and one.way[0] == "bar"]  # fmt: skip
    if not found:
        raise JobError(
            "the bars of this job are written in one list; to add or take out bars, write each one as a "
            "table headed [[bar]]"
        )
    return found
