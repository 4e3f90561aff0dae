"""A list that opens over the window and is narrowed by typing; what is on it, its owner says."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from PySide6.QtCore import (
    QEvent,
    QLineF,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QPoint,
    QPointF,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import (
    QFont,
    QFontMetricsF,
    QGuiApplication,
    QHideEvent,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QLabel,
    QLineEdit,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from patternsim_app.models.kinds_model import KIND_ROLE, KindsModel
from patternsim_app.shown import StepKind
from patternsim_app.theme import colour, em, sized, theme
from patternsim_app.views.lettering import SMALL, caps_font, cut_off

Index = QModelIndex | QPersistentModelIndex
_WIDE, _HIGH = 26.0, 30.0
"""Size, in letter heights, where the screen has the room."""
_MOVES = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1, Qt.Key.Key_PageUp: -6, Qt.Key.Key_PageDown: 6}


class TypedList(QFrame):
    """A line to type in over a list of what fits.

    Signals
    -------
    taken : StepKind
        What was chosen; the list has closed by then.
    closed
        However it ended.

    Parameters
    ----------
    name, asks, lists : str
        What the list, its line and its entries are called.
    model : KindsModel
    nothing : str
        Said where nothing fits; `{typed}` stands for what was typed.
    """

    taken = Signal(object)
    closed = Signal()

    def __init__(
        self, name: str, *, asks: str, lists: str, model: KindsModel, nothing: str,
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parent, Qt.WindowType.Popup)
        self.setAccessibleName(name)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self._model = model
        self._nothing_words = nothing
        self._entry = QLineEdit(self)
        self._entry.setPlaceholderText(f"{asks}?")
        self._entry.setAccessibleName(asks)
        self._entry.setClearButtonEnabled(True)
        self._entry.textChanged.connect(self._narrow)
        self._entry.installEventFilter(self)
        self.list = QListView(self)
        self.list.setAccessibleName(lists)
        self.list.setModel(self._model)
        self.list.setItemDelegate(_KindDelegate(self.list))
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setResizeMode(QListView.ResizeMode.Adjust)
        self.list.setMouseTracking(True)
        self.list.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.list.clicked.connect(self._take)
        self.list.entered.connect(self.list.setCurrentIndex)
        self._nothing = QLabel(self)
        self._nothing.setWordWrap(True)
        self._nothing.hide()
        self._layout = QVBoxLayout(self)
        self._layout.addWidget(self._entry)
        self._layout.addWidget(self._nothing)
        self._layout.addWidget(self.list, 1)

    @property
    def marked(self) -> StepKind | None:
        """The kind that Enter takes."""
        return self._model.kind(self.list.currentIndex())

    @property
    def told(self) -> str:
        """What is said where nothing fits; empty where something does."""
        return "" if self._nothing.isHidden() else self._nothing.text()

    def set_kinds(self, kinds: Sequence[StepKind]) -> None:
        """Offer these kinds."""
        self._model.set_kinds(kinds)
        self._mark_best()

    def open_list(self, place: QPoint) -> None:
        """Open with the upper left corner at a point of the screen, or as near as there is room."""
        self._entry.clear()
        letter = em(self)
        margin = round(0.6 * letter)
        self._layout.setContentsMargins(margin, margin, margin, margin)
        self._layout.setSpacing(round(0.4 * letter))
        screen = QGuiApplication.screenAt(place) or QGuiApplication.primaryScreen()
        area = screen.availableGeometry()
        size = QSize(round(_WIDE * letter), round(_HIGH * letter)).boundedTo(area.size())
        self.resize(size)
        left = min(max(place.x(), area.left()), area.right() + 1 - size.width())
        top = min(max(place.y(), area.top()), area.bottom() + 1 - size.height())
        self.move(left, top)
        self.show()
        self._entry.setFocus(Qt.FocusReason.PopupFocusReason)
        self._mark_best()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let the arrow keys and Enter act on the list while words are typed."""
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            key = Qt.Key(event.key())
            if key in _MOVES:
                self._move_mark(_MOVES[key])
                return True
            if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self._take(self.list.currentIndex())
                return True
            if key in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab):
                return True
            if key == Qt.Key.Key_Escape:
                self.close()
                return True
        return super().eventFilter(watched, event)

    def hideEvent(self, event: QHideEvent) -> None:
        """Tell that it has closed."""
        super().hideEvent(event)
        self.closed.emit()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the ground and a line round it."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), colour(theme().panel))
        painter.setPen(QPen(colour(theme().box_line), 1.0))
        painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))

    def _narrow(self, text: str) -> None:
        self._model.set_typed(text)
        self._mark_best()
        found = self._model.best() >= 0
        self._nothing.setVisible(not found)
        self._nothing.setText(self._nothing_words.format(typed=f"“{text.strip()}”"))

    def _mark_best(self) -> None:
        index = self._model.index(self._model.best())
        self.list.setCurrentIndex(index)
        if index.row() <= 1:
            self.list.scrollToTop()

    def _move_mark(self, by: int) -> None:
        row = self.list.currentIndex().row()
        for _ in range(abs(by)):
            row = self._model.next_choice(row, 1 if by > 0 else -1)
        self.list.setCurrentIndex(self._model.index(row))
        if row <= 1:
            self.list.scrollToTop()

    def _take(self, index: QModelIndex) -> None:
        kind = self._model.kind(index)
        if kind is None:
            return
        self.close()
        self.taken.emit(kind)


class _KindDelegate(QStyledItemDelegate):
    """Paints a heading, or a title with a line about it."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Return the height of a heading or of two lines."""
        font = cast("QWidget", self.parent()).font()
        letter = QFontMetricsF(font).height()
        high = 2.7 if index.data(KIND_ROLE) is not None else 1.9
        return QSize(round(10 * letter), round(high * letter))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint a line of the list."""
        font = cast("QWidget", self.parent()).font()
        place = QRectF(option.rect)
        kind = index.data(KIND_ROLE)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if isinstance(kind, StepKind):
            marked = bool(option.state & QStyle.StateFlag.State_Selected)
            _paint_kind(painter, place, kind, font, marked=marked)
        else:
            _paint_group(painter, place, str(index.data()), font)
        painter.restore()


def _paint_group(painter: QPainter, place: QRectF, words: str, font: QFont) -> None:
    shown, letter = theme(), QFontMetricsF(font).height()
    caps = caps_font(font)
    painter.setFont(caps)
    painter.setPen(colour(shown.faint))
    base = place.bottom() - 0.5 * letter
    left = place.left() + 0.6 * letter
    painter.drawText(QPointF(left, base), words)
    measure = QFontMetricsF(caps)
    start = left + measure.horizontalAdvance(words) + 0.7 * letter
    y = round(base - 0.75 * measure.xHeight()) + 0.5
    painter.setPen(QPen(colour(shown.line), 1.0))
    painter.drawLine(QLineF(start, y, place.right() - 0.4 * letter, y))


def _paint_kind(painter: QPainter, place: QRectF, kind: StepKind, font: QFont, *, marked: bool) -> None:
    shown, letter = theme(), QFontMetricsF(font).height()
    if marked:
        painter.fillRect(place, colour(shown.chosen))
        painter.fillRect(
            QRectF(place.left(), place.top(), 4.0, place.height()), colour(shown.chosen_line)
        )
    inner = place.adjusted(0.6 * letter + 4.0, 0.2 * letter, -0.6 * letter, -0.2 * letter)
    title, small = sized(font, 1.0, medium=True), sized(font, SMALL)
    half = inner.height() / 2
    top = QRectF(inner.left(), inner.top(), inner.width(), half)
    middle = Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextDontClip
    painter.setFont(title)
    painter.setPen(colour(shown.ink))
    painter.drawText(top, middle, cut_off(kind.title, title, inner.width()))
    painter.setFont(small)
    painter.setPen(colour(shown.faint))
    painter.drawText(top.translated(0.0, half), middle, cut_off(kind.about, small, inner.width()))
