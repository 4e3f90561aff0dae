"""Which value of the job card is open: opening, going on to the next, following its row."""

from __future__ import annotations

from PySide6.QtCore import QObject, Qt

from patternsim_app.shown import StepRow
from patternsim_app.theme import sized
from patternsim_app.views.card_editor import ValueEditor
from patternsim_app.views.card_list import CardList


class CardEditing(QObject):
    """Keeps the one open value of a card.

    Parameters
    ----------
    card : CardList
    """

    def __init__(self, card: CardList) -> None:
        super().__init__(card)
        self._card = card
        self.editor = ValueEditor(card.viewport())
        self.editor.went_on.connect(self._edit_beyond)
        self.editor.closed.connect(self._closed)

    def edit(self, key: str, token: int) -> bool:
        """Open a value; False where it is not there or the open one cannot be read."""
        card = self._card
        if self._row_with(key, token) is None or not self.editor.settle():
            return False
        card.choose(card.place_of(key))
        # The entry just settled, or the choice, may have brought new rows.
        row = self._row_with(key, token)
        if row is None:
            return False
        card.scrollTo(card.model().index(card.place_of(key), 0))
        card.pointed.edited = (key, token)
        place = card.box_of(key, token)
        self.editor.open(
            row, token, place=place, units=card.units, font=sized(card.font(), 1.0, medium=True)
        )
        card.viewport().update()
        return True

    def edit_first(self, key: str) -> None:
        """Open the first value of a step, where it has one."""
        at = self._card.place_of(key)
        values = _values_of(self._card.rows[at]) if at >= 0 else []
        if values:
            self.edit(key, values[0])

    def follow(self) -> None:
        """Let the open value follow its row; close it where its value is gone."""
        if not self.editor.is_open:
            return
        key, field = self.editor.target
        at = self._card.place_of(key)
        token = _token_of(self._card.rows[at], field) if at >= 0 else -1
        if token < 0:
            self.editor.drop()
            return
        self._card.pointed.edited = (key, token)
        self.editor.show_anew(self._card.rows[at], token)

    def place(self) -> None:
        """Lay the open value over its box."""
        if self.editor.is_open:
            self.editor.move_to(self._card.box_of(*self._card.pointed.edited))

    def _row_with(self, key: str, token: int) -> StepRow | None:
        at = self._card.place_of(key)
        row = self._card.rows[at] if at >= 0 else None
        return row if row is not None and token in _values_of(row) else None

    def _edit_beyond(self, key: str, field: str, step: int) -> None:
        """Go on to the next value, or back; over the ends of steps, past steps without values."""
        rows = self._card.rows
        places = [(row.key, token) for row in rows for token in _values_of(row)]
        at = self._card.place_of(key)
        here = (key, _token_of(rows[at], field)) if at >= 0 else ("", -1)
        if here in places and 0 <= places.index(here) + step < len(places):
            self.edit(*places[places.index(here) + step])

    def _closed(self, had_focus: bool) -> None:
        self._card.pointed.edited = ("", -1)
        if had_focus:
            self._card.setFocus(Qt.FocusReason.OtherFocusReason)
        self._card.viewport().update()


def _values_of(row: StepRow) -> list[int]:
    return [at for at, token in enumerate(row.tokens) if token.kind != "words"]


def _token_of(row: StepRow, field: str) -> int:
    """Return which token of a row is a field, or -1."""
    return next((at for at, token in enumerate(row.tokens) if field and token.field == field), -1)
