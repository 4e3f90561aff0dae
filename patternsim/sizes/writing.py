"""Sizes written for the eye, rounded honestly, and for an editor, exactly."""

from __future__ import annotations

from decimal import Context, Decimal
from fractions import Fraction

from patternsim.errors import UsageError
from patternsim.sizes.signs import INCH, Units
from patternsim.units import MM_PER_INCH

NEAR_MM = 0.05
"""A fraction of an inch that is farther off than this is marked with `~`."""
NEAR_SHARE = 0.1
"""A fraction that is off by more than this share of the size says too little: decimals are written."""
NEXT_INCH_MM = 0.9995 * MM_PER_INCH
"""From here on thousandths of an inch would be written as a whole one."""
_FINEST = 128
"""Finest part of an inch an editor is filled with; finer ones are written as decimals."""


def format_length(mm: float, units: Units, *, denominator: int = 32, with_unit: bool = True) -> str:
    """Return a length for the eye.

    Parameters
    ----------
    mm : float
        Finite.
    units : {'mm', 'in'}
    denominator : int
        Inches are rounded to parts of this size: 16, 32 or 64; `~` says that the rounding shows. Thin
        stock that no such part comes near is written in decimals of an inch.
    with_unit : bool
        Whether the unit stands behind it.

    Examples
    --------
    >>> format_length(28.575, "mm"), format_length(28.575, "in"), format_length(28.6, "in")
    ('28.575 mm', '1 1/8"', '1 1/8"')
    >>> format_length(40.0, "in"), format_length(0.1, "in"), format_length(40.0, "mm", with_unit=False)
    ('~1 9/16"', '0.0039"', '40')
    """
    if units == "mm":
        return _plain(mm, 3) + (" mm" if with_unit else "")
    if denominator < 1:
        raise UsageError(f"an inch cannot be parted in {denominator}; ask for 16, 32 or 64")
    sign = '"' if with_unit else ""
    size = abs(Fraction(mm))
    parts = round(size / INCH * denominator)
    off = abs(size - parts * INCH / denominator)
    if off > NEAR_SHARE * size:
        inches = float(size / INCH)
        text = _plain(inches, 3 if inches >= 0.0095 else 4 if inches >= 0.00095 else 6)
        return (_minus(mm) if text != "0" else "") + text + sign
    rough = "~" if off > NEAR_MM else ""
    return rough + (_minus(mm) if parts else "") + _mixed(Fraction(parts, denominator)) + sign


def format_off(mm: float, units: Units) -> str:
    """Return how far something is off, in the words of a glance: two or three figures.

    Examples
    --------
    >>> format_off(0.4, "mm"), format_off(47.2, "mm"), format_off(0.0, "mm")
    ('0.4 mm', '47 mm', '0.0 mm')
    >>> format_off(0.4, "in"), format_off(47.2, "in"), format_off(0.01, "in")
    ('.016 in', '1 7/8"', '0 in')
    """
    if units == "mm":
        return f"{mm:.0f} mm" if abs(mm) >= 9.95 else f"{mm:.1f} mm"
    if abs(mm) >= NEXT_INCH_MM:
        # To the next eighth: what is off by less than that is not told at a glance.
        return format_length(mm, "in", denominator=8).removeprefix("~")
    figures = f"{abs(mm) / MM_PER_INCH:.3f}".removeprefix("0")
    return "0 in" if figures == ".000" else f"{_minus(mm)}{figures} in"


def format_exact(mm: float, units: Units) -> str:
    """Return a length as an editor is filled with it: read again it is the very same float.

    Examples
    --------
    >>> format_exact(28.575, "mm"), format_exact(28.575, "in"), format_exact(0.1, "in")
    ('28.575', '1 1/8', '0.003937007874015748')
    """
    if units == "mm":
        return _minus(mm) + _unpadded(f"{Decimal(repr(abs(mm))):f}")
    size = abs(mm)
    part = Fraction(round(Fraction(size) / INCH * _FINEST), _FINEST)
    if float(part * INCH) == size:
        return _minus(mm) + _mixed(part)
    return _minus(mm) + _decimal_inches(size)


def format_number(value: float) -> str:
    """Return a number that is no length for the eye: at most three decimals, none that are nought."""
    return _plain(value, 3)


def format_exact_number(value: float) -> str:
    """Return a number that is no length as an editor is filled with it: it reads back the same."""
    return format_exact(value, "mm")


def both(mm: float) -> str:
    """Return a length in both units.

    Examples
    --------
    >>> both(28.575)
    '28.575 mm (1 1/8")'
    """
    return f"{format_length(mm, 'mm')} ({format_length(mm, 'in')})"


def _plain(value: float, decimals: int) -> str:
    text = _unpadded(f"{value:.{decimals}f}")
    return "0" if text == "-0" else text


def _unpadded(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def _minus(value: float) -> str:
    return "-" if value < 0 else ""


def _mixed(size: Fraction) -> str:
    """Return a size as '1 1/8', '3/16' or '2'."""
    whole, rest = divmod(size.numerator, size.denominator)
    if not rest:
        return str(whole)
    fraction = f"{rest}/{size.denominator}"
    return f"{whole} {fraction}" if whole else fraction


def _decimal_inches(size: float) -> str:
    """Return the shortest decimal inches that read back as `size` mm."""
    exact = Fraction(size) / INCH
    # Seventeen figures tell any two floats apart; a few more make up for the step from mm to inch.
    for figures in range(1, 25):
        rounded = Context(prec=figures).divide(Decimal(exact.numerator), Decimal(exact.denominator))
        if float(Fraction(rounded) * INCH) == size:
            return _unpadded(f"{rounded:f}")
    raise AssertionError(f"{size!r} mm cannot be written in inches")


_SIGNS = {"degC": " \N{DEGREE SIGN}C", "deg": "\N{DEGREE SIGN}", "": ""}


def format_value(value: float, unit: str, units: Units) -> str:
    """Return a number of any unit as it is shown: lengths in `units`, others with their sign.

    >>> format_value(1150.0, "degC", "mm"), format_value(22.5, "deg", "in"), format_value(10, "%", "mm")
    ('1150 °C', '22.5°', '10 %')
    >>> format_value(6.0, "", "mm"), format_value(30.0, "mm", "mm")
    ('6', '30 mm')
    """
    if unit == "mm":
        return format_length(value, units)
    return f"{format_number(value)}{_SIGNS.get(unit, f' {unit}')}"
