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
from patternsim.errors import JobError, NewerFormatError
from patternsim.job.faults import meant, one_sentence, printable, shown, text_fault, value_fault
from patternsim.job.model import FORMAT, MOST_BARS, Blade, Job
from patternsim.job.places import Way, line_of
from patternsim.job.wiring import WiringError, check_wiring
from patternsim.shape import GRINDS, PROFILES
from patternsim.step import REGISTRY, Step

MOST_BYTES = 500_000
MOST_STEPS = 2000
M = TypeVar("M", bound=BaseModel)

# Keys of dozens of parts are no slip of the pen, and reading them takes time with the square of
# their parts.
_ENDLESS_KEY = re.compile(
    r"""(?<![\w-])(?:[\w-]+|"[^"\n]*"|'[^'\n]*')(?:[ \t]*\.[ \t]*(?:[\w-]+|"[^"\n]*"|'[^'\n]*')){40}"""
)


def load(path: str | Path) -> Job:
    """Read the job file at `path`.

    Raises
    ------
    JobError
        If the file cannot be read; one sentence with the place and what to do.
    """
    return parse(read_text(path), name=Path(path).name)


def read_text(path: str | Path) -> str:
    """Return the text of a job file, with the line ends and the byte order mark it has.

    Raises
    ------
    JobError
        If there is no text to be had.
    """
    file = Path(path)
    name = printable(str(file))
    try:
        if file.is_dir():
            raise JobError(f"{name} is a folder; give the path of a job file")
        with file.open("rb") as stream:
            # Never more than that: what is no regular file may have no end.
            raw = stream.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no usable path"
        raise JobError(f"{name}: {reason.lower()}; give the path of a job file") from error
    if len(raw) > MOST_BYTES:
        raise JobError(
            f"{name} is larger than {MOST_BYTES // 1000} kB; a job file is a text of a few "
            "kilobytes, give the path of one"
        )
    return _decoded(raw, file.name)


def _decoded(raw: bytes, name: str) -> str:
    odd = raw.find(b"\0")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        odd = error.start if odd < 0 else min(odd, error.start)
    else:
        if odd < 0:
            return text
    line = raw.count(b"\n", 0, odd) + 1
    raise JobError(f"{printable(name)}, line {line}: this is not UTF-8 text; save the job as UTF-8")


def parse(text: str, *, name: str = "job") -> Job:
    """Read a job from `text`; `name` is used in messages.

    Raises
    ------
    JobError
    """
    known, job = _latest
    if job is not None and text == known:
        return job
    plain = text.removeprefix("\ufeff")
    return built(text, _table(plain, printable(name)), name=name)


_latest: tuple[str, Job | None] = ("", None)
"""The text read last and its job: what edits a job reads the result, and who asked for it again."""


def built(text: str, data: dict[str, Any], *, name: str = "job") -> Job:
    """Return the job of a `text` that reads as `data`.

    Raises
    ------
    JobError
    """
    global _latest
    name = printable(name)
    try:
        job = _built(data)
    except _Fault as fault:
        text = text.removeprefix("\ufeff")
        where = f"{name}, line {line_of(text, fault.way)}{place_words(fault.way, data)}"
        error = fault.error_type(f"{where}: {fault.text}")
        error.place, error.fault = _place_of(fault.way, data), fault.text
        raise error from None
    _latest = (text, job)
    return job


def _table(text: str, name: str) -> dict[str, Any]:
    """Read the text as TOML."""
    if not text.strip():
        raise JobError(f"{name} is empty; `patternsim new` lists jobs to start from")
    endless = _ENDLESS_KEY.search(text)
    if endless:
        line = text.count("\n", 0, endless.start()) + 1
        raise JobError(f"{name}, line {line}: a key of more than 40 parts; mend the text there")
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        line = _deepest_line(text)
        raise JobError(
            f"{name}, line {line}: brackets are nested too deep for a job; mend the text there"
        ) from error
    except ValueError as error:
        line, words = text_fault(str(error), text)
        raise JobError(f"{name}, line {line}: {words}") from error


def _deepest_line(text: str) -> int:
    counts = [line.count("[") + line.count("{") for line in text.split("\n")]
    return counts.index(max(counts)) + 1


class _Fault(Exception):
    def __init__(self, way: Way, text: str, error_type: type[JobError] = JobError) -> None:
        super().__init__(text)
        self.way = way
        self.text = text
        self.error_type = error_type


def _built(data: dict[str, Any]) -> Job:
    _check_format(data)
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
        _check_place(job.blade)
        _check_grind(job.blade)
    try:
        check_wiring(job)
    except WiringError as error:
        raise _Fault(error.way, str(error)) from None
    return job


def _check_format(data: Mapping[str, Any]) -> None:
    found = data.get("format")
    if found is None:
        raise _Fault((), f'a job begins with "format = {FORMAT}"; put it on the first line')
    if not isinstance(found, int) or isinstance(found, bool) or found < 1:
        raise _Fault(
            ("format",), f"the format is {shown(found)}; write it as a number, format = {FORMAT}"
        )
    if found > FORMAT:
        raise _Fault(
            ("format",),
            f"format {shown(found)} is newer than this release can read ({FORMAT}); use a newer release",
            NewerFormatError,
        )


def _steps(bars: list[Any]) -> list[Any]:
    """Build the steps of all bars; what is no list of tables is left to the model to refuse."""
    if len(bars) > MOST_BARS:
        raise _Fault(("bar",), f"{len(bars)} bars; a job has at most {MOST_BARS}, take some out")
    result: list[Any] = []
    count = 0
    for k, bar in enumerate(bars):
        rows = bar.get("step") if isinstance(bar, dict) else None
        if not isinstance(rows, list):
            result.append(rows)
            continue
        count += len(rows)
        if count > MOST_STEPS:
            raise _Fault(
                ("bar", k), f"more than {MOST_STEPS} steps; a job has some dozens, take some out"
            )
        result.append([_step(row, ("bar", k, "step", place)) for place, row in enumerate(rows)])
    return result


def _step(row: object, way: Way) -> Step:
    if not isinstance(row, dict):
        raise _Fault(way, "a step is a table headed [[bar.step]]; give it id, kind and its numbers")
    if "kind" not in row:
        raise _Fault(way, f"the step has no kind; use one of: {', '.join(sorted(REGISTRY))}")
    kind = row["kind"]
    if not isinstance(kind, str) or kind not in REGISTRY:
        near = meant(kind, REGISTRY) if isinstance(kind, str) else ""
        remedy = near or f"; use one of: {', '.join(sorted(REGISTRY))}"
        raise _Fault((*way, "kind"), f"there is no step kind {shown(kind)}{remedy}")
    return _validated(REGISTRY[kind], row, way)


def _validated(model: type[M], data: Mapping[str, Any], way: Way) -> M:
    """Build a model; strictly, since "2" and true are slips of the pen where 2 is meant."""
    try:
        return model.model_validate(_frozen(data), strict=True)
    except ValidationError as error:
        faults = error.errors(include_url=False)
        # A misspelt key is also a missing one, and the spelling is what there is to mend.
        first = next((one for one in faults if one["type"] == "extra_forbidden"), faults[0])
        raise _Fault((*way, *first["loc"]), value_fault(first, _keys(model, first["loc"]))) from None
    except OverflowError:
        raise _Fault(way, "a number is too large to be read; mend it") from None


def _frozen(value: object) -> Any:  # noqa: ANN401 - any value of a job file
    """Return lists as tuples, which is what the frozen models hold."""
    if isinstance(value, Mapping):
        return {key: _frozen(one) for key, one in value.items()}
    if isinstance(value, list):
        return tuple(_frozen(one) for one in value)
    return value


def _keys(model: type[BaseModel], loc: tuple[int | str, ...]) -> list[str]:
    """Return the keys of the table in which the last part of `loc` stands."""
    for part in loc[:-1]:
        if isinstance(part, int) or part not in model.model_fields:
            continue
        inner = _inner_model(model.model_fields[part].annotation)
        if inner is None:
            return []
        model = inner
    return list(model.model_fields)


def _inner_model(annotation: Any) -> type[BaseModel] | None:  # noqa: ANN401 - any annotation
    if inspect.isclass(annotation) and issubclass(annotation, BaseModel):
        return annotation
    parts = (_inner_model(part) for part in getattr(annotation, "__args__", ()))
    return next((part for part in parts if part is not None), None)


def _check_outline(blade: Blade) -> None:
    known = list(inspect.signature(PROFILES[blade.profile]).parameters)
    for key in blade.outline:
        if key not in known:
            remedy = meant(key, known) or f"; it has: {', '.join(known)}"
            raise _Fault(
                ("blade", "outline", key),
                f"unknown key {shown(key)} for the profile {blade.profile}{remedy}",
            )
    try:
        PROFILES[blade.profile](**blade.outline)
    except ValueError as error:
        raise _Fault(("blade", "outline"), one_sentence(str(error))) from None


def _check_place(blade: Blade) -> None:
    if blade.place.tip == "on-line" and blade.place.off_middle_mm:
        raise _Fault(
            ("blade", "place", "off_middle_mm"),
            f'"off_middle_mm" is {blade.place.off_middle_mm:g}, but the tip lies on the centre line; '
            'take it out, or give tip = "by-numbers"',
        )


def _check_grind(blade: Blade) -> None:
    try:
        blade.grind.over(GRINDS[blade.profile])
    except ValueError as error:
        raise _Fault(("blade", "grind"), one_sentence(str(error))) from None


def place_words(way: Way, data: Mapping[str, Any]) -> str:
    """Name the bar and step a way leads through: ' (step weld of bar feather)', or ''."""
    try:
        if len(way) < 2 or way[0] != "bar":
            return ""
        bar = data["bar"][way[1]]
        words = f"bar {_called(bar, 'name', way[1])}"
        if len(way) > 3 and way[2] == "step":
            words = f"step {_called(bar['step'][way[3]], 'id', way[3])} of {words}"
    except (KeyError, IndexError, TypeError):
        return ""
    return f" ({words})"


def _place_of(way: Way, data: Mapping[str, Any]) -> str:
    """Return 'blade', 'shop' or the id of the step a way leads to; '' for none of them."""
    if way and way[0] in ("blade", "shop"):
        return str(way[0])
    try:
        found = data["bar"][way[1]]["step"][way[3]]["id"] if len(way) > 3 else ""
    except (KeyError, IndexError, TypeError):
        return ""
    return found if isinstance(found, str) else ""


def _called(table: object, key: str, place: str | int) -> str:
    """Return the name a table gives itself, or its number, from 1."""
    name = table.get(key) if isinstance(table, Mapping) else None
    return shown(name)[1:-1] if isinstance(name, str) and name else str(int(place) + 1)
