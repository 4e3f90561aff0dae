"""Windows over the main one: pictures to be written, a new job, the help, what is not saved."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QLabel,
    QLineEdit,
    QListWidget,
    QMessageBox,
    QPlainTextEdit,
    QPushButton,
    QTextBrowser,
    QTreeWidget,
    QWidget,
)

from patternsim import pages
from patternsim.job import starting_jobs
from patternsim_app.dialogs.ask_to_save import ask_to_save, question
from patternsim_app.dialogs.crash_dialog import CrashDialog
from patternsim_app.dialogs.export_dialog import ExportDialog, file_stem, free_name
from patternsim_app.dialogs.help_window import HelpWindow
from patternsim_app.dialogs.new_job_dialog import BarsWish, NewJobDialog, title_of
from patternsim_app.resources import USUAL_PT, use_font
from patternsim_app.shown import Preview
from patternsim_app.theme import DARK, LIGHT, em, use_theme


def named(dialog, kind, name):
    """Return the one widget of a kind that has this accessible name."""
    (found,) = [one for one in dialog.findChildren(kind) if one.accessibleName() == name]
    return found


def choose(dialog, name, words):
    box = named(dialog, QComboBox, name)
    index = box.findText(words)
    assert index >= 0, [box.itemText(k) for k in range(box.count())]
    box.setCurrentIndex(index)


# --- pictures to be written


@pytest.fixture
def export(qtbot, tmp_path):
    made = ExportDialog()
    qtbot.addWidget(made)
    offer(made, tmp_path)
    made.show()
    return made


def offer(dialog, folder, **changes):
    told = {
        "name": "Feather from W", "step": ("split", "step 26, Split"), "has_blade": True,
        "folder": str(folder), "dpi": 300.0, "paper": "A4", "units": "mm",
    }  # fmt: skip
    dialog.set_job(**{**told, **changes})


def named_path(export):
    return Path(named(export, QLineEdit, "File").text())


def type_path(export, qtbot, text):
    line = named(export, QLineEdit, "File")
    line.selectAll()
    qtbot.keyClicks(line, str(text))


def write(export, qtbot):
    with qtbot.waitSignal(export.wanted) as told:
        named(export, QPushButton, "Write").click()
    return told.args[0]


def state(export):
    return named(export, QLabel, "How it went").text()


def test_the_file_is_named_after_job_side_and_day(export, tmp_path):
    assert named_path(export) == tmp_path / f"feather-from-w-mark-side-{date.today():%Y-%m-%d}.png"
    choose(export, "What", "Off side of the blade, etched")
    choose(export, "Kind of file", "TIFF")
    assert named_path(export) == tmp_path / f"feather-from-w-off-side-{date.today():%Y-%m-%d}.tif"


@pytest.mark.parametrize(
    ("job", "stem"),
    [
        ("Feather: 2/3", "feather-2-3"),
        ('a<b>|c?"*d', "a-b-c-d"),
        ("Müller-Öse", "müller-öse"),
        ("../../etc", "etc"),
        ("...", "job"),
        ("", "job"),
        ("x" * 300, "x" * 60),
        ("CON", "con"),
    ],
)
def test_a_name_of_a_job_becomes_a_name_of_a_file(job, stem, tmp_path):
    made = file_stem(job, "mark-side", date(2026, 11, 25))
    assert made == f"{stem}-mark-side-2026-11-25"
    (tmp_path / made).touch()


def test_nothing_is_written_over(export, qtbot, tmp_path):
    first = named_path(export)
    first.touch()
    offer(export, tmp_path)
    assert named_path(export).name == f"{first.stem}-2.png"
    typed = tmp_path / "mine.png"
    typed.touch()
    (tmp_path / "mine-2.png").touch()
    type_path(export, qtbot, typed)
    assert write(export, qtbot).path == str(tmp_path / "mine-3.png")


def test_a_free_name_stays_as_it_is(tmp_path):
    assert free_name(tmp_path / "x.png") == tmp_path / "x.png"


def test_a_typed_name_gets_the_ending_of_its_kind(export, qtbot, tmp_path):
    choose(export, "Kind of file", "JPEG")
    type_path(export, qtbot, tmp_path / "feather 2.5")
    assert write(export, qtbot).path == str(tmp_path / "feather 2.5.jpg")


def test_another_kind_changes_the_ending_and_nothing_else(export, qtbot, tmp_path):
    type_path(export, qtbot, tmp_path / "v2.5.png")
    choose(export, "Kind of file", "TIFF")
    assert named_path(export) == tmp_path / "v2.5.tif"
    type_path(export, qtbot, tmp_path / "v2.5")
    choose(export, "Kind of file", "PNG")
    assert named_path(export) == tmp_path / "v2.5"


@pytest.mark.parametrize(
    ("words", "number", "dpi", "width"),
    [
        ("True size, 300 dots an inch", None, 300.0, None),
        ("True size, 600 dots an inch", None, 600.0, None),
        ("True size, other", "240", 240.0, None),
        ("So many pixels wide", "2*1600", 300.0, 3200),
    ],
)
def test_the_size_is_told_as_it_was_asked_for(export, qtbot, words, number, dpi, width):
    choose(export, "How large", words)
    if number:
        line = named(export, QLineEdit, "Dots an inch, or pixels")
        assert line.isVisible()
        line.setText(number)
    wish = write(export, qtbot)
    assert (wish.dpi, wish.width) == (dpi, width)


@pytest.mark.parametrize(
    ("words", "number", "told"),
    [
        ("True size, other", "5", "10 to 2400"),
        ("True size, other", "many", "cannot be read"),
        ("So many pixels wide", "10", "64 to 40000"),
        ("So many pixels wide", "", "nothing is written"),
    ],
)
def test_a_size_that_cannot_be_is_told_and_nothing_is_started(export, qtbot, words, number, told):
    choose(export, "How large", words)
    named(export, QLineEdit, "Dots an inch, or pixels").setText(number)
    with qtbot.assertNotEmitted(export.wanted):
        named(export, QPushButton, "Write").click()
    assert told in state(export)


@pytest.mark.parametrize(("text", "told"), [("", "a name"), ("/no/such/place/x.png", "no folder")])
def test_a_place_that_cannot_be_is_told(export, qtbot, text, told):
    named(export, QLineEdit, "File").setText(text)
    with qtbot.assertNotEmitted(export.wanted):
        named(export, QPushButton, "Write").click()
    assert told in state(export)


def test_a_folder_is_no_name_of_a_file(export, tmp_path):
    named(export, QLineEdit, "File").setText(str(tmp_path))
    assert export.wish() == "Give the file a name."


def test_the_resolution_of_last_time_is_offered_again(export, tmp_path):
    how = named(export, QComboBox, "How large")
    for dpi, words in ((600.0, "True size, 600 dots an inch"), (360.0, "True size, other")):
        offer(export, tmp_path, dpi=dpi)
        assert how.currentText() == words
        assert export.wish().dpi == dpi


# Sheets after ISO 216 (A4 210 x 297, A3 297 x 420 mm) and ANSI A (8.5 x 11 in), 10 mm left free.
@pytest.mark.parametrize(
    ("paper", "long", "fits"),
    [("A4", 277.0, True), ("A4", 279.0, False), ("A3", 400.0, True), ("A3", 401.0, False),
     ("Letter", 259.0, True), ("Letter", 260.0, False)],
)  # fmt: skip
def test_whether_true_size_fits_on_the_paper(export, tmp_path, paper, long, fits):
    offer(export, tmp_path, paper=paper)
    look(export, size_mm=(long, 50.0))
    words = comes_to(export)
    assert (f" fits on {paper}" in words) == fits
    assert (f"does not fit on {paper}" in words) == (not fits)


def look(export, *, what="mark-side", after="", size_mm=(254.0, 76.2)):
    grey = np.full((90, 300, 4), 200, np.uint8)
    export.show_preview(Preview(what=what, after=after, picture=grey, size_mm=size_mm))


def comes_to(export):
    return named(export, QLabel, "What it comes to").text()


# 254 x 76.2 mm is 10 x 3 inches.
@pytest.mark.parametrize(
    ("words", "number", "units", "told"),
    [
        ("True size, 300 dots an inch", "", "mm",
         "254 × 76 mm, about 3000 × 900 pixels, 300 dots an inch."),
        ("True size, 150 dots an inch", "", "in",
         '10 in × 3 in, about 1500 × 450 pixels, 150 dots an inch.'),
        ("True size, other", "72", "mm", "254 × 76 mm, about 720 × 216 pixels, 72 dots an inch."),
        ("So many pixels wide", "1200", "mm",
         "254 × 76 mm, 1200 pixels wide, about 360 high, 120 dots an inch."),
    ],
)  # fmt: skip
def test_what_the_picture_comes_to_is_told(export, tmp_path, words, number, units, told):
    offer(export, tmp_path, units=units)
    look(export)
    choose(export, "How large", words)
    if number:
        named(export, QLineEdit, "Dots an inch, or pixels").setText(number)
    said = comes_to(export).split("\n")[0]
    assert said.replace('"', " in").replace("  ", " ") == told


def test_a_size_that_cannot_be_is_told_where_the_size_is_told(export):
    look(export)
    choose(export, "How large", "True size, other")
    named(export, QLineEdit, "Dots an inch, or pixels").setText("3")
    assert "10 to 2400 can" in comes_to(export)


def test_the_picture_of_another_choice_is_asked_for_and_an_old_one_passed_over(export, qtbot):
    picture = named(export, QWidget, "How it will look")
    look(export)
    assert picture.has_picture
    assert not picture.words
    with qtbot.waitSignal(export.preview_wanted) as told:
        choose(export, "What", "Section after step 26, Split")
    assert told.args == ["section", "split"]
    assert picture.words
    look(export)  # late, and of the choice before
    assert picture.words
    look(export, what="section", after="split", size_mm=(96.0, 96.0))
    assert not picture.words
    assert comes_to(export).startswith("96 × 96 mm")
    export.show_no_preview("after step split there is no piece to draw")
    assert not picture.has_picture
    assert picture.accessibleDescription().startswith("After step split")
    assert comes_to(export) == ""


def test_without_a_blade_there_are_no_sides_to_write(export, tmp_path):
    offer(export, tmp_path, has_blade=False, step=("", ""))
    box = named(export, QComboBox, "What")
    assert [box.itemData(k) for k in range(box.count())] == [("section", ""), ("blank", "")]


def test_what_was_chosen_stays_chosen_when_it_is_still_there(export, tmp_path):
    choose(export, "What", "Off side of the blade, etched")
    offer(export, tmp_path, step=("draw-2", "step 9, Draw"))
    assert export.wish().what == "off-side"


def test_while_it_is_written_it_can_be_called_off_and_not_begun_again(export, qtbot):
    write(export, qtbot)
    go, stop = named(export, QPushButton, "Write"), named(export, QPushButton, "Cancel the writing")
    assert not go.isEnabled()
    export.set_progress(0.4, "etching the mark side")
    assert "Etching the mark side" in state(export)
    with qtbot.waitSignal(export.cancel_wanted):
        stop.click()
    export.set_failed("called off; nothing was written")
    assert go.isEnabled()
    assert not stop.isVisible()
    assert state(export) == "Called off; nothing was written"


def test_opened_again_while_it_is_written_it_still_shows_that(export, qtbot, tmp_path):
    write(export, qtbot)
    export.close()
    offer(export, tmp_path)
    export.show()
    assert named(export, QPushButton, "Cancel the writing").isVisible()
    assert not named(export, QPushButton, "Write").isEnabled()


def test_when_it_is_written_the_folder_can_be_shown(export, qtbot, monkeypatch):
    wish = write(export, qtbot)
    Path(wish.path).touch()
    export.set_written(wish.path)
    shown = []
    monkeypatch.setattr(
        "patternsim_app.dialogs.export_dialog.QDesktopServices.openUrl", lambda url: shown.append(url)
    )
    named(export, QPushButton, "Show the folder").click()
    assert shown == [QUrl.fromLocalFile(str(Path(wish.path).parent))]
    assert wish.path in state(export)
    assert named_path(export) != Path(wish.path)  # the next one goes beside it


# --- a new job


@pytest.fixture
def new_job(qtbot):
    made = NewJobDialog(starting_jobs())
    qtbot.addWidget(made)
    made.show()
    return made


def enter(dialog, qtbot, name, text):
    box = named(dialog, QLineEdit, name)
    box.setFocus()
    box.selectAll()
    qtbot.keyClicks(box, text)
    qtbot.keyClick(box, Qt.Key.Key_Return)


def test_every_starting_job_is_offered_by_title_and_words(new_job):
    rows = named(new_job, QListWidget, "Starting jobs")
    spoken = [rows.item(k).data(Qt.ItemDataRole.AccessibleTextRole) for k in range(rows.count())]
    assert spoken == [f"{title_of(name)}: {about}" for name, about in starting_jobs()]


def test_a_starting_job_is_started_by_key_and_by_button(new_job, qtbot):
    rows = named(new_job, QListWidget, "Starting jobs")
    rows.setCurrentRow(1)
    rows.setFocus()
    with qtbot.waitSignal(new_job.start_wanted) as told:
        qtbot.keyClick(rows, Qt.Key.Key_Return)
    assert told.args == [starting_jobs()[1][0]]
    assert not new_job.isVisible()
    new_job.show()
    with qtbot.waitSignal(new_job.start_wanted):
        named(new_job, QPushButton, "Start with this one").click()


def test_a_double_press_starts_once(new_job, qtbot):
    started = []
    new_job.start_wanted.connect(started.append)
    rows = named(new_job, QListWidget, "Starting jobs")
    rows.setFocus()
    qtbot.keyClick(rows, Qt.Key.Key_Return)
    assert len(started) == 1


def test_own_bars_are_told_exactly(new_job, qtbot):
    enter(new_job, qtbot, "Thickness of the first steel", '1/8"')
    enter(new_job, qtbot, "Thickness of the second steel", "1,6")
    enter(new_job, qtbot, "Strips of each steel", "12")
    enter(new_job, qtbot, "Width of the strips", '2"')
    enter(new_job, qtbot, "Length of the strips", "150 mm")
    choose(new_job, "First steel", "1095")
    with qtbot.waitSignal(new_job.bars_wanted) as told:
        named(new_job, QPushButton, "Stack these").click()
    assert told.args[0] == BarsWish(
        first_steel="1095", first_mm=3.175, second_steel="15N20", second_mm=1.6, each=12,
        width_mm=50.8, length_mm=150.0,
    )  # fmt: skip


def test_height_and_weight_of_the_stack_are_told(new_job, qtbot):
    # By hand, in cm and g: densities as in the table of steels (handbook values).
    told = named(new_job, QLabel, "What it comes to")
    grams = 20 * 5.0 * 12.0 * (0.2 * 7.85 + 0.125 * 7.86)
    assert told.text() == f"40 strips, loose 65 mm high, {grams / 1000:.2f} kg"
    enter(new_job, qtbot, "Strips of each steel", "10")
    assert told.text() == f"20 strips, loose 32.5 mm high, {grams / 2000:.2f} kg"


def test_other_units_change_no_length(new_job):
    before = new_job.wish()
    new_job.set_units("in")
    assert new_job.wish() == before
    assert '"' in named(new_job, QLineEdit, "Width of the strips").text()
    new_job.set_units("mm")
    assert new_job.wish() == before


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("Width of the strips", "wide"),
        ("Length of the strips", "0"),
        ("Thickness of the first steel", "-2"),
        ("Strips of each steel", "2.5"),
        ("Strips of each steel", "501"),
    ],
)
def test_bars_that_cannot_be_are_told_and_nothing_is_lost(new_job, qtbot, name, text):
    enter(new_job, qtbot, name, text)
    with qtbot.assertNotEmitted(new_job.bars_wanted):
        named(new_job, QPushButton, "Stack these").click()
    assert new_job.isVisible()
    assert named(new_job, QLabel, "What it comes to").text().startswith(name)
    assert named(new_job, QLineEdit, name).text() == text


# --- the help


@pytest.fixture
def help_window(qtbot):
    made = HelpWindow(tuple((one.name, one.title, one.group) for one in pages.topics()))
    qtbot.addWidget(made)
    made.page_wanted.connect(lambda name: made.show_page(name, pages.page(name)))
    made.search_wanted.connect(lambda words: made.set_found(tuple(t.name for t in pages.find(words))))
    made.show_page("window", pages.page("window"))
    made.show()
    return made


def text_of(help_window):
    return named(help_window, QTextBrowser, "Page").toPlainText()


def topic(help_window, title):
    tree = named(help_window, QTreeWidget, "Topics")
    (found,) = tree.findItems(title, Qt.MatchFlag.MatchExactly | Qt.MatchFlag.MatchRecursive)
    return found


def test_a_topic_shows_its_page(help_window):
    tree = named(help_window, QTreeWidget, "Topics")
    tree.setCurrentItem(topic(help_window, "Split down the middle"))
    assert text_of(help_window).startswith("Split down the middle")
    assert "Split down the middle" in help_window.windowTitle()


def test_links_lead_to_pages_and_back_leads_back(help_window):
    page = named(help_window, QTextBrowser, "Page")
    back = named(help_window, QPushButton, "Back to the page before")
    first = text_of(help_window)
    assert not back.isEnabled()
    page.anchorClicked.emit(QUrl("feather.md"))
    second = text_of(help_window)
    page.anchorClicked.emit(QUrl("split.md"))
    assert len({first, second, text_of(help_window)}) == 3
    back.click()
    assert text_of(help_window) == second
    back.click()
    assert text_of(help_window) == first
    assert not back.isEnabled()


def test_a_search_leaves_what_was_found_and_enter_opens_it(help_window, qtbot):
    search = named(help_window, QLineEdit, "Search the help")
    qtbot.keyClicks(search, "wedge")
    found = {one.name for one in pages.find("wedge")}
    hidden = {t.name: topic(help_window, t.title).isHidden() for t in pages.topics()}
    assert found
    assert len(found) < len(hidden)
    assert {name for name, away in hidden.items() if not away} == found
    qtbot.keyClick(search, Qt.Key.Key_Return)
    assert "wedge" in text_of(help_window).lower()
    search.clear()
    assert not any(topic(help_window, t.title).isHidden() for t in pages.topics())


def test_links_follow_the_colours(help_window, qapp, qtbot):
    page = named(help_window, QTextBrowser, "Page")
    help_window.show_page("split", pages.page("split"))
    bar = page.verticalScrollBar()
    bar.setValue(40)
    for theme in (DARK, LIGHT):
        use_theme(theme, qapp)
        assert {colour.name() for colour in link_colours(page.document())} == {theme.fine.lower()}
        assert bar.value() == 40


def link_colours(document):
    block = document.begin()
    while block.isValid():
        for piece in block:
            form = piece.fragment().charFormat()
            if form.isAnchor():
                yield form.foreground().color()
        block = block.next()


def test_no_page_is_cut_off_at_double_text_size(large_text, help_window):
    help_window.resize(1300, 900)
    bar = named(help_window, QTextBrowser, "Page").horizontalScrollBar()
    for one in pages.topics():
        help_window.show_page(one.name, pages.page(one.name))
        QApplication.sendPostedEvents()
        assert bar.maximum() <= 1, one.name


# --- what is not saved


@pytest.mark.parametrize(
    ("button", "answer"),
    [("Save", "save"), ("Leave without saving", "throw-away"), ("Stay here", "stay")],
)
def test_the_answer_follows_the_button(qtbot, monkeypatch, button, answer):
    def press(box):
        next(one for one in box.buttons() if one.text() == button).click()
        return 0

    monkeypatch.setattr(QMessageBox, "exec", press)
    assert ask_to_save(None, "Feather") == answer


def test_esc_stays(qtbot):
    box = question(None, "Feather")
    qtbot.addWidget(box)
    assert box.escapeButton().text() == "Stay here"
    assert box.defaultButton().text() == "Save"
    assert "Feather" in box.text()


def test_a_name_is_shown_as_it_is_whatever_signs_it_holds(export):
    assert question(None, "Feather <b>2</b>").textFormat() == Qt.TextFormat.PlainText
    export.set_failed("There is no folder <b>here</b>.")
    assert named(export, QLabel, "How it went").textFormat() == Qt.TextFormat.PlainText


# --- all of them


DIALOGS = {
    "new job": lambda: NewJobDialog(starting_jobs()),
    "export": ExportDialog,
    "help": lambda: HelpWindow((("a", "A", "Group"),)),
    "fault": lambda: CrashDialog("Your job was kept.", "details", None),
}


CONTROLS = (QAbstractButton, QComboBox, QLineEdit, QPlainTextEdit, QTreeWidget, QListWidget)


@pytest.mark.parametrize("which", DIALOGS)
def test_every_control_has_a_name_and_is_reached_by_keys(qtbot, which):
    dialog = DIALOGS[which]()
    qtbot.addWidget(dialog)
    dialog.show()
    controls = [one for kind in CONTROLS for one in dialog.findChildren(kind) if one.isVisible()]
    # What Qt puts inside its own widgets (clear buttons, the lists of combo boxes) is Qt's.
    own = [one for one in controls if not one.objectName().startswith("qt_") and "Private" not in
           type(one).__name__ and not isinstance(one.parent(), QLineEdit)]  # fmt: skip
    assert len(own) >= 3
    for one in own:
        assert one.accessibleName(), one
        assert one.focusPolicy() & Qt.FocusPolicy.TabFocus, one.accessibleName()
        assert one.height() >= 24 or isinstance(one, QLineEdit), one.accessibleName()


@pytest.mark.parametrize("which", ["new job", "export"])
def test_the_wheel_changes_nothing(qtbot, which):
    dialog = DIALOGS[which]()
    qtbot.addWidget(dialog)
    dialog.show()
    boxes = [box for box in dialog.findChildren(QComboBox) if box.count() > 1]
    assert boxes
    for box in boxes:
        box.setCurrentIndex(0)
        box.setFocus()
        turn = QWheelEvent(
            QPointF(5, 5), box.mapToGlobal(QPointF(5, 5)), QPoint(), QPoint(0, -120),
            Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QApplication.sendEvent(box, turn)
        assert box.currentIndex() == 0


@pytest.mark.parametrize("which", DIALOGS)
def test_no_words_are_cut_off_at_double_text_size(qtbot, large_text, which):
    dialog = DIALOGS[which]()
    qtbot.addWidget(dialog)
    dialog.show()
    for one in dialog.findChildren(QPushButton) + dialog.findChildren(QLabel):
        if one.isVisible() and one.text() and not (isinstance(one, QLabel) and one.wordWrap()):
            assert one.width() >= one.fontMetrics().horizontalAdvance(one.text()), one.text()


def shown_whole(dialog):
    """Check that no button is pressed flat and no words are cut off."""
    for one in dialog.findChildren(QPushButton):
        if one.isVisible():
            assert one.height() >= one.sizeHint().height(), one.text()
            assert one.width() >= one.fontMetrics().horizontalAdvance(one.text()), one.text()
    for box in dialog.findChildren(QLineEdit):
        if box.isVisible() and box.accessibleName() not in ("File", "Search the help"):
            assert box.width() >= 1.2 * box.fontMetrics().horizontalAdvance(box.text()), box.text()


@pytest.mark.parametrize("which", DIALOGS)
def test_letters_may_grow_and_shrink_while_a_dialog_is_there(qtbot, qapp, which):
    dialog = DIALOGS[which]()
    qtbot.addWidget(dialog)
    dialog.show()
    for points in (2 * USUAL_PT, USUAL_PT):
        use_font(qapp, points)
        use_theme(LIGHT, qapp)
        qtbot.waitUntil(lambda: dialog._dressed_for == em(dialog))
        qtbot.wait(1)
        shown_whole(dialog)
        for one in dialog.findChildren(QLabel) + dialog.findChildren(QPlainTextEdit):
            assert 0.85 * points <= one.font().pointSizeF() <= 1.25 * points, one.accessibleName()


@pytest.mark.parametrize("which", DIALOGS)
def test_a_dialog_is_no_larger_than_the_screen_if_its_words_allow(qtbot, large_text, which):
    dialog = DIALOGS[which]()
    qtbot.addWidget(dialog)
    dialog.show()
    room = dialog.screen().availableSize().expandedTo(dialog.minimumSizeHint())
    assert dialog.width() <= room.width()
    assert dialog.height() <= room.height()


def test_a_dialog_the_user_made_larger_stays_so(qtbot, qapp, new_job):
    use_font(qapp, USUAL_PT + 2)
    new_job.resize(1500, 1100)
    use_theme(LIGHT, qapp)
    qtbot.waitUntil(lambda: new_job._dressed_for == em(new_job))
    assert (new_job.width(), new_job.height()) == (1500, 1100)
