"""Which menu entry does what, and the menu of the files opened last."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu

from patternsim_app.controllers.adding import AddingController
from patternsim_app.controllers.bench import BenchController
from patternsim_app.controllers.card import CardController
from patternsim_app.controllers.exporting import ExportController
from patternsim_app.controllers.files import FilesController
from patternsim_app.controllers.finding import FindController
from patternsim_app.controllers.helping import HelpController
from patternsim_app.controllers.looks import LooksController
from patternsim_app.controllers.outline import TURN_DEG, OutlineController
from patternsim_app.main_window import MainWindow
from patternsim_app.views.face_view import NOTCH

Handlers = dict[str, Callable[[], object]]


def file_handlers(
    window: MainWindow, files: FilesController, exporting: ExportController, helping: HelpController
) -> Handlers:
    """Return what the file and help actions do, by their ids."""
    return {
        "new": files.new,
        "open": files.open,
        "save": files.save,
        "save-as": files.save_as,
        "export": exporting.open,
        "quit": window.close,
        "help": helping.open_here,
        "keys": helping.open_keys,
    }


def step_handlers(card: CardController, adding: AddingController, finding: FindController) -> Handlers:
    """Return what the actions on steps do."""
    return {
        "find": finding.open,
        "copy-steps": lambda: adding.copy(card.chosen_steps()),
        "paste-steps": lambda: adding.paste((card.chosen_steps() or ("",))[-1]),
        "add-step": adding.open_add,
        "remove-steps": lambda: card.remove(card.chosen_steps()),
        "skip-steps": lambda: card.skip(card.chosen_steps()),
        "move-up": lambda: card.nudge(card.chosen_steps(), -1),
        "move-down": lambda: card.nudge(card.chosen_steps(), 1),
        "step-back": lambda: card.look(-1),
        "step-on": lambda: card.look(1),
    }


def outline_handlers(outline: OutlineController) -> Handlers:
    """Return what the actions on the outline do."""
    return {
        "tip-to-line": outline.to_the_line,
        "end-for-end": outline.end_for_end,
        "turn-left": lambda: outline.turn(-TURN_DEG),
        "turn-right": lambda: outline.turn(TURN_DEG),
    }


def view_handlers(window: MainWindow, bench: BenchController, looks: LooksController) -> Handlers:
    """Return what the actions of the view do; none of them changes the job."""
    face = window.bench.face
    return {
        "show-etched": lambda: bench.set_look("etched"),
        "show-layers": lambda: bench.set_look("layers"),
        "show-die": lambda: bench.set_look("die"),
        "mark-or-off-side": bench.turn_over,
        "fit": face.fit,
        "zoom-in": lambda: face.zoom(NOTCH),
        "zoom-out": lambda: face.zoom(1 / NOTCH),
        "theme-system": lambda: looks.set_theme("system"),
        "theme-light": lambda: looks.set_theme("light"),
        "theme-dark": lambda: looks.set_theme("dark"),
        "text-larger": lambda: looks.resize_letters(1),
        "text-smaller": lambda: looks.resize_letters(-1),
        "reset-layout": window.use_usual_layout,
    }


class RecentMenu:
    """The files opened last, in the file menu above `before`."""

    def __init__(self, window: MainWindow, before: QAction, open_path: Callable[[str], object]) -> None:
        self._open_path = open_path
        self._menu = QMenu("Open a&gain", window)
        files = window.menuBar().findChild(QMenu, "menu-file")
        assert isinstance(files, QMenu)
        files.insertMenu(before, self._menu)

    def fill(self, recent: tuple[str, ...]) -> None:
        """Show these files."""
        self._menu.clear()
        self._menu.setEnabled(bool(recent))
        for name in recent:
            entry = self._menu.addAction(Path(name).name)
            entry.setToolTip(name)
            entry.triggered.connect(partial(self._open, name))

    def _open(self, name: str, _ticked: bool = False) -> None:
        self._open_path(name)
