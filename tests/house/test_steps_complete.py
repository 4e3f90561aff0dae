"""Every step kind is registered, and every one of its fields can explain itself.

Forms, listings, range checks and shop sheets are made from these declarations alone, so what is
missing here would be missing on every one of them.
"""

import types
import typing

import pytest
from pydantic_core import PydanticUndefined

import patternsim.steps  # noqa: F401 - fills the registry
from house import sources
from patternsim import step

FILES = [file for file in sources.files(sources.ENGINE / "steps") if file.stem != "__init__"]


def is_number(annotation):
    """Tell whether a field holds one number, given or left open."""
    if typing.get_origin(annotation) in (typing.Union, types.UnionType):
        kinds = [kind for kind in typing.get_args(annotation) if kind is not type(None)]
        return bool(kinds) and all(is_number(kind) for kind in kinds)
    return annotation in (int, float)


def limits(info):
    """Return the lowest and highest value a field allows, None where it sets no limit."""
    low = [getattr(rule, side) for rule in info.metadata for side in ("ge", "gt") if has(rule, side)]
    high = [getattr(rule, side) for rule in info.metadata for side in ("le", "lt") if has(rule, side)]
    return (low[0] if low else None), (high[0] if high else None)


def has(rule, side):
    return getattr(rule, side, None) is not None


FIELDS = [
    pytest.param(model, name, id=f"{kind}.{name}")
    for kind, model in sorted(step.REGISTRY.items())
    for name in model.model_fields
    if name != "kind"  # tells which step it is; not the user's to set
]
NUMBERS = [
    field for field in FIELDS if is_number(field.values[0].model_fields[field.values[1]].annotation)
]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_file_holds_one_registered_kind_of_its_name(file):
    kinds = [
        kind for kind, model in step.REGISTRY.items() if model.__module__ == sources.module_name(file)
    ]
    assert kinds == [file.stem.replace("_", "-")]


def test_every_kind_comes_from_a_file_here():
    modules = {sources.module_name(file) for file in FILES}
    strays = {kind for kind, model in step.REGISTRY.items() if model.__module__ not in modules}
    assert not strays


@pytest.mark.parametrize("kind", sorted(step.REGISTRY))
def test_a_kind_has_trade_words_its_verb_and_both_sentences(kind):
    model = step.REGISTRY[kind]
    assert model.title.strip()
    assert model.model_fields["kind"].default == kind
    assert model.work is not step.Step.work
    assert model.sentence is not step.Step.sentence
    assert model.card is not step.Step.card


@pytest.mark.parametrize(("model", "name"), FIELDS)
def test_a_field_explains_itself(model, name):
    told = model.model_fields[name].json_schema_extra or {}
    assert str(told.get("label", "")).strip(), "no label"
    assert isinstance(told.get("unit"), str), "no unit; '' is right for a pure number"
    assert str(told.get("reason", "")).strip(), "no reason"


@pytest.mark.parametrize("kind", sorted(step.REGISTRY))
def test_a_steps_own_values_come_before_those_of_every_step(kind):
    names = list(step.REGISTRY[kind].model_fields)
    assert names[0] == "id"
    assert names[-2:] == ["skip", "stage"]


@pytest.mark.parametrize(("model", "name"), NUMBERS)
def test_a_number_has_limits_and_its_default_keeps_them(model, name):
    info = model.model_fields[name]
    low, high = limits(info)
    assert low is not None, "no lower limit"
    assert high is not None, "no upper limit"
    assert low < high
    if info.default not in (None, PydanticUndefined):
        assert low <= info.default <= high


@pytest.mark.parametrize("job", ["feather-from-w", "feather", "w-bar"])
def test_every_step_can_be_told_with_any_value_left_out(job):
    """A value is cleared before its other is given: the card must stand that."""
    from patternsim.declared import changed, fields_of
    from patternsim.errors import UsageError
    from patternsim.job import parse, starting_job

    for bar in parse(starting_job(job), name=job).bar:
        for one in bar.step:
            for field in fields_of(one):
                try:
                    other = changed(one, field.way, None)
                except UsageError:
                    continue  # must be given
                assert other.sentence().strip()
                assert step.card_text(other).strip()
