"""The short sentences of the job card: they hold the step's own values, fit, and can be changed."""

import itertools
import re

import pytest

import patternsim.steps  # noqa: F401 - enters the step kinds in the registry
from patternsim.job import parse, starting_job, starting_jobs
from patternsim.kinds import step_kinds
from patternsim.step import CARD_STRIPS, REGISTRY, Slot, card_text, clauses, slot
from patternsim.steps.stack import Strip

MOST = 70
"""Letters of a card: two lines of 32 and a little."""
FORBIDDEN = re.compile(
    r"node|mesh|comput|parameter|seed|iterat|solver|preset|pipeline|kernel|exception|project|\bmm\b",
    re.IGNORECASE,
)

STARTING = [
    pytest.param(step, id=f"{name}-{step.id}")
    for name, _ in starting_jobs()
    for bar in parse(starting_job(name)).bar
    for step in bar.step
]
NEEDED = {
    "bend": {"start_mm": 40.0, "radius_mm": 300.0, "angle_deg": 12.0},
    "draw": {"width_mm": 42.0, "thickness_mm": 30.0},
    "flatten": {"thickness_mm": 17.0},
    "fuller": {"places_mm": (30.0, 55.0), "depth_mm": 2.0},
    "join": {"bars": ("core", "jacket")},
    "press-on-edge": {"height_mm": 26.0},
    "square-up": {"side_mm": 40.0},
    "stack": {
        "strips": (Strip(steel="1084", thickness_mm=2.0), Strip(steel="15N20", thickness_mm=1.5)),
        "width_mm": 50.0,
        "length_mm": 150.0,
    },
    "taper": {"over_mm": 60.0},
    "upset": {"length_mm": 80.0},
}
"""What a step must be given; all else is left as usual."""
FULL = {
    "cut": {"crop_near_mm": 8.0, "crop_far_mm": 9.0, "pieces": 4, "piece_mm": 48.0},
    "flatten": {"thickness_mm": 17.0, "width_mm": 52.0},
    "forge-weld": {"along": "length", "down_pct": 10.0},
    "grind-clean": {"faces_mm": 0.5, "edges_mm": 0.6, "ends_mm": 0.7},
    "mark": {"along_mm": 70.0, "face": "high-edge"},
    "restack": {"turned": "end-for-end"},
    "reweld": {"grind_faces_mm": 1.0},
    "slice": {"at_mm": 20.0},
    "split": {"off_centre_mm": 0.5, "heats": 2},
    "stack-tall": {"turned": "over"},
    "taper": {"over_mm": 60.0, "width_mm": 20.0, "thickness_mm": 3.0},
    "trim": {"near_mm": 3.0, "far_mm": 12.0, "low_edge_mm": 1.0, "high_edge_mm": 2.0},
}
OLD_FACE = {"crush-corners": {"old_face_mm": 14.0}}
FLATS = {"crush-corners": {"flat_mm": 18.0}}


def made(kind, values):
    return REGISTRY[kind](id="it", **{**NEEDED.get(kind, {}), **values})


MADE = [pytest.param(made(kind, {}), id=f"{kind}-usual") for kind in sorted(REGISTRY)] + [
    pytest.param(made(kind, values), id=f"{kind}-full-{k}")
    for k, group in enumerate((FULL, OLD_FACE, FLATS))
    for kind, values in group.items()
]
ALL = STARTING + MADE


def at(step, field):
    """Return the value a dotted way leads to, found without the code under test."""
    for part in field.split("."):
        step = step[int(part)] if part.isdecimal() else getattr(step, part)
    return step


def with_field(step, field, value):
    """Return the step with one value changed, inside a list too."""
    first, *rest = field.split(".")
    if rest:
        entries = list(getattr(step, first))
        place = int(rest[0])
        inner = rest[1:]
        entries[place] = entries[place].model_copy(update={inner[0]: value}) if inner else value
        value = tuple(entries)
    return step.model_copy(update={first: value})


def other(part):
    """Return another value the slot may have."""
    if part.kind == "choice":
        # The last: a choice of nothing at all may come first, and is not told on the card.
        return next(value for value, _ in reversed(part.choices) if value != part.value)
    return "other" if part.kind == "text" else part.value + 1


def slots(step):
    return [part for part in step.card() if isinstance(part, Slot)]


@pytest.mark.parametrize("step", ALL)
def test_every_value_on_the_card_is_the_steps_own(step):
    for part in slots(step):
        assert part.value == at(step, part.field)
        assert part.label
        assert part.kind in ("number", "count", "choice", "text")


@pytest.mark.parametrize("step", ALL)
def test_changing_a_value_changes_the_card_in_that_place(step):
    for part in slots(step):
        value = other(part)
        changed = with_field(step, part.field, value)
        assert card_text(changed) != card_text(step)
        assert [one.value for one in slots(changed) if one.field == part.field] == [value]


@pytest.mark.parametrize("step", ALL)
def test_a_card_fits_two_lines_and_reads_as_a_sentence(step):
    text = card_text(step)
    assert len(text) <= MOST
    assert text[0].isupper()
    assert text == " ".join(text.split())
    assert not text.endswith((",", ":", " "))
    assert not FORBIDDEN.search(text)


@pytest.mark.parametrize("step", ALL)
def test_words_and_values_take_turns(step):
    parts = step.card()
    assert isinstance(parts[0], str)
    for one, two in itertools.pairwise(parts):
        assert isinstance(one, str) != isinstance(two, str)
    assert all(part.strip() for part in parts if isinstance(part, str))


@pytest.mark.parametrize("kind", sorted(set(REGISTRY) - {"check", "stack-tall"}))
def test_the_usual_card_of_a_kind_has_something_to_change(kind):
    step = made(kind, FLATS.get(kind, {}))
    assert slots(step)


@pytest.mark.parametrize("step", ALL)
def test_lengths_go_without_their_unit_and_all_else_with_it(step):
    parts = step.card()
    for one, after in zip(parts, [*parts[1:], ""], strict=True):
        if isinstance(one, str):
            continue
        if one.unit in ("deg", "%"):
            assert after.startswith("°" if one.unit == "deg" else " %")
        elif one.field == "heats":
            assert after.startswith(" heat" if one.value == 1 else " heats")
        assert (one.unit == "mm") == re.sub(r"\.\d+$", "", one.field).endswith("_mm")


@pytest.mark.parametrize("step", ALL)
def test_limits_on_the_card_are_those_the_step_itself_keeps(step):
    """A value just beyond a limit is refused by the step, one on it is not."""
    for part in slots(step):
        if "." in part.field or part.kind not in ("number", "count"):
            continue
        assert part.high is not None
        assert (part.low is None) != (part.above is None)
        small = 1 if part.kind == "count" else 1e-6
        for limit, beyond in ((part.low, -small), (part.high, small)):
            if limit is not None:
                assert at(type(step)(**{**dict(step), part.field: limit}), part.field) == limit
                with pytest.raises(ValueError, match=part.field):
                    type(step)(**{**dict(step), part.field: limit + beyond})
        if part.above is not None:
            with pytest.raises(ValueError, match=part.field):
                type(step)(**{**dict(step), part.field: part.above})


@pytest.mark.parametrize(
    ("kind", "values", "text"),
    [
        ("split", {"included_deg": 45.0}, "Split 45°, nose 4, leave 8"),
        ("draw", {"heats": 3}, "Draw to 42 x 30, 3 heats"),
        ("forge-weld", {"height_mm": 66.0, "heats": 3}, "Forge weld to 66, 3 heats"),
        ("forge-weld", {"down_pct": 14.0}, "Forge weld 14 % down, 1 heat"),
        ("forge-weld", {"along": "length", "height_mm": 90.0}, "Forge weld on end to 90, 1 heat"),
        ("crush-corners", {"flat_mm": 18.0}, "Crush corners to flats of 18, 1 heat"),
        ("crush-corners", {"old_face_mm": 14.0}, "Crush corners, leave 14 of each face, 1 heat"),
        ("stack", {"repeat": 24}, "Stack 24 each: 1084 at 2, 15N20 at 1.5"),
        ("stack", {"strips": (Strip(steel="1084", thickness_mm=3.0),)}, "Stack 1 of 1084 at 3"),
        ("cut", {}, "Saw into 1"),
        ("cut", {"crop_far_mm": 5.0}, "Crop 5 off the far end"),
        ("cut", {"crop_near_mm": 8.0, "crop_far_mm": 9.0, "pieces": 2}, "Crop 8 and 9, saw into 2"),
        ("cut", {"piece_mm": 48.0, "pieces": 6}, "Saw 6 of 48"),
        ("flatten", {}, "Draw flat to 17 thick, bite 20, 1 heat"),
        ("press-on-edge", {"lay_over": False}, "Press on edge to 26, bite 40, 1 heat"),
        ("grind-clean", {}, "Grind faces 0"),
        ("grind-clean", {"faces_mm": 0.5, "edges_mm": 0.4}, "Grind faces 0.5, edges 0.4"),
        ("grind-clean", {"strips_to_mm": (2.0, 1.2)}, "Grind strips to 2 and 1.2"),
        ("grind-clean", {"strips_to_mm": (2.0, 1.2, 3.0, 4.0)}, "Grind strips to 2, 1.2, 3 ..."),
        ("trim", {}, "Crop 0 near, 0 far"),
        ("mark", {}, "Nick the mark side, 2 deep"),
        ("turn", {"degrees": 180, "about": "width"}, "Turn 180° about width"),
        ("join", {"side": "end-to-end"}, "Join core and jacket, laid end to end"),
        (
            "join",
            {"bars": ("a bar of many layers",) * 4},
            "Join 4 bars, laid on top",
        ),
        ("check", {"look": "tap it; go on only if it rings"}, "Check: tap it"),
        ("check", {"look": ""}, "Check"),
        ("taper", {"end": "near", "width_mm": 8.0}, "Taper the near end over 60 to 8 wide, 1 heat"),
    ],
)
def test_cards_read_as_a_smith_would_say_them(kind, values, text):
    assert card_text(made(kind, values)) == text


def test_a_long_row_of_strips_is_told_by_its_first_ones():
    strips = tuple(Strip(steel="1084", thickness_mm=1.0 + k) for k in range(9))
    step = made("stack", {"strips": strips, "repeat": 2})
    assert card_text(step) == "Stack 2 each: 1084 at 1, 1084 at 2, 1084 at 3, 6 more"
    assert len(slots(step)) == 1 + 2 * CARD_STRIPS


def test_a_long_look_is_cut_at_a_word_and_told_in_full_by_the_sentence():
    look = "whether every corner of the block is as bright and as tight as it was before the last heat"
    step = made("check", {"look": look})
    card = card_text(step)
    assert card.endswith(" ...")
    assert look.startswith(card.removeprefix("Check: ").removesuffix(" ..."))
    assert look in step.sentence()


def test_off_cuts_are_counted_where_there_are_many_or_their_names_are_long():
    cut = type(made("cut", {}))
    offcut = cut.model_fields["offcuts"].annotation.__args__[0]
    one = cut(id="it", offcuts=(offcut(name="guard", length_mm=12.0),))
    two = cut(id="it", offcuts=(offcut(name="guard", length_mm=12.0),) * 2, pieces=3)
    long = cut(id="it", offcuts=(offcut(name="the guard of the second knife", length_mm=12.0),))
    assert card_text(one) == "Keep 12 for guard"
    assert card_text(two) == "Set 2 off-cuts aside, saw into 3"
    assert card_text(long) == "Set 1 off-cut aside"


def test_a_slot_tells_what_was_declared():
    step = made("stack", {})
    thick = slot(step, "strips.1.thickness_mm")
    assert (thick.value, thick.unit, thick.kind) == (1.5, "mm", "number")
    assert thick.label == "Strip 2: Thickness"
    assert slot(step, "strips.0.steel").kind == "text"
    assert slot(step, "repeat").kind == "count"
    face = slot(made("mark", {}), "face")
    assert face.choices[3] == ("high-edge", "high edge")
    assert face.words() == "mark side"
    strip = slot(made("grind-clean", {"strips_to_mm": (2.0, 1.2)}), "strips_to_mm.1")
    assert (strip.value, strip.unit, strip.label) == (1.2, "mm", "Strips to, entry 2")
    down = slot(made("forge-weld", {"down_pct": 12.5}), "down_pct")
    assert (down.unit, down.words()) == ("%", "12.5")


@pytest.mark.parametrize(
    "field", ["width", "strips", "strips.2.steel", "strips.x", "repeat.0", "strips.-1"]
)
def test_a_slot_of_what_is_not_there_is_refused(field):
    with pytest.raises(ValueError, match=re.escape(field)):
        slot(made("stack", {}), field)


def test_a_value_that_is_left_out_is_no_slot():
    with pytest.raises(ValueError, match="bite_mm"):
        slot(made("draw", {}), "bite_mm")


def test_clauses_are_joined_by_commas_and_words_grow_together():
    value = slot(made("stack", {}), "repeat")
    assert clauses(("lay ", value), (), (" more",), ("x", "y")) == ("Lay ", value, ",  more, xy")
    assert clauses() == ()


@pytest.mark.parametrize(("name", "stages"), [
    ("feather-from-w", ["Stack", "Bow", "Restack", "Feather", "Blades"]),
    ("feather", ["Stack", "Feather", "Blades"]),
    ("w-bar", ["Stack", "Bow", "Restack"]),
])  # fmt: skip
def test_the_starting_jobs_have_their_stages_in_order(name, stages):
    steps = parse(starting_job(name)).bar[0].step
    assert [step.stage for step in steps if step.stage] == stages
    assert steps[0].stage == stages[0]
    assert not any(step.skip for step in steps)


# --- the kinds in words ------------------------------------------------------------------


def test_every_kind_is_told_once_with_its_own_title():
    told = [one.kind for one in step_kinds()]
    assert sorted(told) == sorted(REGISTRY)
    assert all(one.title == REGISTRY[one.kind].title for one in step_kinds())


def test_kinds_of_one_place_stand_together():
    groups = [group for group, _ in itertools.groupby(step_kinds(), key=lambda one: one.group)]
    assert groups == ["Fire", "Hammer and press", "Saw and wedge", "Grinder", "Bench and tank"]


@pytest.mark.parametrize("one", step_kinds(), ids=lambda one: one.kind)
def test_a_kind_can_be_found_by_other_words_and_is_told_in_a_line(one):
    assert len(one.words) >= 3
    assert len(set(one.words)) == len(one.words)
    assert one.title.lower() not in one.words
    assert 10 < len(one.about) <= 80
    assert one.about.endswith(".")
    for text in (one.about, one.caution, *one.words):
        assert not FORBIDDEN.search(text)


@pytest.mark.parametrize("one", step_kinds(), ids=lambda one: one.kind)
def test_work_that_can_hurt_carries_a_caution_that_sends_to_data_sheet_and_codes(one):
    hot = "heats" in REGISTRY[one.kind].model_fields
    harmless = one.group == "Bench and tank" and one.kind != "mark"
    assert bool(one.caution) == (not harmless)
    assert not (hot and harmless)
    if one.caution:
        assert "data sheet" in one.caution
        assert "local codes" in one.caution
        assert one.caution.count(". ") == 1


@pytest.mark.parametrize(
    ("typed", "kind"),
    [
        ("draw down", "draw"),
        ("fire weld", "forge-weld"),
        ("press on the bias", "crush-corners"),
        ("knock the corners in", "crush-corners"),
        ("jump up", "upset"),
        ("resaw", "slice"),
        ("wedge", "split"),
    ],
)
def test_words_of_the_trade_lead_to_their_kind(typed, kind):
    assert [one.kind for one in step_kinds() if typed in one.words] == [kind]
