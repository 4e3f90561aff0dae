"""The main window: its regions and how they share the room. What they show is the controllers' part."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from PySide6.QtCore import QByteArray, QEvent, QObject, Qt, Signal
from PySide6.QtGui import QCloseEvent, QPaintEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QMainWindow,
    QMenuBar,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from patternsim_app.theme import em
from patternsim_app.views.answers_bar import AnswersBar
from patternsim_app.views.bench_panel import BenchPanel
from patternsim_app.views.header import Header
from patternsim_app.views.job_card import JobCard
from patternsim_app.views.low_area import LowArea
from patternsim_app.views.steel_line import SteelLine
from patternsim_app.views.step_sheet import StepSheet
from patternsim_app.views.strips import FirstRunStrip, MessageStrip, RecoveryStrip

CARD_EM, SHEET_EM, STEEL_EM = 17.5, 17.5, 5.6
"""Usual widths of card and sheet, and height of the steel line, in letter heights."""
HIGH_EM, HIGH_STEEL_EM = 45.0, 7.0
"""From this height on there is more for the steel line."""
LOW_EM, LOW_STEEL_EM = 38.0, 4.4
"""Below this height the steel line makes do with less."""
CRAMPED_EM, CRAMPED_STEEL_EM = 28.0, 3.7
"""Below this one everything round the face makes do with less: large letters on a low screen."""
LOWEST_EM = 26.0
"""Below this one the steel line goes away while the first question or lost work is told."""
BARE_EM = 20.5
"""Below this one the face has the bench to itself."""
GAP_EM, MOST_GAP_PX = 0.55, 10
NARROW_EM = 58.0
"""Below this width the sheet goes under the card."""
FILL = 10_000


class MainWindow(QMainWindow):
    """Card, bench and sheet side by side; answers above, the steel line below."""

    first_painted = Signal()
    """The window is on the screen for the first time."""
    files_dropped = Signal(str)
    """A file was dropped on the window."""

    def __init__(self) -> None:
        super().__init__()
        self.setWindowTitle("patternsim")
        self.setAcceptDrops(True)
        self.header = Header()
        self._menus = QMenuBar()
        self.answers = AnswersBar()
        self.first_run = FirstRunStrip()
        self.recovery = RecoveryStrip()
        self.message = MessageStrip()
        self.card = JobCard()
        self.bench = BenchPanel()
        self.sheet = StepSheet()
        self.steel = SteelLine()
        self.may_close: Callable[[], bool] = _always
        self._painted = False
        self._narrow = False
        self._split = QSplitter(Qt.Orientation.Horizontal)
        self._left = QSplitter(Qt.Orientation.Vertical)
        self._column = QVBoxLayout()
        self._card_frame = framed(self.card)
        self._sheet_frame = framed(self.sheet)
        self._bench_area = LowArea(self.bench)
        self._strips = (self.first_run, self.recovery, self.message)
        self._lay_out()
        for strip in self._strips:
            strip.hide()
            strip.installEventFilter(self)

    def _lay_out(self) -> None:
        self._left.addWidget(self._card_frame)
        for part in (self._left, self._bench_area, self._sheet_frame):
            self._split.addWidget(part)
        for split in (self._split, self._left):
            split.setChildrenCollapsible(False)
        self._split.setStretchFactor(1, 1)
        steel = framed(self.steel)
        self._steel_frame = steel
        whole, column = QWidget(), self._column
        whole.setLayout(column)
        column.addWidget(self.answers)
        for strip in self._strips:
            column.addWidget(strip)
        column.addWidget(self._split, 1)
        column.addWidget(steel)
        self.setCentralWidget(whole)
        self.setMenuWidget(self._head())
        self.statusBar().setSizeGripEnabled(False)
        self.statusBar().hide()
        self._fit_height()
        self.use_usual_layout()
        self._set_tab_order()

    def _head(self) -> QWidget:
        """Return the menus with the header beside them: the height is worth more to the bench."""
        head = QWidget()
        row = QHBoxLayout(head)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(round(1.2 * em()))
        row.addWidget(self._menus, 0, Qt.AlignmentFlag.AlignVCenter)
        row.addWidget(self.header, 1)
        return head

    def menuBar(self) -> QMenuBar:
        """Return the menus; they share a line with the header."""
        return self._menus

    def _set_tab_order(self) -> None:
        order = (self.header, self.answers, self.card, self.bench, self.sheet, self.steel)
        for before, after in pairwise(order):
            QWidget.setTabOrder(before, after)

    # --- sizes ---------------------------------------------------------------------------

    def use_usual_layout(self) -> None:
        """Give the parts their usual sizes."""
        self._split.setSizes([round(CARD_EM * em()), FILL, round(SHEET_EM * em())])
        self._left.setSizes([FILL, FILL])

    def layout_state(self) -> bytes:
        """Return how the parts share the room, to be kept."""
        return bytes(self._split.saveState().data())

    def restore_layout(self, state: bytes) -> None:
        """Share the room as it was kept; what cannot be used is left as usual."""
        if not state or not self._split.restoreState(QByteArray(state)):
            self.use_usual_layout()

    def letters_changed(self) -> None:
        """Fit the regions to letters of another size."""
        self.header.dress()
        self.bench.dress()
        self._fit_height()
        self._narrow_or_wide()
        self.use_usual_layout()

    def _fit_height(self) -> None:
        """Give what stands round the face less where the window is low for its letters."""
        taken = sum(strip.height() for strip in self._strips if strip.isVisibleTo(self))
        room = (self.height() - taken) / em()
        low, cramped = room < LOW_EM, room < CRAMPED_EM
        # Messages come and go: the steel line is not to jump with them.
        steady = room + (self.message.height() / em() if self.message.isVisibleTo(self) else 0.0)
        usual = HIGH_STEEL_EM if steady >= HIGH_EM else STEEL_EM
        steel = CRAMPED_STEEL_EM if cramped else LOW_STEEL_EM if low else usual
        self._steel_frame.setFixedHeight(round(steel * em()))
        lowest = self.height() < LOWEST_EM * em()
        self._steel_frame.setHidden(lowest and any(not strip.isHidden() for strip in self._strips))
        gap = min(round(GAP_EM * em()), MOST_GAP_PX)
        self._column.setContentsMargins(gap, gap // 2, gap, gap)
        self._column.setSpacing(gap)
        for split in (self._split, self._left):
            split.setHandleWidth(gap)
        self.answers.set_brief(cramped)
        self.bench.set_cramped(cramped, bare=room < BARE_EM)

    def _narrow_or_wide(self) -> None:
        """Under a certain width the sheet goes under the card, so that the bench keeps its room."""
        narrow = self.width() < NARROW_EM * em()
        if narrow == self._narrow:
            return
        self._narrow = narrow
        if narrow:
            self._left.addWidget(self._sheet_frame)
        else:
            self._split.addWidget(self._sheet_frame)
        self.use_usual_layout()

    # --- Qt ------------------------------------------------------------------------------

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Share the height anew when a strip comes, goes, or takes another row."""
        changes = (QEvent.Type.ShowToParent, QEvent.Type.HideToParent, QEvent.Type.Resize)
        if event.type() in changes:
            self._fit_height()
        return super().eventFilter(watched, event)

    def event(self, event: QEvent) -> bool:
        """Tell of the first painting, and keep the layout right for the width."""
        if event.type() == QEvent.Type.Resize:
            self._fit_height()
            self._narrow_or_wide()
        if event.type() == QEvent.Type.DragEnter and event.mimeData().hasUrls():  # type: ignore[attr-defined]
            event.accept()
            return True
        if event.type() == QEvent.Type.Drop and event.mimeData().hasUrls():  # type: ignore[attr-defined]
            self.files_dropped.emit(event.mimeData().urls()[0].toLocalFile())  # type: ignore[attr-defined]
            return True
        return super().event(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint, and tell of the first time."""
        super().paintEvent(event)
        if not self._painted:
            self._painted = True
            self.card.setFocus()
            self.first_painted.emit()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Close if the job allows it."""
        if self.may_close():
            event.accept()
        else:
            event.ignore()


def framed(inner: QWidget) -> QFrame:
    """Return a card with a widget on it."""
    frame = QFrame()
    frame.setObjectName("card")
    column = QVBoxLayout(frame)
    edge = max(2, round(0.3 * em()))
    column.setContentsMargins(edge, edge, edge, edge)
    column.addWidget(inner)
    return frame


def _always() -> bool:
    return True
