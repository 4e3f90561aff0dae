"""What is not saved is kept in the journal at every change, and offered after a crash."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, QTimer

from patternsim.errors import PatternSimError
from patternsim_app.controllers.files import FilesController
from patternsim_app.controllers.telling import Telling
from patternsim_app.journal import Entry, Journal, JournalError, Recovered
from patternsim_app.session import Document, Session
from patternsim_app.views.strips import RecoveryStrip

SETTLE_MS = 2000


class RecoveryController(QObject):
    """Knows the session, its journal and the strip that offers what was lost."""

    def __init__(
        self,
        strip: RecoveryStrip,
        session: Session,
        journal: Journal,
        files: FilesController,
        telling: Telling,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._recovery = strip
        self._session = session
        self._journal = journal
        self._files = files
        self._telling = telling
        self._found: list[Recovered] = []
        self._closed = False
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(SETTLE_MS)
        self._settle.timeout.connect(journal.settle)
        session.changed.connect(self._changed)
        session.saved.connect(self._saved)
        strip.take_up_wanted.connect(self._take_up)
        strip.throw_away_wanted.connect(self._throw_away)

    def _saved(self) -> None:
        self._write_journal(self._session.document)

    def _changed(self, document: Document, focus: str) -> None:
        if self._closed:
            return
        self._write_journal(document)

    def _write_journal(self, document: Document) -> None:
        try:
            self._keep(document)
        except JournalError as error:
            self._telling.trouble(str(error))

    def _keep(self, document: Document) -> None:
        if not self._session.is_changed:
            self._journal.clear()
            return
        self._journal.write(
            Entry(
                path="" if document.path is None else str(document.path),
                name=document.job.name,
                text=document.text,
                label=self._session.last_label,
                edits=self._session.edits_since_save,
            )
        )
        self._settle.start()

    def write_now(self) -> str:
        """Keep the job whatever happens next; return in words where it lies."""
        document = self._session.document
        if not self._session.is_changed:
            return "Your job is saved."
        self._write_journal(document)
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
        if not self._found or not self._files.may_leave():
            return
        found = self._found.pop(0)
        path = Path(found.entry.path) if found.entry.path else None
        changed = path.name if path is not None and _is_newer(path, found.entry.time) else ""
        if changed:
            path = None  # saving asks for a name, and writes over nothing
        try:
            self._session.recover(found.entry.text, path)
        except PatternSimError as error:
            self._put_aside(found)
            self._offer()
            self._telling.trouble(str(error))
            return
        self._write_journal(self._session.document)
        self._put_aside(found)
        self._files.opened.emit()
        self._offer()
        if found.note:
            self._telling.trouble(found.note)
        if changed:
            self._telling.trouble(
                f"The file {changed} was changed after this work was kept: save it under another name."
            )

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
        self._closed = True
        self._settle.stop()
        self._journal.close()


def _is_newer(path: Path, time: float) -> bool:
    """Tell whether a file was changed after a moment; one that is gone was not."""
    try:
        return path.stat().st_mtime > time
    except OSError:
        return False
