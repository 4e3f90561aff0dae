"""What a step is: a frozen declaration with one verb, `work`; fields that explain themselves."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar, TypeVar

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


def choice(default: object = _REQUIRED, *, label: str, reason: str) -> Any:  # noqa: ANN401
    """Declare a choice, a yes or no, or a list of a step: its words and reason."""
    return Field(default, json_schema_extra={"label": label, "unit": "", "reason": reason})


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
    """

    shop: Shop
    level: Level
    bars: Mapping[str, tuple[Piece, ...]] = field(default_factory=dict)
    progress: Progress = field(default_factory=Silent)


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
    """

    pieces: tuple[Piece, ...]
    losses: Losses = field(default_factory=Losses)
    source: str = "exact"
    rough: str = ""
    offcuts: tuple[Piece, ...] = ()
    measures: Mapping[str, float] = field(default_factory=dict)
    force_kn: float | None = None


class Step(BaseModel, ABC):
    """Base of all steps. Subclasses declare `kind`, fields, `work` and `sentence`."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    title: ClassVar[str] = ""
    """Trade words for the step, as on a job card."""

    id: str = Field(
        pattern=r"^[a-z0-9][a-z0-9-]{0,39}$",
        json_schema_extra={
            "label": "Name of the step", "unit": "", "reason": "small letters, figures and dashes"
        },
    )  # fmt: skip

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
        """Return the step as a sentence of the job card."""


class HotStep(Step):
    """Base of steps at heat: heats and temperature belong to every one of them."""

    heats: int = number(
        1, label="Heats", unit="", low=1, high=40,
        reason="each costs a skin of scale off every face",
    )  # fmt: skip
    temperature_c: float = number(
        1150.0, label="Temperature", unit="degC", low=700.0, high=1320.0,
        reason="mean of the steel while worked, for the job card; scale and force do not follow it yet",
    )  # fmt: skip

    def heats_text(self) -> str:
        """Return '1 heat' or '3 heats', as a sentence needs it."""
        return "1 heat" if self.heats == 1 else f"{self.heats} heats"


REGISTRY: dict[str, type[Step]] = {}
"""All step kinds by the name they have in a job file."""

S = TypeVar("S", bound=Step)


def register(cls: type[S]) -> type[S]:
    """Enter a step class under its `kind`; a decorator."""
    fields: dict[str, Any] = cls.model_fields
    kind = str(fields["kind"].default)
    REGISTRY[kind] = cls
    return cls
