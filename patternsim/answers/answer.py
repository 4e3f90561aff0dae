"""The five answers of a worked job, and its findings."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

from patternsim.answers.barbs import Barbs, barbs_answer
from patternsim.answers.judging import blade_findings, job_findings
from patternsim.answers.steel import Steel, start_kg, steel_answer
from patternsim.answers.tip import Tip, tip_answer
from patternsim.knife.placement import placed
from patternsim.press import Level
from patternsim.progress import Progress, Silent
from patternsim.risks import Finding, unknown_acceptance
from patternsim.work import Result

DIGITS = 4
"""Decimals kept in figures handed out: beyond them is rounding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Press:
    """The Press answer; all None where nothing is pressed or the level works out no force."""

    peak_kn: float | None = None
    peak_range_kn: tuple[float | None, float | None] = (None, None)
    limit_kn: float | None = None
    step: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """Tip, Barbs, Steel, Press and the findings that make up Risk.

    Attributes
    ----------
    tip, barbs : None where the job has no blade.
    steel, press
    level : str
        The level everything was worked at.
    findings : tuple of Finding
    """

    tip: Tip | None
    barbs: Barbs | None
    steel: Steel | None
    press: Press
    level: str
    findings: tuple[Finding, ...]
    start_kg: float

    @property
    def stopped(self) -> bool:
        """True where a finding at level stop is not accepted."""
        return any(f.level == "stop" and not f.accepted for f in self.findings)

    def as_data(self) -> dict[str, Any]:
        """Return plain data for JSON: what is not worked out is None."""
        data = dataclasses.asdict(self)
        del data["start_kg"]
        return {key: _rounded(value) for key, value in data.items()}


def _rounded(value: Any) -> Any:  # noqa: ANN401 - any plain data
    if isinstance(value, float):
        return round(value, DIGITS) + 0.0  # no minus nought
    if isinstance(value, dict):
        return {key: _rounded(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_rounded(one) for one in value]
    return value


def _press(result: Result, limit_kn: float | None) -> Press:
    """Return the step that asks most of the press; of a rough result not all forces are known."""
    pressed = [row for row in result.steps if row.outcome.force_kn is not None]
    if not pressed or result.level is Level.QUICK:
        return Press(limit_kn=limit_kn)
    worst = max(pressed, key=lambda row: row.outcome.force_kn or 0.0)
    told = worst.outcome.measures
    return Press(
        peak_kn=worst.outcome.force_kn,
        peak_range_kn=(told.get("force_low_kn"), told.get("force_high_kn")),
        limit_kn=limit_kn,
        step=worst.step.id,
    )


def answers(
    result: Result, progress: Progress | None = None, *, press_limit_kn: float | None = None
) -> Answers:
    """Return the answers of a worked job.

    Parameters
    ----------
    result : Result
        From `run`.
    progress : Progress, optional
        Told between the answers; may raise `Cancelled`.
    press_limit_kn : float, optional
        What the smith's press gives: steps that ask for more are findings.

    Raises
    ------
    UsageError
        If the blade cannot be cut from the piece it names.
    """
    watch = progress or Silent()
    accepted = frozenset(result.job.accept)
    findings = job_findings(result, press_limit_kn)
    tip = barbs = steel = None
    spec = result.job.blade
    if spec is not None:
        watch.at(0.0, "laying the blade in its bar")
        blade = placed(spec, result.blade_piece())
        watch.at(0.2, "following the centre line to the tip")
        tip = tip_answer(blade, result.job.shop.shaft_mm)
        watch.at(0.4, "following the barbs")
        barbs = barbs_answer(blade)
        watch.at(0.6, "looking for what stands in the way")
        steel = steel_answer(result, blade)
        findings += blade_findings(result, blade, tip, barbs, steel)
    codes = {finding.code for finding in findings}
    findings += [unknown_acceptance(code) for code in result.job.accept if code not in codes]
    watch.at(1.0, "answered")
    return Answers(
        tip=tip,
        barbs=barbs,
        steel=steel,
        press=_press(result, press_limit_kn),
        level=str(result.level),
        findings=tuple(dataclasses.replace(one, accepted=one.code in accepted) for one in findings),
        start_kg=start_kg(result),
    )
