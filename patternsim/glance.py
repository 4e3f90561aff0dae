"""The five answers at a glance: a few words each, a grade, and the whole as one sentence.

What the answers are is worked out in `answers`; here they are only put. Nothing is drawn here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from patternsim.answers import Answers
from patternsim.errors import UsageError
from patternsim.risks import SKETCH, Finding
from patternsim.sizes import Units, format_off, told_in
from patternsim.wording import counted, force_words, told_kn

Grade = Literal["fine", "watch", "stop", "note", "unknown"]

HEADLINE, DETAIL = 18, 44
"""Most letters of a headline and of a detail."""
LEAST_MM = 0.05
"""Less than this counts as nothing: it would be shown as 0.0 mm."""

_TITLES = {
    "line-misses-tip": "Line misses the tip",
    "no-line-at-tip": "No line at the tip",
    "sides-disagree": "Sides disagree",
    "barbs-wrong-way": "Barbs lean otherwise",
    "no-feather": "Never split",
    "uncut-in-blade": "Uncut end in blade",
    "outline-beyond-bar": "Outline beyond the bar",
    "outline-off-steel": "Outline off the steel",
    "near-an-edge": "Outline near an edge",
    "not-welded": "Not welded",
    "too-little-length": "Bar too short",
    "too-little-width": "Bar too narrow",
    "too-little-thickness": "Bar too thin",
    "mark-lost": "Mark lost",
    "mark-set-aside": "Mark set aside",
    "notch-left": "Notch left in",
    "gap-in-stack": "Gaps in the stack",
    "force-beyond-press": "Too much for the press",
    SKETCH: "Only a sketch",
    "unknown-acceptance": "Nothing to accept",
}
_TIP = ("no-line-at-tip", "line-misses-tip", "sides-disagree", "no-feather")
_BARBS = ("no-feather", "barbs-wrong-way", "uncut-in-blade")
_STEEL = (
    "not-welded", "outline-beyond-bar", "outline-off-steel", "too-little-length",
    "too-little-thickness", "too-little-width", "near-an-edge",
)  # fmt: skip
_WORST: tuple[Literal["stop", "watch", "note"], ...] = ("stop", "watch", "note")
_SPOKEN: dict[Grade, str] = {
    "fine": "fine", "watch": "to watch", "stop": "stop", "note": "to note", "unknown": "not worked out"
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Glance:
    """One answer at a glance.

    Attributes
    ----------
    key, name : str
        'tip'; 'Tip'.
    headline, detail : str
        At most 18 and 44 letters.
    grade : str
        'fine', 'watch' or 'stop' where it was judged; 'note' where there is nothing to judge or it is
        accepted; 'unknown' where it is not worked out.
    spoken : str
        One full sentence.
    step : str
        Id of the step it points at; empty for none.
    """

    key: str
    name: str
    headline: str
    detail: str
    grade: Grade
    spoken: str
    step: str = ""


def finding_title(code: str) -> str:
    """Return a few words for a kind of finding.

    Raises
    ------
    UsageError
        If there is no such kind.
    """
    if code not in _TITLES:
        raise UsageError(f'there is no finding "{code}"; there are: {", ".join(_TITLES)}')
    return _TITLES[code]


def glance(
    found: Answers,
    *,
    press_limit_kn: float | None = None,
    units: Units = "mm",
    numbers: Mapping[str, int] | None = None,
) -> tuple[Glance, ...]:
    """Return Tip, Barbs, Steel, Press and Risk at a glance.

    Parameters
    ----------
    found : Answers
    press_limit_kn : float, optional
        What the smith's press gives.
    units : str
        'mm' or 'in', of lengths.
    numbers : mapping, optional
        Numbers of the steps on the job card by id; without them the ids are shown.
    """
    return (
        _tip(found, units),
        _barbs(found, units),
        _steel(found, units),
        _press(found, press_limit_kn, numbers or {}),
        _risk(found, numbers or {}),
    )


def unworked(
    step: str,
    reason: str,
    *,
    press_limit_kn: float | None = None,
    units: Units = "mm",
    numbers: Mapping[str, int] | None = None,
) -> tuple[Glance, ...]:
    """Return the five answers of a job that stops at `step`, which `reason` keeps from being done."""
    reason = told_in(reason, units)
    where = _steps([step], numbers or {})
    stuck = _cut(f"{where} cannot be done", DETAIL)
    three = (
        _put(name, "not worked out", stuck, "unknown", stuck, step) for name in ("Tip", "Barbs", "Steel")
    )
    said = f"{where} cannot be done: {reason.strip().rstrip('.')}"
    return (
        *three,
        _no_force(press_limit_kn),
        _put("Risk", "1 to stop", stuck, "stop", said, step),
    )


def nothing_worked(why: str) -> tuple[Glance, ...]:
    """Return the five answers where none could be worked out, and why: a few words, or a sentence."""
    said = why.strip().rstrip(".")
    return tuple(
        _put(name, "not worked out", said, "unknown", f"not worked out, {said}")
        for name in ("Tip", "Barbs", "Steel", "Press", "Risk")
    )


# --- the five ----------------------------------------------------------------------------


def _tip(found: Answers, units: Units) -> Glance:
    tip = found.tip
    grade = _judged(found, _TIP)
    if tip is None:
        return _put("Tip", "no blade", "in this job", "note", "there is no blade in this job")
    if _has(found, "no-feather"):
        said = "the steel was never split, so there is no feather"
        return _put("Tip", "no feather", "the steel was never split", grade, said)
    if tip.offset_mm is None or tip.verdict is None:
        if found.barbs is not None and found.barbs.wanted == "none":
            said = "there is no centre line, and none is wanted"
            return _put("Tip", "no centre line", "and none is wanted", "note", said)
        said = "no centre line reaches the tip on both sides"
        return _put("Tip", "no centre line", "reaches the tip on both sides", grade, said)
    if grade == "fine" and tip.verdict != "on":
        grade = "note"  # nobody asked for a line here, so a miss is no trouble
    where = "both sides" if tip.verdict == "on" else f"worse on the {str(tip.side).replace('-', ' ')}"
    if _has(found, "sides-disagree") and tip.mark_side is not None and tip.off_side is not None:
        apart = abs(tip.mark_side.offset_mm - tip.off_side.offset_mm)
        where = f"sides {format_off(apart, units)} apart"
    if abs(tip.offset_mm) < LEAST_MM:
        said = f"the centre line meets the tip, {where}".replace(", both", " on both")
        return _put("Tip", "meets the tip", f"{tip.verdict}, {where}", grade, said)
    off = format_off(abs(tip.offset_mm), units)
    to = f"to the {'spine' if tip.offset_mm > 0 else 'edge'}: {tip.verdict}, {where}"
    return _put(
        "Tip",
        off,
        to,
        grade,
        f"the centre line passes the tip {off} {to.replace(': ', ', which counts as ')}",
    )


def _barbs(found: Answers, units: Units) -> Glance:
    barbs = found.barbs
    grade = _judged(found, _BARBS)
    if barbs is None:
        return _put("Barbs", "no blade", "in this job", "note", "there is no blade in this job")
    wanted = "none are wanted" if barbs.wanted == "none" else f"wanted to the {barbs.wanted}"
    if barbs.towards == "none":
        return _put("Barbs", "no barbs", wanted, grade, f"there are no barbs, {wanted}")
    headline = "lean both ways" if barbs.towards == "mixed" else f"lean to the {barbs.towards}"
    # Cut down, not rounded: all of the blade is said only where it is all of it.
    share = f"{int(100.0 * barbs.share + 1e-6)} %"
    parts = [wanted]
    if barbs.towards == barbs.wanted:
        parts = [f"{share} of the blade"]
    elif barbs.towards == "mixed" and barbs.wanted != "none":
        parts = [f"{share} to the {barbs.wanted}"]
    plain = _first(found, ("uncut-in-blade",))
    if plain is not None and plain.value is not None:
        parts.append(f"{format_off(plain.value, units)} without a line")
    elif barbs.angle_deg is not None:
        parts.append(f"{barbs.angle_deg:.0f}° mid-way")
    detail = ", ".join(parts)
    return _put("Barbs", headline, detail, grade, f"the barbs {headline}, {detail}")


def _steel(found: Answers, units: Units) -> Glance:
    steel = found.steel
    start = f"{found.start_kg:.2f} kg"
    if steel is None:
        return _put("Steel", start, "to start with", "note", f"{start} to start with, and no blade")
    grade = _judged(found, _STEEL)
    spare = steel.spare_length_mm[1]
    if spare is None:
        headline, detail = "not worked out", "what is spare of a bent bar"
        grade = "unknown" if grade == "fine" else grade
        said = "what is spare of a bent bar is not worked out"
    elif abs(spare) < LEAST_MM:
        headline, detail, said = "just long enough", "for the blade", "the bar is just long enough"
    else:
        off = format_off(abs(spare), units)
        headline, detail = f"{off} too short", "for the blade"
        if spare > 0:
            headline, detail = f"{off} longer", "than needed"
        said = f"the bar is {headline} {detail}"
    # The length is the headline; of what else is wrong with the bar the worst stands beside it.
    trouble = _first(found, tuple(code for code in _STEEL if code != "too-little-length"))
    if trouble is not None:
        short = _bar_words(trouble, units)
        said = f"{said}; {short}"
        detail = short if spare is None else f"{detail}; {short}"
    return _put("Steel", headline, detail, grade, f"{said}; {start} to start with")


def _bar_words(finding: Finding, units: Units) -> str:
    words = {"too-little-width": "too narrow", "too-little-thickness": "too thin"}
    if finding.code in words and finding.value is not None:
        return f"{format_off(abs(finding.value), units)} {words[finding.code]}"
    return _lower(finding_title(finding.code))


def _press(found: Answers, limit_kn: float | None, numbers: Mapping[str, int]) -> Glance:
    press = found.press
    limit = limit_kn if limit_kn is not None else press.limit_kn
    if press.peak_kn is None:
        if found.level != "quick":
            return _put("Press", "nothing pressed", "in this job", "note", "nothing is pressed")
        return _no_force(limit)
    low, high = press.peak_range_kn
    where = _steps([press.step], numbers) if press.step else ""
    headline = force_words(press.peak_kn)
    told = "" if low is None or high is None else f"{told_kn(low)} to {told_kn(high)}"
    yours = "" if limit is None else f"of your {limit:.0f} kN"
    parts = [part for part in (f"{told} {yours}".strip(), where) if part]
    said = f"at most {force_words(press.peak_kn, low, high)}{f' in {where}' if where else ''}"
    said += "" if limit is None else f"; the press gives {limit:.0f} kN"
    # Too much force is never a stop: a smaller bite or another heat takes it down.
    grade: Grade = "note" if limit is None else "fine"
    if limit is not None and press.peak_kn > limit:
        grade = "watch"
    elif limit is not None and high is not None and high > limit:
        grade = "note"
        said += ", which may be too little"
    return _put("Press", headline, ", ".join(parts) or "at most", grade, said, press.step or "")


def _no_force(limit_kn: float | None) -> Glance:
    detail = said = "forces are not worked out yet"
    if limit_kn is not None:
        detail = f"your press gives {limit_kn:.0f} kN; not compared yet"
        said = f"{said}; {detail}"
    return _put("Press", "not worked out", detail, "unknown", said)


def _risk(found: Answers, numbers: Mapping[str, int]) -> Glance:
    # That a step is only a sketch is no risk of the forge: it is said, not counted.
    rough = [one for one in found.findings if one.code == SKETCH]
    risks = [one for one in found.findings if one.code != SKETCH]
    open_ = [one for one in risks if not one.accepted]
    by = {level: [one for one in open_ if one.level == level] for level in _WORST}
    accepted = len(risks) - len(open_)
    counts = [f"{len(by[level])} to {level}" for level in _WORST if by[level]]
    counts += [f"{accepted} accepted"] if accepted else []
    if not counts:
        at = f"{_places(rough, numbers)} only a sketch" if rough else "of what is looked for"
        return _put("Risk", "nothing found", at, "fine", f"nothing found, {at}")
    worst = next((level for level in _WORST if by[level]), None)
    shown = by[worst] if worst else risks
    places = _places(shown, numbers)
    step = next((one.step for one in shown if one.step), "")
    rest = f", {', '.join(counts[1:])}" if len(counts) > 1 else ""
    detail = places + rest if len(places + rest) <= DETAIL else places
    titles = dict.fromkeys(_lower(finding_title(one.code)) for one in shown)
    said = f"{', '.join(counts)}: {', '.join(titles)}; {places}"
    return _put("Risk", counts[0], detail, worst or "note", said, step)


# --- words they share --------------------------------------------------------------------


def _put(name: str, headline: str, detail: str, grade: Grade, said: str, step: str = "") -> Glance:
    return Glance(
        key=name.lower(),
        name=name,
        headline=headline,
        detail=_cut(detail, DETAIL),
        grade=grade,
        spoken=f"{name}, {said if name == 'Risk' else f'{_SPOKEN[grade]}: {said}'}.",
        step=step,
    )


def _judged(found: Answers, codes: Sequence[str]) -> Grade:
    """Return the worst of the findings of these kinds; 'note' where all of them are accepted."""
    told = [one for one in found.findings if one.code in codes]
    for level in _WORST:
        if any(one.level == level and not one.accepted for one in told):
            return level
    return "note" if told else "fine"


def _first(found: Answers, codes: Sequence[str]) -> Finding | None:
    """Return the finding that comes first in `codes` and is not accepted."""
    told = {one.code: one for one in reversed(found.findings) if not one.accepted}
    return next((told[code] for code in codes if code in told), None)


def _has(found: Answers, code: str) -> bool:
    return any(one.code == code for one in found.findings)


def _steps(ids: Sequence[str], numbers: Mapping[str, int]) -> str:
    """Return 'step 4', 'steps 4, 12 and 16'; ids where there are no numbers."""
    names = [str(numbers[one]) if one in numbers else _cut(one, 20) for one in dict.fromkeys(ids)]
    if len(names) == 1:
        return f"step {names[0]}"
    row = f"steps {', '.join(names[:-1])} and {names[-1]}"
    return row if len(row) <= DETAIL // 2 else counted(len(names), "step")


def _places(findings: Sequence[Finding], numbers: Mapping[str, int]) -> str:
    """Return where findings are: steps first, then the blade, the bar or the job."""
    steps = [one.step for one in findings if one.step]
    others = ["the job" if one.place == "job" else "the blade" for one in findings if not one.step]
    parts = [_steps(steps, numbers)] if steps else []
    return " and ".join([*parts, *sorted(set(others))])


def _lower(title: str) -> str:
    return title[:1].lower() + title[1:]


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}\u2026"
