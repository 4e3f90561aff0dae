"""Conversions used at the borders of the program only; inside, mm, N, MPa, s, degC and kg."""

from __future__ import annotations

MM_PER_INCH = 25.4
"""Exact by definition (international inch)."""


def pixels_per_mm(dpi: float) -> float:
    """Return pixels a millimetre at `dpi` dots an inch."""
    return dpi / MM_PER_INCH
