"""How the text of a job file is laid out: where each value and each table begins and ends.

Only places in the text; what is changed there is said in `patching` and `editing`.
"""

from __future__ import annotations

from dataclasses import dataclass

from patternsim.errors import JobError
from patternsim.job.places import Way, _LostError, _Scan

ROOT = -1
"""The number of the heading over the keys before the first one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """One value and its place in the text.

    Attributes
    ----------
    way : tuple of str and int
    key, start, end : int
        Where its key begins (the value itself in a list), where it begins and where it ends.
    heading : int
        Number of the heading it stands under; `ROOT` above all headings.
    inside : tuple of str and int, or None
        The way to the list or the table in braces it stands in; None for one with a line of its own.
    """

    way: Way
    key: int
    start: int
    end: int
    heading: int
    inside: Way | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """A heading, [table] or [[entry of a list]]; `start` and `end` are those of its brackets."""

    way: Way
    start: int
    end: int
    in_list: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A table with all that belongs to it, in whole lines.

    Attributes
    ----------
    start : int
        Where the blank lines before it begin.
    remarks : int
        Where the remarks directly above its heading begin, or its heading where there are none.
    end : int
        Behind its last line and the remarks that follow that without a blank line.
    """

    start: int
    remarks: int
    end: int


@dataclass(frozen=True, slots=True)
class Layout:
    """A text and what stands where in it.

    Attributes
    ----------
    text : str
    headings : tuple of Heading
    numbers : dict
        The number of the first heading of each way.
    values : dict
    lines : dict
        The values with a line of their own, by the number of their heading.
    """

    text: str
    headings: tuple[Heading, ...]
    numbers: dict[Way, int]
    values: dict[Way, Value]
    lines: dict[int, list[Value]]

    @property
    def line_end(self) -> str:
        """What ends a line of this text."""
        first = self.text.find("\n")
        return "\r\n" if first > 0 and self.text[first - 1] == "\r" else "\n"

    def heading_of(self, way: Way) -> int | None:
        """Return the number of the heading that opens the table `way`, or None."""
        return self.numbers.get(way)

    def lines_under(self, heading: int) -> list[Value]:
        """Return the values with a line of their own under a heading, in the order of the text."""
        return self.lines.get(heading, [])

    def entries_in(self, way: Way) -> list[Value]:
        """Return the entries of the list or the table in braces at `way`, in order."""
        found = (one for one in self.values.values() if one.inside == way)
        return sorted(found, key=lambda one: one.start)

    def start_of_line(self, at: int) -> int:
        """Return where the line of the place `at` begins; a byte order mark is no part of it."""
        start = self.text.rfind("\n", 0, at) + 1
        return 1 if start == 0 and self.text.startswith("\ufeff") else start

    def behind_line(self, at: int) -> int:
        """Return where the line after that of the place `at` begins."""
        found = self.text.find("\n", at)
        return len(self.text) if found < 0 else found + 1

    def behind_keys(self, heading: int) -> int:
        """Return where a further key of the table under a heading is to stand: a line's beginning."""
        lines = self.lines_under(heading)
        if lines:
            return self.behind_line(lines[-1].end)
        return self.start_of_line(0) if heading == ROOT else self.behind_line(self.headings[heading].end)

    def block(self, heading: int) -> Block:
        """Return the block of the table under a heading, its inner tables with it."""
        remarks = self._remarks(heading)
        start = self._upwards(remarks, self.behind_keys(heading - 1), blank=True)
        return Block(start=start, remarks=remarks, end=self.behind_block(heading))

    def behind_block(self, heading: int) -> int:
        """Return where the line behind a table, its inner tables and its last remarks begins."""
        last = heading
        if heading != ROOT:
            way = self.headings[heading].way
            while last + 1 < len(self.headings) and _within(self.headings[last + 1].way, way):
                last += 1
        end = self.behind_keys(last)
        # Remarks that touch the next heading are that one's.
        limit = self._remarks(last + 1) if last + 1 < len(self.headings) else len(self.text)
        while end < limit and self._line(end).startswith("#"):
            end = self.behind_line(end)
        return end

    def _remarks(self, heading: int) -> int:
        line = self.start_of_line(self.headings[heading].start)
        return self._upwards(line, self.behind_keys(heading - 1), blank=False)

    def _upwards(self, at: int, floor: int, *, blank: bool) -> int:
        """Go up from the line that begins at `at` over blank lines, or over remarks."""
        while at > floor:
            above = self.start_of_line(at - 1)
            line = self._line(above)
            if above < floor or (line != "" if blank else not line.startswith("#")):
                break
            at = above
        return at

    def _line(self, at: int) -> str:
        return self.text[at : self.behind_line(at)].strip()


def read_layout(text: str) -> Layout:
    """Return the layout of a text that reads as TOML.

    Raises
    ------
    JobError
        If the text cannot be followed.
    """
    scan = _Places(text)
    try:
        scan.document()
    except (_LostError, RecursionError) as error:
        raise JobError("the job cannot be followed line by line; mend it in a text editor") from error
    lines: dict[int, list[Value]] = {}
    for one in sorted(scan.values.values(), key=lambda one: one.key):
        if one.inside is None:
            lines.setdefault(one.heading, []).append(one)
    numbers: dict[Way, int] = {}
    for number, heading in enumerate(scan.headings):
        numbers.setdefault(heading.way, number)
    return Layout(text, tuple(scan.headings), numbers, scan.values, lines)


class _Places(_Scan):
    """The pass over the text, with the place of every value kept."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.headings: list[Heading] = []
        self.values: dict[Way, Value] = {}
        self.key_at: int | None = None
        self.inside: Way | None = None

    def heading(self) -> Way:
        start = self.at
        way = super().heading()
        in_list = self.text.startswith("[[", start)
        self.headings.append(Heading(way=way, start=start, end=self.at, in_list=in_list))
        return way

    def pair(self, table: Way) -> None:
        self.key_at = self.at
        super().pair(table)

    def value(self, way: Way) -> None:
        start, inside = self.at, self.inside
        key = start if self.key_at is None else self.key_at
        self.key_at = None
        self.inside = way
        super().value(way)
        self.inside = inside
        # A bare value is followed to the comma or the end of the line, blanks with it.
        end = start + len(self.text[start : self.at].rstrip())
        self.values[way] = Value(
            way=way, key=key, start=start, end=end, heading=len(self.headings) - 1, inside=inside
        )


def _within(way: Way, table: Way) -> bool:
    return len(way) > len(table) and way[: len(table)] == table
