"""What a step is: a frozen declaration with one verb, `work`; fields that explain themselves.

A step tells of itself in two lengths: `sentence` in full, `card` short, with its values in it. How
either is shown is not decided here.
"""

from __future__ import annotations

import types
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar, Literal, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field

from patternsim.forming import Losses
from patternsim.piece import Piece
from patternsim.press import Level
from patternsim.progress import Progress, Silent
from patternsim.shop import Shop

_REQUIRED = ...


def number(
    default: object = _REQUIRED,
    *,
    label: str,
    unit: str,
    reason: str,
    low: float | None = None,
    above: float | None = None,
    high: float | None = None,
) -> Any:  # noqa: ANN401 - pydantic's field value
    """Declare a number of a step: its words, unit, default, limits and reason.

    Parameters
    ----------
    default : object
        Left out: the job must give it. None: follows from other numbers.
    label, unit, reason : str
        Shown beside the number; unit '' for a pure number.
    low, above, high : float, optional
        Smallest value, value it must pass, largest value.
    """
    return Field(
        default,
        ge=low,
        gt=above,
        le=high,
        json_schema_extra={"label": label, "unit": unit, "reason": reason},
    )


def choice(default: object = _REQUIRED, *, label: str, reason: str, longest: int | None = None) -> Any:  # noqa: ANN401 - pydantic's field value
    """Declare a choice, a yes or no, a text or a list of a step: its words and reason.

    `longest` is the most letters a text, or entries a list, may have.
    """
    return Field(
        default,
        max_length=longest,
        json_schema_extra={"label": label, "unit": "", "reason": reason},
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A value in the short sentence of a step, with all that is needed to change it.

    Attributes
    ----------
    field : str
        The way to it inside the step, dotted: 'height_mm', 'strips.0.thickness_mm'.
    value : float, int or str
    unit : str
        'mm', 'deg', '%' or ''.
    label : str
        As declared; of a value in a list with its place: 'Strip 1: Thickness'.
    kind : str
        'number', 'count' (whole), 'choice' or 'text'.
    choices : tuple of (value, words)
    low, above, high : float or None
        Smallest value, value it must pass, largest value, as declared.
    """

    field: str
    value: float | int | str
    unit: str
    label: str
    kind: Literal["number", "count", "choice", "text"]
    choices: tuple[tuple[str | int, str], ...] = ()
    low: float | None = None
    above: float | None = None
    high: float | None = None

    def words(self) -> str:
        """Return the value as words, in the unit it is declared in."""
        if self.kind == "choice":
            return dict(self.choices)[self.value]  # type: ignore[index]
        return self.value if isinstance(self.value, str) else f"{self.value:.10g}"


Part = str | Slot
"""A part of a short sentence: plain words or a value."""

CARD_LETTERS, CARD_STRIPS = 48, 3
"""Letters of a free text, and values of a list, that fit a short sentence."""

_KINDS: dict[type, Literal["number", "count", "text"]] = {float: "number", int: "count", str: "text"}
_UNITS = {"_mm": "mm", "_deg": "deg", "_pct": "%"}


def slot(step: BaseModel, field: str) -> Slot:
    """Return the value of `step` at `field` with what its declaration says of it.

    Parameters
    ----------
    step : BaseModel
    field : str
        Dotted; whole numbers are places in a list, from 0.

    Raises
    ------
    ValueError
        If there is no such value, it is left out, or no part of a sentence.
    """
    at: Any = step
    told: Any = None
    annotation: Any = type(step)
    label = unit = ""
    for part in field.split("."):
        if isinstance(at, BaseModel) and part in type(at).model_fields:
            told = type(at).model_fields[part]
            said = told.json_schema_extra
            label += f": {said['label']}" if label else said["label"]
            # Of a list of plain numbers only the name tells the unit.
            unit = said["unit"] or next((u for end, u in _UNITS.items() if part.endswith(end)), "")
            at, annotation = getattr(at, part), told.annotation
        elif isinstance(at, tuple) and part.isdecimal() and int(part) < len(at):
            told, at, annotation = None, at[int(part)], get_args(annotation)[0]
            place = int(part) + 1
            inner = isinstance(at, BaseModel)
            label = f"{label.removesuffix('s')} {place}" if inner else f"{label}, entry {place}"
        else:
            raise ValueError(f"{field}: there is no {part}")
    if get_origin(annotation) in (Union, types.UnionType):
        annotation = next(one for one in get_args(annotation) if one is not type(None))
    if at is None or not (get_origin(annotation) is Literal or annotation in _KINDS):
        raise ValueError(f"{field}: this is no value to be shown in a sentence")
    if get_origin(annotation) is Literal:
        choices = tuple((one, str(one).replace("-", " ")) for one in get_args(annotation))
        return Slot(field=field, value=at, unit=unit, label=label, kind="choice", choices=choices)
    return Slot(
        field=field,
        value=at,
        unit=unit,
        label=label,
        kind=_KINDS[annotation],
        low=_limit(told, "ge"),
        above=_limit(told, "gt"),
        high=_limit(told, "le"),
    )


def _limit(told: Any, sign: str) -> float | None:  # noqa: ANN401 - pydantic's field or None
    rules = told.metadata if told is not None else ()
    return next((getattr(rule, sign) for rule in rules if getattr(rule, sign, None) is not None), None)


def clauses(*rows: tuple[Part, ...]) -> tuple[Part, ...]:
    """Return clauses as one short sentence: commas between them, a capital in front.

    Empty clauses are left out; neighbouring words become one part.
    """
    parts: list[Part] = []
    for row in rows:
        for part in (", ", *row) if parts and row else row:
            if isinstance(part, str) and parts and isinstance(parts[-1], str):
                parts[-1] += part
            elif part != "":
                parts.append(part)
    if parts and isinstance(parts[0], str):
        parts[0] = parts[0][:1].upper() + parts[0][1:]
    return tuple(parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """What a step may know beyond its pieces.

    Attributes
    ----------
    shop : Shop
    level : Level
        One level for the whole job.
    bars : mapping
        Pieces other bars of the job ended with, for `join`.
    progress : Progress
    like : mapping
        What steps answered when they were worked out last, by their id: it stands in for closed forms.
    """

    shop: Shop
    level: Level
    bars: Mapping[str, tuple[Piece, ...]] = field(default_factory=dict)
    progress: Progress = field(default_factory=Silent)
    like: Mapping[str, tuple[object, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outcome:
    """What a step gives.

    Attributes
    ----------
    pieces : tuple of Piece
    losses : Losses
        Steel taken off all pieces, mm3.
    source : str
        'exact' where the way back is exact; else the level of the map.
    rough : str
        Why the map is a stand-in not to be read closely; empty where it is not.
    offcuts : tuple of Piece
        Named pieces set aside.
    measures : mapping
        Numbers other parts judge or speak of, by name.
    force_kn : float or None
        None where nothing is pressed or the level works out no force.
    remembered : tuple
        What presses answered, one a piece: it may stand in for a step much like this one.
    """

    pieces: tuple[Piece, ...]
    losses: Losses = field(default_factory=Losses)
    source: str = "exact"
    rough: str = ""
    offcuts: tuple[Piece, ...] = ()
    measures: Mapping[str, float] = field(default_factory=dict)
    force_kn: float | None = None
    remembered: tuple[object, ...] = ()


class Step(BaseModel, ABC):
    """Base of all steps. Subclasses declare `kind`, fields, `work`, `sentence` and `card`."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    title: ClassVar[str] = ""
    """Trade words for the step, as on a job card."""

    id: str = Field(
        pattern=r"^[a-z0-9][a-z0-9-]{0,39}$",
        json_schema_extra={
            "label": "Name of the step", "unit": "", "reason": "small letters, figures and dashes"
        },
    )  # fmt: skip
    skip: bool = choice(
        False, label="Skipped", reason="left out when the job is worked; kept on the card"
    )
    stage: str = choice("", label="Stage", reason="heading above this step on the card", longest=40)

    @abstractmethod
    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Work the step on `pieces`.

        Raises
        ------
        StepError
            If the steel does not allow it; names the number that stops it.
        """

    @abstractmethod
    def sentence(self) -> str:
        """Return the step as a full sentence."""

    @abstractmethod
    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card: words and the values one changes most.

        About two lines of 32 letters; lengths without their unit, others with.
        """


class HotStep(Step):
    """Base of steps at heat: heats and temperature belong to every one of them."""

    heats: int = number(
        1, label="Heats", unit="", low=1, high=40,
        reason="each costs a skin of scale off every face",
    )  # fmt: skip
    temperature_c: float = number(
        1150.0, label="Temperature", unit="degC", low=700.0, high=1320.0,
        reason="mean of the steel while worked: the force follows it, the scale not yet",
    )  # fmt: skip

    def heats_text(self) -> str:
        """Return '1 heat' or '3 heats', as a sentence needs it."""
        return "1 heat" if self.heats == 1 else f"{self.heats} heats"

    def heats_clause(self) -> tuple[Part, ...]:
        """Return the heats as the last clause of a short sentence."""
        return (slot(self, "heats"), " heat" if self.heats == 1 else " heats")


def card_text(step: Step) -> str:
    """Return the short sentence of a step as plain text."""
    return "".join(part if isinstance(part, str) else part.words() for part in step.card())


REGISTRY: dict[str, type[Step]] = {}
"""All step kinds by the name they have in a job file."""

S = TypeVar("S", bound=Step)


def register(cls: type[S]) -> type[S]:
    """Enter a step class under its `kind`; a decorator."""
    fields: dict[str, Any] = cls.model_fields
    kind = str(fields["kind"].default)
    # Sheets and messages go through the values in this order: the step's own come first.
    for name in ("skip", "stage"):
        fields[name] = fields.pop(name)
    REGISTRY[kind] = cls
    return cls
