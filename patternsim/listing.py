"""Worked jobs as rows and lines: what the command line prints."""

from __future__ import annotations

import json
import math
import re
import textwrap
from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any

import numpy as np

from patternsim.answers import Answers
from patternsim.job import kind_of
from patternsim.risks import SKETCH
from patternsim.wording import counted, force_words, percent, signed_spare, spare_words
from patternsim.work import Result, StepResult

CAUSES = ("scale", "saw", "ground", "crop")
COLUMNS = 100
LEAST_TEXT = 24
"""Narrower than this a sentence is no longer readable; the lines then run over."""
INDENT = 7
"""Width of the names of the answers and the gap after them."""


def json_text(data: object) -> str:
    """Return data as JSON; a number that is none is null, as JSON knows no other."""
    return json.dumps(_plain(data), indent=1, allow_nan=False)


def _plain(value: Any) -> Any:  # noqa: ANN401 - any plain data
    if isinstance(value, Mapping):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(one) for one in value]
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


# --- the steps ---------------------------------------------------------------------------


def step_rows(result: Result) -> list[dict[str, Any]]:
    """Return one row a step, in forge order.

    Keys: bar, id, kind, size_mm (x, y, z of the first piece), pieces, volume_mm3 and mass_kg of all
    pieces, layers (n x m as text), layers_total, force_kn (None where nothing is pressed or no force
    is worked out), lost_kg, losses_kg by cause, source, rough, marks, text.
    """
    return [_row(row) for row in result.steps]


def _row(row: StepResult) -> dict[str, Any]:
    outcome = row.outcome
    first = outcome.pieces[0]
    # Each cause its share of the mass: strips of unlike steels need not weigh alike.
    weight = row.lost_kg / outcome.losses.total if outcome.losses.total else 0.0
    return {
        "bar": row.bar,
        "id": row.step.id,
        "kind": kind_of(row.step),
        "size_mm": [round(v, 3) for v in first.size],
        "pieces": len(outcome.pieces),
        "volume_mm3": round(row.volume_mm3, 1),
        "mass_kg": round(row.mass_kg, 4),
        "layers": first.layers.text(),
        "layers_total": first.layers.total,
        "layers_distinct": first.layers.distinct,
        "force_kn": outcome.force_kn,
        "lost_kg": round(row.lost_kg, 4),
        "losses_kg": {name: round(getattr(outcome.losses, name) * weight, 4) for name in CAUSES},
        "source": outcome.source,
        "rough": bool(outcome.rough),
        "offcuts": [
            {
                "name": piece.name,
                "size_mm": [round(v, 3) for v in piece.size],
                "mass_kg": round(piece.mass_kg, 4),
            }
            for piece in outcome.offcuts
        ],
        "marks": [
            {
                "name": mark.name,
                "at_mm": [round(v, 2) for v in mark.at],
                "lost_in": mark.lost_in or None,
            }
            for piece in outcome.pieces
            for mark in piece.marks
        ],
        "text": row.step.sentence(),
    }


def step_lines(rows: Sequence[Mapping[str, Any]], columns: int, level: str) -> list[str]:
    """Return the rows as a list to read: a heading for every bar, its steps under one another.

    Parameters
    ----------
    rows : sequence of mappings
        From `step_rows`.
    columns : int
        Width to print in; the sentences are wrapped in what the figures leave of it.
    level : str
        The level the job was worked at.
    """
    pressed = any(row["force_kn"] is not None for row in rows)
    heads = ["step", "long x wide x thick, mm", "kg", "lost", "layers"] + ["kN"] * pressed
    right = (2, 3, 5)
    table = [(row, _cells(row, pressed)) for row in rows]
    widths = [max(len(line[k]) for line in (heads, *(c for _, c in table))) for k in range(len(heads))]

    def laid(cells: list[str]) -> str:
        pairs = zip(cells, widths, strict=True)
        return "  ".join(
            cell.rjust(w) if k in right else cell.ljust(w) for k, (cell, w) in enumerate(pairs)
        )

    left = sum(widths) + 2 * len(widths)
    room = max(columns - left, LEAST_TEXT)
    lines: list[str] = []
    for bar, group in groupby(table, key=lambda pair: str(pair[0]["bar"])):
        lines += ["", f"Bar {bar}"] if lines else [f"Bar {bar}"]
        lines.append(laid(heads).rstrip())
        for row, cells in group:
            words = _wrapped(str(row["text"]), room) or [""]
            lines.append(f"{laid(cells)}  {words[0]}".rstrip())
            lines += [" " * left + more for more in words[1:]]
    return [*lines, "", *_wrapped(_worked_words(rows, level), columns)]


def _cells(row: Mapping[str, Any], pressed: bool) -> list[str]:
    size = " x ".join(f"{v:.1f}" for v in row["size_mm"])
    many = f"{row['pieces']} of " if row["pieces"] > 1 else ""
    lost = f"{row['lost_kg']:.3f}" if row["lost_kg"] >= 5e-4 else ""
    force = [] if row["force_kn"] is None else [f"{row['force_kn']:.0f}"]
    cells = [str(row["id"]), many + size, f"{row['mass_kg']:.3f}", lost, str(row["layers"])]
    return cells + (force or [""]) * pressed


def _worked_words(rows: Sequence[Mapping[str, Any]], level: str) -> str:
    """Say how the steps were worked, and which of them not to read closely."""
    rough = [str(row["id"]) for row in rows if row["rough"]]
    lost = sum(float(row["lost_kg"]) for row in rows)
    drawn = f" A sketch only: {', '.join(rough)}." if rough else ""
    return f"{counted(len(rows), 'step')}, {lost:.2f} kg lost. An estimate (level {level}).{drawn}"


# --- the answers -------------------------------------------------------------------------


def answer_lines(found: Answers, columns: int = COLUMNS) -> list[str]:
    """Return the five answers and the findings as lines of text, at most `columns` wide."""
    lines = []
    for name, text in (
        ("Tip", _tip_words(found)),
        ("Barbs", _barbs_words(found)),
        ("Steel", _steel_words(found)),
        ("Press", _press_words(found)),
        ("Risk", _risk_words(found)),
    ):
        lines += _hung(text, name, INDENT, columns)
    for finding in found.findings:
        mark: str = "sketch" if finding.code == SKETCH else finding.level
        mark = "accepted" if finding.accepted else mark
        where = f"step {finding.step}: " if finding.step else ""
        text = f"{where}{finding.text} {finding.remedy} [{finding.code}]"
        lines += [
            " " * INDENT + line for line in _hung(text, mark, 10 if finding.accepted else 7, columns - 7)
        ]
    last = f"An estimate (level {found.level}). The shaft itself, and how gaps close, are not predicted."
    return [*lines, *_wrapped(last, columns)]


def _hung(text: str, name: str, indent: int, columns: int) -> list[str]:
    """Return `text` wrapped behind a name; further lines begin below the first."""
    lines = _wrapped(text, columns - indent)
    return [(" " * indent if k else name.ljust(indent)) + line for k, line in enumerate(lines)]


_FIGURE = re.compile(r"(?<=\d) (?=(?:mm|deg|kg|kN|%|heats?)\b|%)|(?<=\d) x (?=\d)")


def _wrapped(text: str, columns: int) -> list[str]:
    """Return the lines of a text; figures stay together with their units."""
    held = _FIGURE.sub(lambda found: found.group().replace(" ", "\u00a0"), text)
    lines = textwrap.wrap(held, columns, break_on_hyphens=False)
    return [line.replace("\u00a0", " ") for line in lines]


def _tip_words(found: Answers) -> str:
    tip = found.tip
    if tip is None:
        return "no blade in this job"
    if "no-feather" in {finding.code for finding in found.findings}:
        return "no feather on this blade"
    if tip.offset_mm is None or tip.verdict is None:
        plain = found.barbs is not None and found.barbs.wanted == "none"
        return "no centre line" if plain else "no centre line reaches the tip"
    where = "the centre line meets the tip"
    if abs(tip.offset_mm) >= 0.05:
        side = "spine" if tip.offset_mm > 0 else "edge"
        where = f"the centre line passes the tip {abs(tip.offset_mm):.1f} mm to the {side}"
    worse = max((s for s in (tip.mark_side, tip.off_side) if s is not None), key=lambda s: s.wander_mm)
    return (
        f"{tip.verdict}: {where}; heading {_level(worse.heading_deg)}°, wander "
        f"{worse.wander_mm:.1f} mm over the last 50 mm"
    )


def _level(value: float) -> str:
    """Return a number to one decimal, without a minus before nought."""
    return f"{round(value, 1) + 0.0:.1f}"


def _barbs_words(found: Answers) -> str:
    barbs = found.barbs
    if barbs is None:
        return "no blade in this job"
    if barbs.towards == "none":
        return f"none; wanted: {barbs.wanted}"
    angle = f"; {barbs.angle_deg:.0f}° to the centre line half way out" if barbs.angle_deg else ""
    lean = "lean both ways" if barbs.towards == "mixed" else f"lean to the {barbs.towards}"
    if barbs.wanted == "none":
        return f"{lean}; wanted: none{angle}"
    return f"{lean}; as wanted (to the {barbs.wanted}) on {percent(barbs.share)} of the blade{angle}"


def _steel_words(found: Answers) -> str:
    steel = found.steel
    if steel is None:
        return f"{found.start_kg:.2f} kg to start with"
    length = steel.spare_length_mm[1]
    spare = "spare length not worked out" if length is None else signed_spare(length)
    width = steel.spare_width_mm
    wide = "not worked out" if width is None else spare_words(width)
    return (
        f"{spare}; width {wide}, thickness "
        f"{spare_words(steel.spare_thickness_mm)}; {steel.start_kg:.2f} kg to start with, blade "
        f"{steel.blade_kg:.3f} kg; how far this may spread is not worked out yet"
    )


def _press_words(found: Answers) -> str:
    press = found.press
    if press.peak_kn is None:
        return "forces are not worked out yet"
    where = f" in step {press.step}" if press.step else ""
    told = force_words(press.peak_kn, *press.peak_range_kn)
    limit = f"; the press gives {press.limit_kn:.0f} kN" if press.limit_kn is not None else ""
    return f"at most {told}{where}{limit}"


def _risk_words(found: Answers) -> str:
    stops = sum(f.level == "stop" and not f.accepted for f in found.findings)
    watch = sum(f.level == "watch" and not f.accepted for f in found.findings)
    accepted = sum(f.accepted and f.code != SKETCH for f in found.findings)
    # That a step is only a sketch is no risk of the forge: it is said, not counted.
    notes = sum(f.level == "note" and not f.accepted and f.code != SKETCH for f in found.findings)
    kinds = ((stops, "to stop"), (watch, "to watch"), (notes, "to note"), (accepted, "accepted"))
    return ", ".join(f"{count} {what}" for count, what in kinds if count) or "nothing found"
