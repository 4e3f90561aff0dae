"""Where columns, numbers and words of the steel line stand: measures only, nothing painted."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF

from patternsim_app.shown import SteelShown

LEFT_EM, RIGHT_EM = 9.6, 9.0
"""Room for the words on both sides, in letter heights."""
PAD_EM = 0.6
OVER_EM, UNDER_EM = 0.4, 1.25
"""Room over the columns, and under them for their numbers: the rest of the height is theirs."""
BAR_SHARE, BAR_MOST_EM = 0.7, 2.7
"""Width of a column: of its place, and at most."""
LEAST_PX = 2.0
"""A column with any steel is at least this high."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SteelPlaces:
    """The measures of one drawing of the steel line.

    Attributes
    ----------
    shown : SteelShown
    width, height : float
        Of the widget, pixels.
    em_px : float
        Height of a line of letters.
    """

    shown: SteelShown
    width: float
    height: float
    em_px: float

    @property
    def pad(self) -> float:
        """Room to the border."""
        return PAD_EM * self.em_px

    def plot(self) -> QRectF:
        """Return where columns stand; under it is room for numbers."""
        line = self.em_px
        # Where the strip is narrow the columns come first.
        left, right = (
            min(most, max(most / 2, 0.2 * self.width / line)) * line for most in (LEFT_EM, RIGHT_EM)
        )
        top, bottom = OVER_EM * line, self.height - UNDER_EM * line
        wide = self.width - right - 0.6 * line - left
        return QRectF(left, top, max(1.0, wide), max(4.0, bottom - top))

    def pitch(self) -> float:
        """Return the distance from column to column."""
        return self.plot().width() / max(1, len(self.shown.columns))

    def most_kg(self) -> float:
        """Return the mass that is as high as the plot."""
        tall = [column.kg + column.lost_kg for column in self.shown.columns if column.worked]
        return max([self.shown.start_kg, self.shown.need_kg or 0.0, *tall, 1e-6])

    def level(self, kg: float) -> float:
        """Return the y of a mass."""
        plot = self.plot()
        high = kg / self.most_kg() * plot.height()
        return plot.bottom() - (max(LEAST_PX, high) if kg > 0 else 0.0)

    def place(self, index: int) -> QRectF:
        """Return the place of a column over the whole height of the plot, on whole pixels."""
        plot, pitch = self.plot(), self.pitch()
        width = min(max(2.0, BAR_SHARE * pitch), BAR_MOST_EM * self.em_px)
        left = plot.left() + (index + 0.5) * pitch - width / 2
        return QRectF(round(left), plot.top(), max(2.0, round(width)), plot.height())

    def column(self, index: int) -> QRectF:
        """Return where the steel left after a step is drawn."""
        column, place = self.shown.columns[index], self.place(index)
        if column.worked:
            place.setTop(self.level(column.kg))
        return place

    def column_at(self, x: float) -> int:
        """Return the index of the column at a place across the widget; -1 for none."""
        plot, count = self.plot(), len(self.shown.columns)
        if not count or not plot.left() <= x < plot.right():
            return -1
        return min(count - 1, int((x - plot.left()) / plot.width() * count))
