"""Little jobs of legal but odd numbers: any step after any other, each number within its own limits."""

import math
import typing

from hypothesis import strategies as st

from patternsim.job import Bar, Job
from patternsim.shop import Shop
from patternsim.step import REGISTRY

KINDS = sorted(set(REGISTRY) - {"stack", "join"})

USUAL = {
    "mm": st.floats(1.0, 120.0),
    "deg": st.floats(-30.0, 60.0),
    "": st.floats(0.3, 3.0),
    "degC": st.floats(900.0, 1250.0),
    "%": st.floats(5.0, 40.0),
    "mm/s": st.floats(2.0, 60.0),
}


def limits(info):
    found = {"ge": None, "gt": None, "le": None, "lt": None}
    for rule in info.metadata:
        for side in found:
            found[side] = getattr(rule, side, found[side])
    return found


def numbers(info, *, whole):
    """Return values of one number: mostly of a usual size, now and then anything it allows."""
    rule = limits(info)
    low = rule["ge"] if rule["ge"] is not None else rule["gt"]
    high = rule["le"]
    if whole:
        few = st.integers(int(low), min(int(high), 4))
        return st.one_of(few, few, few, st.integers(int(low), int(high)))
    anything = st.floats(low, high, exclude_min=rule["gt"] is not None, allow_subnormal=False)
    low = low if rule["gt"] is None else low + 1e-9
    # Numbers of a usual size are within the limits of nearly every field; where not, they are moved.
    usual = USUAL[info.json_schema_extra["unit"]].map(lambda value: min(max(value, low), high))
    if isinstance(info.default, float):
        close = st.floats(-5.0, 5.0).map(lambda off: min(max(info.default + off, low), high))
        usual = st.one_of(st.just(info.default), close)
    tiny = st.just(max(low, 1e-3) if math.isfinite(low) else low)
    return st.one_of(usual, usual, usual, anything, tiny)


def values(info):
    """Return values of one field of a step."""
    kinds = typing.get_args(info.annotation) or (info.annotation,)
    if float in kinds or int in kinds:
        given = numbers(info, whole=int in kinds)
        return st.one_of(st.none(), given, given) if type(None) in kinds else given
    if typing.get_origin(info.annotation) is typing.Literal:
        return st.sampled_from(typing.get_args(info.annotation))
    if info.annotation is bool:
        return st.booleans()
    return st.just(info.default)


SPECIAL = {
    "offcuts": st.lists(
        st.fixed_dictionaries({"name": st.just("guard"), "length_mm": st.floats(0.01, 60.0)}), max_size=2
    ).map(tuple),
    "places_mm": st.lists(st.floats(-5.0, 200.0), max_size=1).map(tuple),
    "strips_to_mm": st.one_of(st.just(()), st.lists(st.floats(-1.0, 9.0), max_size=3).map(tuple)),
}


@st.composite
def steps(draw, number):
    kind = draw(st.sampled_from(KINDS))
    model = REGISTRY[kind]
    fields = {
        name: draw(SPECIAL[name] if name in SPECIAL else values(info))
        for name, info in model.model_fields.items()
        if name not in ("kind", "id")
    }
    if kind == "forge-weld" and draw(st.integers(0, 4)):
        fields["height_mm"] = None  # one of the two is wanted, most of the time
        fields["down_pct"] = fields["down_pct"] or 15.0
    if kind == "crush-corners" and draw(st.integers(0, 4)):
        fields["old_face_mm"] = None
        fields["flat_mm"] = fields["flat_mm"] or 8.0
    return model(id=f"s{number}", **fields)


@st.composite
def stacks(draw):
    return REGISTRY["stack"](
        id="s0",
        strips=[
            {
                "steel": steel,
                "thickness_mm": draw(st.one_of(st.floats(1.0, 6.0), st.floats(1e-3, 200.0))),
            }
            for steel in ("1084", "15N20")
        ],
        repeat=draw(st.integers(1, 12)),
        width_mm=draw(st.one_of(st.floats(20.0, 80.0), st.floats(1e-3, 1000.0))),
        length_mm=draw(st.one_of(st.floats(60.0, 300.0), st.floats(1e-3, 5000.0))),
    )


@st.composite
def shops(draw):
    fields = Shop.model_fields
    odd = draw(st.integers(0, 4)) == 0
    return Shop() if not odd else Shop(
        **{name: draw(numbers(info, whole=False)) for name, info in fields.items()}
    )  # fmt: skip


@st.composite
def odd_jobs(draw):
    """Return a job of one bar: a stack, mostly welded, then some steps."""
    row = [draw(stacks())]
    if draw(st.integers(0, 5)):
        row.append(REGISTRY["forge-weld"](id="s1", down_pct=draw(st.floats(2.0, 50.0))))
    for _ in range(draw(st.integers(1, 4))):
        row.append(draw(steps(len(row))))
        if row[-1].kind == "split" and draw(st.integers(0, 3)):
            row.append(REGISTRY["reweld"](id=f"s{len(row)}"))
    return Job(format=1, name="odd", shop=draw(shops()), bar=(Bar(name="bar", step=tuple(row)),))
