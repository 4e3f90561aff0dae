"""Finding on the job card: steps by their names and a smith's other words for them, and their values."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, QPoint, Qt

from patternsim.job import Job, forge_order, kind_of
from patternsim.kinds import step_kinds
from patternsim.sizes import format_value
from patternsim.step import Step
from patternsim_app.controllers.bench_mark import BLADE, SHOP, BenchMark
from patternsim_app.controllers.edits import part_of, title_of
from patternsim_app.controllers.sheets import field_rows
from patternsim_app.main_window import MainWindow
from patternsim_app.session import Session
from patternsim_app.shown import FieldRow, Findable, Units
from patternsim_app.views.find_on_card import FindOnCard

STEPS, OTHERS, VALUES = "Steps", "Blade and shop", "Values"


class FindController(QObject):
    """Knows the job, the card, the sheet and the list of what is found."""

    def __init__(
        self,
        window: MainWindow,
        session: Session,
        mark: BenchMark,
        settled: Callable[[], bool],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._window = window
        self._session = session
        self._mark = mark
        self._settled = settled
        self._units: Units = "mm"
        self._list = FindOnCard(window.card)
        self._list.found.connect(self._found)

    def set_units(self, units: Units) -> None:
        """Write lengths in mm or inch."""
        self._units = units

    def open(self) -> None:
        """Offer all of the card, to be narrowed by typing."""
        if not self._settled():
            return
        self._list.set_kinds(findables(self._session.document.job, self._units))
        card = self._window.card
        self._list.open_list(card.viewport().mapToGlobal(QPoint(0, 0)))

    def _found(self, key: str, field: str) -> None:
        card, sheet = self._window.card, self._window.sheet
        self._mark.move(key)
        card.reveal(key)
        card.set_current(key)
        card.setFocus(Qt.FocusReason.ShortcutFocusReason)
        if not field:
            return
        tokens = next((row.tokens for row in card.rows if row.key == key), ())
        at = next((k for k, token in enumerate(tokens) if token.field == field), -1)
        if at < 0 or not card.edit_value(key, at):
            box = sheet.row(field).box
            box.setFocus(Qt.FocusReason.ShortcutFocusReason)
            sheet.ensureWidgetVisible(box, 0, box.height())


def findables(job: Job, units: Units) -> tuple[Findable, ...]:
    """Return all of a job that can be found: steps in forge order, blade, shop, and their values."""
    said = {one.kind: one.words for one in step_kinds()}
    rows: list[Findable] = []
    values: list[Findable] = []
    steps = [(step.id, step) for k in forge_order(job) for step in job.bar[k].step]
    for number, (key, step) in enumerate(steps, start=1):
        kind = kind_of(step)
        words = (*said.get(kind, ()), f"step {number}", str(number), step.stage, key, step.sentence())
        rows.append(
            Findable(
                key=key, kind=kind, title=str(step.title), group=STEPS, words=words,
                about=f"Step {number}: {step.sentence()}",
            )
        )  # fmt: skip
        values += _values(step, key, f"Step {number}, {step.title}", units)
    for key in (BLADE, SHOP):
        part = part_of(job, key)
        if part is not None:
            title = title_of(part, key)
            about = f"All values of the {title.lower()}"
            rows.append(Findable(key=key, kind=key, title=title, group=OTHERS, words=(), about=about))
            values += _values(part, key, title, units)
    return (*rows, *values)


def _values(part: object, key: str, of: str, units: Units) -> list[Findable]:
    rows = field_rows(part)  # type: ignore[arg-type]
    return [
        Findable(
            key=key, field=row.field, kind="", title=row.label, group=VALUES,
            words=(of, _told(row, units)), about=f"{of}: {_told(row, units)}",
        )
        for row in rows
        if not (isinstance(part, Step) and row.field == "id")
    ]  # fmt: skip


def _told(row: FieldRow, units: Units) -> str:
    value = row.value
    if value is None:
        return "left out"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return format_value(float(value), row.unit, units)
    words = {str(one): text for one, text in row.choices}
    return words.get(str(value), str(value))
