"""What may stand in a size: signs, unit words, numbers. How they hang together is told in `reading`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, NamedTuple

Units = Literal["mm", "in"]
INCH = Fraction(127, 5)
"""mm, exact by definition (international inch)."""

LENGTH_WORDS = {
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
    "cm": "cm", "m": "m",
    "in": "in", "inch": "in", "inches": "in", '"': "in", "''": "in",
    "ft": "ft", "foot": "ft", "feet": "ft", "'": "ft",
}  # fmt: skip
NUMBER_WORDS = {
    "deg": dict.fromkeys(("deg", "degree", "degrees", "°"), "deg"),
    "%": dict.fromkeys(("%", "percent"), "%"),
    "degC": {
        **dict.fromkeys(("c", "°c", "degc", "celsius", "°", "deg"), "degC"),
        **dict.fromkeys(("f", "°f", "degf", "fahrenheit"), "degF"),
    },
}
LENGTH_EXAMPLE = '28.6 mm or 1 1/8"'
EXAMPLES = {"deg": "45 or 22.5 deg", "%": "12.5 or 12.5 %", "degC": "1150 C or 2100 F"}
ADDED = "added"
"""Unit of a sum of different units: in the base unit, but nothing without a unit may join it."""
FACTORS = {"cm": Fraction(10), "m": Fraction(1000), "in": INCH, "ft": 12 * INCH}


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruler:
    """What may be written in one place.

    Attributes
    ----------
    words : mapping
        Unit words, small letters, and the unit each stands for.
    bare : str
        Unit of a number without one.
    example : str
        What works.
    factors : mapping
        What a unit is in the base unit; 1 where it is left out.
    """

    words: Mapping[str, str]
    bare: str
    example: str
    factors: Mapping[str, Fraction] = field(default_factory=dict)


class Token(NamedTuple):
    """A number, vulgar fraction, unit word or sign, and its place in the text."""

    kind: str
    text: str
    start: int
    end: int


# One sign for another, so that places in the text stay the same: full-width signs, the quote marks
# systems put in by themselves, dashes used as hyphens, and fraction slashes.
ALIKE: dict[int, int | str] = {
    **{wide: wide - 0xFEE0 for wide in range(0xFF01, 0xFF5F)},
    **dict.fromkeys((0x2033, 0x201C, 0x201D, 0x201F), '"'),
    **dict.fromkeys((0x2032, 0x2018, 0x2019, 0x201B), "'"),
    **dict.fromkeys((0x2010, 0x2011, 0x2013), "-"),
    **dict.fromkeys((0x2044, 0x2215), "/"),
    0xBA: "°",
}
VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅐": "1/7", "⅑": "1/9", "⅒": "1/10", "⅓": "1/3", "⅔": "2/3",
    "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8",
    "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
TOKEN = re.compile(
    rf"""(?P<number>[0-9.,]*[0-9][0-9.,]*)
    |(?P<vulgar>[{"".join(VULGAR)}])
    |(?P<word>''|["'%]|°[ ]?[A-Za-z]+\.?|°|[A-Za-z]+\.?)
    |(?P<sign>[-−+*/()])
    |(?P<gap>\s+)""",
    re.VERBOSE,
)
