"""Puts the controllers of one window together, and says which menu entry is whose."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, QTimer
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu

from patternsim_app import stored
from patternsim_app.actions import ACTIONS, Needs, build_menus, set_enabled
from patternsim_app.controllers.answers import AnswersController
from patternsim_app.controllers.bench import BenchController
from patternsim_app.controllers.bench_mark import BenchMark
from patternsim_app.controllers.beside import BesideController
from patternsim_app.controllers.card import CardController
from patternsim_app.controllers.exporting import ExportController
from patternsim_app.controllers.files import FilesController
from patternsim_app.controllers.helping import HelpController
from patternsim_app.controllers.looks import LooksController
from patternsim_app.controllers.outline import TURN_DEG, OutlineController
from patternsim_app.controllers.sheet import SheetController
from patternsim_app.controllers.telling import Telling
from patternsim_app.controllers.welcome import WelcomeController
from patternsim_app.controllers.working import Working
from patternsim_app.jobs import Jobs
from patternsim_app.journal import Journal
from patternsim_app.main_window import MainWindow
from patternsim_app.session import Document, Session
from patternsim_app.shown import FacePicture, FaceShown
from patternsim_app.views.face_view import NOTCH

ZOOM = NOTCH
TOLD = ("work", "export")
"""Work whose progress is told; the rest is small."""
PATIENCE_MS = 700
"""Work that takes longer is told of."""


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
        self._pictures = pictures
        self._patience = QTimer(self)
        self._patience.setSingleShot(True)
        self._patience.setInterval(PATIENCE_MS)
        self.session = Session(self)
        self.journal = Journal(journals)
        self.mark = BenchMark(self)
        self.telling = Telling(self)
        self.working = Working(self.session, jobs, self)
        parts = (self.session, self.working)
        self.card = CardController(window.card, *parts, jobs, self.mark, self.telling, self)
        self.sheet = SheetController(window.sheet, *parts, self.mark, self.card, self.telling, self)
        self.answers = AnswersController(
            window.answers, window.steel, *parts, self.mark, self.telling, self._press_limit, self
        )
        self.bench = BenchController(window.bench, self.working, jobs, self.telling, self)
        self.beside = BesideController(
            window.bench, self.working, jobs, self.mark, self.bench, self.telling, self
        )
        self.outline = OutlineController(
            window.bench.face, self.session, self.bench, jobs, self.telling, self
        )
        self.files = FilesController(
            window, self.session, self.journal, looks, window.recovery, self.telling, self
        )
        self.exporting = ExportController(window, *parts, jobs, self.mark, looks, self.telling, self)
        self.helping = HelpController(window, self.session, self.mark, self)
        self.welcome = WelcomeController(window.first_run, looks, self.files, self.session, self)
        self.actions: dict[str, QAction] = build_menus(
            window, ACTIONS, self._handlers(), card=window.card
        )
        self._recent = self._recent_menu()
        self._connect()
        self._units_changed(looks.settings.units)

    # --- opening and closing -------------------------------------------------------------

    def open_first(self, path: str | None, start: str) -> None:
        """Open a file, or a starting job, with the picture it had the last time."""
        if path is None or not self.files.open_path(path):
            self.files.start(start)

    def show_kept(self) -> None:
        """Show what the open job looked like the last time, until it is worked out."""
        kept = stored.load(self._pictures, self.session.document.text)
        if kept is not None and self.working.done is None:
            self.bench.show_kept(kept)
            self.answers.show_kept(kept.tiles)

    def close(self) -> bool:
        """Ask about changes and end all work; False where the window is to stay."""
        if not self.files.may_leave():
            return False
        self.jobs.close()
        self.files.close()
        return True

    # --- wiring --------------------------------------------------------------------------

    def _connect(self) -> None:
        window, session = self.window, self.session
        header = window.header
        session.changed.connect(self._document_changed)
        session.saved.connect(self._show_state)
        session.clean_changed.connect(self._show_state)
        stack = session.undo_stack
        stack.undoTextChanged.connect(self._show_undo)
        stack.redoTextChanged.connect(self._show_undo)
        stack.indexChanged.connect(self._show_undo)
        header.undo_wanted.connect(stack.undo)
        header.redo_wanted.connect(stack.redo)
        header.units_chosen.connect(self.looks.set_units)
        header.cancel_wanted.connect(self._cancel_work)
        self.looks.units_changed.connect(self._units_changed)
        self.looks.letters_changed.connect(window.letters_changed)
        self.telling.told.connect(window.message.set_message)
        self.jobs.progressed.connect(self._progressed)
        self.jobs.idle_changed.connect(self._idle_changed)
        self.bench.face_drawn.connect(self._face_drawn)
        self.sheet.help_wanted.connect(self.helping.open)
        self.files.recent_changed.connect(self._fill_recent)
        self.files.opened.connect(self.show_kept)
        window.files_dropped.connect(self.files.open_path)
        self.mark.moved.connect(self._enable)
        self.working.worked.connect(self._enable)

    def _handlers(self) -> dict[str, Callable[[], object]]:
        stack, face, card = self.session.undo_stack, self.window.bench.face, self.card
        bench, looks, outline = self.bench, self.looks, self.outline
        return {
            "new": self.files.new,
            "open": self.files.open,
            "save": self.files.save,
            "save-as": self.files.save_as,
            "export": self.exporting.open,
            "cancel-work": self._cancel_work,
            "quit": self.window.close,
            "undo": stack.undo,
            "redo": stack.redo,
            "copy-steps": lambda: card.copy(card.chosen_steps()),
            "paste-steps": lambda: card.paste(""),
            "add-step": card.open_add,
            "remove-steps": lambda: card.remove(card.chosen_steps()),
            "skip-steps": lambda: card.skip(card.chosen_steps()),
            "move-up": lambda: card.nudge(card.chosen_steps(), -1),
            "move-down": lambda: card.nudge(card.chosen_steps(), 1),
            "step-back": lambda: card.look(-1),
            "step-on": lambda: card.look(1),
            "tip-to-line": outline.to_the_line,
            "end-for-end": outline.end_for_end,
            "turn-left": lambda: outline.turn(-TURN_DEG),
            "turn-right": lambda: outline.turn(TURN_DEG),
            "show-etched": lambda: bench.set_look("etched"),
            "show-layers": lambda: bench.set_look("layers"),
            "show-die": lambda: bench.set_look("die"),
            "mark-or-off-side": bench.turn_over,
            "fit": face.fit,
            "zoom-in": lambda: face.zoom(ZOOM),
            "zoom-out": lambda: face.zoom(1 / ZOOM),
            "units": looks.swap_units,
            "theme-system": lambda: looks.set_theme("system"),
            "theme-light": lambda: looks.set_theme("light"),
            "theme-dark": lambda: looks.set_theme("dark"),
            "text-larger": lambda: looks.resize_letters(1),
            "text-smaller": lambda: looks.resize_letters(-1),
            "reset-layout": self.window.use_usual_layout,
            "help": self.helping.open_here,
            "keys": self.helping.open_keys,
        }

    def _recent_menu(self) -> QMenu:
        menu = QMenu("Open &again", self.window)
        files = self.window.menuBar().findChild(QMenu, "menu-file")
        if files is not None:
            files.insertMenu(self.actions["save"], menu)
        self._recent = menu
        self._fill_recent(self.looks.settings.recent)
        return menu

    def _fill_recent(self, recent: tuple[str, ...]) -> None:
        self._recent.clear()
        self._recent.setEnabled(bool(recent))
        for name in recent:
            entry = self._recent.addAction(Path(name).name)
            entry.setToolTip(name)
            entry.triggered.connect(lambda _=False, one=name: self.files.open_path(one))

    # --- what the window tells -----------------------------------------------------------

    def _document_changed(self, document: Document, focus: str) -> None:
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
        if stack.canUndo():
            holds.add("undo")
        if stack.canRedo():
            holds.add("redo")
        if document.job.blade is not None:
            holds.add("blade")
        if self.working.done is not None:
            holds.add("picture")
        if not self.jobs.is_idle:
            holds.add("work")
        set_enabled(self.actions, holds)

    def _units_changed(self, units: str) -> None:
        self.window.header.units.set_chosen(units)
        for part in (self.card, self.sheet, self.answers, self.bench):
            part.set_units(units)  # type: ignore[arg-type]

    def _press_limit(self) -> float | None:
        return self.looks.settings.press_kn

    def _progressed(self, channel: str, share: float, text: str) -> None:
        if channel not in TOLD or self._patience.isActive():
            return  # what is done in a moment need not be told
        self.window.header.set_progress(share, text)
        self.window.statusBar().showMessage(text)

    def _idle_changed(self, idle: bool) -> None:
        if idle:
            self._patience.stop()
            self.window.header.set_progress(None, "")
            self.window.statusBar().clearMessage()
        else:
            self._patience.start()
        self.actions["cancel-work"].setEnabled(not idle)

    def _cancel_work(self) -> None:
        self.jobs.cancel()

    def _face_drawn(self, shown: FaceShown, picture: FacePicture) -> None:
        """Keep the picture of a job for the next time it is opened."""
        tiles = self.answers.tiles
        if self.bench.is_usual_look() and tiles:
            kept = stored.Kept(shown=shown, picture=picture, tiles=tiles)
            given = (self._pictures, self.session.document.text, kept)
            self.jobs.start(
                "keep", _keep, given, done=_nothing, failed=self.telling.failed, background=True
            )


def _keep(given: tuple[Path, str, stored.Kept], progress: object) -> None:
    stored.keep(*given)


def _nothing(_: object) -> None:
    """Nothing is to be told."""
