"""The bench: the face with the outline, the tip gauge, the barbs, sections; or the billet on the die."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QApplication,
    QFrame,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from patternsim_app.shown import BilletShown, Legend
from patternsim_app.theme import em, sized
from patternsim_app.views.barb_mark import BarbMark
from patternsim_app.views.billet_view import BilletView
from patternsim_app.views.face_view import FaceView
from patternsim_app.views.foot import Foot
from patternsim_app.views.legend_row import LegendRow
from patternsim_app.views.lettering import cut_off
from patternsim_app.views.station_strip import StationStrip
from patternsim_app.views.tip_gauge import TipGauge
from patternsim_app.views.word_switch import WordSwitch

TIP_EM = 6.5
"""Height of tip gauge and barbs: their words then stand beside the picture."""
EDGE_EM = 0.7
"""Room beside everything but the face, which has the whole width."""
LEAST_FOOT_EM, CRAMPED_FOOT_EM = 5.3, 1.9
"""At least so much of tip, barbs and sections is in sight, and at most for large letters in a low
window; the rest is scrolled to."""
HIGH_EM, MORE_TIP_EM = 34.0, 3.0
"""In a higher bench gauge and barbs are higher by as much at most: the knife is as wide as it goes."""
NARROW_EM, NARROW_TIP_EM = 34.0, 8.5
"""In a narrower bench the words of the gauge stand under its picture, which then is so high."""
MOST_PX = 16_777_215
"""No limit to the size of a widget."""
LOOKS = (
    ("etched", "Etched", "The face as it looks after the etch (1)"),
    ("layers", "Layer drawing", "Which steel lies where, each in its own tone (2)"),
    ("die", "On the die", "The piece after the chosen step, lying on the press (3)"),
)
SIDES = (
    ("mark-side", "Mark side", "The face that bears the mark (O)"),
    ("off-side", "Off side", "The other face (O)"),
)


class BenchPanel(QFrame):
    """The middle of the window."""

    look_chosen = Signal(str)
    side_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("card")
        self.setAccessibleName("Bench")
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)  # a click here ends typing elsewhere
        self.look = WordSwitch(LOOKS, "What the bench shows")
        self.side = WordSwitch(SIDES, "Side of the blade")
        self.face = FaceView()
        self.tip = TipGauge()
        self.barbs = BarbMark()
        self.stations = StationStrip()
        self.billet = BilletView()
        self.legend = LegendRow()
        self._told = QHBoxLayout()
        self.caption = QLabel()
        self.caption.setAccessibleName("What is shown")
        self.caption.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._cramped = self._bare = False
        self._said = ""
        self._note = QLabel()
        self._note.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._note.setWordWrap(True)
        self._note.setAccessibleName("What the picture stands on")
        self._note.setForegroundRole(self._note.palette().ColorRole.PlaceholderText)
        self._stack = QStackedWidget()
        self._stack.addWidget(self._blade_page())
        self._stack.addWidget(self._billet_page())
        self._lay_out()
        self.look.chosen.connect(self._look_chosen)
        self.side.chosen.connect(self.side_chosen)

    def dress(self) -> None:
        """Fit letters and sizes to the letters of the application."""
        edge = round(EDGE_EM * em())
        for label in (self._note, self.caption, self.legend):
            label.setFont(sized(QApplication.font(), 0.88))
        self._note.setContentsMargins(edge, 0, edge, 0)
        self.caption.setMinimumHeight(self.caption.fontMetrics().height())
        self._scrolled.setMinimumHeight(0 if self._cramped else round(LEAST_FOOT_EM * em()))
        self._scrolled.setMaximumHeight(round(CRAMPED_FOOT_EM * em()) if self._cramped else MOST_PX)
        self._fit_room()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit gauge and note to the room."""
        super().resizeEvent(event)
        self._fit_room()

    def _fit_room(self) -> None:
        more = 0.5 * (self.height() / em() - HIGH_EM)
        high = NARROW_TIP_EM if self.width() < NARROW_EM * em() else TIP_EM
        high += min(max(more, 0.0), MORE_TIP_EM)
        for part in (self.tip, self.barbs):
            part.setMaximumHeight(round(high * em()))
        self._say_note()
        self._say_caption()

    def set_cramped(self, cramped: bool, *, bare: bool = False) -> None:
        """Leave the face as much as can be, `bare` all there is, or give all parts their usual room."""
        if (cramped, bare) == (self._cramped, self._bare):
            return
        self._cramped, self._bare = cramped, bare
        self._scrolled.setVisible(not bare)
        self.face.set_cramped(cramped)
        self.billet.set_cramped(cramped)
        self.dress()

    def set_look(self, look: str) -> None:
        """Show 'etched', 'layers' or 'die', without a signal."""
        self.look.set_chosen(look)
        self._stack.setCurrentIndex(1 if look == "die" else 0)
        self.side.setVisible(look != "die")
        self.legend.setVisible(look == "layers")
        self._say_caption()

    def set_has_blade(self, there: bool) -> None:
        """Show tip and barbs, or leave the room to the sections where the job has no blade."""
        self._below.setVisible(there)

    def set_billet(self, shown: BilletShown | None) -> None:
        """Show the piece after the chosen step."""
        self.billet.set_shown(shown)

    def set_legend(self, legend: Legend) -> None:
        """Say what the tones of the layer drawing stand for."""
        self.legend.set_shown(legend)
        self._say_caption()

    def set_note(self, text: str) -> None:
        """Say what the picture stands on, and what is not in it."""
        self._said = text
        self._say_note()

    def _say_note(self) -> None:
        """Show the note, on one line where there is no room for more; its tip has all of it."""
        self._note.setWordWrap(not self._cramped)
        room = self.width() - 2 * EDGE_EM * em() - 2
        self._note.setText(cut_off(self._said, self._note.font(), room) if self._cramped else self._said)
        self._note.setToolTip(self._said if self._cramped else "")

    def set_caption(self, text: str) -> None:
        """Say what the picture is a picture of."""
        self.caption.setAccessibleDescription(text)
        self._say_caption()

    def _say_caption(self) -> None:
        """Show as much of the caption as fits beside the legend; its tip has all of it."""
        said = self.caption.accessibleDescription()
        legend = 0 if self.legend.isHidden() else self.legend.sizeHint().width()
        edges = self._told.contentsMargins()
        taken = edges.left() + edges.right() + max(self._told.spacing(), 0) + 4
        room = self.width() - legend - taken
        shown = cut_off(said, self.caption.font(), room)
        self.caption.setText(shown)
        self.caption.setToolTip(said if shown != said else "")

    @property
    def note(self) -> str:
        """What is said of the picture."""
        return self._said

    def _look_chosen(self, look: str) -> None:
        self.set_look(look)
        self.look_chosen.emit(look)

    def _blade_page(self) -> QWidget:
        page = QWidget()
        below = self._below = QWidget()
        row = QHBoxLayout(below)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(round(0.8 * em()))
        row.addWidget(self.tip, 3)
        row.addWidget(self.barbs, 2)
        foot = QWidget()
        column = QVBoxLayout(foot)
        edge = round(EDGE_EM * em())
        column.setContentsMargins(edge, 0, edge, 0)
        column.setSpacing(round(0.5 * em()))
        column.addWidget(below, 3)
        column.addWidget(self.stations, 2)
        self._scrolled = Foot(foot)
        whole = QVBoxLayout(page)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(round(0.35 * em()))
        whole.addWidget(self.face, 1)
        whole.addWidget(self._scrolled)
        return page

    def _billet_page(self) -> QWidget:
        page = QWidget()
        row = QHBoxLayout(page)
        edge = round(EDGE_EM * em())
        row.setContentsMargins(edge, 0, edge, 0)
        row.addWidget(self.billet)
        return page

    def _lay_out(self) -> None:
        edge = round(EDGE_EM * em())
        head = QHBoxLayout()
        head.setContentsMargins(edge, 0, edge, 0)
        head.addWidget(self.look)
        head.addStretch(1)
        head.addWidget(self.side)
        told = self._told
        told.setContentsMargins(round(EDGE_EM * em() + 0.55 * em()), 0, edge, 0)
        told.addWidget(self.caption, 1)
        told.addWidget(self.legend)
        column = QVBoxLayout(self)
        column.setContentsMargins(1, round(0.2 * em()), 1, round(0.4 * em()))
        column.setSpacing(round(0.25 * em()))
        column.addLayout(head)
        column.addLayout(told)
        column.addWidget(self._stack, 1)
        column.addWidget(self._note)
        self.set_look("etched")
        self.dress()
