"""The table of actions, the menus made of it, and keys that keep out of the way of typing."""

from collections import Counter
from functools import partial

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import (
    QComboBox,
    QLineEdit,
    QListWidget,
    QMainWindow,
    QPlainTextEdit,
    QPushButton,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from patternsim_app.actions import ACTIONS, MENUS, VIEW_KEYS, build_menus, keys_page, set_enabled


class Bench:
    """A window with all menus, a job card and places to type in; counts what is triggered."""

    def __init__(self, qtbot):
        self.window = QMainWindow()
        self.calls = Counter()
        body = QWidget()
        layout = QVBoxLayout(body)
        self.card, self.button = QListWidget(), QPushButton("somewhere else")
        self.line, self.text, self.spin, self.box = (
            QLineEdit(),
            QPlainTextEdit(),
            QSpinBox(),
            QComboBox(),
        )
        self.box.setEditable(True)
        for widget in (self.card, self.button, self.line, self.text, self.spin, self.box):
            layout.addWidget(widget)
        self.window.setCentralWidget(body)
        handlers = {action.id: partial(self.count, action.id) for action in ACTIONS}
        self.made = build_menus(self.window, ACTIONS, handlers, card=self.card)
        qtbot.addWidget(self.window)
        self.window.show()
        qtbot.waitActive(self.window)

    def count(self, name):
        self.calls[name] += 1

    def type_into(self, qtbot, widget, key):
        widget.setFocus()
        stroke = QKeySequence(key)[0]
        qtbot.keyClick(self.window.focusWidget(), stroke.key(), stroke.keyboardModifiers())


@pytest.fixture
def bench(qtbot):
    made = Bench(qtbot)
    with qtbot.waitActive(made.window):
        made.window.activateWindow()
    return made


def test_no_id_and_no_key_is_used_twice():
    assert max(Counter(action.id for action in ACTIONS).values()) == 1
    # A key of the card would clash with the same key of the window, so all must differ.
    keys = Counter(QKeySequence(key).toString() for action in ACTIONS for key in action.keys)
    assert "" not in keys
    assert [key for key, count in keys.items() if count > 1] == []


def test_every_action_explains_itself_in_one_sentence():
    for action in ACTIONS:
        assert action.tip[0].isupper(), action.id
        assert action.tip.endswith("."), action.id
        assert action.words[0].isupper(), action.id


def test_every_action_stands_in_its_menu_where_it_can_be_seen(bench):
    for title in MENUS:
        name = title.replace("&", "")
        menu = bench.window.findChild(QWidget, f"menu-{name.lower()}")
        shown = [entry for entry in menu.actions() if not entry.isSeparator()]
        assert [entry.objectName() for entry in shown] == [a.id for a in ACTIONS if a.menu == name]
        assert all(entry.isVisible() and entry.toolTip() and entry.statusTip() for entry in shown)


def test_underlined_letters_differ_within_a_menu():
    def letter(text):
        return text[text.index("&") + 1].lower()

    assert len({letter(title) for title in MENUS}) == len(MENUS)
    for title in MENUS:
        letters = [letter(action.text) for action in ACTIONS if action.menu == title.replace("&", "")]
        assert len(set(letters)) == len(letters), (title, sorted(letters))


def test_an_action_calls_its_handler_once_and_without_arguments(bench):
    for action in ACTIONS:
        bench.made[action.id].trigger()
    assert bench.calls == Counter(action.id for action in ACTIONS)


@pytest.mark.parametrize(
    ("less", "more"), [("undo", None), (None, "dance")], ids=["no handler", "no action"]
)
def test_a_table_that_does_not_fit_its_handlers_is_refused(qtbot, less, more):
    window = QMainWindow()
    qtbot.addWidget(window)
    handlers = {action.id: print for action in ACTIONS if action.id != less}
    if more:
        handlers[more] = print
    with pytest.raises(ValueError, match=less or more):
        build_menus(window, ACTIONS, handlers)


@pytest.mark.parametrize(
    ("name", "key"), [(a.id, key) for a in ACTIONS for key in a.keys if a.scope == "window"]
)
def test_a_key_of_the_window_acts_wherever_nothing_is_typed(bench, qtbot, name, key):
    bench.type_into(qtbot, bench.button, key)
    assert bench.calls == {name: 1}


LETTERS = [key for action in ACTIONS for key in action.keys if len(key) == 1]


def test_there_are_letters_to_be_tried():
    assert {"1", "2", "O", "T", "F", "U", "[", "]", "+", "-"} <= set(LETTERS)


@pytest.mark.parametrize("place", ["line", "text", "spin", "box"])
@pytest.mark.parametrize("key", [*LETTERS, "Home", "Del", "Space"])
def test_a_letter_typed_into_text_is_text_and_nothing_else(bench, qtbot, place, key):
    bench.type_into(qtbot, getattr(bench, place), key)
    assert not bench.calls


def test_typed_letters_arrive(bench, qtbot):
    for key in LETTERS:
        bench.line.setFocus()
        qtbot.keyClicks(bench.line, key)
    assert bench.line.text() == "".join(LETTERS)
    assert not bench.calls


@pytest.mark.parametrize(
    ("name", "key"), [(a.id, key) for a in ACTIONS for key in a.keys if a.scope == "card"]
)
def test_keys_of_the_job_card_act_there_alone(bench, qtbot, name, key):
    bench.type_into(qtbot, bench.button, key)
    assert name not in bench.calls
    bench.type_into(qtbot, bench.card, key)
    assert bench.calls[name] == 1


def test_keys_of_the_job_card_leave_a_number_box_within_it_alone(bench, qtbot):
    editor = QLineEdit("x", bench.card)
    editor.show()
    for key in ("Space", "Del", "Ctrl+C"):
        bench.type_into(qtbot, editor, key)
    assert not bench.calls


def test_one_of_a_group_is_ticked(bench):
    bench.made["show-etched"].trigger()
    bench.made["show-layers"].trigger()
    assert bench.made["show-layers"].isChecked()
    assert not bench.made["show-etched"].isChecked()


def test_what_cannot_be_done_is_grey(bench):
    set_enabled(bench.made, {"step", "undo"})
    for action in ACTIONS:
        assert bench.made[action.id].isEnabled() == (action.enabled in {"always", "step", "undo"}), (
            action.id
        )
    set_enabled(bench.made, {action.enabled for action in ACTIONS})
    assert all(entry.isEnabled() for entry in bench.made.values())


def test_the_page_of_keys_lists_every_key_once():
    page = keys_page()
    for action in ACTIONS:
        for key in action.keys[:1]:
            native = QKeySequence(key).toString(QKeySequence.SequenceFormat.NativeText)
            assert page.count(f"| `{native}` |") == 1, native
            assert action.tip in page
    assert all(does in page for _, _, does in VIEW_KEYS)


def test_quitting_goes_where_the_system_wants_it_and_nothing_else_does(bench):
    roles = {name: entry.menuRole() for name, entry in bench.made.items()}
    special = [name for name, role in roles.items() if role != type(role).NoRole]
    assert special == ["quit"]


def test_keys_of_the_card_have_no_place_without_it(qtbot):
    window = QMainWindow()
    qtbot.addWidget(window)
    made = build_menus(window, ACTIONS, {action.id: print for action in ACTIONS})
    assert made["skip-steps"].shortcutContext() == Qt.ShortcutContext.WidgetWithChildrenShortcut
    assert made["save"].shortcutContext() == Qt.ShortcutContext.WindowShortcut
