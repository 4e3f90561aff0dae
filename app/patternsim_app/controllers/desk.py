"""Puts the controllers of one window together, and says which menu entry is whose."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction

from patternsim_app.actions import ACTIONS, Needs, build_menus, set_enabled
from patternsim_app.controllers.adding import AddingController
from patternsim_app.controllers.answers import AnswersController
from patternsim_app.controllers.bench import BenchController
from patternsim_app.controllers.bench_mark import BLADE, BenchMark
from patternsim_app.controllers.beside import BesideController
from patternsim_app.controllers.card import CardController
from patternsim_app.controllers.exporting import ExportController
from patternsim_app.controllers.files import FilesController
from patternsim_app.controllers.finding import FindController
from patternsim_app.controllers.helping import HelpController
from patternsim_app.controllers.keeping import KeepingController
from patternsim_app.controllers.looks import LooksController
from patternsim_app.controllers.menus import (
    RecentMenu,
    file_handlers,
    outline_handlers,
    step_handlers,
    view_handlers,
)
from patternsim_app.controllers.outline import OutlineController
from patternsim_app.controllers.progress import ProgressController
from patternsim_app.controllers.recovering import RecoveryController
from patternsim_app.controllers.sheet import SheetController
from patternsim_app.controllers.telling import Telling
from patternsim_app.controllers.tip import TipController
from patternsim_app.controllers.typing import TypingController
from patternsim_app.controllers.welcome import WelcomeController
from patternsim_app.controllers.working import Working
from patternsim_app.jobs import Jobs
from patternsim_app.journal import Journal
from patternsim_app.main_window import MainWindow
from patternsim_app.session import Document, Session


class Desk(QObject):
    """One window with all that belongs to it.

    Parameters
    ----------
    window : MainWindow
    looks : LooksController
    journals, pictures : Path
        Folders of the recovery journals and of the last pictures.
    jobs : Jobs
    """

    def __init__(
        self, window: MainWindow, looks: LooksController, *, journals: Path, pictures: Path, jobs: Jobs
    ) -> None:
        super().__init__(window)
        self.window = window
        self.looks = looks
        self.jobs = jobs
        self.progress = ProgressController(window, jobs, self)
        self.session = Session(self)
        self.journal = Journal(journals)
        self.mark = BenchMark(self)
        self.telling = Telling(self)
        self.working = Working(self.session, jobs, self)
        parts = (self.session, self.working)
        self.card = CardController(window.card, *parts, jobs, self.mark, self.telling, self)
        self.adding = AddingController(window.card, *parts, self.mark, self.telling, self)
        self.sheet = SheetController(window.sheet, *parts, self.mark, self.card, self.telling, self)
        self.answers = AnswersController(
            window.answers, window.steel, *parts, self.mark, self.telling, looks.press_limit, self
        )
        self.bench = BenchController(window.bench, self.working, jobs, self.telling, self)
        self.tip = TipController(window.bench, self.working, jobs, self.bench, self.telling, self)
        self.beside = BesideController(
            window.bench, self.working, jobs, self.mark, self.bench, self.telling, self
        )
        self.outline = OutlineController(
            window.bench.face, self.session, self.bench, jobs, self.telling, self
        )
        self.files = FilesController(window, self.session, looks, self.telling, self)
        self.recovering = RecoveryController(
            window.recovery, self.session, self.journal, self.files, self.telling, self
        )
        self.exporting = ExportController(window, *parts, jobs, self.mark, looks, self.telling, self)
        self.helping = HelpController(window, self.session, self.mark, self)
        self.typing = TypingController(window, self.session, looks, self)
        self.finding = FindController(window, self.session, self.mark, self.typing.settled, self)
        self.keeping = KeepingController(
            pictures, self.session, self.bench, self.answers, jobs, self.telling, self
        )
        self.welcome = WelcomeController(window.first_run, looks, self.files, self.session, self)
        handlers = self._handlers()
        self.actions: dict[str, QAction] = build_menus(window, ACTIONS, handlers, card=window.card)
        self.recent = RecentMenu(window, self.actions["save"], self.files.open_path)
        self.recent.fill(looks.settings.recent)
        self._connect()
        self._units_changed(looks.settings.units)
        self._tick()

    def open_first(self, path: str | None, start: str) -> None:
        """Open a file, or a starting job, with the picture it had the last time."""
        if path is None:
            self.files.start(start)
        elif not self.files.open_path(path):
            trouble = self.telling.last
            self.files.start(start)
            self.telling.trouble(trouble)

    def show_kept(self) -> None:
        """Show what the open job looked like the last time, until it is worked out."""
        kept = self.keeping.kept()
        if kept is not None and self.working.done is None:
            self.working.keeps_shown = True
            self.bench.show_kept(kept)
            self.answers.show_kept(kept.tiles)

    def close(self) -> bool:
        """Ask about changes and end all work; False where the window is to stay."""
        if not self.files.may_leave():
            return False
        self.jobs.close()
        self.recovering.close()
        return True

    def _connect(self) -> None:
        window, session = self.window, self.session
        header = window.header
        session.changed.connect(self._document_changed)
        session.saved.connect(self._show_state)
        session.clean_changed.connect(self._show_state)
        stack = session.undo_stack
        for changed in (stack.undoTextChanged, stack.redoTextChanged, stack.indexChanged):
            changed.connect(self._show_undo)
        header.undo_wanted.connect(self.typing.undo)
        header.redo_wanted.connect(self.typing.redo)
        header.units_chosen.connect(self.typing.choose_units)
        self.files.settle = self.exporting.settle = self.typing.settled
        header.cancel_wanted.connect(self.working.stop)
        header.find_wanted.connect(self.finding.open)
        header.go_on_wanted.connect(self.working.go_on)
        self.working.press_from(self.looks.press_limit)
        self.working.left_off.connect(header.set_left_off)
        self.working.left_off.connect(self._enable)
        self.looks.units_changed.connect(self._units_changed)
        self.looks.letters_changed.connect(window.letters_changed)
        self.telling.told.connect(window.message.set_message)
        self.telling.over.connect(window.message.hide)
        self.jobs.idle_changed.connect(self._enable)
        self.answers.looked_up.connect(self._look_up)
        self.bench.look_changed.connect(self._tick)
        self.looks.settings_changed.connect(self._tick)
        self.sheet.help_wanted.connect(self.helping.open)
        self.files.recent_changed.connect(self.recent.fill)
        self.files.opened.connect(self._opened)
        window.files_dropped.connect(self.files.open_path)
        for told in (self.mark.moved, self.working.worked):
            told.connect(self._enable)
        self.looks.press_changed.connect(self.working.judge_again)

    def _handlers(self) -> dict[str, Callable[[], object]]:
        return {
            **file_handlers(self.window, self.files, self.exporting, self.helping),
            **step_handlers(self.card, self.adding, self.finding),
            **view_handlers(self.window, self.bench, self.looks),
            **outline_handlers(self.outline),
            "undo": self.typing.undo,
            "redo": self.typing.redo,
            "units": self.typing.swap_units,
            "cancel-work": self.working.stop,
            "go-on": self.working.go_on,
        }

    def _opened(self) -> None:
        """Begin with another job: its blade in sight, nothing of the one before."""
        self.telling.over.emit()
        job = self.session.document.job
        self.mark.move(BLADE if job.blade is not None else job.bar[0].step[0].id)
        self.bench.begin_anew()
        self.show_kept()

    def _look_up(self, key: str) -> None:
        """Lead from an answer to what it stands on."""
        if key in ("tip", "barbs") and self.bench.look_name == "die":
            self.bench.set_look("etched")
        elif key in ("steel", "risk"):
            self.window.sheet.show_findings()

    def _tick(self, *_: object) -> None:
        """Tick the look and the colours that are in use."""
        for name in (f"show-{self.bench.look_name}", f"theme-{self.looks.settings.theme}"):
            self.actions[name].setChecked(True)

    def _document_changed(self, document: Document, focus: str) -> None:
        self.telling.over.emit()
        self._show_state()
        self._show_undo()
        self._enable()

    def _show_state(self, *_: object) -> None:
        document = self.session.document
        if document.read_only:
            state = "for reading only"
        elif self.session.is_changed:
            state = "not saved"
        else:
            state = "" if document.path is None else "saved"
        self.window.header.set_job(document.job.name, state)
        name = document.job.name if document.path is None else document.path.name
        self.window.setWindowTitle(f"{name}[*] \u2013 patternsim")
        self.window.setWindowModified(self.session.is_changed)

    def _show_undo(self, *_: object) -> None:
        stack = self.session.undo_stack
        undo, redo = stack.undoText(), stack.redoText()
        self.window.header.set_undo(undo, redo)
        for name, word, text in (("undo", "&Undo", undo), ("redo", "&Redo", redo)):
            self.actions[name].setText(f"{word}: {text}" if text else word)
        self._enable()

    def _enable(self, *_: object) -> None:
        stack, document = self.session.undo_stack, self.session.document
        holds: set[Needs] = {"step", "copied"}
        if stack.canUndo() or self.working.dragging:
            holds.add("undo")
        if stack.canRedo():
            holds.add("redo")
        if document.job.blade is not None:
            holds.add("blade")
        if self.working.done is not None:
            holds.add("picture")
        if not self.jobs.is_idle:
            holds.add("work")
        if self.working.is_left_off:
            holds.add("left-off")
        set_enabled(self.actions, holds, read_only=document.read_only)

    def _units_changed(self, units: str) -> None:
        self.window.header.units.set_chosen(units)
        for part in (self.card, self.sheet, self.answers, self.bench, self.tip, self.finding):
            part.set_units(units)  # type: ignore[arg-type]
