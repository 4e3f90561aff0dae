"""Jobs as files: new, open, save, and the last ones."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

from patternsim.errors import PatternSimError
from patternsim.job import starting_job, starting_jobs
from patternsim_app.controllers.looks import LooksController
from patternsim_app.controllers.telling import Telling
from patternsim_app.dialogs.ask_to_save import ask_to_save, ask_to_write_over
from patternsim_app.dialogs.new_job_dialog import BarsWish, NewJobDialog
from patternsim_app.session import ChangedOutsideError, Session

KINDS = "Jobs (*.toml);;All files (*)"
ENDING = ".toml"
MOST_RECENT = 10


class FilesController(QObject):
    """Knows the session and the file dialogs."""

    recent_changed = Signal(tuple)
    opened = Signal()
    """Another job is open."""

    def __init__(
        self,
        window: QWidget,
        session: Session,
        looks: LooksController,
        telling: Telling,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._window = window
        self._session = session
        self._looks = looks
        self._telling = telling
        self._dialog: NewJobDialog | None = None
        self.settle: Callable[[], bool] = _settled
        """Takes what is typed and not taken yet; False where it cannot be read."""

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
        self.opened.emit()
        if self._session.document.read_only:
            self._telling.trouble(self._session.document.note)
        return True

    def _open_text(self, text: str, path: Path | None) -> None:
        try:
            self._session.open_text(text, path)
        except PatternSimError as error:
            self._telling.trouble(str(error))
            return
        self.opened.emit()

    # --- save ----------------------------------------------------------------------------

    def save(self) -> bool:
        """Write the job to its file; asks for one where it has none. False where it was not saved."""
        if not self.settle():
            return False
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
        if path.suffix.lower() != ENDING:
            path = path.with_name(path.name + ENDING)
            # The dialog asked about the name as it was typed only.
            if path.exists() and not ask_to_write_over(self._window, f"{path.name} is there already."):
                return False
        return self._saved(path)

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
        if not self.settle():
            return False
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


def _settled() -> bool:
    return True


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
