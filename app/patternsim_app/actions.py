"""Everything the menus offer, as one table; the menus and the page of keys are made from it.

What an action does is no business of this file: whoever builds the menus hands in one callable for each.
Keys that belong to one view alone (arrows on the face, Tab on the job card) are handled there; they are
listed here for the page of keys.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Literal

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu, QWidget

Needs = Literal["always", "undo", "redo", "step", "copied", "blade", "picture", "work", "left-off"]
"""What must be there for an action to do something; the window tells through `set_enabled`."""
Scope = Literal["window", "card"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Action:
    """One entry of the menus.

    Attributes
    ----------
    id : str
    text : str
        As in the menu, with its underlined letter.
    menu : str
        Name of the menu it stands in.
    tip : str
        One sentence: what it does.
    keys : tuple of str
        The first is shown; more are other ways to type the same on some keyboards.
    enabled : str
        What must be there.
    scope : str
        Where the keys act: in the whole window, or on the job card alone.
    group : str
        Exactly one of the actions of a group is ticked.
    gap : bool
        A line stands above it.
    edits : bool
        It changes the job.
    """

    id: str
    text: str
    menu: str
    tip: str
    keys: tuple[str, ...] = ()
    enabled: Needs = "always"
    scope: Scope = "window"
    group: str = ""
    gap: bool = False
    edits: bool = False

    @property
    def single_letter(self) -> bool:
        """Whether a key types a sign, so that it acts only where no text is being typed."""
        return any(len(key) == 1 for key in self.keys)

    @property
    def words(self) -> str:
        """The text without the mark of its underlined letter."""
        return self.text.replace("&", "")


MENUS = ("&File", "&Edit", "&Step", "&Blade", "&View", "&Help")

ACTIONS: tuple[Action, ...] = (
    # --- file
    Action(id="new", text="&New job...", menu="File", keys=("Ctrl+N",),
           tip="Start a job from one of the starting jobs or from your own bars."),
    Action(id="open", text="&Open job...", menu="File", keys=("Ctrl+O",),
           tip="Open a job file."),
    Action(id="save", text="&Save", menu="File", keys=("Ctrl+S",), gap=True, edits=True,
           tip="Write the job to its file."),
    Action(id="save-as", text="Save &as...", menu="File", keys=("Ctrl+Shift+S",),
           tip="Write the job to another file and go on with that one."),
    Action(id="export", text="&Export pictures...", menu="File", keys=("Ctrl+E",),
           enabled="picture", gap=True,
           tip="Write pictures of the blade or of a section, at true size or as wide as you want."),
    Action(id="go-on", text="&Work it out", menu="File", keys=("F5",), enabled="left-off", gap=True,
           tip="Work out what was left off when the work was stopped."),
    Action(id="cancel-work", text="S&top working", menu="File", keys=("Shift+F5",), enabled="work",
           tip="Call off what is being worked out or written just now."),
    Action(id="quit", text="&Quit", menu="File", keys=("Ctrl+Q",), gap=True,
           tip="Close the program; it asks first where something is not saved."),
    # --- edit
    Action(id="undo", text="&Undo", menu="Edit", keys=("Ctrl+Z",), enabled="undo",
           tip="Take the last change back."),
    Action(id="redo", text="&Redo", menu="Edit", keys=("Ctrl+Shift+Z", "Ctrl+Y"), enabled="redo",
           tip="Do again what was taken back."),
    Action(id="copy-steps", text="&Copy steps", menu="Edit", keys=("Ctrl+C",), enabled="step",
           scope="card", gap=True,
           tip="Copy the chosen steps with their numbers."),
    Action(id="paste-steps", text="&Paste steps", menu="Edit", keys=("Ctrl+V",), enabled="copied",
           scope="card", edits=True,
           tip="Put the copied steps in after the step on the bench."),
    Action(id="find", text="&Find on the card...", menu="Edit", keys=("Ctrl+K", "Ctrl+F"), gap=True,
           tip="Find a step by any of its names, or one of its values."),
    # --- step
    Action(id="add-step", text="&Add a step...", menu="Step", keys=("Ins",), edits=True,
           tip="Choose a step and put it in after the step on the bench."),
    Action(id="remove-steps", text="&Remove steps", menu="Step", keys=("Del",), enabled="step",
           scope="card", edits=True,
           tip="Take the chosen steps out of the job."),
    Action(id="skip-steps", text="&Skip or use again", menu="Step", keys=("Space",), enabled="step",
           scope="card", edits=True,
           tip="Leave the chosen steps out but keep them on the card, or use them again."),
    Action(id="move-up", text="Move &earlier", menu="Step", keys=("Alt+Up",), enabled="step",
           scope="card", gap=True, edits=True,
           tip="Move the chosen steps one place earlier in the job."),
    Action(id="move-down", text="Move &later", menu="Step", keys=("Alt+Down",), enabled="step",
           scope="card", edits=True,
           tip="Move the chosen steps one place later in the job."),
    Action(id="step-back", text="Look one step &back", menu="Step", keys=("PgUp",), enabled="step",
           gap=True,
           tip="Show the piece as it lay one step before; nothing is changed."),
    Action(id="step-on", text="Look one step &on", menu="Step", keys=("PgDown",), enabled="step",
           tip="Show the piece as it lies one step later; nothing is changed."),
    # --- blade
    Action(id="tip-to-line", text="&Tip to the centre line", menu="Blade", keys=("T",), enabled="blade",
           edits=True,
           tip="Put the tip on the centre line and turn the outline along it."),
    Action(id="end-for-end", text="&End for end", menu="Blade", keys=("F",), enabled="blade", edits=True,
           tip="Turn the outline round: the tip goes where the heel was."),
    Action(id="turn-left", text="Turn &left", menu="Blade", keys=("[",), enabled="blade", gap=True,
           edits=True,
           tip="Turn the outline a quarter of a degree to the left."),
    Action(id="turn-right", text="Turn &right", menu="Blade", keys=("]",), enabled="blade", edits=True,
           tip="Turn the outline a quarter of a degree to the right."),
    # --- view
    Action(id="show-etched", text="&Etched", menu="View", keys=("1",), group="picture",
           enabled="picture",
           tip="Show the steel as ground and etched."),
    Action(id="show-layers", text="&Layer drawing", menu="View", keys=("2",), group="picture",
           enabled="picture",
           tip="Show the layers as a plain drawing, one tone for each steel."),
    Action(id="show-die", text="On t&he die", menu="View", keys=("3",), group="picture",
           enabled="picture",
           tip="Show the piece after the chosen step as it lies on the press."),
    Action(id="mark-or-off-side", text="&Other side", menu="View", keys=("O",), enabled="picture",
           tip="Turn the piece over: mark side or off side."),
    Action(id="fit", text="&Fit", menu="View", keys=("Home",), enabled="picture", gap=True,
           tip="Show the knife as large as it goes; once more, the whole bar."),
    Action(id="zoom-in", text="&Closer", menu="View", keys=("+", "="), enabled="picture",
           tip="Look closer."),
    Action(id="zoom-out", text="F&arther", menu="View", keys=("-",), enabled="picture",
           tip="Look from farther off."),
    Action(id="units", text="&Millimetres or inches", menu="View", keys=("U",), gap=True,
           tip="Write all sizes in the other unit; the job stays the same."),
    Action(id="theme-system", text="Colours as the &system", menu="View", group="theme", gap=True,
           tip="Light or dark as the system has it."),
    Action(id="theme-light", text="L&ight colours", menu="View", group="theme",
           tip="Dark letters on a light ground."),
    Action(id="theme-dark", text="&Dark colours", menu="View", group="theme",
           tip="Light letters on a dark ground."),
    Action(id="text-larger", text="Larger &text", menu="View", keys=("Ctrl++", "Ctrl+="), gap=True,
           tip="Make all letters, boxes and gaps larger."),
    Action(id="text-smaller", text="Smaller te&xt", menu="View", keys=("Ctrl+-",),
           tip="Make all letters, boxes and gaps smaller."),
    Action(id="reset-layout", text="Usual la&yout", menu="View", gap=True,
           tip="Give the parts of the window their usual sizes."),
    # --- help
    Action(id="help", text="&Help", menu="Help", keys=("F1",),
           tip="Read about the step on the bench or about the window."),
    Action(id="keys", text="&Keys", menu="Help", keys=("Shift+F1",),
           tip="List every key."),
)  # fmt: skip

VIEW_KEYS: tuple[tuple[str, str, str], ...] = (
    ("Job card", "Up, Down", "look at another step; nothing is changed"),
    ("Job card", "Enter or F2", "change the first number of the step"),
    ("Job card", "Tab, Shift+Tab", "take the number and go to the next or the one before"),
    ("Job card", "Left, Right", "fold or unfold the stage; with Shift all of them"),
    ("Numbers", "Enter", "take the number"),
    ("Numbers", "Esc", "leave it unchanged"),
    ("Numbers", "Up, Down", "a little more or less; with Shift ten times, with Ctrl a tenth of it"),
    ("Outline", "Arrow keys", "move it by 0.5 mm; with Shift by 5 mm, with Ctrl by 0.1 mm"),
    ("Outline", "Esc", "while dragging: put it back"),
    ("Steel line", "Left, Right", "go to the step before or after"),
)
"""Keys the views handle themselves: where, keys, what they do."""


def build_menus(
    window: QMainWindow,
    actions: Iterable[Action],
    handlers: Mapping[str, Callable[[], object]],
    *,
    card: QWidget | None = None,
) -> dict[str, QAction]:
    """Fill the menu bar and return the actions by id.

    Each menu is named 'menu-file' and so on, so that more can be put into it.

    Parameters
    ----------
    window : QMainWindow
    actions : iterable of Action
    handlers : mapping of id to callable
        Called without arguments. Every action must have one.
    card : QWidget, optional
        The job card; without it keys of that scope act nowhere.

    Raises
    ------
    ValueError
        If an action has no handler, or a handler no action.
    """
    table = tuple(actions)
    unlike = {action.id for action in table} ^ handlers.keys()
    if unlike:
        raise ValueError(f"actions and handlers differ: {', '.join(sorted(unlike))}")
    menus: dict[str, QMenu] = {}
    for title in MENUS:
        menu = window.menuBar().addMenu(title)
        name = title.replace("&", "")
        menu.setObjectName(f"menu-{name.lower()}")
        menu.setToolTipsVisible(True)
        menus[name] = menu
    groups: dict[str, QActionGroup] = {}
    made: dict[str, QAction] = {}
    for action in table:
        entry = _entry(action, window)
        entry.triggered.connect(partial(_call, handlers[action.id]))
        if action.gap:
            menus[action.menu].addSeparator()
        menus[action.menu].addAction(entry)
        if action.scope == "card" and card is not None:
            card.addAction(entry)
        if action.group:
            group = groups.setdefault(action.group, QActionGroup(window))
            entry.setCheckable(True)
            group.addAction(entry)
        made[action.id] = entry
    return made


def set_enabled(
    made: Mapping[str, QAction], holds: Collection[Needs], *, read_only: bool = False
) -> None:
    """Enable what can be done now, and grey the rest.

    Parameters
    ----------
    made : mapping of id to QAction
        As `build_menus` returned them.
    holds : collection of str
        What there is; 'always' need not be said.
    read_only : bool
        The job can be looked at only.
    """
    for action in ACTIONS:
        if action.id in made:
            there = action.enabled == "always" or action.enabled in holds
            made[action.id].setEnabled(there and not (read_only and action.edits))


def keys_page() -> str:
    """Return a page that lists every key, as Markdown."""
    lines = ["# Keys", "", "Single letters and signs act only where no text is being typed.", ""]
    for title in MENUS:
        name = title.replace("&", "")
        rows = [
            (_shown(action.keys[0]), f"{action.words.rstrip('.')}: {action.tip}")
            for action in ACTIONS
            if action.menu == name and action.keys
        ]
        lines += _table(name, rows)
    for place in dict.fromkeys(place for place, _, _ in VIEW_KEYS):
        lines += _table(place, [(keys, does) for there, keys, does in VIEW_KEYS if there == place])
    return "\n".join(lines)


def _entry(action: Action, window: QMainWindow) -> QAction:
    entry = QAction(action.text, window)
    entry.setObjectName(action.id)
    entry.setShortcuts([QKeySequence(key) for key in action.keys])
    if action.scope == "card":
        entry.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
    shown = f" ({_shown(action.keys[0])})" if action.keys else ""
    entry.setToolTip(f"{action.tip.rstrip('.')}{shown}")
    entry.setStatusTip(action.tip)
    # Words like "usual" or "about" in a text must not move it to another menu on some systems.
    quits = action.id == "quit"
    entry.setMenuRole(QAction.MenuRole.QuitRole if quits else QAction.MenuRole.NoRole)
    return entry


def _call(handler: Callable[[], object], _ticked: bool = False) -> None:
    handler()


def _shown(key: str) -> str:
    """Return a key as it is written on this system."""
    return QKeySequence(key).toString(QKeySequence.SequenceFormat.NativeText)


def _table(title: str, rows: list[tuple[str, str]]) -> list[str]:
    body = [f"| `{keys}` | {does} |" for keys, does in rows]
    return [f"## {title}", "", "| Key | What it does |", "|---|---|", *body, ""]
