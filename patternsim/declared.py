"""What the fields of a step, a shop or a blade say of themselves, one value after the other.

Forms are made of this: label, unit, reason, limits, choices. How they look is not told here.
"""

from __future__ import annotations

import math
import types
import typing
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from patternsim.errors import UsageError
from patternsim.sizes import both, format_number
from patternsim.wording import PROFILE_WORDS, SIDE_WORDS

Kind = Literal["number", "count", "choice", "text", "switch"]
Way = tuple[str | int, ...]
Value = float | int | str | bool | None
M = TypeVar("M", bound=BaseModel)

AS_USUAL = "as usual"
"""Words for a choice that is left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Declared:
    """One value and what is declared of it.

    Attributes
    ----------
    way : tuple of str and int
        To the value inside the model: ('strips', 0, 'thickness_mm').
    label, unit, reason : str
    kind : str
        'number', 'count' (whole), 'choice', 'text' or 'switch'.
    value, default : number, str, bool or None
        None where it is left out and follows from the rest.
    required : bool
        It must be given.
    low, above, high : float or None
        Smallest value, value it must pass, largest value.
    choices : tuple of (value, words)
        The value None stands for leaving it out.
    """

    way: Way
    label: str
    unit: str
    reason: str
    kind: Kind
    value: Value
    default: Value = None
    required: bool = False
    low: float | None = None
    above: float | None = None
    high: float | None = None
    choices: tuple[tuple[Value, str], ...] = ()


def fields_of(model: BaseModel) -> tuple[Declared, ...]:
    """Return the values of a model: its own as they are declared, then what it shares, its name last.

    Left out are the kind of a step and what concerns its place on the card (skipped, stage). Of lists
    and tables the values that are there are given, one by one.

    Examples
    --------
    >>> from patternsim.shop import Shop
    >>> [(one.label, one.value, one.unit) for one in fields_of(Shop())][:2]
    [('Saw kerf', 2.0, 'mm'), ('Skin lost in a welding heat', 0.1, 'mm')]
    """
    found = list(_walk(model, (), ""))
    return tuple(sorted(found, key=lambda one: one.way == ("id",)))


def changed(model: M, way: Way, value: Value) -> M:
    """Return the model with another value at `way`; None leaves it out.

    Raises
    ------
    UsageError
        If the value cannot be; one sentence that says why.
    """
    declared = next((one for one in fields_of(model) if one.way == way), None)
    if declared is None:
        raise UsageError(f"there is no value {'.'.join(map(str, way))} here; name one that is there")
    if declared.kind == "count" and isinstance(value, float) and value.is_integer():
        value = int(value)
    values = _with(model.model_dump(), way, value)
    try:
        return type(model).model_validate(values, strict=True)
    except ValidationError as error:
        raise UsageError(_fault(declared, value, error)) from error


def refusal(model: BaseModel, way: Way, value: Value) -> str:
    """Return why the value at `way` cannot be, in one sentence; '' where it can."""
    try:
        changed(model, way, value)
    except UsageError as error:
        return str(error)
    return ""


# --- walking through a model -------------------------------------------------------------

_NOT_SHOWN = {"skip", "stage"}
_UNITS = {"_mm": "mm", "_deg": "deg", "_pct": "%", "_c": "degC"}
_WORDS = {
    **PROFILE_WORDS,
    **SIDE_WORDS,
    "on-line": "on the centre line",
    "by-numbers": "where the numbers say",
    "near": "near end",
    "far": "far end",
    "flat": "flat bevels",
    "dagger": "dagger, four bevels",
}


def _walk(model: BaseModel, way: Way, before: str) -> Iterator[Declared]:
    """Yield the values of a model; `before` is what their labels begin with."""
    for name, info in _own_first(type(model)):
        told = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
        value = getattr(model, name)
        here = (*way, name)
        label = str(told.get("label", "")) or _from_name(name)
        kind, options = _kind(info.annotation)
        if name in _NOT_SHOWN or (kind == "choice" and len(options) == 1):
            continue
        if isinstance(value, BaseModel):
            yield from _walk(value, here, before)
        elif isinstance(value, tuple | Mapping):
            yield from _entries(value, info, way=here, label=before + label)
        else:
            yield _declared(info, way=here, label=before + label, value=value)


def _own_first(model: type[BaseModel]) -> list[tuple[str, FieldInfo]]:
    """Return the fields of a model; what all hot steps have comes after what makes this one."""
    bases = [base for base in model.__mro__[1:] if issubclass(base, BaseModel)]
    shared = {name for base in bases for name in base.model_fields}
    return sorted(model.model_fields.items(), key=lambda field: field[0] in shared)


def _declared(info: FieldInfo, *, way: Way, label: str, value: Value) -> Declared:
    told = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
    kind, options = _kind(info.annotation)
    low, above, high = (_limit(info, side) for side in ("ge", "gt", "le"))
    return Declared(
        way=way,
        label=label,
        unit=str(told.get("unit", "")),
        reason=str(told.get("reason", "")),
        kind=kind,
        value=value,
        default=None if info.is_required() else info.default,
        required=info.is_required(),
        low=low,
        above=above,
        high=high,
        choices=tuple((one, _words(one, way)) for one in options),
    )


def _entries(
    entries: tuple[Any, ...] | Mapping[str, Any], info: FieldInfo, *, way: Way, label: str
) -> Iterator[Declared]:
    """Yield the values of a list or table, each called by its number or name."""
    told = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
    by_name = isinstance(entries, Mapping)
    for key, entry in entries.items() if isinstance(entries, Mapping) else enumerate(entries):
        name = _from_name(str(key)) if by_name else _numbered(label, int(key) + 1)
        if isinstance(entry, BaseModel):
            yield from _walk(entry, (*way, key), f"{name}: ")
            continue
        yield Declared(
            way=(*way, key),
            label=name,
            unit=_unit(str(key if by_name else way[-1])),
            reason=str(told.get("reason", "")),
            kind="text" if isinstance(entry, str) else "number",
            value=entry,
            required=not by_name,
        )


def _kind(annotation: Any) -> tuple[Kind, tuple[Value, ...]]:  # noqa: ANN401 - any annotation
    """Return what sort of value an annotation allows, and the values of a choice."""
    if typing.get_origin(annotation) in (typing.Union, types.UnionType):
        parts = [part for part in typing.get_args(annotation) if part is not type(None)]
        kind, options = _kind(parts[0])
        return kind, (None, *options) if kind == "choice" else ()
    if typing.get_origin(annotation) is Literal:
        return "choice", typing.get_args(annotation)
    kinds: dict[Any, Kind] = {bool: "switch", int: "count", float: "number"}
    return kinds.get(annotation, "text"), ()


def _limit(info: FieldInfo, side: str) -> float | None:
    found = [getattr(rule, side) for rule in info.metadata if getattr(rule, side, None) is not None]
    return float(found[0]) if found else None


def _words(value: Value, way: Way) -> str:
    if value is None:
        return AS_USUAL
    # A profile and a grind may both be called dagger.
    table = PROFILE_WORDS if way[-1] == "profile" else _WORDS
    return table.get(str(value), str(value).replace("-", " "))


def _from_name(name: str) -> str:
    """Return a label made of the name of a field: 'length_mm' gives 'Length'."""
    for ending in _UNITS:
        name = name.removesuffix(ending)
    return name.replace("_", " ").capitalize()


def _unit(name: str) -> str:
    return next((unit for ending, unit in _UNITS.items() if name.endswith(ending)), "")


def _numbered(label: str, number: int) -> str:
    """Return the label of one entry of a list: 'Strips to' gives 'Strip 1 to'."""
    first, _, rest = label.partition(" ")
    if first.endswith("s"):
        return f"{first[:-1]} {number}" + (f" {rest}" if rest else "")
    return f"{label} {number}"


# --- changing one value ------------------------------------------------------------------


def _with(values: Any, way: Way, value: Value) -> Any:  # noqa: ANN401 - tables, lists and values
    """Return nested tables and lists with one value changed, or taken out of its table."""
    if not way:
        return value
    first = way[0]
    if isinstance(first, int):
        entries = list(values)
        entries[first] = _with(entries[first], way[1:], value)
        return tuple(entries)
    if len(way) == 1 and value is None:
        return {name: one for name, one in values.items() if name != first}
    return {**values, first: _with(values[first], way[1:], value)}


_LIMIT_WORDS = {
    "greater_than": ("gt", "more than"),
    "greater_than_equal": ("ge", "at least"),
    "less_than_equal": ("le", "at most"),
    "less_than": ("lt", "less than"),
}
_WANTED: dict[Kind, str] = {
    "number": "give a number",
    "count": "give a whole number",
    "choice": "choose one of those offered",
    "text": "give a text",
    "switch": "give yes or no",
}


def _fault(declared: Declared, value: Value, error: ValidationError) -> str:
    """Return the first fault as a sentence."""
    fault = error.errors()[0]
    kind, context = fault["type"], fault.get("ctx", {})
    label = declared.label
    if kind == "missing" or value is None:
        return f"{label} is left out; {_WANTED[declared.kind]}"
    if isinstance(value, float) and not math.isfinite(value):
        return f"{label} is no number; {_WANTED[declared.kind]}"
    given = _measure(declared, value)
    if kind in _LIMIT_WORDS and declared.way == tuple(fault["loc"]):
        side, words = _LIMIT_WORDS[kind]
        return f"{label} is {given}; it must be {words} {_measure(declared, context[side])}"
    if kind == "string_pattern_mismatch":
        return f"{label} is {given}; use small letters, figures and dashes, at most 40"
    if kind == "string_too_long":
        return f"{label} is longer than {context['max_length']} letters; shorten it"
    if kind == "string_too_short":
        return f"{label} is empty; give a text"
    if kind == "value_error":
        return f"{label} cannot be {given}: {str(context['error']).rstrip('.')}"
    return f"{label} is {given}; {_WANTED[declared.kind]}"


def _measure(declared: Declared, value: Value) -> str:
    if isinstance(value, str):
        shown = value if len(value) <= 40 else f"{value[:37]}..."
        return f"“{shown}”"
    if isinstance(value, bool) or value is None:
        return "yes" if value else "no"
    if declared.unit == "mm" and value:
        return both(float(value))
    return f"{format_number(value)} {declared.unit}".rstrip()
