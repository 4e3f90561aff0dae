"""What can be asked for on the job card: by key, by menu, and in which words. One table for both."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Literal

from PySide6.QtCore import QKeyCombination, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QMenu

_KEY, _MOD = Qt.Key, Qt.KeyboardModifier


@dataclass(frozen=True, slots=True)
class Wish:
    """Something the card can be asked for.

    Attributes
    ----------
    name : str
    words : str
        In the menu; a line is drawn above it where `parted` is set.
    keys : tuple of QKeyCombination
        The first is the one the menu shows.
    needs : str
        What must be chosen: a 'step', any 'row', or nothing.
    parted : bool
    in_menu : bool
    """

    name: str
    words: str
    keys: tuple[QKeyCombination, ...]
    needs: Literal["step", "row", "nothing"] = "step"
    parted: bool = False
    in_menu: bool = True


def _keys(*keys: Qt.Key, modifier: Qt.KeyboardModifier = _MOD.NoModifier) -> tuple[QKeyCombination, ...]:
    return tuple(QKeyCombination(modifier, key) for key in keys)


WISHES = (
    Wish("edit", "Change the first value", _keys(_KEY.Key_F2, _KEY.Key_Return, _KEY.Key_Enter), "row"),
    Wish("add", "Add a step below …", _keys(_KEY.Key_Insert), needs="nothing"),
    Wish("skip", "Skip", _keys(_KEY.Key_Space), parted=True),
    Wish("up", "Move up", _keys(_KEY.Key_Up, modifier=_MOD.AltModifier)),
    Wish("down", "Move down", _keys(_KEY.Key_Down, modifier=_MOD.AltModifier)),
    Wish("copy", "Copy", _keys(_KEY.Key_C, modifier=_MOD.ControlModifier), parted=True),
    Wish("paste", "Paste below", _keys(_KEY.Key_V, modifier=_MOD.ControlModifier), needs="nothing"),
    Wish("remove", "Remove", _keys(_KEY.Key_Delete), parted=True),
    Wish("fold", "Fold the stage", _keys(_KEY.Key_Left), parted=True),
    Wish("unfold", "Unfold the stage", _keys(_KEY.Key_Right)),
    Wish("fold-all", "Fold all stages", _keys(_KEY.Key_Left, modifier=_MOD.ShiftModifier), "row"),
    Wish("unfold-all", "Unfold all", _keys(_KEY.Key_Right, modifier=_MOD.ShiftModifier), "row"),
    Wish("back", "Look one step back", _keys(_KEY.Key_PageUp), "row", in_menu=False),
    Wish("on", "Look one step on", _keys(_KEY.Key_PageDown), "row", in_menu=False),
)

CHANGES = ("edit", "add", "skip", "up", "down", "paste", "remove")
"""Wishes that change the job."""


def wish_of(event: QKeyEvent) -> Wish | None:
    """Return what a key asks for; keys of the number block count like the others."""
    modifiers = event.modifiers() & ~_MOD.KeypadModifier
    pressed = QKeyCombination(modifiers, Qt.Key(event.key()))
    return next((wish for wish in WISHES if pressed in wish.keys), None)


def fill_menu(
    menu: QMenu,
    ask: Callable[[str], None],
    *,
    count: int,
    any_row: bool,
    all_skipped: bool,
    fixed: bool = False,
) -> None:
    """Put the wishes into a menu.

    Parameters
    ----------
    menu : QMenu
    ask : callable
        Takes the name of the wish.
    count : int
        How many steps are chosen.
    any_row : bool
        A step, the blade or the shop is chosen.
    all_skipped : bool
        They are skipped: the menu offers to use them again.
    fixed : bool
        Nothing of the job can be changed.
    """
    what = "this step" if count == 1 else f"these {count} steps"
    for wish in WISHES:
        if not wish.in_menu:
            continue
        if wish.parted:
            menu.addSeparator()
        words = wish.words
        if count and wish.name in ("skip", "remove"):
            words = f"{words} {what}"
        if wish.name == "skip" and all_skipped:
            words = f"Use {what} again"
        action = menu.addAction(words, partial(ask, wish.name))
        action.setShortcut(QKeySequence(wish.keys[0]))
        # The card itself acts on the key; here it is only shown.
        action.setShortcutContext(Qt.ShortcutContext.WidgetShortcut)
        action.setShortcutVisibleInContextMenu(True)
        given = {"step": count > 0, "row": any_row, "nothing": True}
        action.setEnabled(given[wish.needs] and not (fixed and wish.name in CHANGES))
