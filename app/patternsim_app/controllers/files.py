"""Jobs as files: new, open, save, the last ones, and what was not saved when the program was stopped."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

from patternsim.errors import PatternSimError
from patternsim.job import starting_job, starting_jobs
from patternsim_app.controllers.looks import LooksController
from patternsim_app.controllers.telling import Telling
from patternsim_app.dialogs.ask_to_save import ask_to_save, ask_to_write_over
from patternsim_app.dialogs.new_job_dialog import BarsWish, NewJobDialog
from patternsim_app.journal import Entry, Journal, JournalError, Recovered
from patternsim_app.session import ChangedOutsideError, Document, Session
from patternsim_app.views.strips import RecoveryStrip

KINDS = "Jobs (*.toml);;All files (*)"
MOST_RECENT = 10
SETTLE_MS = 2000


class FilesController(QObject):
    """Knows the session, its journal and the file dialogs."""

    recent_changed = Signal(tuple)
    opened = Signal()
    """Another job is open."""

    def __init__(
        self,
        window: QWidget,
        session: Session,
        journal: Journal,
        looks: LooksController,
        recovery: RecoveryStrip,
        telling: Telling,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._window = window
        self._session = session
        self._journal = journal
        self._looks = looks
        self._recovery = recovery
        self._telling = telling
        self._found: list[Recovered] = []
        self._edits = 0
        self._dialog: NewJobDialog | None = None
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(SETTLE_MS)
        self._settle.timeout.connect(journal.settle)
        session.changed.connect(self._changed)
        recovery.take_up_wanted.connect(self._take_up)
        recovery.throw_away_wanted.connect(self._throw_away)

    # --- new and open --------------------------------------------------------------------

    def new(self) -> None:
        """Offer the starting jobs and a job from one's own bars."""
        if self._dialog is None:
            self._dialog = NewJobDialog(starting_jobs(), self._window)
            self._dialog.start_wanted.connect(self.start)
            self._dialog.bars_wanted.connect(self.start_from_bars)
        self._dialog.set_units(self._looks.settings.units)
        self._dialog.open()

    def start(self, name: str) -> None:
        """Open a starting job under no file name."""
        if self.may_leave():
            self._open_text(starting_job(name), None)

    def start_from_bars(self, wish: BarsWish) -> None:
        """Open a new job that begins with a stack of one's own bars."""
        if self.may_leave():
            self._open_text(job_from_bars(wish), None)

    def open(self) -> None:
        """Ask for a job file and open it."""
        last = self._session.document.path
        folder = str(last.parent if last else Path.home())
        name, _ = QFileDialog.getOpenFileName(self._window, "Open a job", folder, KINDS)
        if name:
            self.open_path(name)

    def open_path(self, name: str) -> bool:
        """Open a job file; False where it cannot be read, and then nothing changes."""
        if not self.may_leave():
            return False
        try:
            self._session.open(Path(name))
        except PatternSimError as error:
            self._telling.trouble(str(error))
            return False
        self._remember(Path(name))
        self._edits = 0
        if self._session.document.read_only:
            self._telling.trouble(self._session.document.note)
        self.opened.emit()
        return True

    def _open_text(self, text: str, path: Path | None) -> None:
        try:
            self._session.open_text(text, path)
        except PatternSimError as error:
            self._telling.trouble(str(error))
            return
        self._edits = 0
        self.opened.emit()

    # --- save ----------------------------------------------------------------------------

    def save(self) -> bool:
        """Write the job to its file; asks for one where it has none. False where it was not saved."""
        if self._session.document.path is None:
            return self.save_as()
        return self._saved(None)

    def save_as(self) -> bool:
        """Ask for a file and write the job to it."""
        document = self._session.document
        start = document.path or Path.home() / f"{_file_name(document.job.name)}.toml"
        name, _ = QFileDialog.getSaveFileName(self._window, "Save the job", str(start), KINDS)
        if not name:
            return False
        path = Path(name)
        return self._saved(path if path.suffix else path.with_suffix(".toml"))

    def _saved(self, path: Path | None) -> bool:
        try:
            if path is not None:
                self._session.save_as(path)
            else:
                self._save_again()
        except PatternSimError as error:
            self._telling.trouble(str(error))
            return False
        saved = self._session.document.path
        if saved is not None:
            self._remember(saved)
            self._telling.news(f"Saved: {saved.name}")
        self._edits = 0
        self._write_journal(self._session.document, "")
        return True

    def _save_again(self) -> None:
        """Write the job to its file; what another program wrote there meanwhile goes only if told to."""
        try:
            self._session.save()
        except ChangedOutsideError as error:
            if not ask_to_write_over(self._window, str(error)):
                raise
            self._session.save(over=True)

    def may_leave(self) -> bool:
        """Ask what is to become of changes that are not saved; True where the job may be left."""
        document = self._session.document
        if not self._session.is_changed:
            return True
        answer = ask_to_save(self._window, document.job.name)
        if answer == "save":
            return self.save()
        return answer == "throw-away"

    def _remember(self, path: Path) -> None:
        name = str(path.resolve())
        others = tuple(one for one in self._looks.settings.recent if one != name)
        recent = (name, *others)[:MOST_RECENT]
        self._looks.change(recent=recent)
        self.recent_changed.emit(recent)

    # --- the journal ---------------------------------------------------------------------

    def _changed(self, document: Document, focus: str) -> None:
        if self._session.is_changed:
            self._edits += 1
        self._write_journal(document, focus)

    def _write_journal(self, document: Document, focus: str) -> None:
        try:
            self._keep(document)
        except JournalError as error:
            self._telling.trouble(str(error))

    def _keep(self, document: Document) -> None:
        if not self._session.is_changed:
            self._journal.clear()
            return
        label = self._session.undo_stack.undoText()
        self._journal.write(
            Entry(
                path="" if document.path is None else str(document.path),
                name=document.job.name,
                text=document.text,
                label=label,
                edits=self._edits,
            )
        )
        self._settle.start()

    def write_now(self) -> str:
        """Keep the job whatever happens next; return in words where it lies."""
        document = self._session.document
        if not self._session.is_changed:
            return "Your job is saved."
        self._write_journal(document, "")
        self._journal.settle()
        return "Your job was kept and will be offered at the next start."

    def look_for_lost(self) -> None:
        """Offer what was not saved when the program was stopped."""
        self._found = self._journal.found()
        self._offer()
        for note in self._journal.notes:
            self._telling.trouble(note)

    def _offer(self) -> None:
        if not self._found:
            self._recovery.hide()
            return
        entry = self._found[0].entry
        self._recovery.set_shown(entry.name, entry.label, self._found[0].when, len(self._found))
        self._recovery.show()

    def _take_up(self) -> None:
        if not self._found or not self.may_leave():
            return
        found = self._found.pop(0)
        path = Path(found.entry.path) if found.entry.path else None
        try:
            self._session.recover(found.entry.text, path)
        except PatternSimError as error:
            self._telling.trouble(str(error))
            return
        self._edits = found.entry.edits
        self._write_journal(self._session.document, "")
        self._put_aside(found)
        self.opened.emit()
        self._offer()

    def _throw_away(self) -> None:
        if self._found:
            self._put_aside(self._found.pop(0))
        self._offer()

    def _put_aside(self, found: Recovered) -> None:
        try:
            self._journal.discard(found)
        except JournalError as error:
            self._telling.trouble(str(error))

    def close(self) -> None:
        """Leave no journal behind: everything is saved, or meant to be thrown away."""
        self._settle.stop()
        self._journal.close()


def job_from_bars(wish: BarsWish) -> str:
    """Return the text of a new job that stacks a smith's own bars."""
    return (
        "format = 1\n"
        'name = "My bars"\n\n'
        "[[bar]]\n"
        'name = "bar"\n\n'
        "[[bar.step]]\n"
        'id = "stack"\n'
        'kind = "stack"\n'
        "strips = [\n"
        f'    {{ steel = "{wish.first_steel}", thickness_mm = {wish.first_mm!r} }},\n'
        f'    {{ steel = "{wish.second_steel}", thickness_mm = {wish.second_mm!r} }},\n'
        "]\n"
        f"repeat = {wish.each}\n"
        f"width_mm = {wish.width_mm!r}\n"
        f"length_mm = {wish.length_mm!r}\n"
    )


def _file_name(name: str) -> str:
    kept = "".join(sign if sign.isalnum() or sign in " -_" else "-" for sign in name)
    return "-".join(kept.split()).lower()[:60] or "job"
