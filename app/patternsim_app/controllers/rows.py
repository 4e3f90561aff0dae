"""The job card's rows from a job and what was worked out of it: plain functions."""

from __future__ import annotations

from collections.abc import Mapping, Set
from typing import TYPE_CHECKING

from patternsim.job import Blade, Job, forge_order, kind_of
from patternsim.kinds import step_kinds
from patternsim.shop import Shop
from patternsim.sizes import told_in
from patternsim.step import Part, Slot, Step
from patternsim.wording import PROFILE_WORDS, force_words
from patternsim_app.controllers.bench_mark import BLADE, SHOP
from patternsim_app.shown import Grade, Rgba, State, StepKind, StepRow, Token, Units

if TYPE_CHECKING:
    from patternsim.answers import Answers
    from patternsim.work import StepResult, Worked

ORDER: tuple[Grade, ...] = ("fine", "unknown", "note", "watch", "stop")
"""From good to bad news."""


def card_rows(
    job: Job,
    worked: Worked | None,
    thumbs: Mapping[StepResult, Rgba],
    grades: Mapping[str, Grade],
    units: Units = "mm",
    rough: Set[str] = frozenset(),
) -> tuple[StepRow, ...]:
    """Return the rows of the card: all steps in forge order, then the blade and the shop.

    Parameters
    ----------
    job : Job
    worked : Worked or None
        As far as it was worked; None while nothing is.
    thumbs : mapping
        Small sections by step result.
    grades : mapping
        Worst grade of the findings of each step, by its id; '' for the blade.
    units : str
        Of the lengths in what stops a step.
    rough : set
        Ids of the steps whose steel is only known roughly yet.
    """
    results = {} if worked is None else {row.step.id: row for row in worked.result.steps}
    refused = None if worked is None else worked.refused
    rows, number, several = [], 0, len(job.bar) > 1
    for k in forge_order(job):
        bar = job.bar[k]
        for place, step in enumerate(bar.step):
            number += 1
            result = results.get(step.id)
            result = None if result is None or result.step != step else result  # else of the job before
            heading = step.stage
            if place == 0 and several:
                heading = f"{bar.name}: {heading}" if heading else bar.name
            stopped = refused is not None and refused.step == step.id
            rows.append(
                StepRow(
                    key=step.id,
                    number=number,
                    bar=bar.name,
                    heading=heading,
                    kind=kind_of(step),
                    title=step.title,
                    tokens=tokens(step.card()),
                    spoken=step.sentence(),
                    state=_state(step, result, worked, stopped=stopped),
                    reason=told_in(refused.reason, units) if refused and stopped else "",
                    size=result.outcome.pieces[0].size if result else None,
                    thumb=thumbs.get(result) if result else None,
                    grade=grades.get(step.id, "fine"),
                    rough=result is not None and step.id in rough,
                    force=force_of(result),
                )
            )
    if job.blade is not None:
        rows.append(_blade_row(job.blade, grades.get("", "fine")))
    rows.append(_shop_row(job.shop))
    return tuple(rows)


def force_of(result: StepResult | None) -> str:
    """Return what a step asks of the press; empty where nothing is pressed or it is not worked out."""
    if result is None or result.outcome.force_kn is None:
        return ""
    told = result.outcome.measures
    return force_words(result.outcome.force_kn, told.get("force_low_kn"), told.get("force_high_kn"))


def tokens(parts: tuple[Part, ...]) -> tuple[Token, ...]:
    """Return the short sentence of a step as the card shows it."""
    return tuple(_token(part) for part in parts)


def kinds_shown() -> tuple[StepKind, ...]:
    """Return the kinds of steps that can be added."""
    return tuple(
        StepKind(kind=one.kind, title=one.title, group=one.group, words=one.words, about=one.about)
        for one in step_kinds()
    )


def worst(grades: tuple[Grade, ...]) -> Grade:
    """Return the worst of some grades; 'fine' of none."""
    return max(grades, key=ORDER.index, default="fine")


def grades_by_step(found: Answers | None) -> dict[str, Grade]:
    """Return the worst grade of the findings of each step that are not accepted; '' for the blade."""
    grades: dict[str, Grade] = {}
    if found is None:
        return grades
    for finding in found.findings:
        grade: Grade = "note" if finding.accepted else finding.level
        grades[finding.step] = worst((grades.get(finding.step, "fine"), grade))
    return grades


def _token(part: Part) -> Token:
    if isinstance(part, str):
        return Token(text=part)
    assert isinstance(part, Slot)
    return Token(
        field=part.field,
        value=str(part.value) if part.kind == "choice" else part.value,
        unit=part.unit,
        kind=part.kind,
        choices=tuple((str(value), words) for value, words in part.choices),
        low=part.low,
        above=part.above,
        high=part.high,
        label=part.label,
    )


def _state(step: Step, result: StepResult | None, worked: Worked | None, *, stopped: bool) -> State:
    if step.skip:
        return "skipped"
    if stopped:
        return "refused"
    if result is not None:
        return "worked"
    return "unworked" if worked is not None and worked.refused is not None else "waiting"


def _number(
    field: str, value: float, label: str, *, low: float | None = None, high: float | None = None
) -> Token:
    return Token(field=field, value=value, unit="mm", kind="number", label=label, low=low, high=high)


def _blade_row(blade: Blade, grade: Grade) -> StepRow:
    from patternsim.shape.profiles import PROFILES

    outline = PROFILES[blade.profile](**blade.outline)
    words = PROFILE_WORDS[blade.profile]
    length = _number("outline.length_mm", outline.length_mm, "Length of the blade", low=20.0)
    end = _number("place.from_end_mm", blade.place.from_end_mm, "Tip from the end", low=0.0, high=2000.0)
    return StepRow(
        key=BLADE,
        number=0,
        bar=blade.bar,
        heading="Blade",
        kind="blade",
        title="Blade",
        tokens=(
            length,
            Token(text=f" {words}, tip "),
            end,
            Token(text=f" from the {blade.place.tip_end} end"),
        ),
        spoken=f"{outline.length_mm:g} mm {words}, tip {blade.place.from_end_mm:g} mm from the "
        f"{blade.place.tip_end} end of the bar",
        state="worked",
        grade=grade,
    )


def _shop_row(shop: Shop) -> StepRow:
    return StepRow(
        key=SHOP,
        number=0,
        bar="",
        heading="Shop",
        kind="shop",
        title="Shop",
        tokens=(
            Token(text="Saw "),
            _number("kerf_mm", shop.kerf_mm, "Saw kerf", low=0.0, high=10.0),
            Token(text=", scale a heat "),
            _number("skin_weld_mm", shop.skin_weld_mm, "Skin lost in a welding heat", low=0.0, high=2.0),
            Token(text=" welding, "),
            _number(
                "skin_forge_mm", shop.skin_forge_mm, "Skin lost in a forging heat", low=0.0, high=2.0
            ),
            Token(text=" forging"),
        ),
        spoken=f"Shop: saw kerf {shop.kerf_mm:g} mm, scale {shop.skin_weld_mm:g} mm a face in a welding "
        f"heat, {shop.skin_forge_mm:g} mm in a forging heat",
        state="worked",
    )
