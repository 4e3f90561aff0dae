import dataclasses
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QHelpEvent
from PySide6.QtWidgets import QApplication, QToolTip

from patternsim_app.controllers.steel_figures import steel_spare
from patternsim_app.painting import array_of
from patternsim_app.resources import use_font
from patternsim_app.shown import SteelColumn, SteelShown
from patternsim_app.theme import LIGHT
from patternsim_app.views.steel_line import SteelLine

# Kilograms left after each step of a forged feather, from the start to two drawn blades.
LEFT_KG = (
    3.59,
    3.45,
    3.37,
    3.30,
    3.23,
    3.20,
    2.85,
    2.75,
    2.42,
    2.32,
    1.86,
    1.81,
    1.77,
    1.45,
    1.34,
    1.25,
)


def columns(kgs=LEFT_KG, grades=None, worked=99):
    before, made = kgs[0], []
    for index, kg in enumerate(kgs):
        made.append(
            SteelColumn(
                key=f"s{index}",
                number=index + 1,
                kg=kg,
                lost_kg=before - kg,
                grade=(grades or {}).get(index, "fine"),
                worked=index < worked,
            )
        )
        before = kg
    return tuple(made)


def steel(need=0.98, **rest):
    words = "bar 45 mm longer than needed"
    return SteelShown(columns=columns(**rest), start_kg=3.59, need_kg=need, words=words)


@pytest.fixture
def line(qtbot):
    made = SteelLine()
    qtbot.addWidget(made)
    made.set_shown(steel())
    made.resize(1240, made.sizeHint().height())
    made.show()
    return made


def pixels(line):
    return array_of(line.grab().toImage())


def tone(name):
    made = QColor(name)
    return (made.red(), made.green(), made.blue())


def test_heights_are_in_proportion_to_the_steel(line):
    boxes = [line.places().column(index) for index in range(len(LEFT_KG))]
    assert len({box.bottom() for box in boxes}) == 1
    assert [box.height() / boxes[0].height() for box in boxes] == pytest.approx(
        [kg / LEFT_KG[0] for kg in LEFT_KG], rel=1e-9
    )


def test_columns_stand_apart_in_the_order_of_the_steps(line):
    boxes = [line.places().column(index) for index in range(len(LEFT_KG))]
    for one, other in pairwise(boxes):
        assert one.right() < other.left()


def test_a_trace_of_steel_is_still_seen(line):
    line.set_shown(steel(kgs=(100.0, 50.0, 0.01, 0.0)))
    assert line.places().column(2).height() >= 2.0
    assert line.places().column(3).height() == 0.0


def test_steel_and_losses_are_drawn_in_their_tones(line):
    seen = pixels(line)
    places = line.places()
    middle = places.column(6).center()
    assert tuple(seen[round(middle.y()) - 3, round(middle.x()), :3]) == tone(LIGHT.steel)
    cap = round(places.column(6).top()) - 2
    assert tuple(seen[cap, round(middle.x()), :3]) != tone(LIGHT.steel)
    assert tuple(seen[cap, round(middle.x()), :3]) != tone(LIGHT.ground)


def test_the_current_column_stands_out(line):
    line.set_current("s10")
    middle = line.places().column(10).center()
    seen = pixels(line)
    assert tuple(seen[round(middle.y()) - 6, round(middle.x()), :3]) == tone(LIGHT.chosen_line)


def test_setting_the_current_step_says_nothing(line, qtbot):
    with qtbot.assertNotEmitted(line.chosen):
        line.set_current("s3")
    assert line.current == "s3"


def test_a_click_anywhere_over_a_column_chooses_its_step(line, qtbot):
    place = line.places().place(8)
    for y in (1, line.height() // 2, line.height() - 2):
        with qtbot.waitSignal(line.chosen) as caught:
            line.set_current("")
            qtbot.mouseClick(line, Qt.MouseButton.LeftButton, pos=QPoint(round(place.center().x()), y))
        assert caught.args == ["s8"]


def test_a_click_beside_the_columns_chooses_nothing(line, qtbot):
    with qtbot.assertNotEmitted(line.chosen):
        qtbot.mouseClick(line, Qt.MouseButton.LeftButton, pos=QPoint(3, 20))
        qtbot.mouseClick(line, Qt.MouseButton.LeftButton, pos=QPoint(line.width() - 3, 20))
        qtbot.mouseClick(line, Qt.MouseButton.RightButton, pos=QPoint(400, 20))


def test_arrow_keys_walk_and_stop_at_the_ends(line, qtbot):
    said = []
    line.chosen.connect(said.append)
    keys = Qt.Key
    line.set_current("s1")
    for key in (
        keys.Key_Right,
        keys.Key_Left,
        keys.Key_Left,
        keys.Key_Left,
        keys.Key_End,
        keys.Key_Right,
    ):
        qtbot.keyClick(line, key)
    assert said == ["s2", "s1", "s0", "s15"]
    qtbot.keyClick(line, keys.Key_Home)
    assert line.current == "s0"


def test_other_keys_are_left_to_the_window(line, qtbot):
    said = []
    line.chosen.connect(said.append)
    qtbot.keyClick(line, Qt.Key.Key_T)
    qtbot.keyClick(line, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    assert not said


def test_a_tip_says_what_is_left_and_what_went(line):
    assert line.words_for(6) == "step 7: 2.85 kg left, 0.35 kg off"
    assert line.words_for(0) == "step 1: 3.59 kg left"
    line.set_shown(steel(grades={6: "stop"}, worked=9))
    assert line.words_for(6).endswith("; stop")
    assert line.words_for(12) == "step 13: not worked out"


def test_the_tip_comes_up_over_a_column(line, monkeypatch):
    shown = []
    monkeypatch.setattr(QToolTip, "showText", lambda *given: shown.append(given[1]))
    at = QPointF(line.places().place(6).center()).toPoint()
    QApplication.sendEvent(line, QHelpEvent(QEvent.Type.ToolTip, at, line.mapToGlobal(at)))
    assert shown == ["step 7: 2.85 kg left, 0.35 kg off"]


def test_findings_show_over_their_columns(line):
    plain = pixels(line)
    line.set_shown(steel(grades={6: "stop", 12: "watch", 3: "note"}))
    marked = pixels(line)
    changed = np.flatnonzero((plain != marked).any(axis=(0, 2)))
    for index in (6, 12):
        middle = line.places().place(index).center().x()
        assert (np.abs(changed - middle) < 10).any()
    assert not (np.abs(changed - line.places().place(3).center().x()) < 10).any()


def test_a_finding_of_a_refused_step_shows_too(line):
    line.set_shown(steel(worked=9))
    plain = pixels(line)
    line.set_shown(steel(worked=9, grades={9: "stop"}))
    assert not np.array_equal(plain, pixels(line))


def test_what_is_not_worked_out_is_hatched(line):
    line.set_shown(steel(worked=9))
    seen = pixels(line)
    place = line.places().place(12).toRect().adjusted(3, 3, -3, -3)
    inside = seen[place.top() : place.bottom(), place.left() : place.right(), :3]
    assert len(np.unique(inside.reshape(-1, 3), axis=0)) > 2
    assert not (inside == tone(LIGHT.steel)).all(axis=2).any()


def test_the_need_of_the_blade_is_a_level_behind_the_columns(line):
    with_need = pixels(line)
    line.set_shown(steel(need=None))
    without = pixels(line)
    changed = (with_need != without).any(axis=2)
    places = line.places()
    body = places.column(0)
    gap = np.s_[:, round(body.right()) + 2 : round(places.column(1).left()) - 1]
    rows = np.flatnonzero(changed[gap].any(axis=1))
    assert abs(rows.mean() - places.level(0.98)) < 2
    inside = np.s_[:, round(body.left()) + 1 : round(body.right()) - 1]
    assert not changed[inside].any(), "the columns stand before the line"
    # Its words stand at the left, where the steel at the start is told.
    words = changed[:, : round(places.plot().left()) - 4]
    assert words.sum() > 60
    assert not changed[:, round(places.plot().right()) + 12 :].any()


@pytest.mark.parametrize("double", [False, True])
def test_columns_have_most_of_the_height(qtbot, qapp, double):
    use_font(qapp, 20 if double else 10)
    made = SteelLine()
    qtbot.addWidget(made)
    made.set_shown(steel())
    made.resize(1240, made.sizeHint().height())
    whole = made.places().column(0).height()
    assert 0.65 * made.height() <= whole <= 0.8 * made.height()


def test_even_a_little_loss_is_hatched(line):
    line.set_shown(steel(kgs=(3.6, 3.59, 3.58)))
    body = line.places().column(1)
    seen = pixels(line)
    top, left, right = (round(v) for v in (body.top(), body.left(), body.right()))
    cap = seen[top - 3 : top, left + 1 : right - 1]
    assert len(np.unique(cap[..., :3].reshape(-1, 3), axis=0)) > 2


def test_a_refused_step_has_a_stop_sign_and_a_hatch_of_its_own(line):
    made = list(columns(worked=9))
    made[9] = dataclasses.replace(made[9], refused=True, grade="stop")
    line.set_shown(SteelShown(columns=tuple(made), start_kg=3.59, need_kg=None, words=""))
    assert line.words_for(9) == "step 10: cannot be done; stop"
    assert line.words_for(10) == "step 11: not worked out"
    seen = pixels(line).astype(int)

    def of(index):
        place = line.places().place(index).toRect()
        part = seen[place.top() : place.bottom(), place.left() : place.right(), :3]
        return (np.abs(part - tone(LIGHT.stop)).sum(axis=2) < 30).sum()

    assert of(9) > 30
    assert of(10) == 0


def test_one_sentence_tells_it_all(line):
    line.set_current("s10")
    told = line.accessibleDescription()
    for part in ("3.59 kg", "step 11: 1.86 kg left", "needs 0.98 kg", "45 mm longer"):
        assert part in told
    assert told.count(".") - told.count("0.") >= 1
    line.set_shown(SteelShown(columns=(), start_kg=0.0, need_kg=None, words=""))
    assert line.accessibleDescription() == "no steel yet"
    assert pixels(line).size


@pytest.mark.parametrize("count", [1, 2, 60, 300])
def test_any_number_of_steps_can_be_drawn(line, count):
    line.set_shown(steel(kgs=tuple(3.0 * 0.99**n for n in range(count))))
    line.set_current(f"s{count - 1}")
    line.resize(700, line.height())
    assert pixels(line).size
    assert line.places().column(count - 1).right() < 700


def test_every_step_can_be_clicked_where_it_is_drawn(line):
    for width in (600, 900, 1400):
        line.resize(width, line.height())
        places = line.places()
        assert [places.column_at(places.place(n).center().x()) for n in range(16)] == list(range(16))


def test_double_letters_fit(qtbot, large_text):
    made = SteelLine()
    qtbot.addWidget(made)
    made.set_shown(steel())
    made.resize(1240, made.sizeHint().height())
    assert made.places().plot().height() > 40
    assert made.sizeHint().height() > 150


def test_what_is_spare_stands_on_lines_of_its_own_and_is_read_out(line):
    """A figure and what it is, each whole on one line, in mm and inch."""
    line.set_shown(dataclasses.replace(steel(), words='1 7/8" longer', detail="than needed"))
    assert 'bar 1 7/8" longer than needed' in line.accessibleDescription()
    places = line.places()
    left = round(places.plot().right() + 0.6 * places.em_px)
    seen = array_of(line.grab().toImage()).astype(int)[4:-4, left:-4]  # without the focus ring
    inked = np.abs(seen[..., :3] - seen[-1, -1, :3]).max(axis=2) > 40
    rows = np.flatnonzero(inked.any(axis=1))
    assert 1 + (np.diff(rows) > 1).sum() >= 3
    assert not inked[:, -4:].any()


@pytest.mark.parametrize(
    ("spare", "units", "told"),
    [
        (47.2, "mm", ("47 mm longer", "than needed")),
        (47.2, "in", ('1 7/8" longer', "than needed")),
        (-10.04, "mm", ("10 mm too short", "for the blade")),
        (-10.04, "in", (".395 in too short", "for the blade")),
        (0.01, "in", ("just long enough", "for the blade")),
        (None, "mm", ("not worked out", "of a bent bar")),
    ],
)
def test_the_words_of_what_is_spare(spare, units, told):
    found = SimpleNamespace(steel=SimpleNamespace(spare_length_mm=(None, spare, None)))
    assert steel_spare(found, units) == told
    assert steel_spare(None, units) == ("", "")
