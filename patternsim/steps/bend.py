"""Bend: the bar bent in its face on a radius."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import ClassVar, Literal

import numpy as np

from patternsim.errors import StepError
from patternsim.fields import Bend as BendLink
from patternsim.forming import Losses, clipped, descaled, refuse_unworkable
from patternsim.piece import Floats, Piece
from patternsim.step import Context, HotStep, Outcome, Part, clauses, number, register, slot
from patternsim.wording import told_mm

TABLE_MM = 0.1
SHORTEST_MM = 2 * TABLE_MM
"""Arc that is still told apart from a straight bar."""
EASE = 1.0
"""Length over which the curvature of a bend eases in, over the width; by eye, no source."""


@register
class Bend(HotStep):
    """Bend edgewise, in the plane of the face; on the arc the inside grows wider, the outside narrower.

    Area is kept; the curvature eases in and out about the ends of the arc.
    """

    title: ClassVar[str] = "Bend"

    kind: Literal["bend"] = "bend"
    start_mm: float = number(
        label="From",
        unit="mm",
        low=0.0,
        high=5000.0,
        reason="where the bend begins, from the near end",
    )
    radius_mm: float = number(
        label="Radius", unit="mm", above=0.0, high=100000.0, reason="of the middle line"
    )
    angle_deg: float = number(
        label="Angle", unit="deg", low=-90.0, high=90.0,
        reason="in all; positive turns the far end towards the high edge",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the bent pieces."""
        done, losses = [], Losses()
        for piece in pieces:
            refuse_unworkable(piece, self.id)
            clean, lost = descaled(
                piece, heats=self.heats, skin=context.shop.skin_forge_mm, step_id=self.id
            )
            done.append(self._bent(clean))
            losses += Losses(scale=lost)
        return Outcome(pieces=tuple(done), losses=losses)

    def _bent(self, piece: Piece) -> Piece:
        angle = math.radians(self.angle_deg)
        length, width = piece.size[0], piece.size[1]
        arc = abs(angle) * self.radius_mm
        if self.angle_deg == 0.0:
            raise StepError(f"{self.id}: a bend of 0° does nothing; give an angle")
        if arc < SHORTEST_MM:
            raise StepError(
                f"{self.id}: the bend takes {told_mm(arc)} of bar, too little to be made; give more "
                "angle, or leave the step out"
            )
        if self.radius_mm < width:
            raise StepError(
                f"{self.id}: a radius of {told_mm(self.radius_mm)} is less than the width "
                f"({told_mm(width)}); the inside edge would fold; bend on {told_mm(width)} or more"
            )
        if self.start_mm + arc > length + 1e-9:
            raise StepError(
                f"{self.id}: the bend needs {told_mm(arc)} of bar from {told_mm(self.start_mm)}; the "
                f"bar is {told_mm(length)} long; bend less, on a smaller radius, or begin nearer the "
                "near end"
            )
        low, high = piece.box()
        table, spacing = middle_line(
            length, start=self.start_mm, arc=arc, angle=angle, ease=EASE * width
        )
        link = BendLink(clipped(piece), step=spacing, table=table)

        def forward(before: Floats) -> Floats:
            return bent_points(before, table, spacing)

        x = np.linspace(low[0], high[0], 2000)
        rim = np.concatenate(
            [np.stack([x, np.full_like(x, y), np.zeros_like(x)], axis=1) for y in (low[1], high[1])]
        )
        after = forward(rim)
        span_low, span_high = after.min(axis=0), after.max(axis=0)
        return replace(
            piece,
            field=link,
            shaped=self.id,
            lips=(0.0, 0.0),
            limits=(
                float(span_low[0]), float(span_low[1]), low[2],
                float(span_high[0]), float(span_high[1]), high[2],
            ),
            marks=piece.carried(link, forward),
        )  # fmt: skip

    def sentence(self) -> str:
        """Return the step as a sentence."""
        return (
            f"Bend {self.angle_deg:g}° on a radius of {self.radius_mm:g} mm, from "
            f"{self.start_mm:g} mm on, {self.heats_text()}"
        )

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        return clauses(
            ("bend ", slot(self, "angle_deg"), "°"),
            ("radius ", slot(self, "radius_mm")),
            ("from ", slot(self, "start_mm")),
            self.heats_clause(),
        )


def middle_line(
    length: float, *, start: float, arc: float, angle: float, ease: float
) -> tuple[Floats, float]:
    """Return the middle line of a bent bar as a table, and its spacing; see `fields.Bend`.

    The curvature eases in and out over `ease` mm about the ends of the arc, or less where there is
    less room, so that the edges of the bar have no steps; the angle in all stays.

    Parameters
    ----------
    length : float, mm
        Of the bar.
    start, arc : float, mm
        Where the arc begins, and its length.
    angle : float, rad
        In all; positive towards +y.
    ease : float, mm

    Returns
    -------
    (n, 4) float64, float
        x, y (mm), heading (rad), curvature (1/mm); spacing, mm.
    """
    count = max(16, int(np.ceil(length / TABLE_MM)) + 1)
    s = np.linspace(0.0, length, count)
    rise = min(ease, arc, 2.0 * start)
    fall = min(ease, arc, 2.0 * max(length - start - arc, 0.0))
    up = _eased((s - start) / max(rise, 1e-9))
    down = _eased((start + arc - s) / max(fall, 1e-9))
    curve = angle / arc * np.minimum(up, down)
    step = float(s[1] - s[0])
    turned = np.concatenate([[0.0], np.cumsum((curve[1:] + curve[:-1]) / 2 * step)])
    # What the table's straight pieces leave of the angle, a few millionths, is put back.
    curve, turned = curve * (angle / turned[-1]), turned * (angle / turned[-1])
    middle = turned[:-1] + step / 2 * (0.75 * curve[:-1] + 0.25 * curve[1:])
    x = np.concatenate([[0.0], np.cumsum(step * np.cos(middle))])
    y = np.concatenate([[0.0], np.cumsum(step * np.sin(middle))])
    return np.stack([x, y, turned, curve], axis=1), step


def _eased(t: Floats) -> Floats:
    """0 below -1/2, 1 above 1/2, smooth between."""
    part = np.clip(t + 0.5, 0.0, 1.0)
    return np.asarray(part * part * (3.0 - 2.0 * part))


def bent_points(before: Floats, table: Floats, spacing: float) -> Floats:
    """Return where points (n, 3) mm of the straight bar lie after the bend."""
    s = before[:, 0] / spacing
    row = np.clip(np.floor(s).astype(int), 0, len(table) - 2)
    d = np.clip(before[:, 0] - row * spacing, 0.0, spacing)
    x, y, heading, curve = table[row].T
    change = (table[row + 1, 3] - curve) / spacing
    half = heading + d / 2 * (curve + d / 4 * change)
    x, y = x + d * np.cos(half), y + d * np.sin(half)
    heading = heading + d * (curve + d / 2 * change)
    curve = curve + d * change
    # Y = n - k n^2 / 2, solved for n in the form that holds for k = 0 too.
    n = 2.0 * before[:, 1] / (1.0 + np.sqrt(np.maximum(1.0 - 2.0 * curve * before[:, 1], 0.0)))
    beyond = before[:, 0] - np.clip(before[:, 0], 0.0, (len(table) - 1) * spacing)
    x = x + beyond * np.cos(heading) - n * np.sin(heading)
    y = y + beyond * np.sin(heading) + n * np.cos(heading)
    return np.stack([x, y, before[:, 2]], axis=1)
