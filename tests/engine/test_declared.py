"""What forms are made of: every value that can be changed, and why one cannot be."""

import pytest

import patternsim.steps  # noqa: F401 - fills the registry
from patternsim.declared import changed, fields_of, refusal
from patternsim.errors import UsageError
from patternsim.job.model import Blade, GrindNumbers, Place
from patternsim.shop import Shop
from patternsim.step import REGISTRY

STRIPS = [{"steel": "1084", "thickness_mm": 2.0}, {"steel": "15N20", "thickness_mm": 1.25}]
# A plain value for each number a kind of step must be given.
GIVEN = {
    "strips": STRIPS,
    "bars": ["core", "edge"],
    "offcuts": [{"name": "guard", "length_mm": 12.0}],
    "strips_to_mm": [1.95, 1.2],
    "places_mm": [30.0, 55.0],
}


def step(kind, **numbers):
    model = REGISTRY[kind]
    required = {name for name, info in model.model_fields.items() if info.is_required()}
    plain = {name: GIVEN.get(name, 20.0) for name in required} | numbers
    return model.model_validate({**plain, "id": "a-step"})


STEPS = [pytest.param(step(kind), id=kind) for kind in sorted(REGISTRY)]
BLADE = Blade(bar="feather", outline={"length_mm": 210.0})
OTHERS = [
    pytest.param(model, id=type(model).__name__)
    for model in (Shop(), BLADE, GrindNumbers(), Place(), step("cut", offcuts=GIVEN["offcuts"]))
]


def by_way(model):
    return {one.way: one for one in fields_of(model)}


@pytest.mark.parametrize("model", STEPS)
def test_every_value_of_a_step_is_given_but_its_kind_and_place_on_the_card(model):
    expected = set(type(model).model_fields) - {"kind", "skip", "stage"}
    empty = {name for name in expected if getattr(model, name) in ((), {})}
    assert {one.way[0] for one in fields_of(model)} == expected - empty


@pytest.mark.parametrize("model", STEPS + OTHERS)
def test_every_value_explains_itself(model):
    for one in fields_of(model):
        assert one.label.strip()
        assert one.reason.strip() or one.way == ("bar",)
        assert "_" not in one.label
        assert one.label[0].isupper()


@pytest.mark.parametrize("model", STEPS + OTHERS)
def test_every_value_is_the_one_in_the_model(model):
    for one in fields_of(model):
        value = model
        for part in one.way:
            value = value[part] if isinstance(value, tuple | dict) else getattr(value, part)
        assert value == one.value


@pytest.mark.parametrize("model", STEPS + OTHERS)
def test_putting_the_same_value_in_changes_nothing(model):
    for one in fields_of(model):
        assert changed(model, one.way, one.value) == model
        assert refusal(model, one.way, one.value) == ""


@pytest.mark.parametrize("model", STEPS + OTHERS)
def test_a_number_is_refused_just_beyond_its_limits(model):
    for one in fields_of(model):
        for limit, beyond in ((one.low, -1), (one.above, 0), (one.high, 1)):
            if limit is not None:
                words = refusal(model, one.way, limit + beyond)
                assert words.startswith(one.label), one.way
                assert "must be" in words
        for limit in (one.low, one.high):
            if limit is not None:
                assert "must be" not in refusal(model, one.way, limit), one.way


@pytest.mark.parametrize("model", STEPS + OTHERS)
def test_every_choice_offered_is_allowed(model):
    for one in fields_of(model):
        if one.kind == "choice":
            assert one.value in [value for value, _ in one.choices]
            assert all(words.strip() and "_" not in words for _, words in one.choices)
            assert [refusal(model, one.way, value) for value, _ in one.choices] == [""] * len(
                one.choices
            )
        else:
            assert one.choices == ()


@pytest.mark.parametrize("model", STEPS)
def test_own_values_come_first_and_the_name_last(model):
    ways = [one.way[0] for one in fields_of(model)]
    assert ways[-1] == "id"
    if "heats" in ways:
        assert ways[-3:] == ["heats", "temperature_c", "id"]


def test_kinds_units_limits_and_defaults_are_those_declared():
    shown = by_way(step("split"))
    nose = shown["nose_mm",]
    assert (nose.label, nose.unit, nose.kind) == ("Nose radius", "mm", "number")
    assert (nose.default, nose.low, nose.above, nose.high) == (4.0, 0.0, None, 30.0)
    assert not nose.required
    heats = shown["heats",]
    assert (heats.kind, heats.default, heats.high) == ("count", 0, 10.0)
    assert shown["temperature_c",].unit == "degC"
    assert shown["travel",].choices == (("down", "down"), ("up", "up"))
    width = by_way(step("draw"))["width_mm",]
    assert (width.required, width.default, width.above, width.low) == (True, None, 0.0, None)
    assert by_way(step("press-on-edge"))["lay_over",].kind == "switch"
    assert by_way(step("check"))["look",].kind == "text"
    assert by_way(step("forge-weld"))["down_pct",].unit == "%"


def test_numbers_that_may_be_left_out_are_none():
    bite = by_way(step("draw"))["bite_mm",]
    assert (bite.value, bite.default, bite.required) == (None, None, False)


def test_lists_give_one_value_an_entry():
    shown = by_way(step("stack"))
    assert shown["strips", 0, "thickness_mm"].label == "Strip 1: Thickness"
    assert shown["strips", 1, "steel"].value == "15N20"
    ground = by_way(step("grind-clean", strips_to_mm=GIVEN["strips_to_mm"]))
    assert ground["strips_to_mm", 1].label == "Strip 2 to"
    assert ground["strips_to_mm", 1].unit == "mm"
    assert by_way(step("cut", offcuts=GIVEN["offcuts"]))["offcuts", 0, "length_mm"].value == 12.0
    assert by_way(step("join"))["bars", 0].label == "Bar 1"


def test_a_blade_gives_its_outline_grind_and_place():
    shown = by_way(BLADE)
    assert shown["outline", "length_mm"].label == "Length"
    assert shown["outline", "length_mm"].unit == "mm"
    assert shown["grind", "kind"].choices[0] == (None, "as usual")
    assert dict(shown["profile",].choices)["chef"] == "chef's knife"
    assert dict(shown["place", "tip"].choices)["on-line"] == "on the centre line"


def test_one_value_is_changed_and_no_other():
    before = step("stack")
    after = changed(before, ("strips", 1, "thickness_mm"), 1.5)
    assert after.strips[1].thickness_mm == 1.5
    assert after.model_copy(update={"strips": before.strips}) == before
    assert before.strips[1].thickness_mm == 1.25
    assert changed(BLADE, ("place", "turn_deg"), 3.0).place.turn_deg == 3.0
    assert changed(BLADE, ("grind", "spine_mm"), 4).grind.spine_mm == 4.0


def test_none_puts_the_usual_value_back():
    assert changed(step("split", nose_mm=6.0), ("nose_mm",), None).nose_mm == 4.0
    assert changed(step("draw", bite_mm=20.0), ("bite_mm",), None).bite_mm is None


def test_a_whole_number_may_come_with_a_decimal_point():
    heats = changed(step("draw"), ("heats",), 3.0).heats
    assert heats == 3
    assert isinstance(heats, int)


REFUSED = [
    ("split", ("nose_mm",), 31.0, r'Nose radius is 31 mm \(1 7/32"\); it must be at most 30 mm'),
    ("split", ("heats",), -1, "Heats is -1; it must be at least 0"),
    ("split", ("heats",), 1.5, "Heats is 1.5; give a whole number"),
    ("split", ("heats",), True, "Heats is yes; give a whole number"),
    ("split", ("nose_mm",), "4", "Nose radius is “4”; give a number"),
    ("split", ("nose_mm",), float("nan"), "Nose radius is no number"),
    ("split", ("nose_mm",), float("inf"), "Nose radius is no number"),
    ("split", ("travel",), "sideways", "Wedge runs is “sideways”; choose one of those"),
    ("split", ("id",), "A Step", "small letters, figures and dashes"),
    ("draw", ("width_mm",), None, "Width is left out; give a number"),
    ("draw", ("width_mm",), 0.0, "Width is 0 mm; it must be more than 0 mm"),
    ("stack", ("strips", 1, "thickness_mm"), 201.0, "Strip 2: Thickness .* at most 200 mm"),
    ("press-on-edge", ("lay_over",), 2, "give yes or no"),
]


@pytest.mark.parametrize(("kind", "way", "value", "words"), REFUSED)
def test_what_cannot_be_is_refused_in_words(kind, way, value, words):
    with pytest.raises(UsageError, match=words) as caught:
        changed(step(kind), way, value)
    assert refusal(step(kind), way, value) == str(caught.value)


def test_a_value_that_is_not_there_is_refused():
    with pytest.raises(UsageError, match=r"no value strips\.7\.steel here"):
        changed(step("stack"), ("strips", 7, "steel"), "1084")
