"""Changes of a job as the window makes them: text before and after, and what undo will call them.

Fields are the dotted ways of the views; rows of the card are ids of steps, or the blade and the shop.
"""

from __future__ import annotations

from pydantic import BaseModel

from patternsim import declared
from patternsim.declared import Declared, fields_of, refusal
from patternsim.errors import JobError, UsageError
from patternsim.job import Blade, Job, Way, changed_many, step_way
from patternsim.shape.profiles import PROFILES
from patternsim.sizes import format_value
from patternsim_app.controllers.bench_mark import BLADE, SHOP
from patternsim_app.controllers.blade_rows import OUTLINE, blade_rows, without_foreign
from patternsim_app.shown import FieldRow, Units, Value


def part_of(job: Job, key: str) -> BaseModel | None:
    """Return the step, blade or shop a row of the card stands for; None where there is none."""
    if key == BLADE:
        return job.blade
    if key == SHOP:
        return job.shop
    found = job.find_step(key)
    return None if found is None else found[0].step[found[1]]


def title_of(part: BaseModel, key: str) -> str:
    """Return what a row is called in the list of undos."""
    if key == BLADE:
        return "Blade"
    if key == SHOP:
        return "Shop"
    return str(type(part).title)  # type: ignore[attr-defined]


def way_to(field: str) -> Way:
    """Return a dotted field as a way.

    >>> way_to("strips.0.thickness_mm")
    ('strips', 0, 'thickness_mm')
    """
    return tuple(int(part) if part.isdigit() else part for part in field.split("."))


def base_way(job: Job, key: str) -> Way:
    """Return the way to a row's part of the job file."""
    if key == BLADE:
        return ("blade",)
    return ("shop",) if key == SHOP else step_way(job, key)


def with_field(text: str, job: Job, key: str, field: str, value: Value) -> str:
    """Return the job text with one field of a row changed; None takes it out, so that it is as usual.

    Raises
    ------
    JobError
        If the job has no such row, or the value cannot be.
    """
    part = part_of(job, key)
    if part is None:
        raise JobError("that row of the card is no longer there; choose another")
    base = base_way(job, key)
    if isinstance(part, Blade) and field.startswith(OUTLINE):
        return changed_many(text, [((*base, *way_to(field)), value)])  # the profile itself refuses
    value = _native(part, field, value)
    why = refusal(part, way_to(field), value)
    if why:
        raise JobError(why)
    changes: list[tuple[Way, Value]] = [((*base, *way_to(field)), value)]
    if isinstance(part, Blade) and field == "profile":
        usual = Blade.model_fields["profile"].default
        gone = without_foreign(part, str(usual if value is None else value))
        changes += [((*base, "outline", name), None) for name in gone]
    return changed_many(text, changes)


def with_field_tried(job: Job, key: str, field: str, value: Value) -> Job | None:
    """Return the job with one field changed, as a value, not as text; None where it cannot be."""
    part = part_of(job, key)
    if part is None:
        return None
    try:
        if isinstance(part, Blade) and field.startswith(OUTLINE):
            changed: BaseModel = _with_outline(part, field.removeprefix(OUTLINE), value)
        else:
            changed = declared.changed(part, way_to(field), _native(part, field, value))
    except UsageError:
        return None
    if key == BLADE:
        return job.model_copy(update={"blade": changed})
    if key == SHOP:
        return job.model_copy(update={"shop": changed})
    bars = tuple(
        bar.model_copy(update={"step": tuple(changed if step.id == key else step for step in bar.step)})
        for bar in job.bar
    )
    return job.model_copy(update={"bar": bars})


def change_label(job: Job, key: str, field: str, value: Value, units: Units) -> str:
    """Return how undo calls a change: 'Draw: thickness 42 -> 40 mm'."""
    part = part_of(job, key)
    if part is None:
        return "Change"
    told: Declared | FieldRow | None = declared_field(part, field)
    if isinstance(part, Blade) and field.startswith(OUTLINE):
        told = next((row for row in blade_rows(part) if row.field == field), None)
    if told is None:
        return f"{title_of(part, key)}: {field}"
    old, new = (_written(v, told, units) for v in (told.value, value))
    label = told.label[:1].lower() + told.label[1:]
    return f"{title_of(part, key)}: {label} {old} \u2192 {new}"


def declared_field(part: BaseModel, field: str) -> Declared | None:
    """Return the declaration of a field; None where there is none of that name."""
    way = way_to(field)
    return next((one for one in fields_of(part) if one.way == way), None)


def _with_outline(blade: Blade, name: str, value: Value) -> Blade:
    """Return the blade with one number of its outline changed.

    Raises
    ------
    UsageError
        If its profile cannot be drawn with it.
    """
    if not isinstance(value, (int, float)):
        raise UsageError("a number of the outline is a length")
    outline = {**blade.outline, name: float(value)}
    try:
        PROFILES[blade.profile](**outline)
    except ValueError as error:
        raise UsageError(str(error)) from error
    return blade.model_copy(update={"outline": outline})


def _native(part: BaseModel, field: str, value: Value) -> Value:
    """Return a choice as the declaration has it: views hand choices over as words."""
    told = declared_field(part, field)
    if told is None or told.kind != "choice":
        return value
    return next((one for one, _ in told.choices if str(one) == str(value)), value)


def _written(value: object, told: Declared | FieldRow, units: Units) -> str:
    if value is None:
        usual = "" if told.default is None else _written(told.default, told, units)
        return f"{usual} as usual".strip()
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return format_value(float(value), told.unit, units)
    words = {str(one): text for one, text in told.choices}
    return words.get(str(value), str(value))
