"""Edits in any order, through the controllers: undo leads back to the same bytes, redo forth again."""

import random

import pytest
from PySide6.QtWidgets import QApplication

from patternsim.job import starting_job
from patternsim_app.controllers.bench_mark import BLADE, SHOP
from patternsim_app.controllers.desk import Desk
from patternsim_app.controllers.looks import LooksController
from patternsim_app.jobs import Synchronous
from patternsim_app.main_window import MainWindow
from patternsim_app.settings import Settings
from patternsim_app.shown import FieldRow, Token

PLAIN = starting_job("feather-from-w")
FOREIGN = "\ufeff# kept as it is \u2013 \u00b12\n" + PLAIN.replace("\n", "\r\n")
"""With a byte order mark, line ends of another system and a remark."""


@pytest.fixture
def desk(qapp, tmp_path):
    looks = LooksController(Settings())
    window = MainWindow()
    window.resize(1280, 800)
    jobs = Synchronous(window, at_once=False)
    made = Desk(window, looks, journals=tmp_path / "j", pictures=tmp_path / "p", jobs=jobs)
    window.show()
    qapp.processEvents()
    yield made
    assert made.jobs.is_idle or made.jobs.work_off()
    made.jobs.close()
    made.recovering.close()
    window.close()
    window.deleteLater()
    looks.deleteLater()
    qapp.sendPostedEvents(None, 52)


class Hand:
    """Does to a job what a person may do to it, one thing at a time.

    Parameters
    ----------
    desk : Desk
    chance : random.Random
    """

    def __init__(self, desk, chance):
        self.desk, self.chance = desk, chance
        self.gentle = (
            (self.number_on_card, 4), (self.number_on_sheet, 4), (self.drag_of_a_number, 2),
            (self.push, 5), (self.turn, 3), (self.lay, 2), (self.drag_outline, 2), (self.accept, 2),
            (self.look_only, 2), (self.back_and_forth, 2),
        )  # fmt: skip
        """What mostly leaves a job that can be done, so that there is an outline to lay."""
        self.rough = (
            (self.number_on_card, 4), (self.as_usual, 3), (self.rename, 2), (self.add, 4),
            (self.remove, 2), (self.skip, 3), (self.nudge, 4), (self.move, 3),
            (self.copy_and_paste, 2), (self.look_only, 1), (self.back_and_forth, 3),
        )  # fmt: skip

    def act(self, things):
        """Do one thing and return which."""
        does, weights = zip(*things, strict=True)
        thing = self.chance.choices(does, weights)[0]
        thing()
        return thing.__name__

    # --- numbers and words ---------------------------------------------------------------

    def rows(self):
        return self.desk.window.card.rows

    def steps(self):
        return [row.key for row in self.rows() if row.key not in (BLADE, SHOP)]

    def value_for(self, told):
        """A value near the one there is; for a choice any, for words other words."""
        if told.choices:
            return self.chance.choice(told.choices)[0]
        if isinstance(told.value, bool):
            return not told.value
        if isinstance(told.value, int):
            return told.value + self.chance.choice((-1, 1))
        if isinstance(told.value, float):
            return round(told.value * self.chance.uniform(0.96, 1.04), 3)
        return None

    def number_on_card(self):
        row = self.chance.choice(self.rows())
        tokens = [one for one in row.tokens if one.field]
        if tokens:
            one: Token = self.chance.choice(tokens)
            self.desk.window.card.value_changed.emit(row.key, one.field, self.value_for(one))

    def number_on_sheet(self):
        self.desk.mark.move(self.chance.choice(self.rows()).key)
        shown = self.desk.window.sheet._sheet
        fields = [] if shown is None else list(shown.rows)
        if fields:
            one: FieldRow = self.chance.choice(fields)
            if one.kind != "text":
                self.desk.window.sheet.changed.emit(one.field, self.value_for(one))

    def as_usual(self):
        row = self.chance.choice(self.rows())
        fields = [one.field for one in row.tokens if one.field]
        if fields:
            self.desk.card.change_value(row.key, self.chance.choice(fields), None)

    def drag_of_a_number(self):
        card = self.desk.window.card
        row = next(row for row in self.rows() if any(t.kind == "number" for t in row.tokens))
        one = next(t for t in row.tokens if t.kind == "number")
        for more in (0.5, 1.0, 1.5):
            card.value_scrubbed.emit(row.key, one.field, one.value + more)
        if self.chance.random() < 0.5:
            card.value_changed.emit(row.key, one.field, one.value + 1.5)
        else:
            card.value_scrubbed.emit(row.key, one.field, one.value)

    def rename(self):
        key = self.chance.choice(self.steps())
        self.desk.card.change_value(key, "id", f"renamed-{self.chance.randrange(1000)}")

    # --- steps ---------------------------------------------------------------------------

    def some(self):
        steps = self.steps()
        at = self.chance.randrange(len(steps))
        return tuple(steps[at : at + self.chance.randint(1, 3)])

    def add(self):
        kind = self.chance.choice(("upset", "draw-square", "cut", "clean", "draw", "forge-weld"))
        self.desk.adding._add.chosen.emit(kind, self.chance.choice([*self.steps(), BLADE, ""]))

    def remove(self):
        self.desk.card.remove(self.some()[:1])

    def skip(self):
        self.desk.card.skip(self.some())

    def nudge(self):
        self.desk.card.nudge(self.some(), self.chance.choice((-1, 1)))

    def move(self):
        bars = self.desk.session.document.job.bar
        bar = self.chance.choice(bars)
        at = self.chance.randint(0, len(bar.step))
        self.desk.window.card.move_wanted.emit(self.some(), bar.name, at)

    def copy_and_paste(self):
        self.desk.adding.copy(self.some())
        self.desk.adding.paste(self.chance.choice(self.steps()))

    def accept(self):
        found = self.desk.working.answers
        if found is not None and found.findings:
            code = self.chance.choice(found.findings).code
            self.desk.window.sheet.accept_wanted.emit(code, self.chance.random() < 0.7)

    # --- the outline ---------------------------------------------------------------------

    def push(self):
        by = self.chance.choice(((0.5, 0.0), (-0.5, 0.0), (0.0, 0.5), (0.0, -5.0), (0.1, 0.0)))
        for _ in range(self.chance.randint(1, 3)):
            self.desk.window.bench.face.outline_pushed.emit(*by)
        if self.chance.random() < 0.5:
            self.desk.session.end_gesture()

    def turn(self):
        self.desk.outline.turn(self.chance.choice((-0.25, 0.25)))

    def lay(self):
        self.chance.choice((self.desk.outline.to_the_line, self.desk.outline.end_for_end))()
        self.desk.jobs.work_off()

    def drag_outline(self):
        face = self.desk.window.bench.face
        face.outline_moved.emit(0.4, 0.2)
        face.outline_moved.emit(self.chance.uniform(-2, 2), self.chance.uniform(-2, 2))
        ends = (face.outline_dropped, face.outline_left)
        self.chance.choice(ends).emit()
        self.desk.jobs.work_off()

    # --- what is no edit -----------------------------------------------------------------

    def look_only(self):
        before = self.desk.session.document.text
        self.desk.card.look(self.chance.choice((-1, 1)))
        self.desk.bench.set_look(self.chance.choice(("etched", "layers", "die")))
        self.desk.bench.turn_over()
        self.desk.looks.swap_units()
        assert self.desk.session.document.text == before

    def back_and_forth(self):
        stack = self.desk.session.undo_stack
        for _ in range(self.chance.randint(1, 3)):
            stack.undo()
        if self.chance.random() < 0.7:
            stack.redo()


@pytest.mark.parametrize(("text", "many", "seed"), [(PLAIN, 75, 7), (FOREIGN, 25, 8)])
def test_edits_in_any_order_lead_back_and_forth_to_the_same_bytes(desk, tmp_path, text, many, seed):
    file = tmp_path / "mine.toml"
    file.write_bytes(text.encode("utf-8"))
    assert desk.files.open_path(str(file))
    desk.jobs.work_off()
    QApplication.processEvents()
    desk.jobs.work_off()
    session, stack = desk.session, desk.session.undo_stack
    at_first = desk.answers.tiles
    assert at_first
    hand, texts, done = Hand(desk, random.Random(seed)), [text], set()
    for turn in range(2 * many):
        before = session.document.text
        did = hand.act(hand.gentle if turn < many else hand.rough)
        after = session.document.text
        if did == "back_and_forth":
            assert after == texts[stack.index()]
            continue
        texts[stack.index() :] = [after]
        if after != before:
            done.add(did)
    desk.jobs.work_off()
    assert desk.working.done.job is session.document.job
    # In a short run a refused step may keep the outline from being laid.
    share = 0.7 if many > 50 else 0.5
    assert len(done) >= share * len({*hand.gentle, *hand.rough}), sorted(done)
    assert stack.index() >= many // 2

    texts = texts[: stack.index() + 1]
    for at in reversed(range(len(texts))):
        assert session.document.text == texts[at], stack.undoText()
        stack.undo()
    assert session.document.text.encode("utf-8") == file.read_bytes() == text.encode("utf-8")
    assert not session.is_changed
    desk.looks.set_units("mm")
    desk.jobs.work_off()
    assert desk.answers.tiles == at_first
    for at in range(len(texts)):
        assert session.document.text == texts[at], stack.redoText()
        stack.redo()
