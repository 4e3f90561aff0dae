"""Split: a wedge driven down the length of a tall block."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray

from patternsim.errors import FlowError, StepError
from patternsim.fields import Affine, Clip, Grid, Halve, Node, PlaneMap
from patternsim.forming import descaled, refuse_unworkable
from patternsim.halves import Plane, half_outlines, standing_open
from patternsim.piece import CutLine, Floats, Piece
from patternsim.press import FITTED_DEG, HalfBlock, Level, Load, SplitAnswer, SplitProblem, split
from patternsim.step import Context, HotStep, Outcome, Part, choice, clauses, number, register, slot
from patternsim.tally import Tally, carbon_of
from patternsim.wedge import Wedge
from patternsim.wording import told_mm

TALLEST = 8.0
"""Height over width of a block that a wedge is still worked out in; none is split that tall."""


@register
class Split(HotStep):
    """Split the block down its length; the halves stand open until they are closed and welded."""

    title: ClassVar[str] = "Split down the middle"

    kind: Literal["split"] = "split"
    heats: int = number(
        0, label="Heats", unit="", low=0, high=10,
        reason="0: split in the heat of the weld before; each costs a skin of scale",
    )  # fmt: skip
    included_deg: float = number(
        45.0, label="Wedge, included", unit="deg", low=5.0, high=120.0,
        reason="both flanks together; a blunt wedge drags the layers farther",
    )  # fmt: skip
    nose_mm: float = number(
        4.0, label="Nose radius", unit="mm", low=0.0, high=30.0, reason="rounded, of the wedge"
    )
    leave_mm: float = number(
        8.0, label="Left uncut", unit="mm", low=0.0, high=500.0,
        reason="web under the nose; keeps the halves from shifting",
    )  # fmt: skip
    off_centre_mm: float = number(
        0.0, label="Off centre", unit="mm", low=-200.0, high=200.0,
        reason="of the cut where the wedge enters, towards the high edge",
    )  # fmt: skip
    lean_face_deg: float = number(
        0.0, label="Lean in the face", unit="deg", low=-20.0, high=20.0,
        reason="how far the cut runs out of line, seen on the face, in the travel of the wedge",
    )  # fmt: skip
    lean_thickness_deg: float = number(
        0.0, label="Lean through the thickness", unit="deg", low=-20.0, high=20.0,
        reason="shifts the line of the mark side against the off side",
    )  # fmt: skip
    travel: Literal["down", "up"] = choice(
        "down",
        label="Wedge runs",
        reason="down: towards the near end, the bottom of the tall block",
    )

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the open block."""
        tally, aside = Tally(self, context), 0.0
        for piece in pieces:
            refuse_unworkable(piece, self.id)
            if any(piece.lips):
                raise StepError(
                    f"{self.id}: an end is ragged by {told_mm(max(piece.lips))} from a split before; "
                    "crop it first"
                )
            clean, lost = descaled(
                piece, heats=self.heats, skin=context.shop.skin_forge_mm, step_id=self.id
            )
            tally.scale += lost
            normal, at = self._cut(clean)
            known = tally.like()
            if context.level is Level.QUICK and isinstance(known, tuple):
                plane = self._plane(clean, normal, at)
                was, halves = known
                wedge = self._wedge(clean, plane, context)
                tally.remember(known, stands_in=True)
                tally.done.append(standing_open(clean, plane, halves.stretched(was, wedge), wedge))
                tally.source = context.level.value
                continue
            if context.level is Level.QUICK:
                answer = split(self._problem(clean, context.shop.friction_wedge))
                tally.done.append(self._split(clean, normal, at, answer))
                tally.source = answer.source
                continue
            aside = max(aside, abs(self._worked(clean, normal, at, context, tally)))
        measures = {"aside_kn": aside} if aside else {}
        return tally.outcome(rough=self._rough(context.level), measures=measures)

    def _worked(
        self,
        piece: Piece,
        normal: NDArray[np.float64],
        at: float,
        context: Context,
        tally: Tally,
    ) -> float:
        """Split one piece by the flow; return what pushes the wedge aside, kN."""
        from patternsim.press.parting import parted  # heavy: closed forms need no flow

        plane = self._plane(piece, normal, at)
        wedge = self._wedge(piece, plane, context)
        try:
            halves = parted(wedge, context.level, context.progress)
        except FlowError as fault:
            raise StepError(f"{self.id}: the flow of the steel gives out here: {fault}") from fault
        tally.done.append(standing_open(piece, plane, halves, wedge))
        tally.remember((wedge, halves))
        tally.source = context.level.value
        tally.damage = max(tally.damage, halves.low.damage, halves.high.damage)
        both = (halves.low.load, halves.high.load)
        mean = Load(
            width=(both[0].width + both[1].width) / 2,
            height=both[0].height,
            strain=max(one.strain for one in both),
        )
        tally.load((mean,), piece.size[2], carbon_of(piece))
        if not mean.width:
            return 0.0
        return (halves.high.side - halves.low.side) / mean.width * tally.force.likely

    def _plane(self, piece: Piece, normal: NDArray[np.float64], at: float) -> Plane:
        return Plane(normal=normal, at=at, down=self.travel == "down", length=piece.size[0])

    def _wedge(self, piece: Piece, plane: Plane, context: Context) -> Wedge:
        low, high = half_outlines(piece, plane)
        return Wedge(
            low=low,
            high=high,
            width=piece.size[1],
            leave=self.leave_mm,
            included_deg=self.included_deg,
            nose_mm=self.nose_mm,
            friction=context.shop.friction_wedge,
            floor=context.shop.friction_dies,
        )

    def _cut(self, piece: Piece) -> tuple[NDArray[np.float64], float]:
        """Return the normal and place of the cut plane; refuse one that leaves the block."""
        length, width, thick = piece.size
        lean = math.tan(math.radians(self.lean_face_deg))
        through = math.tan(math.radians(self.lean_thickness_deg))
        # Depth below the entry is length - x for a wedge that runs down, x for one that runs up.
        slope = -lean if self.travel == "down" else lean
        at = self.off_centre_mm + (lean * length if self.travel == "down" else 0.0)
        farthest = max(abs(self.off_centre_mm), abs(self.off_centre_mm + lean * length))
        reach = farthest + abs(through) * thick / 2
        if reach > 0.4 * width:
            raise StepError(
                f"{self.id}: the cut runs {told_mm(reach)} off the middle of a block {told_mm(width)} "
                f"wide; it must stay within {told_mm(0.4 * width)}, or one half is too thin to close"
            )
        if length > TALLEST * width:
            raise StepError(
                f"{self.id}: the block is {length / width:.0f} times as tall as wide; a wedge is "
                f"worked out up to {TALLEST:.0f} times, and would wander long before"
            )
        if self.leave_mm > 0.6 * length:
            raise StepError(
                f"{self.id}: {told_mm(self.leave_mm)} left uncut of {told_mm(length)}; leave at most "
                f"{told_mm(0.6 * length)}"
            )
        return np.array([-slope, 1.0, -through]), at

    def _split(self, piece: Piece, normal: NDArray[np.float64], at: float, answer: SplitAnswer) -> Piece:
        length = piece.size[0]
        limits = 1e6
        inner = Clip(piece.field, low=(0.0, -limits, -limits), high=(length, limits, limits))
        halve = Halve(
            normal=normal,
            at=at,
            low=_half(inner, normal, at, -1.0, answer.low),
            high=_half(inner, normal, at, 1.0, answer.high),
        )
        down = self.travel == "down"
        cut = CutLine(
            halve=halve,
            before=inner,
            nose_x=self.leave_mm if down else length - self.leave_mm,
            down=down,
        )

        def guess(before: Floats) -> Floats:
            return before

        return replace(
            piece,
            field=halve,
            lips=(0.0, answer.lip_mm) if down else (answer.lip_mm, 0.0),
            notch_mm=answer.notch_mm,
            open_cut=True,
            section=None,
            cuts=(*piece.cuts, cut),
            marks=piece.carried(halve, guess),
        )

    def _rough(self, level: Level) -> str:
        if level is not Level.QUICK:
            return "the leaning cut is worked in a skewed frame" if self.lean_face_deg else ""
        low, high = FITTED_DEG
        if low <= self.included_deg <= high:
            return ""
        return (
            f"the drag of a wedge is known from {low:g} to {high:g}°; "
            f"{self.included_deg:g}° is drawn like the nearest"
        )

    def _problem(self, piece: Piece, friction: float) -> SplitProblem:
        lean = math.tan(math.radians(self.lean_face_deg))
        low, high = (
            HalfBlock(
                length=piece.size[0],
                width=piece.size[1],
                outer=piece.size[1] / 2 - sign * self.off_centre_mm,
                outer_slope=-sign * lean,
                nose_depth=piece.size[0] - self.leave_mm,
                nose=self.nose_mm,
                included_deg=self.included_deg,
                friction=friction,
            )
            for sign in (-1.0, 1.0)
        )
        return SplitProblem(low=low, high=high, down=self.travel == "down")

    def sentence(self) -> str:
        """Return the step as a sentence."""
        left = f"{self.leave_mm:g} mm left uncut" if self.leave_mm else "right through"
        heats = f", {self.heats_text()}" if self.heats else ""
        return (
            f"Split with a {self.included_deg:g}° wedge, nose radius {self.nose_mm:g} mm, "
            f"{left}, wedge running {self.travel}{heats}"
        )

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        return clauses(
            ("split ", slot(self, "included_deg"), "°"),
            ("nose ", slot(self, "nose_mm")),
            ("leave ", slot(self, "leave_mm")),
            ("off centre ", slot(self, "off_centre_mm")) if self.off_centre_mm else (),
            self.heats_clause() if self.heats else (),
        )


def _half(inner: Node, normal: NDArray[np.float64], at: float, sign: float, grid: Grid) -> Affine:
    """Return one half: into (x, distance from the cut, z), through the drag, and back."""
    # y = at + slope x + through z +- d, and the same way in: d = +-(normal @ p - at).
    out = Affine(
        inner,
        matrix=[[1, 0, 0], [-normal[0], sign, -normal[2]], [0, 0, 1]],
        shift=(0.0, at, 0.0),
    )
    return Affine(
        PlaneMap(out, plane="xy", grid=grid),
        matrix=[[1, 0, 0], sign * normal, [0, 0, 1]],
        shift=(0.0, -sign * at, 0.0),
    )
