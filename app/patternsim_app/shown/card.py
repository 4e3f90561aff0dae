"""The five answers, the job card and the kinds of steps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from patternsim_app.shown.basics import Grade, Rgba, Value


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerTile:
    """One of the five answers at a glance.

    Attributes
    ----------
    key : str
        'tip', 'barbs', 'steel', 'press' or 'risk'.
    name : str
        As shown: 'Tip'.
    headline, detail : str
        A few words in large letters; one line in small ones.
    grade : str
    spoken : str
        The whole as one sentence, for screen readers and tool tips.
    step : str
        Key of the step it points at; empty for none.
    """

    key: str
    name: str
    headline: str
    detail: str
    grade: Grade
    spoken: str
    step: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Token:
    """A part of a step's sentence: plain words, or a value that can be changed.

    Attributes
    ----------
    text : str
        The plain words; empty where it is a value.
    field : str
        Way to the value inside the step, dotted: 'height_mm', 'strips.0.thickness_mm'; empty for
        plain words.
    value : number, str or bool
    unit : str
        'mm', 'deg', 'degC', '%' or ''.
    kind : str
        'number', 'count' (whole), 'choice' or 'text'.
    choices : tuple of (value, words)
    low, above, high : float or None
    label : str
        For screen readers: 'Nose radius'.
    """

    text: str = ""
    field: str = ""
    value: Value = None
    unit: str = ""
    kind: Literal["words", "number", "count", "choice", "text"] = "words"
    choices: tuple[tuple[str, str], ...] = ()
    low: float | None = None
    above: float | None = None
    high: float | None = None
    label: str = ""


State = Literal["worked", "waiting", "refused", "unworked", "skipped"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StepRow:
    """One line of the job card.

    Attributes
    ----------
    key : str
        Id of the step, the same through all changes.
    number : int
        Its place in forge order, from 1.
    bar : str
    heading : str
        Stage or bar that begins here; empty where none does.
    kind, title : str
        As in the job file; in trade words.
    tokens : tuple of Token
    spoken : str
        The full sentence.
    state : str
        'worked'; 'waiting' for its result; 'refused' (cannot be done: `reason`); 'unworked' (after a
        refused one); 'skipped'.
    reason : str
        What stops it.
    size : (x, y, z) mm or None
        Of the first piece after the step.
    thumb : Rgba or None
        Small section after the step.
    grade : str
        Worst of its findings.
    rough : bool
        Its steel is only known roughly yet.
    force : str
        What it asks of the press: 'about 110 kN (90 to 160)'; empty where that is not known.
    """

    key: str
    number: int
    bar: str
    heading: str
    kind: str
    title: str
    tokens: tuple[Token, ...]
    spoken: str
    state: State = "waiting"
    reason: str = ""
    size: tuple[float, float, float] | None = None
    thumb: Rgba | None = None
    grade: Grade = "fine"
    rough: bool = False
    force: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepKind:
    """A kind of step that can be added.

    Attributes
    ----------
    kind, title : str
    group : str
        Where it happens: 'Fire', 'Hammer and press', 'Saw and wedge', 'Grinder', 'Bench and tank'.
    words : tuple of str
        Other words a smith may type for it.
    about : str
        One line.
    """

    kind: str
    title: str
    group: str
    words: tuple[str, ...]
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Findable(StepKind):
    """A row of the card that can be found, or one of its values.

    Attributes
    ----------
    key : str
        Of the row.
    field : str
        Dotted way to the value; empty for the row itself.
    """

    key: str
    field: str = ""
