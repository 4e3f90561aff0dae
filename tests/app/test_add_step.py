import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QAbstractItemModelTester, QTest

from patternsim.kinds import step_kinds
from patternsim_app.models.kinds_model import KindsModel
from patternsim_app.shown import StepKind
from patternsim_app.views.add_step import AddStep

KINDS = tuple(
    StepKind(kind=kind.kind, title=kind.title, group=kind.group, words=kind.words, about=kind.about)
    for kind in step_kinds()
)


@pytest.fixture
def model(qapp):
    made = KindsModel()
    made.tester = QAbstractItemModelTester(made, QAbstractItemModelTester.FailureReportingMode.Fatal)
    made.set_kinds(KINDS)
    return made


@pytest.fixture
def popup(qtbot):
    made = AddStep()
    qtbot.addWidget(made)
    made.set_kinds(KINDS)
    made.open_at(QPoint(20, 20), "corners")
    return made


def offered(model):
    kinds = (model.kind(model.index(at)) for at in range(model.rowCount()))
    return [kind.kind for kind in kinds if kind is not None]


def best(model):
    return model.kind(model.index(model.best())).title


def entry(popup):
    return popup.focusWidget()


def marked(popup):
    return popup.marked.kind


def test_all_kinds_are_offered_under_their_groups(model):
    assert sorted(offered(model)) == sorted(kind.kind for kind in KINDS)
    assert model.rowCount() == len(KINDS) + len({kind.group for kind in KINDS})
    first = model.index(0)
    assert model.kind(first) is None
    assert not model.flags(first) & Qt.ItemFlag.ItemIsSelectable
    assert first.data() == KINDS[0].group


@pytest.mark.parametrize(
    ("typed", "title"),
    [
        ("jump", "Upset"),
        ("fire weld", "Forge weld"),
        ("UPSET", "Upset"),
        ("  split ", "Split down the middle"),
        ("weld", "Forge weld"),
        ("press", "Lay on edge and press"),
        ("draw d", "Draw out"),
    ],
)
def test_typing_finds_a_step_by_what_smiths_call_it(model, typed, title):
    model.set_typed(typed)
    assert best(model) == title


def test_a_group_finds_all_its_steps(model):
    model.set_typed("grinder")
    assert offered(model) == [kind.kind for kind in KINDS if kind.group == "Grinder"]


def test_words_nobody_uses_find_nothing(model):
    model.set_typed("zzzz")
    assert model.rowCount() == 0
    assert model.best() == -1
    model.set_typed("")
    assert len(offered(model)) == len(KINDS)


def test_enter_takes_the_step_and_says_where(popup, qtbot):
    QTest.keyClicks(entry(popup), "jump")
    with qtbot.waitSignal(popup.chosen) as heard:
        QTest.keyClick(entry(popup), Qt.Key.Key_Return)
    assert heard.args == ["upset", "corners"]
    assert not popup.isVisible()


def test_arrows_go_from_step_to_step_over_headings(popup):
    seen = [marked(popup)]
    for _ in range(len(KINDS) - 1):
        QTest.keyClick(entry(popup), Qt.Key.Key_Down)
        seen.append(marked(popup))
    assert sorted(seen) == sorted(kind.kind for kind in KINDS)
    QTest.keyClick(entry(popup), Qt.Key.Key_Down)
    assert marked(popup) == seen[-1]
    QTest.keyClick(entry(popup), Qt.Key.Key_Up)
    assert marked(popup) == seen[-2]


def test_esc_closes_and_adds_nothing(popup, qtbot):
    with qtbot.assertNotEmitted(popup.chosen), qtbot.waitSignal(popup.closed):
        QTest.keyClick(entry(popup), Qt.Key.Key_Escape)
    assert not popup.isVisible()


def test_enter_with_nothing_found_adds_nothing_and_says_so(popup, qtbot):
    QTest.keyClicks(entry(popup), "zzzz")
    with qtbot.assertNotEmitted(popup.chosen):
        QTest.keyClick(entry(popup), Qt.Key.Key_Return)
    assert popup.isVisible()
    assert "zzzz" in popup.told
    QTest.keyClick(entry(popup), Qt.Key.Key_Escape)


def test_a_click_takes_a_step_and_a_click_on_a_heading_does_not(popup, qtbot):
    ground = popup.list.viewport()
    with qtbot.assertNotEmitted(popup.chosen):
        place = popup.list.visualRect(popup.list.model().index(0, 0)).center()
        QTest.mouseClick(ground, Qt.MouseButton.LeftButton, pos=place)
    place = popup.list.visualRect(popup.list.model().index(2, 0)).center()
    with qtbot.waitSignal(popup.chosen) as heard:
        QTest.mouseClick(ground, Qt.MouseButton.LeftButton, pos=place)
    assert heard.args == [KINDS[1].kind, "corners"]


def test_opening_again_forgets_what_was_typed(popup):
    QTest.keyClicks(entry(popup), "jump")
    popup.close()
    popup.open_at(QPoint(5, 5), "")
    assert marked(popup) == KINDS[0].kind
    popup.close()


def test_it_stays_on_the_screen(popup):
    area = popup.screen().availableGeometry()
    popup.open_at(area.bottomRight(), "")
    assert area.contains(popup.geometry())
    popup.close()


def test_everything_has_a_name_for_screen_readers(popup):
    assert popup.accessibleName() == "Add a step"
    assert entry(popup).accessibleName()
    assert popup.list.accessibleName()
    index = popup.list.model().index(1, 0)
    assert KINDS[0].about in index.data(Qt.ItemDataRole.AccessibleTextRole)
    popup.close()


def test_large_letters_are_not_cut_off(large_text, qtbot):
    made = AddStep()
    qtbot.addWidget(made)
    made.set_kinds(KINDS)
    made.open_at(QPoint(0, 0), "")
    row = made.list.visualRect(made.list.model().index(1, 0))
    assert row.height() >= 2 * made.fontMetrics().height()
    made.close()
