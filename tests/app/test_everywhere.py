"""What holds for every control of the window and its dialogs."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPalette
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLabel,
    QLineEdit,
    QMenu,
    QScrollBar,
    QTextEdit,
    QWidget,
)

from app import program_kit
from patternsim_app.controllers.bench_mark import BLADE, SHOP

CONTROLS = (QAbstractButton, QAbstractItemView, QAbstractSpinBox, QComboBox, QLineEdit, QTextEdit)
OWN = "patternsim_app."


@pytest.fixture(scope="module")
def program(qapp, tmp_path_factory):
    made = program_kit.made(tmp_path_factory.mktemp("own"))
    yield made
    program_kit.closed(made)


@pytest.fixture(autouse=True)
def nothing_is_left_over():
    """The program of this module outlives its tests on purpose."""
    return


def controls(top):
    """Return the controls a user can work in `top`, Qt's own inner parts left out."""
    found = []
    for widget in top.findChildren(QWidget):
        mine = isinstance(widget, CONTROLS) or type(widget).__module__.startswith(OWN)
        inner = isinstance(widget.parent(), (QComboBox, QAbstractSpinBox)) or isinstance(
            widget, (QScrollBar, QMenu)
        )
        inner = inner or widget.objectName().startswith("qt_") or widget.parent() is None
        if mine and not inner and widget.isVisibleTo(top) and widget.focusPolicy():
            found.append(widget)
    return found


def dialogs(program):
    program.desk.exporting.open()
    program.desk.files.new()
    program.desk.helping.open("window")
    yield program.desk.exporting._dialog
    yield program.desk.files._dialog
    yield program.desk.helping._help


@pytest.mark.parametrize("key", [BLADE, SHOP, "stack", "split", "check-weld", "tall"])
def test_every_control_has_a_name(program, key):
    program.desk.mark.move(key)
    QApplication.processEvents()
    nameless = [
        f"{type(one).__name__} {one.objectName()} in {type(one.parent()).__name__}"
        for one in controls(program.window)
        if not one.accessibleName()
    ]
    assert nameless == []


def test_every_control_of_a_dialog_has_a_name(program):
    for dialog in dialogs(program):
        nameless = [type(one).__name__ for one in controls(dialog) if not one.accessibleName()]
        assert nameless == [], dialog
        dialog.close()


def test_all_is_reached_by_tab(program):
    program.desk.mark.move("split")
    QApplication.processEvents()
    window = program.window
    window.activateWindow()
    assert QTest.qWaitForWindowActive(window)
    window.card.setFocus()
    QApplication.processEvents()
    wanted = {
        one
        for one in controls(window)
        if one.focusPolicy() & Qt.FocusPolicy.TabFocus and one.isEnabled()
    }
    reached = set()
    for _ in range(3 * len(wanted) + 20):
        here = QApplication.focusWidget()
        reached.add(here)
        QTest.keyClick(here, Qt.Key.Key_Tab)
    missing = {f"{type(one).__name__}: {one.accessibleName()}" for one in wanted - reached}
    # Buttons of an exclusive row are reached by the arrow keys from the chosen one.
    missing = {one for one in missing if not one.startswith("WordButton")}
    assert missing == set()


def luminance(colour):
    """Relative luminance (WCAG 2.2)."""
    parts = (colour.redF(), colour.greenF(), colour.blueF())
    red, green, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_letters_stand_out_from_their_ground(program, theme):
    from patternsim_app.theme import theme as now

    program.desk.looks.set_theme(theme)
    QApplication.processEvents()
    grounds = [QColor(now().ground), QColor(now().panel), QColor(now().box), QColor(now().chosen)]
    for label in program.window.findChildren(QLabel):
        letters = label.palette().color(QPalette.ColorGroup.Active, label.foregroundRole())
        assert min(contrast(letters, ground) for ground in grounds[:2]) >= 4.5, label.text()
    for name in (now().ink, now().faint):
        assert min(contrast(QColor(name), ground) for ground in grounds) >= 4.5
    program.desk.looks.set_theme("light")


@pytest.mark.parametrize("points", [0, 10])
def test_no_word_is_cut_off(program, points):
    """At the usual size of letters on 1280 x 800, and at twice that on 1920 x 1080."""
    program.desk.looks.resize_letters(points)
    program.window.resize(*((1920, 1080) if points else (1280, 800)))
    program_kit.rest(program)
    cut = []
    for widget in program.window.findChildren(QWidget):
        if not widget.isVisibleTo(program.window) or isinstance(widget.parent(), QComboBox):
            continue
        if isinstance(widget, QLabel) and widget.text() and not widget.wordWrap():
            text = widget.text() if "<" not in widget.text() else ""
            if widget.fontMetrics().horizontalAdvance(text) > widget.width() + 1:
                cut.append(text)
        elif isinstance(widget, QAbstractButton) and widget.sizeHint().width() > widget.width() + 1:
            cut.append(widget.text())
    program.desk.looks.resize_letters(-points)
    assert cut == []


def test_no_key_does_two_things(program):
    keys = [
        sequence.toString()
        for action in program.desk.actions.values()
        for sequence in action.shortcuts()
    ]
    assert len(keys) == len(set(keys))
