"""What the mouse does on the job card: open a value, drag it sideways, light seams, take hold of a step.

It finds out what is meant and asks the card for it; it draws nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QObject, QPointF, Qt, Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication

from patternsim_app.shown import Token, Value
from patternsim_app.views.card_list import CardList
from patternsim_app.views.card_rows import Hit
from patternsim_app.views.card_scrub import START_PX, can_be_dragged, dragged_value

_CHOOSING = Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.ControlModifier


@dataclass(slots=True)
class _Press:
    """The left button held down: where, on what, and what has become of it.

    Attributes
    ----------
    after : str or None
        Step above the plus that was pressed.
    spent : bool
        Nothing more comes of it, until the button is let go.
    """

    at: QPointF
    hit: Hit | None
    after: str | None = None
    dragging: bool = False
    spent: bool = False
    value: Value = None

    @property
    def token(self) -> Token | None:
        hit = self.hit
        return hit.row.tokens[hit.token] if hit is not None and hit.token >= 0 else None


class CardMouse(QObject):
    """Follows the left button on a card.

    Signals
    -------
    add_wanted : key of the step above
    changed, scrubbed : key, field, value
    value_clicked : key, token

    Parameters
    ----------
    card : CardList
    """

    add_wanted = Signal(str)
    changed = Signal(str, str, object)
    scrubbed = Signal(str, str, object)
    value_clicked = Signal(str, int)

    def __init__(self, card: CardList) -> None:
        super().__init__(card)
        self._card = card
        self._press: _Press | None = None

    @property
    def dragging(self) -> bool:
        """A value is being dragged."""
        return self._press is not None and self._press.dragging

    @property
    def pressed_row(self) -> int:
        """Row of the value that is pressed, or -1."""
        press = self._press
        if press is None or press.token is None or press.hit is None:
            return -1
        return self._card.place_of(press.hit.row.key)

    def press(self, event: QMouseEvent) -> bool:
        """Take a press; True where the list has nothing more to do with it."""
        self._press = None
        if event.button() != Qt.MouseButton.LeftButton:
            return False
        place = event.position()
        self.hover(place)
        hit, seam = self._card.hit(place), self._card.seam
        if hit is not None and hit.on_heading and not (seam is not None and seam.pressed_here):
            self._press = _Press(place, None, spent=True)
            self._card.fold(hit.row.key, on=hit.row.key not in self._card.folds.folded)
            return True
        if self._card.read_only:
            self._press = _Press(place, None, spent=True)
            return False
        self._press = _Press(place, hit)
        if seam is not None and seam.pressed_here:
            self._press.after = seam.after
            return True
        if self._press.token is None or event.modifiers() & _CHOOSING:
            self._press.spent = self._press.hit is None or not self._press.hit.on_number
            return False
        return True

    def move(self, event: QMouseEvent) -> bool:
        """Take a move; True where the list has nothing more to do with it."""
        press = self._press
        if press is None or not event.buttons() & Qt.MouseButton.LeftButton:
            self._press = None
            self.hover(event.position())
            return False
        moved = event.position() - press.at
        if press.spent or press.after is not None:
            return True  # no choosing by dragging over rows: a row is long and values lie in it
        token = press.token
        if token is not None:
            if can_be_dragged(token) and (press.dragging or abs(moved.x()) > START_PX):
                self._drag(press, token, moved.x(), event.modifiers())
        elif moved.manhattanLength() >= QApplication.startDragDistance():
            press.spent = True
            self._card.startDrag(Qt.DropAction.MoveAction)
        return True

    def release(self, event: QMouseEvent) -> bool:
        """Take the button let go; True where the list has nothing more to do with it."""
        press, self._press = self._press, None
        if press is None or event.button() != Qt.MouseButton.LeftButton:
            return False
        if press.after is not None:
            seam = self._card.seam
            if seam is not None and seam.pressed_here and seam.after == press.after:
                self.add_wanted.emit(press.after)
            return True
        if press.token is None or press.hit is None or press.spent:
            return press.dragging
        if press.dragging:
            self._take(press)
        elif (event.position() - press.at).manhattanLength() <= START_PX:
            self.value_clicked.emit(press.hit.row.key, press.hit.token)
        return True

    def settle(self) -> None:
        """Take a value that is being dragged as it is now; moves that follow do nothing."""
        press = self._press
        if press is not None and press.dragging and not press.spent:
            press.dragging, press.spent = False, True
            self._take(press)

    def let_go(self) -> None:
        """End the drag of a value and tell nobody: the job has become another one meanwhile."""
        press = self._press
        if press is not None and press.dragging:
            press.dragging, press.spent = False, True
            self._hold(None)

    def put_back(self) -> bool:
        """Give up the drag of a value and put back what it had; False where none is dragged."""
        press = self._press
        if press is None or not press.dragging or press.hit is None or press.token is None:
            return False
        press.dragging, press.spent = False, True
        self._hold(None)
        if self._card.place_of(press.hit.row.key) >= 0:
            self.scrubbed.emit(press.hit.row.key, press.token.field, press.token.value)
        return True

    def hover(self, place: QPointF) -> None:
        """Show what is under the mouse."""
        hit = self._card.hit(place)
        if self._card.read_only and not (hit is not None and hit.on_heading):
            hit = None
        self._point_at(hit)
        on_value = hit is not None and hit.token >= 0
        edited, _ = self._card.pointed.edited
        self._card.light_seam(None if on_value or edited or self._card.read_only else place)
        shape = Qt.CursorShape.ArrowCursor
        seam = self._card.seam
        if seam is not None and seam.pressed_here:
            shape = Qt.CursorShape.PointingHandCursor
        elif hit is not None and hit.token >= 0:
            token = hit.row.tokens[hit.token]
            shape = Qt.CursorShape.IBeamCursor
            if token.kind == "choice":
                shape = Qt.CursorShape.PointingHandCursor
            elif can_be_dragged(token):
                shape = Qt.CursorShape.SplitHCursor
        elif hit is not None and hit.on_heading:
            shape = Qt.CursorShape.PointingHandCursor
        elif hit is not None and hit.on_number:
            shape = Qt.CursorShape.OpenHandCursor
        self._card.viewport().setCursor(shape)

    def leave(self) -> None:
        """Forget what was under the mouse."""
        self._point_at(None)
        self._card.light_seam(None)

    def _take(self, press: _Press) -> None:
        self._hold(None)
        hit, token = press.hit, press.token
        if hit is not None and token is not None and press.value != token.value:
            self.changed.emit(hit.row.key, token.field, press.value)

    def _point_at(self, hit: Hit | None) -> None:
        pointed = self._card.pointed
        now = ("", -1, False, False)
        if hit is not None:
            now = (hit.row.key, hit.token, hit.on_number, hit.on_heading)
        if now != (pointed.key, pointed.token, pointed.on_number, pointed.on_heading):
            pointed.key, pointed.token, pointed.on_number, pointed.on_heading = now
            self._card.viewport().update()

    def _hold(self, held: tuple[str, str, Value] | None) -> None:
        """Show a value that is being dragged, whatever the rows say; None: what the rows say."""
        self._card.pointed.held = held
        self._card.scheduleDelayedItemsLayout()
        self._card.viewport().update()

    def _drag(self, press: _Press, token: Token, moved: float, keys: Qt.KeyboardModifier) -> None:
        hit = press.hit
        if hit is None:
            return
        if self._card.place_of(hit.row.key) < 0:
            self._hold(None)
            press.dragging, press.spent = False, True
            return
        value = dragged_value(token, moved, units=self._card.units, keys=keys)
        if press.dragging and value == press.value:
            return
        press.dragging, press.value = True, value
        self._hold((hit.row.key, token.field, value))
        self.scrubbed.emit(hit.row.key, token.field, value)
