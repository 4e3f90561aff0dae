"""Taper: one end drawn down, from both edges or more from one."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar, Literal

import numpy as np

from patternsim.errors import StepError
from patternsim.fields import Taper as TaperLink
from patternsim.forming import RATIO_MOST, Losses, clipped, descaled, refuse_unworkable
from patternsim.piece import Floats, Piece
from patternsim.step import Context, HotStep, Outcome, Part, choice, clauses, number, register, slot
from patternsim.wording import told_mm

TABLE_MM = 0.25
"""Coarsest spacing of the tabled taper."""
TABLE_CHANGE = 1e-3
"""Most that the section may change from one row of the table to the next: volume is kept to half."""
TABLE_MOST = 40_000


@register
class Taper(HotStep):
    """Draw one end down in width and thickness over a length; volume is kept, so the bar grows.

    Blows from one edge only move the centre line; from both alike they do not.
    """

    title: ClassVar[str] = "Taper"

    kind: Literal["taper"] = "taper"
    end: Literal["near", "far"] = choice("far", label="End", reason="the end drawn down")
    over_mm: float = number(
        label="Over", unit="mm", above=0.0, high=2000.0, reason="finished length of the taper"
    )
    width_mm: float | None = number(
        None, label="Width at the end", unit="mm", above=0.0, high=1000.0,
        reason="left out, the width stays",
    )  # fmt: skip
    thickness_mm: float | None = number(
        None, label="Thickness at the end", unit="mm", above=0.0, high=1000.0,
        reason="left out, the thickness stays",
    )  # fmt: skip
    bias: float = number(
        0.0, label="Blows from one edge", unit="", low=-1.0, high=1.0,
        reason="0: both edges alike; 1: all from the low edge, the high edge stays straight; -1: the "
        "other way round",
    )  # fmt: skip

    def work(self, pieces: tuple[Piece, ...], context: Context) -> Outcome:
        """Return the tapered pieces."""
        if self.width_mm is None and self.thickness_mm is None:
            raise StepError(f"{self.id}: give the width or the thickness at the end, or both")
        done, losses = [], Losses()
        for piece in pieces:
            refuse_unworkable(piece, self.id)
            clean, lost = descaled(
                piece, heats=self.heats, skin=context.shop.skin_forge_mm, step_id=self.id
            )
            done.append(self._tapered(clean))
            losses += Losses(scale=lost)
        return Outcome(pieces=tuple(done), losses=losses)

    def _ratios(self, piece: Piece) -> tuple[float, float]:
        ratios = []
        for name, value, now in (
            ("width", self.width_mm, piece.size[1]),
            ("thickness", self.thickness_mm, piece.size[2]),
        ):
            end = now if value is None else value
            if end > now:
                raise StepError(
                    f"{self.id}: a {name} of {told_mm(end)} at the end is more than the {told_mm(now)} "
                    "there is; a taper draws down"
                )
            if now / end > RATIO_MOST:
                raise StepError(
                    f"{self.id}: a {name} of {told_mm(end)} at the end is less than "
                    f"1/{RATIO_MOST:.0f} of the {told_mm(now)} there is; draw the bar down first"
                )
            ratios.append(end / now)
        return ratios[0], ratios[1]

    def _tapered(self, piece: Piece) -> Piece:
        across_end, through_end = self._ratios(piece)
        length = piece.size[0]
        # The taper eats the length that holds its volume: the mean of the product of two straight
        # lines is (2 + a + b + 2ab) / 6.
        used = self.over_mm * (2 + across_end + through_end + 2 * across_end * through_end) / 6
        if used > length:
            raise StepError(
                f"{self.id}: a taper {told_mm(self.over_mm)} long holds the steel of {told_mm(used)} of "
                f"bar; the bar is {told_mm(length)} long; make the taper shorter"
            )
        long = length - used + self.over_mm
        steepest = (1.0 / across_end + 1.0 / through_end - 2.0) / self.over_mm
        spacing = min(TABLE_MM, TABLE_CHANGE / steepest if steepest > 0.0 else TABLE_MM)
        count = min(int(np.ceil(long / spacing)) + 2, TABLE_MOST)
        x = np.linspace(0.0, long, count)
        into = x - (long - self.over_mm) if self.end == "far" else self.over_mm - x
        part = np.clip(into / self.over_mm, 0.0, 1.0)
        across = 1.0 + part * (across_end - 1.0)
        through = 1.0 + part * (through_end - 1.0)
        step = x[1] - x[0]
        area = across * through
        reach = np.concatenate([[0.0], np.cumsum((area[1:] + area[:-1]) / 2 * step)])
        lift = self.bias * (1.0 - across) * piece.size[1] / 2
        table = np.stack([reach, across, through, lift], axis=1)
        link = TaperLink(clipped(piece), step=step, table=table)

        def guess(before: Floats) -> Floats:
            at = np.interp(before[:, 0], reach, x)
            return np.stack(
                [
                    at,
                    before[:, 1] * np.interp(at, x, across) + np.interp(at, x, lift),
                    before[:, 2] * np.interp(at, x, through),
                ],
                axis=1,
            )

        return replace(
            piece,
            size=(float(long), piece.size[1], piece.size[2]),
            field=link,
            lips=(piece.lips[0] / float(area[0]), piece.lips[1] / float(area[-1])),
            shaped=self.id,
            marks=piece.carried(link, guess),
        )

    def sentence(self) -> str:
        """Return the step as a sentence."""
        sizes = []
        if self.width_mm is not None:
            sizes.append(f"{self.width_mm:g} mm wide")
        if self.thickness_mm is not None:
            sizes.append(f"{self.thickness_mm:g} mm thick")
        edge = ""
        if self.bias:
            side = "low" if self.bias > 0.0 else "high"
            edge = f", blows {100 * abs(self.bias):g} % from the {side} edge"
        to = " and ".join(sizes)
        return f"Taper the {self.end} end over {self.over_mm:g} mm to {to}{edge}, {self.heats_text()}"

    def card(self) -> tuple[Part, ...]:
        """Return the short sentence of the job card."""
        sizes: list[tuple[Part, ...]] = []
        if self.width_mm is not None:
            sizes.append((slot(self, "width_mm"), " wide"))
        if self.thickness_mm is not None:
            sizes.append((slot(self, "thickness_mm"), " thick"))
        over = ("taper the ", slot(self, "end"), " end over ", slot(self, "over_mm"))
        first = (*over, " to ", *sizes[0]) if sizes else over
        return clauses(first, *sizes[1:], self.heats_clause())
