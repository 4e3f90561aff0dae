"""Words of the job card beside its sentences: values in their boxes, what the mouse rests on."""

from __future__ import annotations

from collections.abc import Sequence

from patternsim.sizes import format_length
from patternsim_app.models.steps_model import is_step
from patternsim_app.shown import StepRow, Token, Units, Value


def value_words(token: Token, units: Units, value: Value = None) -> str:
    """Return a value as its box shows it; in inches with their mark, in millimetres bare.

    Parameters
    ----------
    token : Token
    units : str
    value : optional
        Shown instead of the token's own, while it is being dragged.
    """
    shown = token.value if value is None else value
    if shown is None:
        return "–"
    if token.kind == "choice":
        return dict(token.choices).get(str(shown), str(shown))
    if isinstance(shown, bool):
        return "yes" if shown else "no"
    if isinstance(shown, int | float):
        # The sentence says degrees and percent; only inches are never written bare.
        return _number(float(shown), token.unit, units, bare=token.unit != "mm" or units == "mm")
    return str(shown).strip() or "…"


def spoken_value(token: Token, row: StepRow) -> str:
    """Return what the editor of a value is called: 'Nose radius, step 13'."""
    return f"{token.label or 'Value'}, {f'step {row.number}' if is_step(row) else row.title}"


def value_tip(token: Token, units: Units) -> str:
    """Return what is told of a value under the mouse: name, value, limits, how to change it."""
    label = token.label or "Value"
    if token.kind == "choice":
        return f"{label}: {value_words(token, units)}\nClick to choose"
    if token.kind == "text":
        return f"{label}: {value_words(token, units)}\nClick to change"
    value = token.value
    told = label
    if isinstance(value, int | float) and not isinstance(value, bool):
        told += f": {_number(float(value), token.unit, units)}"
    limits = _limits(token, units)
    return "\n".join(part for part in (told, limits, "Click to change, or drag sideways") if part)


def row_tip(row: StepRow, *, on_number: bool) -> str:
    """Return what is told of a step under the mouse."""
    if on_number:
        return "Drag to move the step, or Alt+Up and Alt+Down"
    words = row.spoken
    if row.state == "skipped":
        words += "\nSkipped: Space uses it again"
    elif row.state == "unworked":
        words += "\nNot worked out: a step before it cannot be done"
    elif row.grade in ("watch", "stop"):
        words += f"\n{'To watch' if row.grade == 'watch' else 'Stop'}: see the sheet of the step"
    if row.force:
        words += f"\nForce: {row.force}"
    if row.rough:
        words += "\nRough, until it is worked out"
    return words


def card_told(rows: Sequence[StepRow], current: StepRow | None) -> str:
    """Return what a screen reader hears of the whole card: '32 steps; step 26 is on the bench'."""
    count = sum(is_step(row) for row in rows)
    told = "no steps yet" if not count else "1 step" if count == 1 else f"{count} steps"
    if current is None:
        return told
    return f"{told}; {f'step {current.number}' if is_step(current) else current.title} is on the bench"


def _limits(token: Token, units: Units) -> str:
    def told(value: float) -> str:
        return _number(value, token.unit, units)

    low, above, high = token.low, token.above, token.high
    least = (
        f"from {told(low)}" if low is not None else f"above {told(above)}" if above is not None else ""
    )
    most = f"up to {told(high)}" if high is not None else ""
    words = " ".join(part for part in (least, most) if part)
    return words[:1].upper() + words[1:]


def _number(value: float, unit: str, units: Units, *, bare: bool = False) -> str:
    if unit == "mm":
        return format_length(value, units, with_unit=not bare)
    words = f"{value:.4f}".rstrip("0").rstrip(".")
    words = "0" if words == "-0" else words
    if not unit or bare:
        return words
    return words + {"degC": " °C", "deg": "°"}.get(unit, f" {unit}")
