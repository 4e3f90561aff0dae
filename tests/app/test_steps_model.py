import random
from dataclasses import replace

import pytest
from PySide6.QtCore import QItemSelectionModel, QMimeData, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtTest import QAbstractItemModelTester

from app.card_rows import job_rows, layers, numbered, plain_row, plain_rows, with_value
from patternsim_app.models.steps_model import (
    KEYS_MIME,
    ROW_ROLE,
    StepsModel,
    alike,
    dragged_keys,
    spoken_row,
)


@pytest.fixture
def model(qapp):
    made = StepsModel()
    made.tester = QAbstractItemModelTester(made, QAbstractItemModelTester.FailureReportingMode.Fatal)
    return made


@pytest.fixture
def told(model):
    """What the model tells, in order: (kind, first, last)."""
    heard = []
    model.modelReset.connect(lambda: heard.append(("reset",)))
    model.rowsInserted.connect(lambda _, first, last: heard.append(("in", first, last)))
    model.rowsRemoved.connect(lambda _, first, last: heard.append(("out", first, last)))
    model.rowsMoved.connect(lambda _p, first, last, _q, to: heard.append(("move", first, last, to)))
    model.dataChanged.connect(lambda a, b: heard.append(("data", a.row(), b.row())))
    return heard


def keys(model):
    return [row.key for row in model.rows]


def test_rows_are_shown_in_forge_order(model):
    rows = job_rows()
    model.set_rows(rows)
    assert len(rows) > 30
    assert model.rowCount() == len(rows)
    assert [model.index(at).data(ROW_ROLE).key for at in range(len(rows))] == [row.key for row in rows]
    assert model.rowCount(model.index(0)) == 0


def test_the_same_rows_made_anew_tell_nothing(model, told):
    model.set_rows(job_rows())
    told.clear()
    model.set_rows(job_rows())
    assert told == []


def test_one_new_value_changes_one_row(model, told):
    rows = job_rows()
    model.set_rows(rows)
    told.clear()
    model.set_rows((*rows[:5], with_value(rows[5], "flat_mm", 17.0), *rows[6:]))
    assert told == [("data", 5, 5)]


def test_neighbouring_changes_are_told_at_once(model, told):
    rows = plain_rows("abcdef")
    model.set_rows(rows)
    told.clear()
    model.set_rows(tuple(replace(row, state="unworked") if row.key in "bcdf" else row for row in rows))
    assert told == [("data", 1, 3), ("data", 5, 5)]


def test_a_step_put_in_is_one_insertion_and_new_numbers_behind_it(model, told):
    model.set_rows(plain_rows("abcd"))
    told.clear()
    model.set_rows(plain_rows("abxcd"))
    assert told == [("in", 2, 2), ("data", 3, 4)]


def test_steps_taken_out_go_in_one_stretch_each(model, told):
    model.set_rows(plain_rows("abcdefgh"))
    told.clear()
    model.set_rows(plain_rows("adegh"))
    assert told[:2] == [("out", 5, 5), ("out", 1, 2)]


@pytest.mark.parametrize(
    ("before", "after"), [("abcdef", "bcdefa"), ("abcdef", "fabcde"), ("abcdef", "abdcef")]
)
def test_moving_one_step_far_is_one_move(model, told, before, after):
    model.set_rows(plain_rows(before))
    told.clear()
    model.set_rows(plain_rows(after))
    assert [entry[0] for entry in told].count("move") == 1
    assert keys(model) == list(after)


def test_another_job_resets_the_list(model, told):
    model.set_rows(plain_rows("abcd"))
    told.clear()
    model.set_rows(plain_rows("wxyz"))
    assert told == [("reset",)]


def test_two_rows_of_one_key_are_an_error(model):
    with pytest.raises(ValueError, match="same key"):
        model.set_rows(plain_rows("aba"))


@pytest.mark.parametrize("seed", range(12))
def test_random_changes_keep_the_model_sound_and_what_is_pointed_at(model, seed):
    chance = random.Random(seed)
    pool = [chr(97 + at) for at in range(20)]
    model.set_rows(plain_rows(pool[:10]))
    choice = QItemSelectionModel(model)
    for _ in range(60):
        now = keys(model)
        pointers = {key: QPersistentModelIndex(model.index(at)) for at, key in enumerate(now)}
        if now:
            choice.select(
                model.index(chance.randrange(len(now))), QItemSelectionModel.SelectionFlag.ClearAndSelect
            )
        wanted = [key for key in now if chance.random() > 0.15]
        wanted += [key for key in pool if key not in wanted and chance.random() < 0.12]
        for _ in range(chance.randrange(4)):
            if wanted:
                wanted.insert(chance.randrange(len(wanted)), wanted.pop(chance.randrange(len(wanted))))
        was_kept = len(set(now) & set(wanted)) * 2 >= len(now)
        model.set_rows(plain_rows(wanted, value=float(chance.randrange(1, 5))))
        assert keys(model) == wanted
        if was_kept:
            for key, pointer in pointers.items():
                assert pointer.isValid() == (key in wanted)
                assert not pointer.isValid() or model.rows[pointer.row()].key == key


def test_a_screen_reader_hears_number_sentence_and_state(model):
    row = plain_row("a", number=7)
    assert spoken_row(row) == "step 7: Press to 20 mm, 2 heats; not worked out yet"
    assert spoken_row(replace(row, state="worked")) == "step 7: Press to 20 mm, 2 heats"
    assert spoken_row(replace(row, state="worked", grade="watch")).endswith("; to watch")
    refused = replace(row, state="refused", reason="only 18 mm are left")
    assert spoken_row(refused).endswith("; cannot be done: only 18 mm are left")
    assert spoken_row(replace(row, state="skipped")).endswith("; skipped")
    assert spoken_row(replace(row, state="unworked", grade="stop")).endswith("; not worked out")
    model.set_rows((replace(row, state="skipped"),))
    assert model.index(0).data(Qt.ItemDataRole.AccessibleTextRole).startswith("step 7: ")


def test_pictures_count_when_rows_are_compared():
    row = replace(plain_row("a"), thumb=layers(1))
    assert alike(row, replace(row, thumb=layers(1)))
    assert not alike(row, replace(row, thumb=layers(2)))
    assert not alike(row, replace(row, thumb=None))


def test_a_drag_carries_keys_in_order_and_sentences_for_others(model):
    model.set_rows(plain_rows("abcd"))
    data = model.mimeData([model.index(2), model.index(0)])
    assert set(data.formats()) >= {KEYS_MIME, "text/plain"}
    assert dragged_keys(data) == ("a", "c")
    assert data.text() == "1. Press to 20 mm, 2 heats\n3. Press to 20 mm, 2 heats"
    assert dragged_keys(QMimeData()) == ()


def test_the_model_moves_nothing_by_itself(model):
    model.set_rows(plain_rows("abcd"))
    data = model.mimeData([model.index(0)])
    assert not model.dropMimeData(data, Qt.DropAction.MoveAction, 3, 0, QModelIndex())
    assert keys(model) == list("abcd")


def test_drops_land_between_rows_only(model):
    model.set_rows(numbered([plain_row("a")]))
    assert not model.flags(model.index(0)) & Qt.ItemFlag.ItemIsDropEnabled
    assert model.flags(QModelIndex()) & Qt.ItemFlag.ItemIsDropEnabled
