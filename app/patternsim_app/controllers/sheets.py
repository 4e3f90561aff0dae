"""The sheet of a row of the card, from the job and what was worked out: plain functions."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from pydantic import BaseModel

from patternsim.declared import fields_of
from patternsim.glance import finding_title
from patternsim.job import Blade, Job, kind_of
from patternsim.kinds import step_kinds
from patternsim.sizes import format_length, told_in
from patternsim.step import Step
from patternsim_app.controllers.bench_mark import BLADE, SHOP
from patternsim_app.controllers.blade_rows import blade_rows, row_of
from patternsim_app.controllers.edits import part_of, title_of
from patternsim_app.controllers.rows import force_of
from patternsim_app.shown import FieldRow, FindingNote, Sheet, StepRow, Units

if TYPE_CHECKING:
    from patternsim.answers import Answers
    from patternsim.risks import Finding
    from patternsim.work import StepResult, Worked


def sheet_for(
    job: Job,
    key: str,
    row: StepRow | None,
    worked: Worked | None,
    found: Answers | None,
    units: Units,
) -> Sheet | None:
    """Return the sheet of the row `key`; None where the job has no such row."""
    part = part_of(job, key)
    if part is None:
        return None
    step = part if isinstance(part, Step) else None
    result = _result(worked, step)
    refused = worked.refused if worked is not None else None
    stopped = refused is not None and refused.step == key
    return Sheet(
        key=key,
        number=row.number if row else 0,
        title=title_of(part, key),
        kind=kind_of(step) if step is not None else key.rstrip(":"),
        sentence=row.spoken if row else "",
        rows=_with_what_it_comes_to(field_rows(part), part, result),
        facts=_facts(result, units) if result is not None else _blade_facts(key, found),
        findings=_findings(found, key, units),
        caution=_caution(step),
        trouble=told_in(refused.reason, units) if stopped and refused else "",
    )


def field_rows(part: BaseModel) -> tuple[FieldRow, ...]:
    """Return the values of a step, blade or shop as rows of its sheet."""
    if isinstance(part, Blade):
        return blade_rows(part)
    return tuple(row_of(one) for one in fields_of(part))


_COMES_TO = {
    ("flatten", "width_mm"): (1, 1.0),
    ("forge-weld", "width_mm"): (1, 1.0),
    ("press-on-edge", "width_mm"): (1, 1.0),
    ("cut", "piece_mm"): (0, 1.0),
    ("mark", "along_mm"): (0, 0.5),
}
"""Values that follow where they are left out: which side of the piece after the step, and its share."""


def _with_what_it_comes_to(
    rows: tuple[FieldRow, ...], part: BaseModel, result: StepResult | None
) -> tuple[FieldRow, ...]:
    """Return the rows with what was worked out for values that are left out."""
    if result is None or not isinstance(part, Step):
        return rows
    size, kind = result.outcome.pieces[0].size, kind_of(part)
    sides = {field: size[side] * share for (of, field), (side, share) in _COMES_TO.items() if of == kind}
    return tuple(
        replace(row, comes_to=round(sides[row.field], 1)) if row.value is None and row.field in sides
        else row
        for row in rows
    )  # fmt: skip


def finding_notes(found: Answers | None, units: Units) -> tuple[FindingNote, ...]:
    """Return all findings as the window tells them."""
    if found is None:
        return ()
    return tuple(_note(k, finding, units) for k, finding in enumerate(found.findings))


def _result(worked: Worked | None, step: Step | None) -> StepResult | None:
    if worked is None or step is None:
        return None
    rows = (row for row in worked.result.steps if row.step.id == step.id)
    row = next(rows, None)
    return row if row is not None and row.step == step and row.outcome.pieces else None


_SOURCES = {
    "exact": "exactly", "quick": "roughly", "coarse": "by the flow of the steel",
    "fine": "by the flow of the steel",
}  # fmt: skip


def _facts(result: StepResult, units: Units) -> tuple[tuple[str, str], ...]:
    first = result.outcome.pieces[0]
    many = len(result.outcome.pieces)
    size = " x ".join(format_length(round(v, 1), units, with_unit=False) for v in first.size)
    unit = "mm" if units == "mm" else "in"
    facts = [
        ("Size now, long x wide x thick", f"{size} {unit}"),
        ("Pieces", f"{many}") if many > 1 else ("Weight", f"{result.mass_kg:.2f} kg"),
    ]
    if many > 1:
        facts.append(("Weight, all pieces", f"{result.mass_kg:.2f} kg"))
    if result.lost_kg >= 5e-4:
        facts.append(("Lost here", f"{result.lost_kg:.3f} kg"))
    facts += [
        (f"Set aside: {piece.name}", f"{piece.mass_kg:.3f} kg") for piece in result.outcome.offcuts
    ]
    facts.append(("Layers", first.layers.text()))
    force = force_of(result)
    if force:
        facts.append(("Force", force))
    facts.append(("Worked out", _SOURCES.get(result.outcome.source, "roughly")))
    return tuple(facts)


def _blade_facts(key: str, found: Answers | None) -> tuple[tuple[str, str], ...]:
    if key != BLADE or found is None or found.steel is None:
        return ()
    return (("Weight of the ground blade", f"{found.steel.blade_kg:.3f} kg"),)


def _findings(found: Answers | None, key: str, units: Units) -> tuple[FindingNote, ...]:
    wanted = "" if key == BLADE else key
    return tuple(note for note in finding_notes(found, units) if note.step == wanted and key != SHOP)


def _note(number: int, finding: Finding, units: Units) -> FindingNote:
    return FindingNote(
        key=f"{finding.code}:{finding.step}:{number}",
        code=finding.code,
        title=finding_title(finding.code),
        grade="note" if finding.accepted else finding.level,
        step=finding.step,
        place=finding.place,
        text=told_in(finding.text, units),
        remedy=told_in(finding.remedy, units),
        source=finding.source,
        value=finding.value,
        limit=finding.limit,
        unit=finding.unit,
        accepted=finding.accepted,
    )


def _caution(step: Step | None) -> str:
    if step is None:
        return ""
    kind = kind_of(step)
    return next((one.caution for one in step_kinds() if one.kind == kind), "")
