"""Worked jobs as rows and lines: what the command line prints."""

from __future__ import annotations

from typing import Any

from patternsim.answers import Answers
from patternsim.wording import signed_spare
from patternsim.work import Result

HEADS = ("bar", "step", "size mm", "kg", "lost", "layers", "worked", "")


def step_rows(result: Result) -> list[dict[str, Any]]:
    """Return one row a step, in forge order.

    Keys: bar, id, kind, size_mm (x, y, z of the first piece), pieces, volume_mm3 and mass_kg of all
    pieces, layers (n x m as text), layers_total, force_kn (None where nothing is pressed or no force
    is worked out), lost_kg, losses_kg by cause, source, rough, marks, text.
    """
    rows = []
    for row in result.steps:
        outcome = row.outcome
        first = outcome.pieces[0]
        density = row.mass_kg / row.volume_mm3
        causes = ("scale", "saw", "ground", "crop")
        rows.append(
            {
                "bar": row.bar,
                "id": row.step.id,
                "kind": str(type(row.step).model_fields["kind"].default),
                "size_mm": [round(v, 3) for v in first.size],
                "pieces": len(outcome.pieces),
                "volume_mm3": round(row.volume_mm3, 1),
                "mass_kg": round(row.mass_kg, 4),
                "layers": first.layers.text(),
                "layers_total": first.layers.total,
                "force_kn": outcome.force_kn,
                "lost_kg": round(row.lost_kg, 4),
                "losses_kg": {
                    name: round(getattr(outcome.losses, name) * density, 4) for name in causes
                },
                "source": outcome.source,
                "rough": outcome.rough,
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
        )
    return rows


def step_table(rows: list[dict[str, Any]]) -> str:
    """Return the rows as a table of text."""
    lines = [HEADS]
    for row in rows:
        size = " x ".join(f"{v:.1f}" for v in row["size_mm"])
        many = f"{row['pieces']} of " if row["pieces"] > 1 else ""
        lost = f"{row['lost_kg']:.3f}" if row["lost_kg"] >= 5e-4 else ""
        worked = row["source"] + (", rough" if row["rough"] else "")
        lines.append(
            (row["bar"], row["id"], many + size, f"{row['mass_kg']:.3f}", lost, row["layers"],
             worked, row["text"])
        )  # fmt: skip
    widths = [max(len(line[k]) for line in lines) for k in range(len(HEADS))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    )


def answer_lines(found: Answers) -> list[str]:
    """Return the five answers and the findings as lines of text."""
    lines = [_tip_line(found), _barbs_line(found), _steel_line(found)]
    lines.append("Press  not worked out at this level yet")
    stops = sum(f.level == "stop" and not f.accepted for f in found.findings)
    watch = sum(f.level == "watch" and not f.accepted for f in found.findings)
    notes = len(found.findings) - stops - watch
    lines.append(f"Risk   {stops} to stop, {watch} to watch, {notes} to note")
    for finding in found.findings:
        where = f" (step {finding.step})" if finding.step else ""
        mark = "accepted" if finding.accepted else finding.level
        lines.append(f"  {mark}: {finding.text}{where}")
        lines.append(f"    {finding.remedy}  [{finding.code}]")
    lines.append(f"Worked at level {found.level}. Inside the shaft nothing is predicted.")
    return lines


def _tip_line(found: Answers) -> str:
    tip = found.tip
    if tip is None:
        return "Tip    no blade in this job"
    if tip.offset_mm is None or tip.verdict is None:
        return "Tip    no centre line reaches the tip"
    where = "on the line"
    if abs(tip.offset_mm) >= 0.05:
        where = f"{abs(tip.offset_mm):.1f} mm to the {'spine' if tip.offset_mm > 0 else 'edge'}"
    worse = max((s for s in (tip.mark_side, tip.off_side) if s is not None), key=lambda s: s.wander_mm)
    return (
        f"Tip    {tip.verdict}: {where}; heading {worse.heading_deg + 0.0:.1f} deg, wander "
        f"{worse.wander_mm:.1f} mm over the last 50"
    )


def _barbs_line(found: Answers) -> str:
    barbs = found.barbs
    if barbs is None:
        return "Barbs  no blade in this job"
    if barbs.towards == "none":
        return f"Barbs  none; wanted: {barbs.wanted}"
    angle = f", {barbs.angle_deg:.0f} deg at half the half-width" if barbs.angle_deg else ""
    return f"Barbs  lean to the {barbs.towards}, {barbs.share:.0%} of the blade as wanted{angle}"


def _steel_line(found: Answers) -> str:
    steel = found.steel
    if steel is None:
        return f"Steel  {found.start_kg:.2f} kg to start with"
    spare = signed_spare(steel.spare_length_mm[1] or 0.0)
    return (
        f"Steel  {spare}; width {steel.spare_width_mm + 0.0:+.1f}, thickness "
        f"{steel.spare_thickness_mm:+.1f} mm; {steel.start_kg:.2f} kg to start, blade "
        f"{steel.blade_kg:.3f} kg (spread not worked out yet)"
    )
