"""Bend: the bar bent in its face on a radius."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import ClassVar, Literal

import numpy as np

from patternsim.errors import StepError
from patternsim.fields import Bend as BendLink
from patternsim.fields import Clip
from patternsim.forming import Losses, descaled, refuse_unworkable
from patternsim.piece import Floats, Piece
from patternsim.step import Context, HotStep, Outcome, number, register


@register
class Bend(HotStep):
    """Bend edgewise, in the plane of the face, keeping area: the inside thickens, the outside thins."""

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
        label="Angle", unit="deg", low=-120.0, high=120.0,
        reason="in all; positive turns the far end towards +y",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the bent pieces."""
        done, losses = [], Losses()
        off = context.shop.skin_forge_mm * self.heats
        for piece in pieces:
            refuse_unworkable(piece, self.id)
            clean, lost = descaled(piece, off, self.id)
            done.append(self._bent(clean))
            losses += Losses(scale=lost)
        return Outcome(pieces=tuple(done), losses=losses)

    def _bent(self, piece: Piece) -> Piece:
        angle = math.radians(self.angle_deg)
        length, width = piece.size[0], piece.size[1]
        arc = abs(angle) * self.radius_mm
        if self.radius_mm < width:
            raise StepError(
                f"{self.id}: a radius of {self.radius_mm:.1f} mm is less than the width "
                f"({width:.1f} mm); the inside edge would fold; bend on {width:.1f} mm or more"
            )
        if self.start_mm + arc > length:
            raise StepError(
                f"{self.id}: the bend needs {arc:.1f} mm of bar from {self.start_mm:.1f} mm; the bar "
                f"is {length:.1f} mm long"
            )
        low, high = piece.box()
        link = BendLink(
            Clip(piece.field, low=low, high=high),
            start=self.start_mm, radius=self.radius_mm, angle=angle,
        )  # fmt: skip

        def forward(before: Floats) -> Floats:
            return bent_points(before, start=self.start_mm, radius=self.radius_mm, angle=angle)

        x = np.linspace(low[0], high[0], 400)
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
        return f"Bend {self.angle_deg:g} deg on a radius of {self.radius_mm:g} mm"


def bent_points(before: Floats, *, start: float, radius: float, angle: float) -> Floats:
    """Return where points (n, 3) mm of the straight bar lie after the bend; see `fields.Bend`."""
    sign = 1.0 if angle >= 0 else -1.0
    x, y = before[:, 0], sign * before[:, 1]
    # Towards the inside of the bend the radius shrinks; the offset keeps area.
    r = np.sqrt(np.maximum(radius**2 - 2.0 * radius * y, 0.0))
    theta = np.clip((x - start) / radius, 0.0, abs(angle))
    beyond = np.maximum(x - start - radius * abs(angle), 0.0)
    along = start + r * np.sin(theta) + beyond * np.cos(theta)
    across = radius - r * np.cos(theta) + beyond * np.sin(theta)
    ahead = x < start
    along = np.where(ahead, x, along)
    across = np.where(ahead, y, across)
    return np.stack([along, sign * across, before[:, 2]], axis=1)
