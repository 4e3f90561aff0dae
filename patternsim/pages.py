"""The help pages: which there are, their text, and a search through them.

The pages lie as Markdown in `data/help`, one a kind of step and some about the rest; a link in a page is
the name of another with `.md` behind it. A step's page ends with a table of its values, made from the
declaration of the step. How a page is shown is not the business of this module.
"""

from __future__ import annotations

import difflib
import re
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from pydantic import BaseModel
from pydantic.fields import FieldInfo

import patternsim.steps  # noqa: F401 - fills the registry
from patternsim.data import resource
from patternsim.errors import UsageError
from patternsim.step import REGISTRY, Step

GENERAL = {
    "window": "The program",
    "sizes": "The program",
    "answers": "The program",
    "trust": "The program",
    "cautions": "The trade",
    "feather": "The trade",
    "glossary": "The trade",
}
"""Pages that are not about a step, and the heading each stands under; in the order of the list."""
STEPS = "Steps"

_COMMON = {"kind", *Step.model_fields}
"""Values every step has alike; they are told once, in the page about the window."""
_NEAR = 3
"""Names offered where one is mistyped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Topic:
    """One help page in the list.

    Attributes
    ----------
    name : str
        The kind of a step as in a job file, or a short name: 'split', 'answers'.
    title : str
        As shown.
    group : str
        Heading it stands under in the list.
    """

    name: str
    title: str
    group: str


@lru_cache(maxsize=1)
def topics() -> tuple[Topic, ...]:
    """Return all topics as the list shows them: general ones first, then the steps by title."""
    general = [
        Topic(name=name, title=_heading(_written(name)), group=group) for name, group in GENERAL.items()
    ]
    steps = [Topic(name=kind, title=model.title, group=STEPS) for kind, model in REGISTRY.items()]
    return (*general, *sorted(steps, key=lambda topic: topic.title.casefold()))


def page(name: str) -> str:
    """Return a page as Markdown; a step's with the table of its values.

    Parameters
    ----------
    name : str
        Of a topic, or a link to it ('split.md').

    Raises
    ------
    UsageError
        If there is no such page; names those that are near.
    """
    name = name.removesuffix(".md")
    if name not in {topic.name for topic in topics()}:
        raise UsageError(_unknown(name))
    model = REGISTRY.get(name)
    if model is None:
        return _written(name)
    return f"{_written(name)}\n{_values_table(model)}"


def find(words: str) -> tuple[Topic, ...]:
    """Return the topics all of `words` occur in, best first; all topics where no word is given.

    A word may be the beginning of one in the page. Words in the title weigh more than those in the text.
    """
    wanted = _words(words)
    rated = []
    for place, topic in enumerate(topics()):
        title = _words(f"{topic.title} {topic.name}")
        body = [*title, *_words(_LINK.sub("]", page(topic.name)))]
        in_title = sum(_begins(word, title) > 0 for word in wanted)
        in_body = [_begins(word, body) for word in wanted]
        if all(in_body):
            rated.append((-in_title, -sum(in_body), place, topic))
    return tuple(topic for *_, topic in sorted(rated, key=lambda one: one[:3]))


# --- texts -------------------------------------------------------------------------------


_LINK = re.compile(r"\]\([^)]*\)")
_WORD = re.compile(r"[^\W_]+")


def _written(name: str) -> str:
    """Return the part of a page that is written by hand."""
    return resource(f"help/{name}.md").read_text(encoding="utf-8")


def _heading(text: str) -> str:
    return text.partition("\n")[0].removeprefix("# ")


def _words(text: str) -> list[str]:
    return _WORD.findall(text.casefold())


def _begins(start: str, words: list[str]) -> int:
    """Return how many words begin with `start`."""
    return sum(word.startswith(start) for word in words)


def _unknown(name: str) -> str:
    said = name if name.isprintable() else name.encode("unicode_escape").decode("ascii")
    said = said if len(said) <= 40 else f"{said[:37]}..."
    names = {topic.name: topic.name for topic in topics()}
    names |= {topic.title.casefold(): topic.name for topic in topics()}
    near = difflib.get_close_matches(name[:40].casefold(), names, n=_NEAR, cutoff=0.5)
    listed = ", ".join(dict.fromkeys(names[one] for one in near))
    remedy = f"near it: {listed}" if near else f"use one of: {', '.join(t.name for t in topics())}"
    return f'there is no help page "{said}"; {remedy}'


# --- the table of values -----------------------------------------------------------------


def _values_table(model: type[Step]) -> str:
    """Return the heading and the table of a step's values; a sentence where it has none."""
    rows = [
        row
        for name, info in model.model_fields.items()
        if name not in _COMMON
        for row in _rows(info, above="")
    ]
    if not rows:
        return "## Values\n\nThis step has no values of its own.\n"
    head = ("Value", "Usual", "Limits", "Why")
    lines = [head, ("---",) * len(head), *rows]
    return "## Values\n\n" + "".join(f"| {' | '.join(cells)} |\n" for cells in lines)


def _rows(info: FieldInfo, *, above: str) -> Iterator[tuple[str, ...]]:
    """Yield the row of a value, and those of the values inside a list such as strips."""
    told = info.json_schema_extra
    assert isinstance(told, dict)  # every value of a step explains itself
    label, unit = f"{above}{told['label']}", str(told["unit"]).replace("degC", "°C")
    cells = (f"{label} ({unit})" if unit else label, _usual(info), _limits(info), str(told["reason"]))
    yield tuple(cell.replace("|", "\\|") for cell in cells)
    inner = typing.get_args(info.annotation)[:1]
    if inner and isinstance(inner[0], type) and issubclass(inner[0], BaseModel):
        for one in inner[0].model_fields.values():
            yield from _rows(one, above=f"{label}: ")


def _usual(info: FieldInfo) -> str:
    if info.is_required():
        return "to be given"
    value = info.default
    if value is None:
        return "left out"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return f"{value:g}"
    if isinstance(value, str) and value:
        return _choice_words(value) if _choices(info) else value
    return "none"


def _limits(info: FieldInfo) -> str:
    choices = _choices(info)
    if choices:
        *most, last = [_choice_words(str(value)) for value in choices]
        return f"{', '.join(most)} or {last}" if most else last
    if info.annotation is bool:
        return "yes or no"
    rules = {name: value for rule in info.metadata for name, value in _bounds(rule)}
    low = f"{rules['ge']:g}" if "ge" in rules else ""
    low = f"over {rules['gt']:g}" if "gt" in rules else low
    high = f"to {rules['le']:g}" if "le" in rules else ""
    return " ".join(part for part in (low, high) if part)


def _bounds(rule: object) -> Iterator[tuple[str, float]]:
    for name in ("ge", "gt", "le"):
        value = getattr(rule, name, None)
        if value is not None:
            yield name, float(value)


def _choices(info: FieldInfo) -> tuple[object, ...]:
    if typing.get_origin(info.annotation) is not typing.Literal:
        return ()
    return typing.get_args(info.annotation)


def _choice_words(value: str) -> str:
    return value.replace("-", " ")
