"""What every edit of a job's text goes through: the result reads as was meant, and is a job.

The edits themselves are in `editing`.
"""

from __future__ import annotations

import copy
import itertools
import math
import tomllib
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from patternsim.errors import JobError
from patternsim.job.patching import Plain, nowhere
from patternsim.job.places import Way
from patternsim.job.reading import built

NAME = "the changed job"
"""What messages call the result of an edit."""

Change = tuple[Way, Plain | None]
"""The way to a value, and the value; None to leave it out."""


def edited(text: str, work: Callable[[str], str], expect: Callable[[dict[str, Any]], None]) -> str:
    """Return the text as `work` leaves it, if it reads as `expect` says and is a job.

    The byte order mark and a missing end of the last line are set aside meanwhile.
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    plain, data = plain_text(text)
    expect(data)
    result = work(plain)
    try:
        found = tomllib.loads(result)
        fits = alike(found, data)
    except ValueError:
        found, fits = {}, False
    if not fits:
        raise JobError(
            "the job is laid out in a way that this change cannot be made in; make it in a text editor"
        )
    if not text.endswith("\n"):
        result = result.removesuffix("\n").removesuffix("\r")
    result = mark + result
    built(result, found, name=NAME)
    return result


def plain_text(text: str) -> tuple[str, dict[str, Any]]:
    """Return the text without byte order mark, with an end of its last line, and what it reads as.

    Raises
    ------
    JobError
        If it does not read as TOML.
    """
    plain = text.removeprefix("\ufeff")
    try:
        data = tomllib.loads(plain)
    except (ValueError, RecursionError) as error:
        raise JobError("the job cannot be read, so nothing of it can be changed; mend it") from error
    if not plain.endswith("\n"):
        plain += "\r\n" if "\r\n" in plain else "\n"
    return plain, data


def differing(data: dict[str, Any], way: Way, value: Plain | None) -> list[Change]:
    """Return the single changes that bring the value at `way` to `value`."""
    try:
        now = value_at(data, way)
    except (LookupError, TypeError):
        if isinstance(value, Mapping) and value and all(isinstance(part, str) for part in way):
            # Key by key, so that each goes where a job file usually has it.
            return [one for key in value for one in differing(data, (*way, key), value[key])]
        return [] if value is None else [(way, value)]
    if alike(now, value):
        return []
    if isinstance(now, dict) and isinstance(value, Mapping):
        changes: list[Change] = [((*way, key), None) for key in now if key not in value]
        for key, one in value.items():
            changes += differing(data, (*way, key), one)
        return changes
    if isinstance(now, list) and now and isinstance(value, Sequence) and not isinstance(value, str):
        surplus = range(len(value), len(now))
        changes = [((*way, k), None) for k in reversed(surplus)]
        for k, one in enumerate(value):
            changes += differing(data, (*way, k), one)
        return changes
    return [(way, value)]


def value_at(data: Any, way: Way) -> Any:  # noqa: ANN401 - any value of a job
    """Return the value a way leads to; `LookupError` or `TypeError` where it leads nowhere."""
    for part in way:
        if isinstance(part, int) and (part < 0 or not isinstance(data, list)):
            raise IndexError(part)
        data = data[part]
    return data


def set_value(data: dict[str, Any], way: Way, value: Plain | None) -> None:
    """Set or take out the value at `way` of a job as plain data; tables on the way are made."""
    if not way:
        raise nowhere(way)
    table: Any = data
    try:
        for part, inner in itertools.pairwise(way):
            if isinstance(table, dict) and part not in table and isinstance(inner, str):
                if value is None:
                    return
                table[part] = {}
            table = value_at(table, (part,))
        last = way[-1]
        if value is None:
            if isinstance(last, str) and last not in table:
                return
            value_at(table, (last,))
            del table[last]
        elif isinstance(table, list) and last == len(table):
            table.append(copy.deepcopy(value))
        else:
            if isinstance(table, list):
                value_at(table, (last,))
            table[last] = copy.deepcopy(value)
    except (LookupError, TypeError) as error:
        raise nowhere(way) from error


def alike(one: object, other: object) -> bool:
    """Tell whether two values are the same, kinds of numbers included: 1, 1.0 and true are not."""
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(alike(one[key], other[key]) for key in one)
    if isinstance(one, (list, tuple)) and isinstance(other, (list, tuple)):
        return len(one) == len(other) and all(map(alike, one, other))
    if isinstance(one, float) and isinstance(other, float) and math.isnan(one):
        return math.isnan(other)
    return type(one) is type(other) and one == other
