"""The job card: steps as sentences, their values changed where they stand.

It shows rows and tells what is wished; nothing changes until rows come back through `set_rows`. The list
itself is `card_list`, the open value `card_editor`, the mouse `card_mouse`, keys and menu `card_wishes`.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QModelIndex, QPersistentModelIndex, QPointF, Qt, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
)
from PySide6.QtWidgets import QMenu, QToolTip, QWidget

from patternsim_app.models.steps_model import is_step
from patternsim_app.shown import StepRow, Units
from patternsim_app.views.card_editing import CardEditing
from patternsim_app.views.card_editor import ValueEditor
from patternsim_app.views.card_footer import AddButton
from patternsim_app.views.card_list import CardList
from patternsim_app.views.card_mouse import CardMouse
from patternsim_app.views.card_rows import Hit
from patternsim_app.views.card_wishes import CHANGES, fill_menu, wish_of
from patternsim_app.views.card_words import row_tip, value_tip
from patternsim_app.views.entry import Entry


class JobCard(CardList):
    """The job card.

    Signals
    -------
    step_chosen : key
        The bench mark was put at a step; nothing of the job changes.
    value_changed : key, field, value
        A value was entered: a number as float (int for a count), anything else as str.
    value_scrubbed : key, field, value
        A value while it is being dragged; put back by Esc, with the value it had.
    add_wanted : key of the step above
        Empty: at the top.
    remove_wanted, skip_wanted, copy_wanted : tuple of keys
    nudge_wanted : tuple of keys, -1 or 1
    move_wanted : tuple of keys, bar, index
        From `CardList`.
    paste_wanted : key of the step above
    refused : sentence
        An entry could not be read.
    """

    step_chosen = Signal(str)
    value_changed = Signal(str, str, object)
    value_scrubbed = Signal(str, str, object)
    add_wanted = Signal(str)
    remove_wanted = Signal(object)
    skip_wanted = Signal(object)
    nudge_wanted = Signal(object, int)
    copy_wanted = Signal(object)
    paste_wanted = Signal(str)
    refused = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Job card")
        self._mouse = CardMouse(self)
        self._mouse.add_wanted.connect(self.add_wanted)
        self._mouse.changed.connect(self.value_changed)
        self._mouse.scrubbed.connect(self.value_scrubbed)
        self._mouse.value_clicked.connect(self.edit_value)
        self._editing = CardEditing(self)
        self.editor.entered.connect(self.value_changed)
        self.editor.scrubbed.connect(self.value_scrubbed)
        self.editor.refused.connect(self.refused)
        self.footer = AddButton(self)
        self.footer.clicked.connect(self._add_at_end)
        self._place_parts()

    @property
    def editor(self) -> ValueEditor:
        """The value that is open, if one is."""
        return self._editing.editor

    def set_rows(self, rows: Sequence[StepRow]) -> None:
        """Show these rows; a value being typed stays open unless its step is gone."""
        super().set_rows(rows)
        self._editing.follow()
        self._place_parts()

    def set_units(self, units: Units) -> None:
        """Write lengths in these units; an open value is left unchanged."""
        self.editor.drop()
        super().set_units(units)

    def set_read_only(self, why: str) -> None:
        """Let nothing be changed, and say why where it is tried; with no reason let it be changed."""
        self.read_only = why
        self.setDragEnabled(not why)
        self.setAcceptDrops(not why)
        self.footer.setEnabled(not why)
        if why:
            self.editor.drop()

    def edit_value(self, key: str, token: int) -> bool:
        """Open the editor of a value where it stands; False where that cannot be.

        An entry that is open and cannot be read stays open, so that nothing typed is lost.
        """
        if self.read_only:
            return False
        self.reveal(key)
        return self._editing.edit(key, token)

    def settle(self) -> bool:
        """Take what is typed or dragged; False where it cannot be read, and then it stays open."""
        self._mouse.settle()
        return self.editor.settle()

    def put_back_drag(self) -> bool:
        """Put back a value that is being dragged; False where none is."""
        widget = self.editor.widget
        if isinstance(widget, Entry) and widget.is_dragged:
            self.editor.drop()
            return True
        return self._mouse.put_back()

    def let_go(self) -> None:
        """End a drag without a word: what is dragged is of a job that is another by now."""
        self._mouse.let_go()

    def menu(self) -> QMenu:
        """Return a menu of what can be done with the chosen steps; it goes when it closes."""
        made = QMenu(self)
        made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        steps = self.chosen_steps()
        skipped = {row.state for row in self.rows if row.key in steps} == {"skipped"}
        any_row = bool(self.chosen_keys())
        fill_menu(
            made, self.wish, count=len(steps), any_row=any_row, all_skipped=skipped,
            fixed=bool(self.read_only),
        )  # fmt: skip
        return made

    def wish(self, name: str) -> None:
        """Do what a key or the menu asks for, by the name it has in `card_wishes`."""
        keys, steps = self.chosen_keys(), self.chosen_steps()
        if self.read_only and name in CHANGES:
            self.refused.emit(self.read_only)
            return
        if name in ("add", "paste"):
            wanted = self.add_wanted if name == "add" else self.paste_wanted
            wanted.emit(keys[-1] if keys else self._last_key())
        elif name in ("back", "on"):
            self.choose(self.place_of(self.beside(-1 if name == "back" else 1)))
        elif name in ("fold-all", "unfold-all"):
            self.fold_all(on=name == "fold-all")
        elif name in ("fold", "unfold"):
            self.fold(self.current, on=name == "fold")
        elif name == "edit":
            self.reveal(self.current)
            self._editing.edit_first(self.current)
        elif steps and name in ("up", "down"):
            self.nudge_wanted.emit(steps, -1 if name == "up" else 1)
        elif steps:
            signals = {"skip": self.skip_wanted, "copy": self.copy_wanted, "remove": self.remove_wanted}
            signals[name].emit(steps)

    # --- events ------------------------------------------------------------------------------

    def currentChanged(
        self, current: QModelIndex | QPersistentModelIndex, previous: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Follow the bench mark, and tell of it where a person moved it."""
        super().currentChanged(current, previous)
        self.pointed.current = self.current
        self.viewport().update()
        if not self._quiet:
            self._describe()
            self.step_chosen.emit(self.current)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Act on the card's own keys; letters are left to the window."""
        self._show_ring(True)
        if self._puts_back(event):
            self._mouse.put_back()
            return
        wish = wish_of(event)
        if wish is not None:
            self.wish(wish.name)
        elif event.text().isprintable() and event.text() and not event.text().isspace():
            event.ignore()
        else:
            super().keyPressEvent(event)

    def event(self, event: QEvent) -> bool:
        """Keep the card's own keys from the window's commands while the card has the keyboard."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and (wish_of(event) is not None or self._puts_back(event))
        ):
            event.accept()
            return True
        return super().event(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of what is under the mouse."""
        self._show_ring(False)
        self.editor.settle()
        if self._mouse.press(event):
            self.choose(self._mouse.pressed_row)
            return
        super().mousePressEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag a value or a step, or light what is under the mouse."""
        if not self._mouse.move(event):
            super().mouseMoveEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Open or change what was pressed."""
        if not self._mouse.release(event):
            super().mouseReleaseEvent(event)

    def viewportEvent(self, event: QEvent) -> bool:
        """Forget the mouse when it leaves; tell of what it rests on."""
        if event.type() == QEvent.Type.Leave:
            self._mouse.leave()
        elif event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            hit = self.hit(QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), _tip(hit, self._units), self)
            return True
        return super().viewportEvent(event)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Open the menu, at the mouse or at the step on the bench."""
        place = event.globalPos()
        if event.reason() == QContextMenuEvent.Reason.Keyboard:
            corner = self.visualRect(self.currentIndex()).center()
            place = self.viewport().mapToGlobal(corner)
        self.menu().popup(place)

    def updateGeometries(self) -> None:
        """Keep the open value and the line under the rows in place after any new layout."""
        super().updateGeometries()
        self._place_parts()

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        """Let the open value and the line under the rows go along."""
        super().scrollContentsBy(dx, dy)
        self._place_parts()

    # --- parts and choice --------------------------------------------------------------------

    def _place_parts(self) -> None:
        """Put the footer under the last row, or at the bottom; the open value over its box."""
        if (footer := getattr(self, "footer", None)) is None:
            return  # laid out while still being made
        height = footer.sizeHint().height()
        self.setViewportMargins(0, 0, 0, height)
        area = self.viewport().geometry()
        last = self._steps.index(len(self.rows) - 1)
        below = self.visualRect(last).bottom() + 1 if last.isValid() else 0
        footer.setGeometry(area.left(), area.top() + min(below, area.height()), area.width(), height)
        footer.set_pinned(below > area.height())
        self._editing.place()

    def _puts_back(self, event: QKeyEvent) -> bool:
        return event.key() == Qt.Key.Key_Escape and self._mouse.dragging

    def _add_at_end(self) -> None:
        self.add_wanted.emit(self._last_key())

    def _last_key(self) -> str:
        return next((row.key for row in reversed(self.rows) if is_step(row)), "")


def _tip(hit: Hit | None, units: Units) -> str:
    if hit is None:
        return ""
    if hit.token >= 0:
        return value_tip(hit.row.tokens[hit.token], units)
    return row_tip(hit.row, on_number=hit.on_number)
