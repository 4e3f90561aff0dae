"""Faults of a job file in words: what is wrong there and how to mend it. Nothing is read here."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Mapping
from typing import Any

MOST_SHOWN = 40
"""Signs of a found value that a message repeats."""


def shown(value: object) -> str:
    """Return a value as it is written in a job file, on one line and shortened.

    >>> shown(True), shown("two"), shown(0.5)
    ('true', '"two"', '0.5')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, (list, tuple)):
        return "a list"
    if isinstance(value, int):
        # Whole numbers of thousands of figures cannot be turned to text at all.
        return str(value) if abs(value) < 10**MOST_SHOWN else "a number of more than 40 figures"
    text = printable(str(value))
    if len(text) > MOST_SHOWN:
        text = text[: MOST_SHOWN - 3] + "..."
    return f'"{text}"' if isinstance(value, str) else text


def printable(text: str, most: int = 300) -> str:
    """Return a name or path on one line; of a very long one the end."""
    if not text.isprintable():
        text = text.encode("unicode_escape").decode("ascii")
    return text if len(text) <= most else f"...{text[-most:]}"


def meant(word: str, known: Collection[str]) -> str:
    """Return '; did you mean ...?' where a known word is near, else ''."""
    # Without the units: they are alike where the words are not.
    stems = {_UNIT.sub("", one): one for one in known}
    near = difflib.get_close_matches(_UNIT.sub("", word[:MOST_SHOWN].lower()), stems, n=1, cutoff=0.7)
    return f'; did you mean "{stems[near[0]]}"?' if near else ""


_UNIT = re.compile("_(?:mm|deg|pct|c)$")


def one_sentence(text: str) -> str:
    """Return a message of several sentences as one.

    >>> one_sentence("The edge is 9 mm thick. Thin the edge.")
    'the edge is 9 mm thick; thin the edge'
    """
    parts = [part for part in re.split(r"\.\s+", text.strip().removesuffix(".")) if part]
    return "; ".join(part[:1].lower() + part[1:] for part in parts)


# --- faults of the text ------------------------------------------------------------------

# What the reader of TOML says, and what it means for the writer of a job. The first that fits;
# KEY stands for the key on the line.
_TEXT_FAULTS = (
    ("Cannot overwrite a value", "KEY is given twice here; keep one of them"),
    ("Duplicate inline table key", "a key is given twice between the braces; keep one of them"),
    ("Cannot declare", "this table is there already; keep one, or write [[bar]] with two brackets"),
    ("Cannot redefine namespace", "this table is there already; keep one of them"),
    ("Cannot mutate immutable", "this part was written out before; put all of it in one place"),
    ("Expected '=' after a key", "a key without a value; write it as key = value"),
    ("Invalid statement", 'this is no key, table or remark; write key = value, or "#" before a remark'),
    ("Invalid initial character", "a key is missing here; write key = value, or a table as [blade]"),
    ("at the end of a table", "the bracket is not closed; write a table as [blade]"),
    ("at the end of an array", "the brackets are not closed; write a step as [[bar.step]]"),
    ("Expected newline", "the line goes on after its value; give one, with a decimal point and no unit"),
    ("Unclosed array", 'a list is not closed; add its "]"'),
    ("Unclosed inline table", 'a table in braces is not closed; add its "}"'),
    ("Unterminated string", "a text is not closed; add the quote mark at its end"),
    ("Illegal character '\\n'", "a text is not closed; add the quote mark at its end"),
    ("Illegal character", "there is a sign that cannot be read; take it out or type the line anew"),
    ("Unescaped '\\\\'", 'a backslash in a text; write it twice, or use "/"'),
    ("Invalid value", 'the value cannot be read; write a number as 12.5, a text in quotes'),
    ("Invalid date", 'a date cannot be read; put it in quotes, "like this"'),
)  # fmt: skip
_AT = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)\s*$")
_LONG_NUMBER = re.compile(r"[0-9_]{4000}")
_LINE_KEY = re.compile(r"""\s*["']?([A-Za-z0-9_-]{1,40})["']?\s*=""")


def text_fault(message: str, text: str) -> tuple[int, str]:
    """Return the line and the words for a fault of the text itself.

    Parameters
    ----------
    message : str
        What the reader of TOML says.
    text : str
        The job file.
    """
    lines = text.split("\n")
    last = max((k for k, line in enumerate(lines, start=1) if line.strip()), default=1)
    found = _AT.search(message)
    line = int(found.group(1)) if found and found.group(1) else last
    if "Invalid value (at end" in message:
        return line, "the file ends before its last value is complete; write that to its end"
    if "integer string conversion" in message:
        long = _LONG_NUMBER.search(text)
        line = text.count("\n", 0, long.start()) + 1 if long else 1
        return line, "a number of thousands of figures; write a plain number"
    there = lines[line - 1] if line <= len(lines) else ""
    if "Cannot overwrite" in message and there.lstrip().startswith("["):
        message = "Cannot declare"
    key = _LINE_KEY.match(there)
    for said, words in _TEXT_FAULTS:
        if said in message:
            return line, words.replace("KEY", f'"{key.group(1)}"' if key else "a key")
    what = _AT.sub("", message)
    return line, f"{what[:1].lower()}{what[1:80].rstrip('.')}; mend the text there"


# --- faults of the values ----------------------------------------------------------------

_LIMITS = {
    "greater_than": ("gt", "more than"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "less than"),
    "less_than_equal": ("le", "at most"),
}
_WANTED = {
    "float_type": 'give a number, such as 12.5, without quotes',
    "int_type": "give a whole number, such as 2, without quotes or decimals",
    "bool_type": "give true or false, without quotes",
    "string_type": 'give a text in quotes, "like this"',
    "tuple_type": "give a list in brackets, [ ... ]",
    "dict_type": "give a table in braces, such as { length_mm = 210.0 }",
    "finite_number": "give a plain number",
    "model_type": "give a table in braces with its keys, { ... }",
    "model_attributes_type": "give a table in braces with its keys, { ... }",
}  # fmt: skip
_TABLES = {"bar": "[[bar]]", "step": "[[bar.step]]"}


def value_fault(fault: Mapping[str, Any], known: Collection[str]) -> str:
    """Return the words for a value that is not allowed.

    Parameters
    ----------
    fault : mapping
        As the check of a model gives it: type, loc, input, ctx, msg.
    known : collection of str
        Keys the table may have.
    """
    loc, kind, context = fault["loc"], fault["type"], fault.get("ctx", {})
    value = shown(fault.get("input"))
    key = next((part for part in reversed(loc) if isinstance(part, str)), None)
    heading = _TABLES.get(str(key), "") if loc and loc[0] == "bar" else ""
    name = shown(key) if key is not None else "the table"
    if loc and isinstance(loc[-1], int) and key is not None:
        name = f"entry {loc[-1] + 1} of {name}"
    if kind == "extra_forbidden":
        have = ", ".join(one for one in known if one not in ("id", "kind"))
        have = f"it may have: {have}" if have else "take it out"
        remedy = meant(str(key), known) or f"; {have}"
        return f"unknown key {name}{remedy}"
    if kind == "missing":
        if heading:
            return f"there is no {heading}; a job has at least one bar, and a bar one step"
        return f"{name} is missing; give it"
    if kind in _LIMITS:
        sign, words = _LIMITS[kind]
        return f"{name} is {value}; it must be {words} {context[sign]:g}"
    if heading and kind in ("tuple_type", "too_short", "model_type"):
        return f"{name} is {value}; it is written as tables headed {heading}, with two brackets"
    if kind in ("float_type", "int_type") and isinstance(fault.get("input"), int) and value[0] == "a":
        return f"{name} is {value}; give a plain number"
    if kind in _WANTED:
        return f"{name} is {value}; {_WANTED[kind]}"
    if kind == "literal_error":
        return f"{name} is {value}; use {str(context['expected']).replace(chr(39), chr(34))}"
    return _length_fault(kind, name, value, context) or (
        f"{name} is {value}; mend it ({str(fault['msg'])[:80].rstrip('.')})"
    )


def _length_fault(kind: str, name: str, value: str, context: Mapping[str, Any]) -> str:
    """Return the words for a text or list of a wrong length or form, '' for other faults."""
    if kind == "string_pattern_mismatch":
        return f"{name} is {value}; use small letters, figures and dashes, at most 40"
    if kind == "string_too_short":
        return f"{name} is empty; give a text"
    if kind == "string_too_long":
        return f"{name} is longer than {context['max_length']} letters; shorten it"
    if kind == "too_long":
        return f"{name} has more than {context['max_length']} entries; take some out"
    return ""
