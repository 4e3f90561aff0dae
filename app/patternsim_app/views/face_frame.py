"""Where the face lies on the widget: millimetres of the bar to points of the widget, and back."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QTransform

from patternsim_app.shown import Patch

LEAST_SCALE, MOST_SCALE = 0.2, 60.0
"""Points a millimetre that make sense."""
MARGIN = 0.12
"""Share of the widget that a picture reaches beyond it, so that there is something to pan to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceFrame:
    """A place and a scale. `middle` (mm) lies at the middle of a widget `width` by `height` points."""

    middle: tuple[float, float]
    scale: float
    width: float
    height: float
    mirrored: bool = False

    @property
    def sign(self) -> float:
        """1 where x runs to the right."""
        return -1.0 if self.mirrored else 1.0

    def point(self, x: float, y: float) -> QPointF:
        """Return where x, y (mm) lie."""
        return QPointF(
            self.width / 2 + self.sign * (x - self.middle[0]) * self.scale,
            self.height / 2 - (y - self.middle[1]) * self.scale,
        )

    def bar(self, at: QPointF) -> tuple[float, float]:
        """Return the x, y (mm) at a point."""
        return (
            self.middle[0] + self.sign * (at.x() - self.width / 2) / self.scale,
            self.middle[1] - (at.y() - self.height / 2) / self.scale,
        )

    def transform(self) -> QTransform:
        """Return the same as `point`, for whole paths."""
        made = QTransform()
        made.translate(self.width / 2, self.height / 2)
        made.scale(self.sign * self.scale, -self.scale)
        made.translate(-self.middle[0], -self.middle[1])
        return made

    def resized(self, width: float, height: float) -> FaceFrame:
        """Return the frame in a widget of another size."""
        return replace(self, width=width, height=height)

    def panned(self, dx: float, dy: float) -> FaceFrame:
        """Return the frame with everything moved by dx, dy points."""
        x = self.middle[0] - self.sign * dx / self.scale
        return replace(self, middle=(x, self.middle[1] + dy / self.scale))

    def zoomed(self, factor: float, at: QPointF) -> FaceFrame:
        """Return the frame enlarged `factor` times; what lies at `at` stays there."""
        scale = min(max(self.scale * factor, LEAST_SCALE), MOST_SCALE)
        x, y = self.bar(at)
        off_x, off_y = at.x() - self.width / 2, at.y() - self.height / 2
        middle = (x - self.sign * off_x / scale, y + off_y / scale)
        return replace(self, scale=scale, middle=middle)

    def patch(self, ratio: float) -> Patch:
        """Return the part of the face to be drawn, at `ratio` pixels a point.

        It begins at whole pixels of a grid that is fixed to the bar, so that neighbouring pictures fit.
        """
        scale = self.scale * ratio
        wide = math.ceil(self.width * ratio * (1 + 2 * MARGIN))
        high = math.ceil(self.height * ratio * (1 + 2 * MARGIN))
        left = round(self.sign * self.middle[0] * scale - wide / 2)
        top = round(self.middle[1] * scale + high / 2)
        return Patch(
            left_mm=self.sign * left / scale,
            top_mm=top / scale,
            pixels_per_mm=scale,
            width=wide,
            height=high,
            mirrored=self.mirrored,
        )

    def place(self, patch: Patch) -> QRectF:
        """Return where a picture of `patch` lies now; also one made for another place or scale."""
        corner = self.point(patch.left_mm, patch.top_mm)
        size = self.scale / patch.pixels_per_mm
        return QRectF(corner.x(), corner.y(), patch.width * size, patch.height * size)


def fitting(
    box: tuple[float, float, float, float], width: float, height: float, *, mirrored: bool,
    margins: tuple[float, float, float],
) -> FaceFrame:  # fmt: skip
    """Return the frame that shows a whole box (x0, y0, x1, y1 mm).

    `margins`: points left free at each side, above and below.
    """
    side, above, below = margins
    room = (max(width - 2 * side, 20.0), max(height - above - below, 20.0))
    scale = min(room[0] / max(box[2] - box[0], 1e-6), room[1] / max(box[3] - box[1], 1e-6))
    scale = min(max(scale, LEAST_SCALE), MOST_SCALE)
    return FaceFrame(
        # The free room below is larger than that above: the middle of the box lies higher.
        middle=((box[0] + box[2]) / 2, (box[1] + box[3]) / 2 - (below - above) / 2 / scale),
        scale=scale,
        width=width,
        height=height,
        mirrored=mirrored,
    )
