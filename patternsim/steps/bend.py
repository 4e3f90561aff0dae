"""Bend: the bar bent in its face on a radius."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import ClassVar, Literal

import numpy as np

from patternsim.errors import StepError
from patternsim.fields import Affine, Halve, Node
from patternsim.fields import Bend as BendLink
from patternsim.forming import Losses, clipped, descaled, refuse_unworkable
from patternsim.piece import Floats, Piece
from patternsim.step import Context, HotStep, Outcome, number, register


@register
class Bend(HotStep):
    """Bend edgewise, in the plane of the face; on the arc the inside grows wider, the outside narrower.

    Area is kept. Where the arc begins and ends, the layers jump by y^2 / 2R; real steel eases over.
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
        label="Angle", unit="deg", low=-120.0, high=120.0,
        reason="in all; positive turns the far end towards +y",
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
            raise StepError(f"{self.id}: a bend of 0 deg does nothing; give an angle")
        if self.radius_mm < width:
            raise StepError(
                f"{self.id}: a radius of {self.radius_mm:.1f} mm is less than the width "
                f"({width:.1f} mm); the inside edge would fold; bend on {width:.1f} mm or more"
            )
        if self.start_mm + arc > length + 1e-9:
            raise StepError(
                f"{self.id}: the bend needs {arc:.1f} mm of bar from {self.start_mm:.1f} mm; the bar "
                f"is {length:.1f} mm long"
            )
        low, high = piece.box()
        link = bent_link(clipped(piece), start=self.start_mm, radius=self.radius_mm, angle=angle)

        def forward(before: Floats) -> Floats:
            return bent_points(before, start=self.start_mm, radius=self.radius_mm, angle=angle)

        x = np.append(np.linspace(self.start_mm, self.start_mm + arc, 2000), (low[0], high[0]))
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
            f"Bend {self.angle_deg:g} deg on a radius of {self.radius_mm:g} mm, from "
            f"{self.start_mm:g} mm on, {self.heats_text()}"
        )


def bent_link(child: Node, *, start: float, radius: float, angle: float) -> Halve:
    """Return the way back through the bend: straight, on the arc, straight again.

    The straight lengths are moved as they are; only the arc thickens and thins. The line that halves
    the bend parts the two lengths first, since the far one may come back beside the near one.
    """
    sign = 1.0 if angle >= 0 else -1.0
    turn = abs(angle)
    arc = BendLink(child, start=start, radius=radius, angle=angle)
    c, s = math.cos(turn), math.sin(turn)
    end = np.array([start + radius * s, sign * radius * (1.0 - c), 0.0])
    along = np.array([c, sign * s, 0.0])
    turned = np.array([[c, sign * s, 0.0], [-sign * s, c, 0.0], [0.0, 0.0, 1.0]])
    there = np.array([start + radius * turn, 0.0, 0.0])
    far = Affine(child, matrix=turned, shift=there - turned @ end)
    near = Halve(normal=(1.0, 0.0, 0.0), at=start, low=child, high=arc)
    beyond = Halve(normal=along, at=float(along @ end), low=arc, high=far)
    halving = np.array([math.cos(turn / 2), sign * math.sin(turn / 2), 0.0])
    centre = np.array([start, sign * radius, 0.0])
    return Halve(normal=halving, at=float(halving @ centre), low=near, high=beyond)


def bent_points(before: Floats, *, start: float, radius: float, angle: float) -> Floats:
    """Return where points (n, 3) mm of the straight bar lie after the bend; see `bent_link`."""
    sign = 1.0 if angle >= 0 else -1.0
    x, y = before[:, 0], sign * before[:, 1]
    turn = np.clip((x - start) / radius, 0.0, abs(angle))
    beyond = np.maximum(x - start - radius * abs(angle), 0.0)
    # Towards the inside of the bend the radius shrinks; the offset keeps area.
    on_arc = (x >= start) & (beyond == 0.0)
    r = np.where(on_arc, np.sqrt(np.maximum(radius**2 - 2.0 * radius * y, 0.0)), radius - y)
    along = start + r * np.sin(turn) + beyond * np.cos(turn) + np.minimum(x - start, 0.0)
    across = radius - r * np.cos(turn) + beyond * np.sin(turn)
    return np.stack([along, sign * across, before[:, 2]], axis=1)
