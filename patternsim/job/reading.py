"""Reading a job file: text to values, and every fault with its place and remedy."""

from __future__ import annotations

import inspect
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

import patternsim.steps  # noqa: F401 - enters the step kinds in the registry
from patternsim.errors import JobError, NewerFormatError, PatternSimError
from patternsim.job.model import FORMAT, Blade, Job
from patternsim.job.wiring import check_wiring
from patternsim.step import REGISTRY, Step

MOST_BYTES = 2_000_000
MOST_STEPS = 2000
Way = tuple[str | int, ...]
M = TypeVar("M", bound=BaseModel)


def load(path: str | Path) -> Job:
    """Read the job file at `path`.

    Raises
    ------
    JobError
        If the file cannot be read; one sentence with the place and what to do.
    """
    file = Path(path)
    try:
        size = file.stat().st_size
        if size > MOST_BYTES:
            raise JobError(
                f"{file.name} is {size / 1e6:.1f} MB; a job file is text of a few kilobytes, at most "
                f"{MOST_BYTES / 1e6:.0f} MB; this is not one"
            )
        raw = file.read_bytes()
    except OSError as error:
        reason = error.strerror or "unreadable"
        raise JobError(f"{file}: {reason.lower()}; give the path of a job file") from error
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise JobError(f"{file.name}, line {line}: not UTF-8 text; save the file as UTF-8") from error
    return parse(text, name=file.name)


def parse(text: str, *, name: str = "job") -> Job:
    """Read a job from `text`; `name` is used in messages.

    Raises
    ------
    JobError
    """
    try:
        data = tomllib.loads(text)
    except RecursionError as error:
        raise JobError(f"{name}: brackets are nested too deep for a job file; mend the text") from error
    except ValueError as error:
        raise JobError(f"{name}: {_lower(str(error))}; mend the text there") from error
    try:
        return _built(data)
    except _Fault as fault:
        where = f"{name}, line {line_of(text, fault.way)}{_place(fault.way, data)}"
        raise fault.error_type(f"{where}: {fault.text}") from None


class _Fault(Exception):
    def __init__(self, way: Way, text: str, error_type: type[JobError] = JobError) -> None:
        super().__init__(text)
        self.way = way
        self.text = text
        self.error_type = error_type


def _built(data: dict[str, Any]) -> Job:
    found = data.get("format")
    if not isinstance(found, int) or isinstance(found, bool) or found < 1:
        raise _Fault(
            ("format",), f'a job file begins with "format = {FORMAT}"; put it on the first line'
        )
    if found > FORMAT:
        raise _Fault(
            ("format",),
            f"format {found} is newer than this release can read ({FORMAT}); use a newer release",
            NewerFormatError,
        )
    bars = data.get("bar")
    steps = _steps(bars if isinstance(bars, list) else [])
    prepared = dict(data)
    if isinstance(bars, list):
        prepared["bar"] = [
            {**bar, "step": steps[k]} if isinstance(bar, dict) and "step" in bar else bar
            for k, bar in enumerate(bars)
        ]
    job = _validated(Job, prepared, ())
    if job.blade is not None:
        _check_outline(job.blade)
    try:
        check_wiring(job)
    except PatternSimError as error:
        way = getattr(error, "way", ())
        raise _Fault(way, str(error)) from None
    return job


def _steps(bars: list[Any]) -> list[Any]:
    """Build the steps of all bars; what is no list of tables is left to the model to refuse."""
    result: list[Any] = []
    count = 0
    for k, bar in enumerate(bars):
        rows = bar.get("step") if isinstance(bar, dict) else None
        if not isinstance(rows, list):
            result.append(rows)
            continue
        count += len(rows)
        if count > MOST_STEPS:
            raise _Fault(("bar", k), f"more than {MOST_STEPS} steps; a job has some dozens")
        result.append([_step(row, ("bar", k, "step", place)) for place, row in enumerate(rows)])
    return result


def _step(row: object, way: Way) -> Step:
    if not isinstance(row, dict):
        raise _Fault(way, "a step is a table [[bar.step]] with id, kind and its numbers")
    kind = row.get("kind")
    if not isinstance(kind, str) or kind not in REGISTRY:
        known = ", ".join(sorted(REGISTRY))
        said = f'there is no step kind "{str(kind)[:40]}"' if kind is not None else "kind is missing"
        raise _Fault((*way, "kind") if kind is not None else way, f"{said}; use one of: {known}")
    return _validated(REGISTRY[kind], row, way)


def _validated(model: type[M], data: Mapping[str, Any], way: Way) -> M:
    try:
        return model.model_validate(dict(data))
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        loc = tuple(part for part in first["loc"] if part in _known_parts(data, first["loc"]))
        raise _Fault((*way, *loc), _spoken(first, model)) from None
    except (ValueError, OverflowError, RecursionError) as error:
        raise _Fault(way, f"a value cannot be read ({_lower(str(error))[:80]}); mend it") from None


def _known_parts(data: object, loc: tuple[int | str, ...]) -> list[int | str]:
    """Parts of a validation place that lead through the file (not the names of union members)."""
    known: list[int | str] = []
    for part in loc:
        if isinstance(data, Mapping) and part in data:
            data = data[str(part)]
        elif isinstance(data, (list, tuple)) and isinstance(part, int) and part < len(data):
            data = data[part]
        elif part is not loc[-1] or isinstance(part, int):
            continue
        known.append(part)
    return known


def _spoken(fault: Any, model: type[BaseModel]) -> str:  # noqa: ANN401 - pydantic's own dict
    """Turn a validation fault into a sentence."""
    key = str(fault["loc"][-1]) if fault["loc"] else "the table"
    context = fault.get("ctx", {})
    value = str(fault.get("input"))[:40]
    match fault["type"]:
        case "extra_forbidden":
            return f'unknown key "{key}"; take it out or mend its spelling'
        case "missing":
            return f'"{key}" is missing; give it'
        case "finite_number":
            return f'"{key}" is {value}; give a plain number'
        case "greater_than" | "greater_than_equal" | "less_than" | "less_than_equal":
            words = {"gt": "more than", "ge": "at least", "lt": "less than", "le": "at most"}
            name, limit = next(iter(context.items()))
            return f'"{key}" is {value}; it must be {words[name]} {limit:g}'
        case "literal_error":
            return f'"{key}" is "{value}"; use {context["expected"]}'
        case "string_pattern_mismatch":
            return f'"{key}" is "{value}"; use small letters, figures and dashes'
    return f'"{key}": {_lower(str(fault["msg"]))} (found {value})'


def _check_outline(blade: Blade) -> None:
    from patternsim.knife.profiles import PROFILES  # after the model: the blade may be absent

    known = list(inspect.signature(PROFILES[blade.profile]).parameters)
    for key in blade.outline:
        if key not in known:
            raise _Fault(
                ("blade", "outline", key),
                f'unknown key "{key}" for the profile {blade.profile}; it has: {", ".join(known)}',
            )
    try:
        PROFILES[blade.profile](**blade.outline)
    except ValueError as error:
        raise _Fault(("blade", "outline"), str(error).rstrip(".")) from None


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:].rstrip(".")


def _place(way: Way, data: Mapping[str, Any]) -> str:
    """Name the bar and step a way leads through: ' (step weld of bar feather)'."""
    try:
        bar = data["bar"][way[1]] if len(way) > 1 and way[0] == "bar" else None
        if bar is None:
            return ""
        if len(way) > 3 and way[2] == "step":
            step = bar["step"][way[3]]
            name = step.get("id", int(way[3]) + 1)
            return f" (step {name} of bar {bar.get('name', int(way[1]) + 1)})"
        return f" (bar {bar.get('name', int(way[1]) + 1)})"
    except (KeyError, IndexError, TypeError, AttributeError):
        return ""


_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]\[#]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"""^\s*["']?([A-Za-z0-9_-]+)["']?\s*(?:\.[^=]*)?=""")


def line_of(text: str, way: Way) -> int:
    """Return the line (from 1) of the value `way` leads to, or of the nearest table around it.

    Parameters
    ----------
    text : str
        A job file.
    way : tuple of str and int
        As ('bar', 0, 'step', 3, 'height_mm').
    """
    counts: dict[Way, int] = {}
    table: Way = ()
    best, best_depth = 1, -1
    for number, line in enumerate(text.splitlines(), start=1):
        header = _HEADER.match(line)
        if header:
            table = _table_way(header, counts)
            here: Way = table
        else:
            key = _KEY.match(line)
            if not key:
                continue
            here = (*table, key.group(1))
        depth = len(here)
        if way[:depth] == here and depth > best_depth:
            best, best_depth = number, depth
    return best


def _table_way(header: re.Match[str], counts: dict[Way, int]) -> Way:
    names = [part.strip().strip("\"'") for part in header.group(2).split(".")]
    way: Way = ()
    for depth, name in enumerate(names):
        way = (*way, name)
        if depth == len(names) - 1 and header.group(1) == "[[":
            counts[way] = counts.get(way, -1) + 1
        if way in counts:
            way = (*way, counts[way])
    return way
