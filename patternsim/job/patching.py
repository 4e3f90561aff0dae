"""One value of a job's text set, added or taken out by exchanging just the signs it stands on.

Every text here ends with the end of a line. Whether the result is a job is asked in `editing`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence

from patternsim.errors import JobError
from patternsim.job.layout import ROOT, Layout, Value, read_layout
from patternsim.job.places import Way

Span = tuple[int, int, str]
"""Where a stretch of the text begins and ends, and what takes its place."""
Plain = str | int | float | bool | Sequence["Plain"] | Mapping[str, "Plain"]
"""A value as a job file can hold it."""

INDENT = "    "
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_IN_BRACES = ("outline",)
"""Tables that a new job writes on one line, as the starting jobs do."""


# --- values as text ----------------------------------------------------------------------


def written(value: Plain, line_end: str = "\n") -> str:
    """Return a value as a job file writes it.

    >>> written(25.0), written(True), written([1.95, 1.23]), written({"name": "guard"})
    ('25.0', 'true', '[1.95, 1.23]', '{ name = "guard" }')

    Raises
    ------
    JobError
        If a job file cannot hold it.
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, str):
        return _quoted(value, line_end)
    if isinstance(value, Mapping):
        parts = [f"{written_key(key)} = {written(one)}" for key, one in value.items()]
        return f"{{ {', '.join(parts)} }}" if parts else "{}"
    if isinstance(value, Sequence):
        rows = [written(one) for one in value]
        if len(rows) > 1 and isinstance(value[0], Mapping):
            return "".join(["[", line_end, *(f"{INDENT}{row},{line_end}" for row in rows), "]"])
        return f"[{', '.join(rows)}]"
    raise JobError(f"a job cannot hold {value!r}; give a number, a text, true or false")


def written_key(key: str) -> str:
    """Return a key, in quotes where it needs them."""
    return key if _BARE_KEY.fullmatch(key) else _quoted(key)


def dotted(names: Sequence[str | int]) -> str:
    """Return the names of a way as they stand in a heading: without the numbers of lists."""
    return ".".join(written_key(name) for name in names if isinstance(name, str))


def _quoted(text: str, line_end: str = "") -> str:
    """Return a text in quotes; on lines of its own where it has several and may have them."""
    try:
        text.encode("utf-8")
    except UnicodeEncodeError as error:
        raise JobError("the text holds a sign that cannot be saved; take it out") from error
    if "\n" in text and line_end:
        lines = [_quoted(line)[1:-1] for line in text.split("\n")]
        return f'"""{line_end}{line_end.join(lines)}"""'
    # JSON's escapes are those of TOML but for this one sign.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


# --- values put in -----------------------------------------------------------------------


def put(text: str, way: Way, value: Plain) -> str:
    """Return `text` with the value at `way`, changed where it stands or added where it belongs.

    Raises
    ------
    JobError
        If there is no place for it.
    """
    layout = read_layout(text)
    found = layout.values.get(way)
    if found is not None:
        return _spliced(text, found.start, found.end, written(value, layout.line_end))
    if not way or _is_table(layout, way):
        raise nowhere(way)
    return _added(layout, way, value)


def put_many(text: str, changes: Sequence[tuple[Way, Plain | None]]) -> str:
    """Return `text` with single values changed one after the other; None takes one out.

    The text is followed anew only where a change hangs on one before it, so that hundreds of them take
    hardly longer than one.

    Raises
    ------
    JobError
        If there is no place for one of them.
    """
    batch: _Batch | None = None
    for way, value in changes:
        batch = batch or _Batch(text)
        if not batch.take(way, value):
            plain = batch.done()
            text = taken_out(plain, way) if value is None else put(plain, way, value)
            batch = None
    return text if batch is None else batch.done()


class _Batch:
    """Changes that leave one another alone, all made in a text that is followed once."""

    def __init__(self, text: str) -> None:
        self._layout = read_layout(text)
        self._spans: list[Span] = []
        self._taken: set[Way] = set()
        self._above: set[Way] = set()  # all that lies round a change
        self._tables: set[Way] | None = None

    def take(self, way: Way, value: Plain | None) -> bool:
        """Take a change in; False where it may hang on another, or is none of a plain value."""
        around = {way[:depth] for depth in range(len(way))}
        if way in self._taken or way in self._above or around & self._taken:
            return False
        span = self._span(way, value)
        if span is None:
            return False
        self._spans.append(span)
        self._taken.add(way)
        self._above |= around
        return True

    def done(self) -> str:
        """Return the text with all changes made."""
        parts, at = [], 0
        # In the order they came in where they begin at the same place.
        for start, end, middle in sorted(self._spans, key=lambda span: span[:2]):
            parts += [self._layout.text[at:start], middle]
            at = end
        return "".join([*parts, self._layout.text[at:]])

    def _span(self, way: Way, value: Plain | None) -> Span | None:
        layout = self._layout
        found = layout.values.get(way)
        if found is not None and value is not None:
            return found.start, found.end, written(value, layout.line_end)
        if found is not None:
            line = layout.start_of_line(found.key), layout.behind_line(found.end)
            return None if found.inside is not None else (*line, "")
        heading = layout.heading_of(way[:-1])
        key = way[-1] if way else 0
        if value is None or heading is None or isinstance(key, int) or self._is_table(way):
            return None
        at = layout.behind_keys(heading)
        return at, at, f"{written_key(key)} = {written(value, layout.line_end)}{layout.line_end}"

    def _is_table(self, way: Way) -> bool:
        if self._tables is None:
            ways = [*self._layout.numbers, *self._layout.values]
            self._tables = {one[:depth] for one in ways for depth in range(1, len(one) + 1)}
        return way in self._tables


def nowhere(way: Way) -> JobError:
    """Return the error for a way that leads to no value."""
    return JobError(f"the job has no place {'.'.join(map(str, way))}; name one that is there")


def _is_table(layout: Layout, way: Way) -> bool:
    """Tell whether a table is written at `way`, under headings or by dotted keys."""
    ways = [*(one.way for one in layout.headings), *layout.values]
    return any(one[: len(way)] == way for one in ways)


def _added(layout: Layout, way: Way, value: Plain) -> str:
    table, key, end = way[:-1], way[-1], layout.line_end
    around = layout.values.get(table)
    if isinstance(key, int):
        if around is None or not layout.text.startswith("[", around.start):
            raise nowhere(way)
        return _entry_added(layout, around, way, written(value))
    if around is not None:
        if not layout.text.startswith("{", around.start):
            raise nowhere(way)
        return _entry_added(layout, around, way, f"{written_key(key)} = {written(value)}")
    heading = ROOT if not table else layout.heading_of(table)
    if heading is not None:
        line = f"{written_key(key)} = {written(value, end)}{end}"
        return _inserted(layout.text, layout.behind_keys(heading), line)
    beside = [one for one in layout.values.values() if one.inside is None and _under(one.way, table)]
    if beside:
        # The table is written by dotted keys: it goes on that way.
        last = max(beside, key=lambda one: one.key)
        above = () if last.heading == ROOT else layout.headings[last.heading].way
        line = f"{dotted(way[len(above) :])} = {written(value, end)}{end}"
        return _inserted(layout.text, layout.behind_line(last.end), line)
    if isinstance(table[-1], int):
        raise nowhere(way)
    outer = table[:-1]
    own_heading = not outer or layout.heading_of(outer) is not None
    if not own_heading or table[-1] in _IN_BRACES or any(isinstance(part, int) for part in table):
        return _added(layout, table, {key: value})
    return _table_added(layout, table, f"{written_key(key)} = {written(value, end)}")


def _table_added(layout: Layout, table: Way, line: str) -> str:
    """Add a table under a heading of its own: behind the one it belongs to, or where jobs have it."""
    end = layout.line_end
    block = f"{end}[{dotted(table)}]{end}{line}{end}"
    if len(table) > 1:
        after = layout.heading_of(table[:-1])
    elif table == ("shop",):
        after = ROOT
    else:
        after = len(layout.headings) - 1
    at = layout.behind_block(ROOT if after is None else after)
    return _inserted(layout.text, at, block)


def _entry_added(layout: Layout, around: Value, way: Way, entry: str) -> str:
    """Add the last entry of a list or of a table in braces."""
    text, entries = layout.text, layout.entries_in(around.way)
    if isinstance(way[-1], int) and way[-1] != len(entries):
        raise nowhere(way)
    opening, closing = text[around.start], text[around.end - 1]
    if not entries:
        blank = " " if opening == "{" else ""
        inner = text[around.start + 1 : around.end - 1].rstrip()
        whole = f"{opening}{inner}{blank}{entry}{blank}{closing}"
        if "#" in inner:
            raise nowhere(way)
        return _spliced(text, around.start, around.end, whole)
    last = entries[-1]
    comma = _comma_behind(text, last.end)
    line = layout.start_of_line(around.end - 1)
    if line > last.end and not text[line : around.end - 1].strip():
        # The bracket closes on a line of its own: the entry gets a line as well.
        own_line = layout.start_of_line(last.key)
        indent = text[own_line : last.key] if not text[own_line : last.key].strip() else INDENT
        tail = "" if comma is None else ","
        text = _spliced(text, line, line, f"{indent}{entry}{tail}{layout.line_end}")
        return text if comma is not None else _spliced(text, last.end, last.end, ",")
    if comma is not None:
        return _spliced(text, comma + 1, comma + 1, f" {entry}")
    return _spliced(text, last.end, last.end, f", {entry}")


# --- values taken out --------------------------------------------------------------------


def taken_out(text: str, way: Way) -> str:
    """Return `text` without the value or table at `way`; as it is where there is none.

    A remark behind the value goes with it, remarks above it stay.
    """
    layout = read_layout(text)
    found = layout.values.get(way)
    if found is not None and found.inside is not None:
        return _entry_out(layout, found)
    if found is not None:
        return _spliced(text, layout.start_of_line(found.key), layout.behind_line(found.end), "")
    spans = []
    for number, heading in enumerate(layout.headings):
        if heading.way == way or _under(heading.way, way):
            block = layout.block(number)
            spans.append((block.start, block.end))
    for one in layout.values.values():
        if one.inside is None and _under(one.way, way):
            spans.append((layout.start_of_line(one.key), layout.behind_line(one.end)))
    return without_spans(text, spans)


def without_spans(text: str, spans: Sequence[tuple[int, int]]) -> str:
    """Return `text` without some stretches of it, which may overlap."""
    kept, at = [], 0
    for start, end in sorted(spans):
        kept.append(text[at : max(start, at)])
        at = max(at, end)
    return "".join([*kept, text[at:]])


def _entry_out(layout: Layout, entry: Value) -> str:
    """Take one entry out of a list or a table in braces, with the comma it does not need any more."""
    text, way = layout.text, entry.inside or ()
    around, entries = layout.values[way], layout.entries_in(way)
    place = entries.index(entry)
    comma = _comma_behind(text, entry.end)
    if len(entries) == 1 and "#" not in text[around.start : around.end]:
        return _spliced(text, around.start + 1, around.end - 1, "")
    spans = [(entry.key, entry.end if comma is None else comma + 1)]
    before = entries[place - 1] if place else None
    line = layout.start_of_line(entry.key)
    behind = layout.behind_line(spans[0][1])
    tail = text[spans[0][1] : behind].strip()
    if not text[line : entry.key].strip() and (not tail or tail.startswith("#")):
        spans = [(line, behind)]
    elif place + 1 < len(entries):
        gap = text[spans[0][1] : entries[place + 1].key]
        spans = [(entry.key, entries[place + 1].key)] if not gap.strip() else spans
    elif before is not None and not text[before.end : entry.key].strip(" \t\r\n,"):
        spans = [(before.end, entry.end)]
    if before is not None and comma is None:
        unneeded = _comma_behind(text, before.end)
        if unneeded is not None:
            spans.append((unneeded, unneeded + 1))
    return without_spans(text, spans)


# --- signs -------------------------------------------------------------------------------


def _comma_behind(text: str, at: int) -> int | None:
    """Return the place of the comma behind an entry that ends at `at`, or None."""
    found = _BLANK.match(text, at)
    behind = found.end() if found else at
    return behind if text.startswith(",", behind) else None


def _spliced(text: str, start: int, end: int, middle: str) -> str:
    return text[:start] + middle + text[end:]


def _inserted(text: str, at: int, middle: str) -> str:
    return _spliced(text, at, at, middle)


def _under(way: Way, table: Way) -> bool:
    return len(way) > len(table) and way[: len(table)] == table
