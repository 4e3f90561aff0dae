"""The blade's values as rows of its sheet: every number of its profile, given or as usual."""

from __future__ import annotations

import inspect
from dataclasses import replace

from patternsim.declared import Declared, fields_of
from patternsim.job import Blade
from patternsim.shape import GRINDS
from patternsim.shape.profiles import PROFILES
from patternsim_app.shown import FieldRow, Value

OUTLINE, GRIND = "outline.", "grind."
_WORDS = {
    "length_mm": ("Length", "heel to tip"),
    "width_mm": ("Height at the heel", "spine to edge"),
    "tip_height_mm": ("Tip above the edge", "how high the tip stands over the line of the edge"),
    "tip_drop_mm": ("Tip below the spine", "how far the point drops"),
    "flat_mm": ("Straight edge", "from the heel; the rest is the belly"),
    "spine_straight_mm": ("Straight spine", "from the heel"),
    "spine_fall_mm": ("Fall of the spine", "over its straight part"),
    "point_mm": ("Length of the point", "over which both edges run in"),
    "neck_mm": ("Neck", "between heel and tang"),
    "tang_mm": ("Tang stub", "drawn longer or welded on later"),
}
_SHARES: dict[str, dict[str, tuple[float, tuple[str, ...]]]] = {
    "chef": {
        "flat_mm": (0.28, ("length_mm",)),
        "spine_straight_mm": (0.44, ("length_mm",)),
        "spine_fall_mm": (0.20, ("width_mm", "tip_height_mm")),
    },
    "hunter": {
        "tip_drop_mm": (0.25, ("width_mm",)),
        "flat_mm": (0.30, ("length_mm",)),
        "spine_straight_mm": (0.40, ("length_mm",)),
    },
    "dagger": {"point_mm": (0.34, ("length_mm",))},
}
"""What an outline's number comes to where it is left out: a share of another, less a second one."""
_ORDER = ("profile", OUTLINE, "place.", "barbs", "allowance_mm", "grind.", "bar", "piece")


def outline_numbers(profile: str) -> dict[str, float | None]:
    """Return the numbers of a profile with what they usually are; None follows from the others."""
    signature = inspect.signature(PROFILES[profile])
    return {name: one.default for name, one in signature.parameters.items() if name in _WORDS}


def without_foreign(blade: Blade, profile: str) -> list[str]:
    """Return the outline numbers of a blade that another profile does not have."""
    return [name for name in blade.outline if name not in outline_numbers(profile)]


def blade_rows(blade: Blade) -> tuple[FieldRow, ...]:
    """Return the rows of the blade's sheet, what is changed most first."""
    rows = [_with_usual_grind(row_of(one), blade) for one in fields_of(blade) if one.way[0] != "outline"]
    numbers = outline_numbers(blade.profile)
    known = {**numbers, **blade.outline}
    for name, usual in numbers.items():
        label, reason = _WORDS[name]
        value: Value = blade.outline.get(name, usual)
        share, of = _SHARES[blade.profile].get(name, (0.0, ()))
        sides = [known[one] or 0.0 for one in of]
        rows.append(
            FieldRow(
                field=OUTLINE + name,
                label=label,
                unit="mm",
                reason=reason,
                kind="number",
                value=value,
                default=usual,
                low=0.0,
                comes_to=share * (2 * sides[0] - sum(sides)) if sides and value is None else None,
            )
        )
    return tuple(sorted(rows, key=_rank))


def _with_usual_grind(row: FieldRow, blade: Blade) -> FieldRow:
    """Return a row of the grind with the figure its profile usually has."""
    if not row.field.startswith(GRIND):
        return row
    grind, name = GRINDS[blade.profile], row.field.removeprefix(GRIND)
    usual = getattr(grind, name)
    if name == "kind":
        words = {str(value): text for value, text in row.choices}
        choices = ((None, f"usual: {words[str(usual)]}"), *row.choices[1:])
        return replace(row, choices=choices)  # type: ignore[arg-type]
    if name == "bevel_height_mm" and blade.grind.kind not in (None, grind.kind):
        return row  # the usual bevel belongs to the usual kind
    return replace(row, value=usual if row.value is None else row.value, default=usual)


def row_of(one: Declared) -> FieldRow:
    """Return a declared value as a row of a sheet."""
    return FieldRow(
        field=".".join(map(str, one.way)),
        label=one.label,
        unit=one.unit,
        reason=one.reason,
        kind=one.kind,
        value=one.value,
        default=one.default,
        required=one.required,
        choices=one.choices,  # type: ignore[arg-type]
        low=one.low,
        above=one.above,
        high=one.high,
    )


def _rank(row: FieldRow) -> int:
    return next((k for k, start in enumerate(_ORDER) if row.field.startswith(start)), len(_ORDER))
