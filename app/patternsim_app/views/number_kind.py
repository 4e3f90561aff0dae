"""What a box for a number may hold: how it is written, read, kept in its limits and stepped.

No widget lives here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import Qt

from patternsim.sizes import (
    SizeError,
    format_exact,
    format_exact_number,
    format_length,
    format_number,
    format_value,
    parse_length,
    parse_number,
)
from patternsim_app.shown import Units

Kind = Literal["number", "count"]
_SPOKEN = {"deg": "degrees", "degC": "degrees Celsius", "%": "percent"}
_DIGITS = 6
"""Decimals a stepped number keeps: a 64th of an inch is 0.396875 mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberKind:
    """A kind of number.

    Attributes
    ----------
    unit : str
        'mm' is written in `units`; others as they are.
    units : str
    kind : str
        'count' for whole numbers.
    low, above, high : float or None
        Smallest value, value it must pass, largest value.
    """

    unit: str = ""
    units: Units = "mm"
    kind: Kind = "number"
    low: float | None = None
    above: float | None = None
    high: float | None = None

    def pretty(self, value: float | None) -> str:
        """Return the number for the eye; the unit stands beside the box, but for inches."""
        if value is None:
            return ""
        if self.unit == "mm":
            return format_length(value, self.units, with_unit=self.units == "in")
        return format_number(value)

    def exact(self, value: float | None) -> str:
        """Return the text that reads back as the very same number."""
        if value is None:
            return ""
        return format_exact(value, self.units) if self.unit == "mm" else format_exact_number(value)

    def with_unit(self, value: float) -> str:
        """Return the number with its unit."""
        return format_value(value, self.unit, self.units)

    def spoken(self, value: float | None) -> str:
        """Return the number for a screen reader."""
        if value is None:
            return "empty"
        if self.unit == "mm":
            return format_length(value, self.units).replace('"', " inch")
        return f"{format_number(value)} {_SPOKEN.get(self.unit, self.unit)}".strip()

    def read(self, text: str) -> float:
        """Return the number a text stands for.

        Raises
        ------
        SizeError
            If it cannot be read or is beyond the limits; one sentence.
        """
        length = self.unit == "mm"
        exact = parse_length(text, self.units) if length else parse_number(text, self.unit)
        if self.kind == "count" and exact.denominator != 1:
            raise SizeError(f"{text} is no whole number; write one like {max(1, round(exact))}")
        value = float(exact)
        said = self.with_unit
        if self.low is not None and value < self.low:
            raise SizeError(f"{said(value)} is too little; it must be at least {said(self.low)}")
        if self.above is not None and value <= self.above:
            raise SizeError(f"{said(value)} is too little; it must be more than {said(self.above)}")
        if self.high is not None and value > self.high:
            raise SizeError(f"{said(value)} is too much; it must be at most {said(self.high)}")
        return value

    def step(self, value: float, modifiers: Qt.KeyboardModifier) -> float:
        """Return how far one step goes from `value`: ten times with Shift, a tenth with Ctrl."""
        larger = 10.0 if modifiers & Qt.KeyboardModifier.ShiftModifier else 1.0
        if self.kind == "count":
            return larger
        size = abs(value)
        step = 0.05 if size < 2 else 0.5 if size < 10 else 1.0
        if self.unit == "mm" and self.units == "in":
            step = 25.4 / 64 if size < 25.4 else 25.4 / 32
        return step / 10.0 if modifiers & Qt.KeyboardModifier.ControlModifier else larger * step

    def kept(self, value: float) -> float | None:
        """Return the number inside its limits; None where it comes to the value it must pass."""
        if self.low is not None:
            value = max(value, self.low)
        if self.high is not None:
            value = min(value, self.high)
        value = float(round(value)) if self.kind == "count" else round(value, _DIGITS)
        return None if self.above is not None and value <= self.above else value
