"""The step sheet and the steel line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from patternsim_app.shown.basics import Grade, Value


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldRow:
    """One value of a step (or of blade or shop) on the sheet.

    Attributes
    ----------
    field : str
        Dotted way inside the step.
    label, unit, reason : str
    kind : str
        'number', 'count', 'choice', 'text' or 'switch'.
    value, default : number, str, bool or None
        None: left out, follows from the rest; a default of None with `required` False likewise.
    required : bool
        The job must give it.
    choices : tuple of (value, words)
    low, above, high : float or None
    comes_to : float or None
        What it was worked out to where it is left out.
    """

    field: str
    label: str
    unit: str
    reason: str
    kind: Literal["number", "count", "choice", "text", "switch"]
    value: Value
    default: Value = None
    required: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    low: float | None = None
    above: float | None = None
    high: float | None = None
    comes_to: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingNote:
    """A finding as the window tells it.

    Attributes
    ----------
    key : str
        Unique among those shown.
    code, title : str
        Stable name; a few words.
    grade : str
    step : str
        Key of the step; empty for the blade or the job.
    place, text, remedy, source : str
    value, limit : float or None
        In `unit`.
    accepted : bool
    """

    key: str
    code: str
    title: str
    grade: Grade
    step: str
    place: str
    text: str
    remedy: str
    source: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    accepted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The sheet of one step.

    Attributes
    ----------
    key : str
        Id of the step.
    number : int
    title, kind, sentence : str
    rows : tuple of FieldRow
    facts : tuple of (label, words)
        Results, not to be changed: 'Lost here', '0.03 kg'. Words are ready to be shown.
    findings : tuple of FindingNote
    caution : str
        Where the work of the step can hurt; empty else.
    trouble : str
        What stops the step; empty where nothing does.
    """

    key: str
    number: int
    title: str
    kind: str
    sentence: str
    rows: tuple[FieldRow, ...]
    facts: tuple[tuple[str, str], ...] = ()
    findings: tuple[FindingNote, ...] = ()
    caution: str = ""
    trouble: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SteelColumn:
    """Steel after one step.

    Attributes
    ----------
    key : str
        Id of the step.
    number : int
    kg, lost_kg : float
        All the steel of the step's bar that is left; what the step took off, off-cuts included.
    grade : str
        Worst finding of the step.
    worked : bool
        False of a step that cannot be done, and of all after it.
    refused : bool
        The step that cannot be done.
    """

    key: str
    number: int
    kg: float
    lost_kg: float
    grade: Grade = "fine"
    worked: bool = True
    refused: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SteelShown:
    """The steel line.

    Attributes
    ----------
    columns : tuple of SteelColumn
    start_kg : float
    need_kg : float or None
        What the last bars must weigh for the blades; None where there is no blade.
    need_words : str
        '2 blades need'.
    words : str
        '45 mm longer', of the bar; with no `detail` a sentence of its own.
    detail : str
        'than needed'.
    """

    columns: tuple[SteelColumn, ...]
    start_kg: float
    need_kg: float | None
    words: str
    need_words: str = "blade needs"
    detail: str = ""
