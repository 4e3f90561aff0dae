"""Sentences with lengths in them, told in the unit of the one who reads."""

from __future__ import annotations

import re

from patternsim.sizes.signs import Units
from patternsim.sizes.writing import format_length
from patternsim.units import MM_PER_INCH

COARSE, FINE = 16, 64
"""Parts of an inch that lengths over and under an inch are told in."""
_NUMBER = r"-?\d+(?:\.\d+)?"
_LENGTHS = re.compile(rf"(?<![\w.])({_NUMBER}(?:(?: x | to | and ){_NUMBER})*) mm\b")
_ONE = re.compile(_NUMBER)


def told_in(text: str, units: Units) -> str:
    """Return a sentence of the engine, which tells lengths in mm, in the unit asked for.

    >>> told_in("a radius of 50.8 mm is less than 3 x 25.4 mm", "mm")
    'a radius of 50.8 mm is less than 3 x 25.4 mm'
    >>> told_in("the piece is 101.6 x 50.8 x 25.4 mm; 2 heats", "in")
    'the piece is 4" x 2" x 1"; 2 heats'
    """
    if units == "mm":
        return text

    def inches(found: re.Match[str]) -> str:
        return _ONE.sub(lambda one: _inches(float(one.group())), found.group(1))

    return _LENGTHS.sub(inches, text)


def _inches(mm: float) -> str:
    # What the engine tells is rounded already: a sign for it on every number would only be in the way.
    parts = COARSE if abs(mm) >= MM_PER_INCH else FINE
    return format_length(mm, "in", denominator=parts).removeprefix("~")
