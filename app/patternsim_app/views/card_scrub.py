"""What a sideways drag on a value of the job card makes of it."""

from __future__ import annotations

from PySide6.QtCore import Qt

from patternsim_app.shown import Token, Units

PIXELS_A_STEP = 4.0
START_PX = 6.0
"""How far the mouse must move before it counts as dragging."""
_INCH_MM = 25.4
_LONG, _SHORT = 10.0, 0.1


def can_be_dragged(token: Token) -> bool:
    """Tell whether a value is a number that a drag can change."""
    is_number = isinstance(token.value, int | float) and not isinstance(token.value, bool)
    return token.kind in ("number", "count") and is_number


def dragged_value(
    token: Token, moved_px: float, *, units: Units, keys: Qt.KeyboardModifier
) -> float | int:
    """Return the value after a drag: to the right is more; Shift ten times, Ctrl a tenth as fast.

    Parameters
    ----------
    token : Token
        A number or count; the drag starts at its value.
    moved_px : float
    units : str
        In inches a length goes by fractions of an inch.
    keys : Qt.KeyboardModifier
    """
    start = float(token.value or 0.0)
    steps = round(moved_px / PIXELS_A_STEP)
    if token.kind == "count":
        factor = _LONG if keys & Qt.KeyboardModifier.ShiftModifier else 1.0
        return int(_within(token, start + steps * factor))
    factor = 1.0
    if keys & Qt.KeyboardModifier.ShiftModifier:
        factor = _LONG
    elif keys & Qt.KeyboardModifier.ControlModifier:
        factor = _SHORT
    return _within(token, round(start + steps * factor * step_of(token, start, units=units), 6))


def step_of(token: Token, value: float, *, units: Units) -> float:
    """Return a handy step for a value of this size, in the unit it is kept in."""
    size = abs(value)
    if token.unit == "mm" and units == "in":
        return _INCH_MM / (64.0 if size < _INCH_MM else 32.0)
    return 0.05 if size < 2.0 else 0.5 if size < 10.0 else 1.0


def _within(token: Token, value: float) -> float:
    """Return the value moved into its limits; one that must be passed is kept by a hair's step."""
    if token.high is not None:
        value = min(value, token.high)
    if token.low is not None:
        value = max(value, token.low)
    if token.above is not None and value <= token.above:
        least = 1.0 if token.kind == "count" else 0.1
        value = min(token.above + least, float(token.value or token.above + least))
    return value
