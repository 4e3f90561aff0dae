"""A new job: from one of the starting jobs, or from one's own bars."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QTextDocument, QWheelEvent
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QSizePolicy,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from patternsim.sizes import format_length
from patternsim.steels import steel_table
from patternsim_app.dialogs.lettered import LetteredDialog
from patternsim_app.shown import Units
from patternsim_app.theme import colour, em, sized, theme
from patternsim_app.views.number_box import NumberBox

NAME, ABOUT = Qt.ItemDataRole.UserRole, Qt.ItemDataRole(Qt.ItemDataRole.UserRole + 1)
MOST_EACH = 500
USUAL_MM = (2.0, 1.25, 50.0, 120.0)
"""Thickness of both steels, width and length at first."""
USUAL_EACH = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class BarsWish:
    """A stack of one's own strips, two steels by turns."""

    first_steel: str
    first_mm: float
    second_steel: str
    second_mm: float
    each: int
    width_mm: float
    length_mm: float


class NewJobDialog(LetteredDialog):
    """Offers what one can begin with.

    Parameters
    ----------
    jobs : list of (str, str)
        Name and a few words of each starting job.
    """

    usual_em = (48.0, 23.0)
    start_wanted = Signal(str)
    bars_wanted = Signal(object)

    def __init__(self, jobs: list[tuple[str, str]], parent: QWidget | None = None) -> None:
        super().__init__("New job", parent)
        self._units: Units = "mm"
        self._list = QListWidget()
        self._list.setAccessibleName("Starting jobs")
        self._list.setItemDelegate(_JobRow(self._list))
        self._list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # The rows are broken by the width there is.
        self._list.setResizeMode(QListWidget.ResizeMode.Adjust)
        for name, about in jobs:
            item = QListWidgetItem(title_of(name))
            item.setData(NAME, name)
            item.setData(ABOUT, about)
            item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{title_of(name)}: {about}")
            self._list.addItem(item)
        self._list.setCurrentRow(0)
        self._list.itemActivated.connect(self._start)
        steels = list(steel_table())
        self._steels = [_Choice("First steel", steels, "1084"), _Choice("Second steel", steels, "15N20")]
        self._thick = [_box("Thickness of the first steel"), _box("Thickness of the second steel")]
        self._each = _box("Strips of each steel")
        self._wide, self._long = _box("Width of the strips"), _box("Length of the strips")
        self._units_said: list[QLabel] = []
        self._headings: list[QLabel] = []
        self._told = QLabel()
        self._told.setTextFormat(Qt.TextFormat.PlainText)
        self._told.setWordWrap(True)
        self._told.setAccessibleName("What it comes to")
        self._lay_out()
        for box, value in zip((*self._thick, self._wide, self._long), USUAL_MM, strict=True):
            box.set_shown(value, unit="mm", above=0.0)
        self._each.set_shown(USUAL_EACH, kind="count", low=1.0, high=MOST_EACH)
        for box in self._boxes:
            box.committed.connect(self._tell)
            box.refused.connect(self._tell)
        for steel in self._steels:
            steel.currentIndexChanged.connect(self._tell)
        self._tell()
        self.dress()

    def dress(self) -> None:
        """Take the measures from the letters as they are."""
        for heading in self._headings:
            heading.setFont(sized(self.font(), 1.1, medium=True))
        for box in self._boxes:
            box.setFixedWidth(round(6.5 * em(self)))
        self._list.setMinimumWidth(round(12 * em(self)))
        self._list.scheduleDelayedItemsLayout()
        super().dress()

    def set_units(self, units: Units) -> None:
        """Write lengths in mm or inch; the lengths stay exactly what they are."""
        self._units = units
        for box in (*self._thick, self._wide, self._long):
            box.set_shown(box.value, unit="mm", units=units, above=0.0)
        for label in self._units_said:
            label.setVisible(units == "mm")  # inches carry their own sign
        self._tell()

    def wish(self) -> BarsWish | str:
        """Return the stack that is wanted, or a sentence that says what cannot be."""
        for box in self._boxes:
            if not box.take():
                return f"{box.accessibleName()}: {box.trouble}"
        return BarsWish(
            first_steel=self._steels[0].currentText(),
            first_mm=_of(self._thick[0]),
            second_steel=self._steels[1].currentText(),
            second_mm=_of(self._thick[1]),
            each=round(_of(self._each)),
            width_mm=_of(self._wide),
            length_mm=_of(self._long),
        )

    @property
    def _boxes(self) -> tuple[NumberBox, ...]:
        return (*self._thick, self._each, self._wide, self._long)

    def _tell(self, *_: object) -> None:
        trouble = next(
            (f"{box.accessibleName()}: {box.trouble}" for box in self._boxes if box.trouble), ""
        )
        self._told.setText(trouble or self._stack_words())
        role = self._told.palette().ColorRole
        self._told.setForegroundRole(role.WindowText if trouble else role.PlaceholderText)

    def _stack_words(self) -> str:
        thick = [_of(box) for box in self._thick]
        each, wide, long = _of(self._each), _of(self._wide), _of(self._long)
        table = steel_table()
        grams = sum(
            table[steel.currentText()].density * mm * each * wide * long * 1000.0
            for steel, mm in zip(self._steels, thick, strict=True)
        )
        high = format_length(round(each * sum(thick), 1), self._units)
        return f"{2 * round(each)} strips, loose {high} high, {grams / 1000.0:.2f} kg"

    def _start(self, *_: object) -> None:
        item = self._list.currentItem()
        if item is not None:
            self.accept()
            self.start_wanted.emit(str(item.data(NAME)))

    def _stack(self) -> None:
        wish = self.wish()
        self._tell()
        if isinstance(wish, BarsWish):
            self.accept()
            self.bars_wanted.emit(wish)

    # --- layout --------------------------------------------------------------------------

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.addWidget(self._heading("A worked job to change"))
        left.addWidget(self._list, 1)
        left.addWidget(_button("Start with this one", self._start, default=True))
        right = QVBoxLayout()
        right.addWidget(self._heading("My own bars"))
        right.addLayout(self._form())
        right.addWidget(self._told)
        right.addStretch(1)
        right.addWidget(_button("Stack these", self._stack))
        both = QHBoxLayout()
        both.setSpacing(round(2.0 * em()))
        for column in (left, right):
            column.setSpacing(round(0.6 * em()))
        both.addLayout(left, 5)
        both.addLayout(right, 4)
        whole = QVBoxLayout(self)
        edge = round(0.9 * em())
        whole.setContentsMargins(edge, edge, edge, edge)
        whole.setSpacing(round(0.9 * em()))
        whole.addLayout(both, 1)
        foot = QHBoxLayout()
        foot.addStretch(1)
        foot.addWidget(_button("Cancel", self.reject))
        whole.addLayout(foot)

    def _form(self) -> QFormLayout:
        form = QFormLayout()
        form.setVerticalSpacing(round(0.4 * em()))
        form.setHorizontalSpacing(round(0.8 * em()))
        for k, word in enumerate(("First steel", "Second steel")):
            form.addRow(word, self._in_row(self._steels[k], self._thick[k]))
        form.addRow("Strips of each", self._each)
        form.addRow("Width", self._in_row(self._wide))
        form.addRow("Length", self._in_row(self._long))
        return form

    def _in_row(self, *widgets: QWidget) -> QHBoxLayout:
        """Return a row that ends with the unit of a length."""
        row = QHBoxLayout()
        row.setSpacing(round(0.4 * em()))
        for widget in widgets:
            row.addWidget(widget)
        unit = QLabel("mm")
        unit.setForegroundRole(unit.palette().ColorRole.PlaceholderText)
        self._units_said.append(unit)
        row.addWidget(unit)
        row.addStretch(1)
        return row

    def _heading(self, text: str) -> QLabel:
        label = QLabel(text)
        self._headings.append(label)
        label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        return label


class _JobRow(QStyledItemDelegate):
    """A starting job: its title, and beneath what it shows."""

    def sizeHint(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        """Return the height the words need at the width of the list."""
        width = _view(option).viewport().width()
        return QSize(width, round(self._words(option, index, width).size().height() + 2 * self._edge()))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Draw the row, on a ground of its own where it is chosen."""
        state: QStyle.StateFlag = option.state
        rect = QRectF(option.rect)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, colour(theme().chosen))
            bar = QRectF(rect.topLeft(), QPointF(rect.left() + 4.0, rect.bottom()))
            painter.fillRect(bar, colour(theme().chosen_line))
            if state & QStyle.StateFlag.State_HasFocus:
                painter.setPen(colour(theme().chosen_line))
                painter.drawRect(rect.adjusted(1, 1, -1, -1))
        painter.translate(rect.left(), rect.top() + self._edge())
        self._words(option, index, rect.width()).drawContents(painter)
        painter.restore()

    def _words(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex, width: float
    ) -> QTextDocument:
        words = QTextDocument()
        words.setDefaultFont(_view(option).font())
        words.setDocumentMargin(0.0)
        words.setTextWidth(width)
        pad = round(0.8 * em())
        title, about = index.data(), index.data(ABOUT)
        row = f'<p style="margin:0 {pad}px; color:{{}}; font-weight:{{}}">{{}}</p>'
        words.setHtml(
            row.format(theme().ink, 500, _plain(title)) + row.format(theme().faint, 400, _plain(about))
        )
        return words

    def _edge(self) -> float:
        return 0.4 * em()


class _Choice(QComboBox):
    """A box of steels that the wheel does not turn unnoticed."""

    def __init__(self, name: str, steels: list[str], chosen: str) -> None:
        super().__init__()
        self.addItems(steels)
        self.setCurrentText(chosen)
        self.setAccessibleName(name)
        self.setMinimumHeight(24)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel alone."""
        event.ignore()


def title_of(name: str) -> str:
    """Return a starting job's name as a title; single letters are names of shapes.

    >>> title_of("feather-from-w"), title_of("w-bar")
    ('Feather from W', 'W bar')
    """
    words = [word.upper() if len(word) == 1 else word for word in name.split("-")]
    title = " ".join(words)
    return title[:1].upper() + title[1:]


def _plain(text: str) -> str:
    return str(text).replace("&", "&amp;").replace("<", "&lt;")


def _view(option: QStyleOptionViewItem) -> QListWidget:
    view = option.widget
    assert isinstance(view, QListWidget)
    return view


def _of(box: NumberBox) -> float:
    value = box.value
    assert value is not None, "these boxes are never empty"
    return value


def _box(name: str) -> NumberBox:
    box = NumberBox()
    box.setAccessibleName(name)
    return box


def _button(text: str, done: object, *, default: bool = False) -> QPushButton:
    button = QPushButton(text)
    button.setAccessibleName(text)
    button.setAutoDefault(default)
    button.setDefault(default)
    button.clicked.connect(done)
    return button
