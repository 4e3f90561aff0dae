"""The face of the bar as it is shown: pictures, outline, centre line, ruler; looked at near and far.

Millimetres of the bar go in; nothing done to pan or zoom changes them. The hand works in `face_view`.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QImage,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QTransform,
)
from PySide6.QtWidgets import QWidget

from patternsim_app.painting import image_of
from patternsim_app.shown import FacePicture, FaceShown, Units
from patternsim_app.theme import colour, em, theme
from patternsim_app.views import face_paint
from patternsim_app.views.face_frame import FaceFrame, fitting
from patternsim_app.views.face_paint import RULER_EM

SPARE_MM = 5.0
"""So much of the bar is shown round the knife."""
LEAST_EM, CRAMPED_EM = 7.6, 3.0
"""The least height, in letter heights: usually, and for large letters in a low window."""
MUCH_LARGER = 1.4
"""A bar that could be shown so much larger is fitted anew."""
SETTLE_MS = 15
"""A picture is asked for when the face has lain still so long."""


class FaceCanvas(QWidget):
    """Shows the face and what lies on it, and asks for the pictures it needs."""

    patch_wanted = Signal(object)
    """A `Patch` to be drawn: after every change of place, scale or size."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Face of the bar")
        self._shown: FaceShown | None = None
        self._picture: FacePicture | None = None
        self._bar = QImage()
        self._blade = QImage()
        self._units: Units = "mm"
        self._frame = FaceFrame(middle=(0.0, 0.0), scale=1.0, width=1.0, height=1.0)
        self._fitted = True
        self._whole_bar = False
        self._least_em = LEAST_EM
        self._grip = ""
        self._hot = ""
        self._before: FaceShown | None = None
        self._hand = QTransform()
        self._ask = QTimer(self)
        self._ask.setSingleShot(True)
        self._ask.setInterval(SETTLE_MS)
        self._ask.timeout.connect(self._emit_patch)

    # --- what is shown -------------------------------------------------------------------

    def set_shown(self, shown: FaceShown | None) -> None:
        """Show the outline and what goes with it; the picture comes by `set_picture`."""
        before, self._shown = self._shown, shown
        if not self._grip:
            self._hand = QTransform()
        self.setAccessibleDescription(shown.spoken if shown else "no bar to show yet")
        if shown and self._fitted and not self._grip and (before is None or self._has_outgrown()):
            self._refit()
        if shown is None:
            self._picture = None
        self.update()

    def set_picture(self, picture: FacePicture | None) -> None:
        """Show a picture of the face; also one made for another part or scale, where that lies."""
        self._picture = picture
        if picture is not None:
            self._bar = image_of(picture.bar)
            self._blade = QImage() if picture.blade is None else image_of(picture.blade)
        self.update()

    def set_units(self, units: Units) -> None:
        """Write lengths in mm or inch."""
        self._units = units
        self.update()

    def set_mirrored(self, mirrored: bool) -> None:
        """Show the bar as seen from the off side, or from the mark side."""
        if mirrored != self._frame.mirrored:
            frame = self._frame
            self._frame = FaceFrame(
                middle=frame.middle, scale=frame.scale, width=frame.width, height=frame.height,
                mirrored=mirrored,
            )  # fmt: skip
            self._changed()

    def set_cramped(self, cramped: bool) -> None:
        """Make do with little height, or ask for the usual one."""
        self._least_em = CRAMPED_EM if cramped else LEAST_EM
        self.updateGeometry()

    @property
    def frame(self) -> FaceFrame:
        """Where the face lies on the widget."""
        return self._frame

    # --- looking about -------------------------------------------------------------------

    def fit(self) -> None:
        """Show the knife as large as it goes; asked for once more, the whole bar."""
        is_so = self._fitted and not self._whole_bar and self._frame == self._fitting()
        self._fitted, self._whole_bar = True, is_so
        self._refit()

    def _refit(self) -> None:
        frame = self._fitting()
        if frame != self._frame:
            self._frame = frame
            self._changed()

    def set_fitted(self) -> None:
        """Show the next knife as large as it goes."""
        self._fitted, self._whole_bar = True, False

    def _fitting(self) -> FaceFrame:
        return fitting(
            self._box(), self.width(), self.height(), mirrored=self._frame.mirrored,
            margins=(0.3 * em(), 0.3 * em(), RULER_EM * em()),
        )  # fmt: skip

    def zoom(self, factor: float, at: QPointF | None = None) -> None:
        """Enlarge about a point of the widget, the middle if none is given."""
        self._fitted = False
        self._frame = self._frame.zoomed(factor, at or QPointF(self.width() / 2, self.height() / 2))
        self._changed()

    def sizeHint(self) -> QSize:
        """Return the size it likes: a bar is long and low."""
        return QSize(round(38 * em()), round(13 * em()))

    def minimumSizeHint(self) -> QSize:
        """Return the least size at which a blade can still be seen."""
        return QSize(round(16 * em()), round(self._least_em * em()))

    def _has_outgrown(self) -> bool:
        """Tell whether knife or bar is no longer whole in sight, or has become small.

        Small changes leave everything where it is: a number is being dragged, and the eye compares.
        """
        x0, y0, x1, y1 = self._box(0.0)
        low, high = self._frame.point(x0, y0), self._frame.point(x1, y1)
        inside = QRectF(self.rect()).adjusted(2, 2, -2, -2)
        grown = self._fitting().scale / self._frame.scale
        return not inside.contains(QRectF(low, high).normalized()) or grown > MUCH_LARGER

    def _box(self, spare: float = SPARE_MM) -> tuple[float, float, float, float]:
        """Return the knife with what is shown round it, or the whole bar with the knife."""
        if self._shown is None:
            return (0.0, -25.0, 300.0, 25.0)
        places = list(self._shown.silhouette)
        if self._whole_bar or not places:
            spare = 0.0
            places += [self._shown.box[:2], self._shown.box[2:]]
        (x0, x1), (y0, y1) = ((min(one), max(one)) for one in zip(*places, strict=True))
        return x0 - spare, y0 - spare, x1 + spare, y1 + spare

    def _changed(self) -> None:
        self._ask.start()
        self.update()

    def _emit_patch(self) -> None:
        if self.width() > 1 and self._shown is not None:
            self.patch_wanted.emit(self._frame.patch(self.devicePixelRatioF()))

    # --- painting ------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw bar, blade, outline and ruler."""
        painter = QPainter(self)
        painter.setRenderHints(
            QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform
        )
        shown = self._shown
        if shown is None:
            painter.setPen(colour(theme().faint))
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, "No bar to show yet")
            self._draw_focus(painter)
            return
        shown, hand = self._lies(shown)
        turn = hand * self._frame.transform()
        self._draw_bar(painter, bare=not shown.outline)
        if shown.outline:
            silhouette = face_paint.outline_path(shown.silhouette, turn)
            outline = face_paint.outline_path(shown.outline, turn)
            if not self._grip:
                width = shown.allowance_mm * self._frame.scale
                face_paint.draw_allowance(painter, outline, width)
            self._draw_blade(painter, silhouette)
            face_paint.draw_outline(painter, silhouette)
            face_paint.draw_line(painter, shown.line, self._frame.transform())
            if not self._grip:
                face_paint.draw_lacking(painter, shown, turn, self._units, QRectF(self.rect()))
                face_paint.draw_ruler(painter, shown, self._frame, self._units)
            for name, at in self._grips().items():
                face_paint.draw_grip(painter, at, hot=name in (self._hot, self._grip))
        else:
            face_paint.draw_line(painter, shown.line, turn)
        self._draw_focus(painter)

    def _lies(self, shown: FaceShown) -> tuple[FaceShown, QTransform]:
        """Return the outline as it was taken, and how the hand has moved it since (mm)."""
        if self._before is not None and not self._hand.isIdentity():
            return self._before, self._hand
        return shown, QTransform()

    def _draw_bar(self, painter: QPainter, *, bare: bool) -> None:
        """Draw the skin of the bar, faint where a blade lies on it."""
        if self._picture is None:
            box = self._shown.box if self._shown else (0.0, 0.0, 0.0, 0.0)
            corners = QRectF(self._frame.point(box[0], box[3]), self._frame.point(box[2], box[1]))
            painter.fillRect(corners.normalized(), colour(theme().box))
            return
        painter.setOpacity(1.0 if bare else face_paint.FADED)
        painter.drawImage(self._frame.place(self._picture.patch), self._bar)
        painter.setOpacity(1.0)

    def _draw_blade(self, painter: QPainter, silhouette: QPainterPath) -> None:
        """Draw the ground blade within the outline.

        The hand is faster than its picture: the skin of the bar stands in where that is not there yet.
        """
        if self._picture is None:
            return
        place = self._frame.place(self._picture.patch)
        painter.save()
        painter.setClipPath(silhouette)
        if self._grip or self._blade.isNull():
            painter.drawImage(place, self._bar)
        if not self._blade.isNull():
            painter.drawImage(place, self._blade)
        painter.restore()

    def _draw_focus(self, painter: QPainter) -> None:
        if self.hasFocus():
            painter.setPen(QPen(colour(theme().chosen_line), 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 4, 4)

    def _grips(self) -> dict[str, QPointF]:
        shown = self._shown
        if shown is None or not shown.outline:
            return {}
        shown, hand = self._lies(shown)
        places = {"heel": shown.heel, "belly": shown.belly, "tip": shown.tip}
        turn = hand * self._frame.transform()
        return {name: turn.map(QPointF(*at)) for name, at in places.items()}

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the whole bar in sight, or what was in the middle."""
        self._frame = self._frame.resized(self.width(), self.height())
        if self._fitted:
            self._refit()
        self._changed()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show that keys go here."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that keys go elsewhere."""
        super().focusOutEvent(event)
        self.update()
