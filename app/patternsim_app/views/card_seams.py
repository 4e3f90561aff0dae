"""Seams of the job card: the places between rows where a step could be added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRect
from PySide6.QtGui import QPainter, QPen

from patternsim_app.models.steps_model import is_step
from patternsim_app.shown import StepRow
from patternsim_app.theme import colour, theme
from patternsim_app.views.card_layout import BAR_PX, LEAST_TARGET_PX, LEFT, NUMBER

_NEAR_PX = 5.0
"""How near to the line between two rows the pointer lights it."""


@dataclass(frozen=True, slots=True)
class Seam:
    """A place between rows where a step could be added.

    Attributes
    ----------
    after : str
        Key of the step above; empty at the top.
    plus : QPointF
        Middle of the plus; its height is the seam's.
    lit : bool
        The pointer is on the seam.
    pressed_here : bool
        The pointer is on the plus itself: a click adds.
    """

    after: str
    plus: QPointF
    lit: bool
    pressed_here: bool


def seam_at(place: QPointF, row: int, rect: QRect, *, rows: Sequence[StepRow], em: float) -> Seam | None:
    """Return the seam nearer to a point in a row: the one above or below; None where no step can go.

    Parameters
    ----------
    place : QPointF
    row : int
    rect : QRect
        Of the row.
    rows : sequence of StepRow
    em : float
    """
    below = place.y() > rect.top() + rect.height() / 2
    above = row if below else row - 1
    if not any(is_step(rows[at]) for at in (above, above + 1) if 0 <= at < len(rows)):
        return None
    y = float(rect.bottom() + 1 if below else rect.top())
    plus = QPointF(BAR_PX + (LEFT + NUMBER - 0.45) * em, y)
    off = place - plus
    on_plus = max(abs(off.x()), abs(off.y())) <= LEAST_TARGET_PX / 2
    near = abs(off.y()) <= _NEAR_PX or on_plus
    return Seam(rows[above].key if above >= 0 else "", plus, near, on_plus)


def paint_seam(painter: QPainter, seam: Seam, *, em: float, width: float) -> None:
    """Paint a small plus on the seam; lit where the pointer is on it."""
    shown = theme()
    reach, radius = 0.24 * em, 0.46 * em
    # At the very top the plus stays whole.
    middle = QPointF(seam.plus.x(), max(seam.plus.y(), radius + 1.0))
    line = colour(shown.chosen_line if seam.lit else shown.box_line)
    if seam.lit:
        painter.setPen(QPen(line, 1.5))
        painter.drawLine(QLineF(middle.x() + radius, middle.y(), width - 0.6 * em, middle.y()))
    painter.setPen(QPen(line, 1.2))
    painter.setBrush(line if seam.lit else colour(shown.panel))
    painter.drawEllipse(middle, radius, radius)
    painter.setPen(QPen(colour(shown.panel if seam.lit else shown.faint), 1.6))
    painter.drawLine(QLineF(middle.x() - reach, middle.y(), middle.x() + reach, middle.y()))
    painter.drawLine(QLineF(middle.x(), middle.y() - reach, middle.x(), middle.y() + reach))
