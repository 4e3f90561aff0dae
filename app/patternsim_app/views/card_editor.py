"""The one open value of the job card: number box, list of choices or line of text, in its place.

It knows how an entry is taken, left unchanged or refused; which value is open next is `card_editing`'s.
"""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QRect, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QFont, QFontMetricsF, QKeyEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QComboBox, QWidget

from patternsim_app.shown import StepRow, Token, Units
from patternsim_app.views.card_words import spoken_value
from patternsim_app.views.entry import Entry
from patternsim_app.views.fields import TextBox
from patternsim_app.views.number_box import NumberBox

_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)
_TAB = (Qt.Key.Key_Tab, Qt.Key.Key_Backtab)
_STAYS_OPEN = (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason)
# In letter heights.
_NUMBER, _TEXT = 3.8, 7.0


class ValueEditor(QObject):
    """Opens one value at a time over the card.

    Signals
    -------
    entered, scrubbed : key, field, value
    refused : sentence
    went_on : key, field, 1 or -1
        Tab or Shift+Tab, with the entry taken.
    closed : whether the keyboard was in it

    Parameters
    ----------
    ground : QWidget
        What it lies on.
    """

    entered = Signal(str, str, object)
    scrubbed = Signal(str, str, object)
    refused = Signal(str)
    went_on = Signal(str, str, int)
    closed = Signal(bool)

    def __init__(self, ground: QWidget) -> None:
        super().__init__(ground)
        self._ground = ground
        self._widget: NumberBox | _Choice | TextBox | None = None
        self._token = Token()
        self._key = ""
        self._units: Units = "mm"
        self._box = QRectF()
        self._scrubbed = False
        self._told = ""  # entry whose refusal has been told

    @property
    def is_open(self) -> bool:
        """A value is open."""
        return self._widget is not None

    @property
    def widget(self) -> QWidget | None:
        """What the value is typed or chosen in."""
        return self._widget

    @property
    def target(self) -> tuple[str, str]:
        """Step and field of the open value."""
        return self._key, self._token.field

    @property
    def is_changed(self) -> bool:
        """Something has been typed that is not yet taken."""
        return isinstance(self._widget, Entry) and self._widget.is_typed

    def open(self, row: StepRow, at: int, *, place: QRectF, units: Units, font: QFont) -> None:
        """Open the value of token `at`; the one open before must be settled.

        Parameters
        ----------
        row : StepRow
        at : int
        place : QRectF
            Its box.
        units : str
        font : QFont
        """
        self._key, self._token, self._units = row.key, row.tokens[at], units
        self._scrubbed, self._told = False, ""
        widget = self._made(self._token)
        widget.setFont(font)
        widget.setAccessibleName(spoken_value(self._token, row))
        widget.installEventFilter(self)
        self._widget = widget
        self.move_to(place)
        widget.show()
        widget.setFocus(Qt.FocusReason.OtherFocusReason)
        if isinstance(widget, Entry):
            widget.selectAll()
        else:
            widget.view().installEventFilter(self)
            widget.showPopup()

    def show_anew(self, row: StepRow, at: int) -> None:
        """Follow the row: its number, and its value where nothing has been typed."""
        widget, token = self._widget, row.tokens[at]
        if widget is None:
            return
        widget.setAccessibleName(spoken_value(token, row))
        before, self._token = self._token, token
        if isinstance(widget, NumberBox):
            _fill(widget, token, self._units)  # the box itself keeps what is being typed
        elif isinstance(widget, TextBox):
            widget.show_text(str(token.value or ""))  # so does this one
        elif token.value != before.value:
            widget.setCurrentIndex(widget.findData(str(token.value)))

    def move_to(self, place: QRectF) -> None:
        """Lie over a box, larger where there is more to type than it shows."""
        widget = self._widget
        if widget is None or place.isEmpty():
            return
        self._box = place
        em = QFontMetricsF(widget.font()).height()
        least = _TEXT * em if self._token.kind == "text" else _NUMBER * em
        if isinstance(widget, _Choice):
            least = max(least, float(widget.sizeHint().width()))
        widget.setGeometry(_over(place, least=least, em=em, room=self._ground.width()))

    def settle(self) -> bool:
        """Take what is entered and close; False where it cannot be read, and then it stays open."""
        if self._widget is None:
            return True
        key, field = self.target
        stored, value = self._token.value, None
        if isinstance(self._widget, _Choice):
            value = str(self._widget.currentData())
        elif not self._widget.take():  # it tells of its value, or why it cannot be, by its signals
            return False
        self._close()
        if value is not None and value != stored:
            self.entered.emit(key, field, value)
        return True

    def drop(self) -> None:
        """Close and leave the value as it is in the job; put back what was tried meanwhile."""
        if self._widget is None:
            return
        (key, field), stored, tried = self.target, self._token.value, self._scrubbed
        self._close()
        if tried:
            self.scrubbed.emit(key, field, stored)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take Enter, Tab and Esc from the open value, and see when it is left."""
        widget = self._widget
        if widget is None:
            return False
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(widget, _Choice):
            event.accept()  # keys on a list are the list's own: they must not act on steps
            return self._is_own(event, watched) if isinstance(event, QKeyEvent) else False
        if isinstance(event, QKeyEvent) and self._is_own(event, watched):
            if event.type() == QEvent.Type.ShortcutOverride:
                event.accept()
                return True
            if event.type() == QEvent.Type.KeyPress:
                self._act(event)
                return True
        if (
            isinstance(event, QFocusEvent)
            and event.lostFocus()
            and watched is widget
            and event.reason() not in _STAYS_OPEN
        ):
            # Only once the focus has arrived elsewhere is it clear that the value was left.
            QTimer.singleShot(0, self, self._see_whether_left)
        return False

    def _is_own(self, event: QKeyEvent, watched: QObject) -> bool:
        key = Qt.Key(event.key())
        in_list = isinstance(self._widget, _Choice) and self._widget.is_down
        if in_list or watched is not self._widget:
            return key in _TAB  # in the open list Enter and Esc are the list's own
        return key in _TAB or key in _ENTER or key == Qt.Key.Key_Escape

    def _act(self, event: QKeyEvent) -> None:
        widget, key = self._widget, Qt.Key(event.key())
        if key == Qt.Key.Key_Escape:
            self.drop()
        elif key in _ENTER:
            self.settle()
        else:
            if isinstance(widget, _Choice) and widget.is_down:
                widget.take_marked()
            target = self.target
            if self.settle():
                back = key == Qt.Key.Key_Backtab or bool(
                    event.modifiers() & Qt.KeyboardModifier.ShiftModifier
                )
                self.went_on.emit(*target, -1 if back else 1)

    def _made(self, token: Token) -> NumberBox | _Choice | TextBox:
        if token.kind == "choice":
            choice = _Choice(token, self._ground)
            choice.activated.connect(self.settle)
            choice.closed_unchosen.connect(self.drop)
            return choice
        if token.kind == "text":
            text = TextBox(self._ground)
            text.show_text(str(token.value or ""))
            text.entered.connect(self._text_entered)
            return text
        box = NumberBox(self._ground)
        _fill(box, token, self._units)
        box.committed.connect(self._number_entered)
        box.scrubbed.connect(self._number_scrubbed)
        box.refused.connect(self._number_refused)
        return box

    def _text_entered(self, text: str) -> None:
        self.entered.emit(self._key, self._token.field, text)

    def _number_entered(self, value: float) -> None:
        self._scrubbed = False
        whole = self._token.kind == "count"
        self.entered.emit(self._key, self._token.field, round(value) if whole else value)

    def _number_scrubbed(self, value: float) -> None:
        self._scrubbed = True
        whole = self._token.kind == "count"
        self.scrubbed.emit(self._key, self._token.field, round(value) if whole else value)

    def _number_refused(self, sentence: str) -> None:
        text = self._widget.text() if isinstance(self._widget, NumberBox) else ""
        if text != self._told:
            self._told = text
            self.refused.emit(sentence)

    def _see_whether_left(self) -> None:
        if self._widget is not None and not _holds_focus(self._widget):
            self.settle()

    def _close(self) -> None:
        widget, self._widget = self._widget, None
        if widget is None:
            return
        had_focus = _holds_focus(widget)
        # Losing the keyboard, it would take what was to be left.
        widget.blockSignals(True)
        widget.removeEventFilter(self)
        widget.hide()
        widget.deleteLater()
        self.closed.emit(had_focus)


class _Choice(QComboBox):
    """A list of choices that opens at once and is not turned by the wheel."""

    closed_unchosen = Signal()

    def __init__(self, token: Token, parent: QWidget) -> None:
        super().__init__(parent)
        self.is_down = False
        for value, words in token.choices:
            self.addItem(words, value)
        self.setCurrentIndex(self.findData(str(token.value)))
        self.view().installEventFilter(self)

    def showPopup(self) -> None:
        """Open the list."""
        super().showPopup()
        self.is_down = True

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """See when the list closes; without a choice the value closes too."""
        if event.type() == QEvent.Type.Hide and watched is self.view():
            self.is_down = False
            # A choice is told of after the list has closed.
            QTimer.singleShot(0, self, self._tell_closed)
        return super().eventFilter(watched, event)

    def _tell_closed(self) -> None:
        self.closed_unchosen.emit()

    def take_marked(self) -> None:
        """Take the line that is marked in the open list."""
        self.setCurrentIndex(self.view().currentIndex().row())
        self.hidePopup()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the card."""
        event.ignore()


def _fill(box: NumberBox, token: Token, units: Units) -> None:
    value = token.value
    box.set_shown(
        float(value) if isinstance(value, int | float) else None,
        unit=token.unit,
        units=units,
        kind="count" if token.kind == "count" else "number",
        low=token.low,
        above=token.above,
        high=token.high,
    )


def _over(place: QRectF, *, least: float, em: float, room: float) -> QRect:
    """Return the place of an editor over a box: at least so wide, and inside the card."""
    margin = 0.3 * em
    width = min(max(place.width() + 0.8 * em, least), room - 2 * margin)
    left = max(margin, min(place.left(), room - margin - width))
    height = max(1.55 * em, 24.0)
    top = place.center().y() - height / 2
    return QRect(round(left), round(top), round(width), round(height))


def _holds_focus(widget: QWidget) -> bool:
    """Tell whether the keyboard is in a widget, or in a list it has opened in a window of its own."""
    within = QApplication.focusWidget()
    while within is not None and within is not widget:
        within = within.parentWidget()
    return within is widget
