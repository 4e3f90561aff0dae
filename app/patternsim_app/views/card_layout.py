"""Where everything lies in a row of the job card: words flowing, values in boxes, picture, reason.

Plain geometry, worked out once for a row, a width and a text size; painting and pointing both read it.
All rectangles are relative to the row's upper left corner.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF

from patternsim_app.models.steps_model import is_step
from patternsim_app.shown import StepRow, Units, Value
from patternsim_app.theme import sized
from patternsim_app.views.card_words import value_words
from patternsim_app.views.lettering import SMALL, broken, caps_font

# In letter heights.
BAR_PX = 4.0
LEFT, NUMBER, GAP = 0.4, 1.5, 0.55
PITCH, BOX, INSIDE = 1.55, 1.3, 0.28
THUMB, SIGN, RIGHT = 2.5, 1.15, 0.6
ABOVE, HEADING = 0.4, 2.1
FOLD = 0.9
"""Room at the right of a heading for the mark that says whether its stage is folded."""
LEAST_TARGET_PX = 24.0
TEXT_LINES = 5
"""Most lines a text value takes; its editor and the step sheet show the rest."""


@dataclass(frozen=True, slots=True)
class Run:
    """A piece of the sentence on one line, or a value in its box.

    Attributes
    ----------
    place : QRectF
    lines : tuple of str
        One line of words; a long text value has several.
    token : int
        Which token of the row; -1 for plain words.
    """

    place: QRectF
    lines: tuple[str, ...]
    token: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class RowLayout:
    """A row laid out.

    Attributes
    ----------
    height : float
        With the heading above it.
    body : QRectF
        Without it: what is chosen.
    heading : QRectF or None
    number : QRectF
        The number, and what one takes hold of to drag.
    runs : tuple of Run
    thumb : QRectF
    sign : QRectF or None
        Where a finding's sign goes.
    reason : QRectF or None
        Ground of the reason of a refused step.
    reason_lines : tuple of str
    pitch : float
        From line to line.
    """

    height: float
    body: QRectF
    heading: QRectF | None
    number: QRectF
    runs: tuple[Run, ...]
    thumb: QRectF
    sign: QRectF | None
    reason: QRectF | None
    reason_lines: tuple[str, ...]
    pitch: float

    def value_at(self, point: QPointF) -> int:
        """Return the token whose box is at a point, or -1."""
        for run in self.runs:
            if run.token >= 0 and self.target(run).contains(point):
                return run.token
        return -1

    def target(self, run: Run) -> QRectF:
        """Return a value's box made high and wide enough to be hit."""
        tall = max(0.0, (self.pitch - run.place.height()) / 2)
        wide = max(0.0, (LEAST_TARGET_PX - run.place.width()) / 2)
        return run.place.adjusted(-wide, -tall, wide, tall)

    def box_of(self, token: int) -> QRectF:
        """Return the box of a value; an empty one where it has none."""
        return next((run.place for run in self.runs if run.token == token), QRectF())


@dataclass(slots=True)
class Dress:
    """The letters a row is set in: sentence, values, reasons and headings.

    Attributes
    ----------
    font : QFont
        Of the card; the others follow from it.
    """

    font: QFont
    value: QFont = field(init=False)
    small: QFont = field(init=False)
    caps: QFont = field(init=False)
    em: float = field(init=False)

    def __post_init__(self) -> None:
        self.value = sized(self.font, 1.0, medium=True)
        self.small = sized(self.font, SMALL)
        self.caps = caps_font(self.font)
        self.em = QFontMetricsF(self.font).height()


def sentence_left(em: float) -> float:
    """Return where sentences begin, behind the numbers."""
    return BAR_PX + (LEFT + NUMBER + GAP) * em


def laid_out_folded(*, width: float, dress: Dress, signed: bool) -> RowLayout:
    """Return where the line of a folded stage lies: its heading and, where it needs one, a sign."""
    em = dress.em
    high = max(HEADING * em, LEAST_TARGET_PX)
    place, none = QRectF(0.0, 0.0, width, high), QRectF()
    side = SIGN * em
    sign = QRectF(width - (RIGHT + FOLD + 0.3) * em - side, high - 0.25 * em - side, side, side)
    return RowLayout(
        height=high, body=place, heading=place, number=none, runs=(), thumb=none,
        sign=sign if signed else None, reason=None, reason_lines=(), pitch=high,
    )  # fmt: skip


def laid_out(
    row: StepRow, *, width: float, dress: Dress, units: Units, held: tuple[str, Value] | None = None
) -> RowLayout:
    """Return where everything of a row lies.

    Parameters
    ----------
    row : StepRow
    width : float
        Of the card, pixels.
    dress : Dress
    units : str
    held : (field, value), optional
        A value shown instead of the row's own.
    """
    em = dress.em
    pitch = max(PITCH * em, LEAST_TARGET_PX)
    top = HEADING * em if row.heading else 0.0
    left = sentence_left(em)
    # The blade and the shop have neither number nor picture.
    thumb = THUMB if is_step(row) or row.thumb is not None else 0.0
    thumb_left = width - (RIGHT + thumb) * em
    signed = row.state in ("worked", "waiting", "unworked") and row.grade in ("watch", "stop")
    signed = signed or row.state == "unworked"
    right = thumb_left - (0.3 + (SIGN + 0.3 if signed else 0.0)) * em
    flow = _Flow(dress=dress, left=left, width=max(right - left, 4 * em), pitch=pitch)
    for at, token in enumerate(row.tokens):
        if token.kind == "words":
            flow.words(token.text)
        else:
            mine = held[1] if held is not None and held[0] == token.field else None
            behind = row.tokens[at + 1].text if at + 1 < len(row.tokens) else ""
            flow.value(at, value_words(token, units, mine), wraps=token.kind == "text", behind=behind)
    runs, text_height = flow.finished()
    inner = max(text_height, thumb * em)
    text_top = top + ABOVE * em + (inner - text_height) / 2
    runs = tuple(Run(run.place.translated(0.0, text_top), run.lines, run.token) for run in runs)
    bottom = top + inner + 2 * ABOVE * em
    reason, reason_lines = _reason(row, dress=dress, left=left, width=width, top=bottom)
    if reason is not None:
        bottom = reason.bottom() + 1.2 * ABOVE * em
    middle = top + ABOVE * em + inner / 2
    sign = QRectF(thumb_left - (SIGN + 0.35) * em, middle - SIGN / 2 * em, SIGN * em, SIGN * em)
    return RowLayout(
        height=bottom,
        body=QRectF(0.0, top, width, bottom - top),
        heading=QRectF(0.0, 0.0, width, top) if row.heading else None,
        number=QRectF(0.0, text_top, BAR_PX + (LEFT + NUMBER) * em, pitch),
        runs=runs,
        thumb=QRectF(thumb_left, middle - thumb / 2 * em, thumb * em, thumb * em),
        sign=sign if signed else None,
        reason=reason,
        reason_lines=reason_lines,
        pitch=pitch,
    )


def _reason(
    row: StepRow, *, dress: Dress, left: float, width: float, top: float
) -> tuple[QRectF | None, tuple[str, ...]]:
    """Return the ground and the lines of what stops a refused step; None for other rows."""
    if row.state != "refused":
        return None, ()
    em = dress.em
    room = width - left - (RIGHT + SIGN + 0.9) * em
    lines = broken(row.reason or "It cannot be done.", dress.small, room, 99)
    height = len(lines) * QFontMetricsF(dress.small).height() + 0.6 * em
    return QRectF(left - 0.3 * em, top, width - (RIGHT - 0.3) * em - left, height), lines


_SHORT_WORD = re.compile(r" ?\S{1,6}(?= |$)")


class _Flow:
    """Sets words and boxes line by line, from a top of 0."""

    def __init__(self, *, dress: Dress, left: float, width: float, pitch: float) -> None:
        self._em = dress.em
        self._value_font = dress.value
        self._words = QFontMetricsF(dress.font)
        self._values = QFontMetricsF(dress.value)
        self._left, self._right, self._pitch = left, left + width, pitch
        self._x, self._y = left, 0.0
        self._gap = False  # a space waits to be set before what comes next
        self._runs: list[Run] = []

    def words(self, text: str) -> None:
        """Set plain words; a line breaks only where there is a space."""
        parts = text.split(" ")
        for at, part in enumerate(parts):
            self._gap = self._gap or at > 0
            if part:
                self._set_word(part)

    def value(self, token: int, text: str, *, wraps: bool, behind: str) -> None:
        """Set a value in its box, a short word behind it on the same line; a long text takes several."""
        padding = 2 * INSIDE * self._em
        most = self._right - self._left - padding
        wide = self._values.horizontalAdvance(text)
        if wraps and wide > most:
            lines = broken(text, self._value_font, most, TEXT_LINES)
        else:
            lines = (self._values.elidedText(text, Qt.TextElideMode.ElideRight, most + 0.5),)
        width = padding + max(self._values.horizontalAdvance(line) for line in lines)
        self._step(min(width + self._tail(behind), self._right - self._left))
        # Boxes never touch: not one another, nor letters.
        self._x += 0.1 * self._em if self._x > self._left else 0.0
        height = BOX * self._em + (len(lines) - 1) * self._values.height()
        y = self._y + (self._pitch - BOX * self._em) / 2
        self._runs.append(Run(QRectF(self._x, y, width, height), lines, token))
        self._y += height - BOX * self._em
        self._x += width + 0.1 * self._em

    def finished(self) -> tuple[tuple[Run, ...], float]:
        """Return what was set and how high it is."""
        return tuple(self._runs), self._y + self._pitch

    def _tail(self, behind: str) -> float:
        """Return the room a short word behind a box takes: '3 heats' and '10 %' are read together."""
        word = _SHORT_WORD.match(behind)
        return self._words.horizontalAdvance(word.group()) + 0.1 * self._em if word else 0.0

    def _set_word(self, word: str) -> None:
        width = self._words.horizontalAdvance(word)
        # A comma or bracket behind a box stays with it.
        if self._gap:
            self._step(width)
        last = self._runs[-1] if self._runs else None
        place = QRectF(self._x, self._y, width, self._pitch)
        if last is not None and last.token < 0 and last.place.top() == place.top():
            # One run of words is drawn at once, spaces and all.
            joined = last.lines[0] + (" " if place.left() > last.place.right() + 0.01 else "") + word
            whole = self._words.horizontalAdvance(joined)
            place = QRectF(last.place.left(), place.top(), whole, self._pitch)
            self._runs[-1] = Run(place, (joined,))
        else:
            self._runs.append(Run(place, (word,)))
        self._x = place.right()

    def _step(self, width: float) -> None:
        """Go on by the waiting space, to a new line where `width` more does not fit."""
        space = self._words.horizontalAdvance(" ") if self._gap else 0.0
        if self._x > self._left and self._x + space + width > self._right:
            self._x = self._left
            self._y += self._pitch
        elif self._x > self._left:
            self._x += space
        self._gap = False
