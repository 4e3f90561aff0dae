"""The help pages: which there are, their text, and a search through them.

The pages lie as Markdown in `data/help`, one a kind of step and some about the rest; a link in a page is
the name of another with `.md` behind it. The pages of a step, of the blade and of the shop end with a
table of values, made from the declaration. How a page is shown is not the business of this module.
"""

from __future__ import annotations

import difflib
import json
import re
import typing
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

import patternsim.steps  # noqa: F401 - fills the registry
from patternsim.data import resource
from patternsim.errors import UsageError
from patternsim.job import Blade
from patternsim.kinds import step_kinds
from patternsim.shop import Shop
from patternsim.step import REGISTRY, Step

GENERAL = {
    "window": "The program",
    "blade": "The program",
    "shop": "The program",
    "sizes": "The program",
    "answers": "The program",
    "trust": "The program",
    "cautions": "The trade",
    "feather": "The trade",
    "glossary": "The trade",
}
"""Pages that are not about a step, and the heading each stands under; in the order of the list."""
STEPS = "Steps"
CHECKED = "trust"
"""The page that ends with the published problems."""

_COMMON = {"kind", *Step.model_fields}
"""Values every step has alike; they are told once, in the page about the window."""
_OTHERS: dict[str, type[BaseModel]] = {"blade": Blade, "shop": Shop}
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
    """Return a page as Markdown, with the table of values where the page is about some.

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
    if name in REGISTRY:
        return f"{_written(name)}\n{_values_table(REGISTRY[name], without=_COMMON)}"
    if name in _OTHERS:
        return f"{_written(name)}\n{_values_table(_OTHERS[name])}"
    if name == CHECKED:
        return f"{_written(name)}\n{_checks_table()}"
    return _written(name)


def find(words: str) -> tuple[Topic, ...]:
    """Return the topics all of `words` occur in, best first; all topics where no word is given.

    A word may be the beginning of one in the page, or of another name smiths have for the step. Words in
    the title and such names weigh more than those in the text.
    """
    wanted = _words(words)
    also = {kind.kind: " ".join(kind.words) for kind in step_kinds()}
    rated = []
    for place, topic in enumerate(topics()):
        title = _words(f"{topic.title} {topic.name} {also.get(topic.name, '')}")
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


# --- the table of published problems -----------------------------------------------------


def _checks_table() -> str:
    """Return what `patternsim verify` last found, kept with the program: it takes a minute.

    Sources are rows of their own: in a column the page is wider than large letters leave.
    """
    kept = json.loads(resource("verified.json").read_text(encoding="utf-8"))
    lines = [("Problem", "Known", "Here", "Off (may be)"), ("---",) * 4]
    for source in dict.fromkeys(row["source"] for row in kept):
        lines.append((f"**{source}**", "", "", ""))
        lines += [_checked(row) for row in kept if row["source"] == source]
    return "## Published problems\n\n" + "".join(f"| {' | '.join(cells)} |\n" for cells in lines)


def _checked(row: Mapping[str, Any]) -> tuple[str, str, str, str]:
    exact = row["published"] == 0.0
    error = f"{row['error']:.0e}" if exact else f"{100 * row['error']:+.1f} %"
    allowed = f"{row['tolerance']:.0e}" if exact else f"{100 * row['tolerance']:.1f} %"
    beyond = "" if row["passed"] else ", beyond"
    here = f"{error} ({allowed}{beyond})"
    return row["name"], f"{row['published']:.4g}", f"{row['computed']:.4g}", here


# --- the table of values -----------------------------------------------------------------


def _values_table(model: type[BaseModel], *, without: Collection[str] = ()) -> str:
    """Return the heading and the table of the values of a declaration."""
    head = ("Value", "Usual", "Limits", "Why")
    lines = [head, ("---",) * len(head), *_rows(model, above="", without=without)]
    return "## Values\n\n" + "".join(f"| {' | '.join(cells)} |\n" for cells in lines)


def _rows(
    model: type[BaseModel], *, above: str, without: Collection[str] = ()
) -> Iterator[tuple[str, ...]]:
    """Yield the rows of all values, also of those inside a part such as the grind or a strip."""
    for name, info in model.model_fields.items():
        if name in without:
            continue
        label, told = f"{above}{name.capitalize()}", info.json_schema_extra
        if isinstance(told, dict):
            label, unit = f"{above}{told['label']}", str(told["unit"]).replace("degC", "°C")
            words = f"{label} ({unit})" if unit else label
            cells = (words, _usual(info), _limits(info), str(told["reason"]))
            yield tuple(cell.replace("|", "\\|") for cell in cells)
        for part in (info.annotation, *typing.get_args(info.annotation)):
            if isinstance(part, type) and issubclass(part, BaseModel):
                yield from _rows(part, above=f"{label}: ")


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
    """Return what may be chosen from; also where the choice may be left out."""
    for part in (info.annotation, *typing.get_args(info.annotation)):
        if typing.get_origin(part) is typing.Literal:
            return typing.get_args(part)
    return ()


def _choice_words(value: str) -> str:
    return value.replace("-", " ")
