"""Where in the text of a job file each value stands. What the values mean is read elsewhere."""

from __future__ import annotations

import contextlib
import re
import tomllib
from bisect import bisect_right

Way = tuple[str | int, ...]
"""The way to a value: ('bar', 0, 'step', 3, 'height_mm')."""

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_KEY = re.compile(r"""[A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*'""")
_TEXT = re.compile(
    r'''"""(?:\\.|[^\\])*?"""(?:"{0,2})|\'\'\'.*?\'\'\'(?:'{0,2})'''
    r"""|"(?:\\.|[^"\\\n])*"|'[^'\n]*'""",
    re.DOTALL,
)
_BARE = re.compile(r"[^,\]}#\n]+")


def line_of(text: str, way: Way) -> int:
    """Return the line (from 1) of the value `way` leads to, or of the nearest table around it.

    Parameters
    ----------
    text : str
        A job file that reads as TOML.
    way : tuple of str and int
        As ('bar', 0, 'step', 3, 'height_mm').
    """
    lines = lines_of(text)
    for depth in range(len(way), 0, -1):
        if way[:depth] in lines:
            return lines[way[:depth]]
    return 1


def lines_of(text: str) -> dict[Way, int]:
    """Return the line (from 1) of every table, key and list entry of a job file."""
    scan = _Scan(text)
    # Where the text is no TOML, or its nesting absurd, what was found so far still helps.
    with contextlib.suppress(_LostError, RecursionError):
        scan.document()
    return scan.lines


class _LostError(Exception):
    """The text goes on with something that is no TOML."""


class _Scan:
    """One pass over the text; the values are skipped, only their places are kept."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 1 if text.startswith("\ufeff") else 0
        self.starts = [0, *(found.end() for found in re.finditer("\n", text))]
        self.lines: dict[Way, int] = {}
        self.counts: dict[Way, int] = {}

    def document(self) -> None:
        table: Way = ()
        while True:
            self.skip(_BLANK)
            if self.at >= len(self.text):
                return
            if self.text[self.at] == "[":
                table = self.heading()
            else:
                self.pair(table)

    def heading(self) -> Way:
        line = self.line()
        brackets = 2 if self.text.startswith("[[", self.at) else 1
        self.at += brackets
        names = self.dotted()
        self.expect("]" * brackets)
        way: Way = ()
        for depth, name in enumerate(names, start=1):
            way = (*way, name)
            if depth == len(names) and brackets == 2:
                self.counts[way] = self.counts.get(way, -1) + 1
            self.lines.setdefault(way, line)
            if way in self.counts:
                way = (*way, self.counts[way])
        self.lines.setdefault(way, line)
        return way

    def pair(self, table: Way) -> None:
        line = self.line()
        way = table
        for name in self.dotted():
            way = (*way, name)
            self.lines.setdefault(way, line)
        self.expect("=")
        self.skip(_BLANK)
        self.value(way)

    def value(self, way: Way) -> None:
        start = self.text[self.at : self.at + 1]
        if start == "[":
            self.entries(way, "]")
        elif start == "{":
            self.entries(way, "}")
        elif start in ('"', "'"):
            self.take(_TEXT)
        else:
            self.take(_BARE)

    def entries(self, way: Way, end: str) -> None:
        """Skip a list or a table in braces; its entries are parted by commas."""
        self.at += 1
        count = 0
        self.skip(_BLANK)
        while not self.text.startswith(end, self.at):
            if end == "}":
                self.pair(way)
            else:
                self.lines.setdefault((*way, count), self.line())
                self.value((*way, count))
            count += 1
            self.skip(_BLANK)
            if self.text.startswith(",", self.at):
                self.at += 1
                self.skip(_BLANK)
            elif not self.text.startswith(end, self.at):
                raise _LostError
        self.at += 1

    def dotted(self) -> list[str]:
        names = [self.key()]
        self.skip(_BLANK)
        while self.text.startswith(".", self.at):
            self.at += 1
            self.skip(_BLANK)
            names.append(self.key())
            self.skip(_BLANK)
        return names

    def key(self) -> str:
        self.skip(_BLANK)
        raw = self.take(_KEY)
        return str(tomllib.loads(f"key = {raw}")["key"]) if raw[0] in "\"'" else raw

    def take(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if found is None:
            raise _LostError
        self.at = found.end()
        return found.group()

    def skip(self, pattern: re.Pattern[str]) -> None:
        found = pattern.match(self.text, self.at)
        if found is not None:
            self.at = found.end()

    def expect(self, sign: str) -> None:
        self.skip(_BLANK)
        if not self.text.startswith(sign, self.at):
            raise _LostError
        self.at += len(sign)

    def line(self) -> int:
        return bisect_right(self.starts, self.at)
