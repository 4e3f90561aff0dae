"""Dragged steps of the job card: where they would come to lie, and what goes with the mouse."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QMimeData, QPoint, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QDrag, QFont, QFontMetricsF, QPainter, QPen, QPixmap
from PySide6.QtWidgets import QWidget

from patternsim_app.models.steps_model import is_step
from patternsim_app.shown import StepRow
from patternsim_app.theme import colour, em, sized, theme
from patternsim_app.views.card_layout import BAR_PX

LANDING_PX = 3.0


@dataclass(frozen=True, slots=True)
class Landing:
    """Where dragged steps would come to lie.

    Attributes
    ----------
    bar : str
    index : int
        Place in the bar, counted without the dragged steps.
    y : float
        Of the landing line in the list.
    moves : bool
        Something would change.
    """

    bar: str
    index: int
    y: float
    moves: bool


def landing(rows: Sequence[StepRow], moved: set[str], *, at: int, below: bool, y: float) -> Landing:
    """Return where steps land that are let go over a step: in its bar, above or below it.

    Parameters
    ----------
    rows : sequence of StepRow
        Not empty.
    moved : set of str
        Keys of the dragged steps.
    at : int
        The step under the pointer.
    below : bool
        The pointer is over its lower half.
    y : float
        Of the border to land on.
    """
    bar = rows[at].bar
    steps = [row for row in rows if is_step(row) and row.bar == bar]
    before = {row.key for row in rows[: at + 1 if below else at]}
    count = sum(row.key in before and row.key not in moved for row in steps)
    staying = [row.key for row in steps if row.key not in moved]
    going = [row.key for row in rows if row.key in moved]
    after = staying[:count] + going + staying[count:]
    return Landing(bar, count, y, after != [row.key for row in steps])


def step_near(rows: Sequence[StepRow], at: int) -> int:
    """Return the step at a row, or else the nearest above, or else the first; -1 where there is none."""
    steps = [place for place, row in enumerate(rows) if is_step(row)]
    return max((place for place in steps if place <= at), default=steps[0] if steps else -1)


def paint_landing(painter: QPainter, where: Landing, area: QRect) -> None:
    """Paint the line the dragged steps would land on, in the viewport's `area`."""
    line = colour(theme().chosen_line)
    # The line stays whole at the top and bottom of the list.
    y = min(max(where.y - LANDING_PX / 2, 0.0), area.height() - LANDING_PX)
    painter.fillRect(QRectF(BAR_PX, y, area.width() - 2 * BAR_PX, LANDING_PX), line)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(line)
    knob = QPointF(BAR_PX + LANDING_PX, y + LANDING_PX / 2)
    painter.drawEllipse(knob, 2 * LANDING_PX, 2 * LANDING_PX)


def steps_drag(source: QWidget, rows: Sequence[StepRow], data: QMimeData) -> QDrag:
    """Return a drag of steps, with a slip that goes with the mouse and says what is dragged."""
    words = f"{rows[0].number}  {rows[0].title}" if len(rows) == 1 else f"{len(rows)} steps"
    drag = QDrag(source)
    drag.setMimeData(data)
    drag.setPixmap(_slip(words, font=source.font(), ratio=source.devicePixelRatioF()))
    drag.setHotSpot(QPoint(-round(0.6 * em(source)), 0))
    return drag


def _slip(words: str, *, font: QFont, ratio: float) -> QPixmap:
    """Return a slip with a few words on it."""
    bold = sized(font, 1.0, medium=True)
    measure = QFontMetricsF(bold)
    letter = measure.height()
    width, height = measure.horizontalAdvance(words) + 1.2 * letter, 1.7 * letter
    made = QPixmap(round(width * ratio), round(height * ratio))
    made.setDevicePixelRatio(ratio)
    made.fill(Qt.GlobalColor.transparent)
    painter = QPainter(made)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(colour(theme().chosen_line), 1.5))
    painter.setBrush(colour(theme().chosen))
    place = QRectF(1.0, 1.0, width - 2.0, height - 2.0)
    painter.drawRoundedRect(place, 4.0, 4.0)
    painter.setPen(colour(theme().ink))
    painter.setFont(bold)
    painter.drawText(place, Qt.AlignmentFlag.AlignCenter, words)
    painter.end()
    return made
