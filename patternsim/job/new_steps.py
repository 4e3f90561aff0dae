"""Fields for a new step, from the size of the steel at its place, so that the job stays possible.

Shares and sizes here are beginnings to be changed by the smith: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from patternsim.errors import JobError
from patternsim.job.editing import fresh_id
from patternsim.job.model import Job
from patternsim.job.patching import Plain
from patternsim.job.wiring import joined_bars, kind_of
from patternsim.step import REGISTRY

Fields = dict[str, Plain]


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """The steel at the place of a new step.

    Attributes
    ----------
    size : (x, y, z) mm
        Of the first piece.
    pieces : int
        How many there are.
    stands_tall : bool
        Its layers follow one another along the length.
    job : Job
    bar : str
        Name of the bar.
    """

    size: tuple[float, float, float]
    pieces: int
    stands_tall: bool
    job: Job
    bar: str


def new_step(
    kind: str,
    piece_size: tuple[float, float, float],
    job: Job,
    *,
    bar: str = "",
    pieces: int = 1,
    stands_tall: bool = False,
) -> Fields:
    """Return the fields of a new step, `id` and `kind` first, as `with_step` takes them.

    Parameters
    ----------
    kind : str
    piece_size : (x, y, z) mm
        Of the first piece at that place; length, width, thickness.
    job : Job
    bar : str
        Name of the bar the step is for; only `join` asks for it.
    pieces : int
        How many pieces there are at that place.
    stands_tall : bool
        The layers of the piece follow one another along its length.

    Raises
    ------
    JobError
        If there is no such kind, or nothing it could be done with.
    """
    if kind not in REGISTRY:
        raise JobError(f'there is no step kind "{kind}"; use one of: {", ".join(sorted(REGISTRY))}')
    if not all(math.isfinite(one) and one > 0.0 for one in piece_size):
        raise JobError("there is no steel here yet; put the step behind one that leaves some")
    here = Here(size=piece_size, pieces=pieces, stands_tall=stands_tall, job=job, bar=bar)
    # A kind without an entry needs no numbers: all of its fields have defaults.
    fields = _FIELDS[kind](here) if kind in _FIELDS else {}
    return {"id": fresh_id(job, kind), "kind": kind, **fields}


# --- one function a kind -----------------------------------------------------------------


def _stack(here: Here) -> Fields:
    x, y, _ = here.size
    strips: list[Plain] = [
        {"steel": "1084", "thickness_mm": 3.0},
        {"steel": "15N20", "thickness_mm": 1.5},
    ]
    return {"strips": strips, "repeat": 10, "width_mm": _round(y), "length_mm": _round(x)}


def _join(here: Here) -> Fields:
    used = {name for bar in here.job.bar for step in bar.step for name in joined_bars(step)}
    if here.job.blade is not None:
        used.add(here.job.blade.bar)
    free = [bar.name for bar in here.job.bar if bar.name not in used | {here.bar}]
    if not free:
        raise JobError("there is no other bar to join; begin another bar first")
    return {"bars": free[:1]}


def _forge_weld(here: Here) -> Fields:
    fields: Fields = {"along": "length"} if here.stands_tall else {}
    return {**fields, "heats": 2, "temperature_c": 1200.0, "down_pct": 12.0}


def _draw(here: Here) -> Fields:
    return {"width_mm": _less(here.size[1], 0.9), "thickness_mm": _less(here.size[2], 0.9)}


def _square_up(here: Here) -> Fields:
    return {"side_mm": _less(math.sqrt(here.size[1] * here.size[2]), 0.95)}


def _flatten(here: Here) -> Fields:
    return {"thickness_mm": _less(here.size[2], 0.85)}


def _press_on_edge(here: Here) -> Fields:
    # The bar is laid over first: what was its width is what the press takes down.
    return {"height_mm": _less(here.size[1], 0.75)}


def _upset(here: Here) -> Fields:
    return {"length_mm": _less(here.size[0], 0.9)}


def _fuller(here: Here) -> Fields:
    long, _, thick = here.size
    count = max(1, min(8, int(long / (3.0 * thick))))
    places = [_round(long * (k + 1) / (count + 1)) for k in range(count)]
    return {"places_mm": places, "depth_mm": _less(thick, 0.1), "radius_mm": _less(thick, 0.5)}


def _crush_corners(here: Here) -> Fields:
    return {"flat_mm": _less((here.size[1] + here.size[2]) / 2, 0.4)}


def _taper(here: Here) -> Fields:
    return {"over_mm": _less(min(100.0, here.size[0]), 0.5), "thickness_mm": _less(here.size[2], 0.5)}


def _bend(here: Here) -> Fields:
    x, y, _ = here.size
    radius = _round(max(4.0 * y, x))
    angle = math.floor(min(20.0, math.degrees(x / 2 / radius)))
    return {"start_mm": _less(x, 0.25), "radius_mm": radius, "angle_deg": float(max(angle, 1))}


def _cut(here: Here) -> Fields:
    crop = _less(min(50.0, here.size[0]), 0.1)
    return {"crop_near_mm": crop, "crop_far_mm": crop, "pieces": 2}


def _trim(here: Here) -> Fields:
    crop = _less(min(50.0, here.size[0]), 0.1)
    return {"near_mm": crop, "far_mm": crop}


def _slice(_here: Here) -> Fields:
    return {"across": "thickness", "pieces": 2}


def _grind_clean(here: Here) -> Fields:
    return {"faces_mm": _less(min(5.0, here.size[2]), 0.1)}


def _restack(here: Here) -> Fields:
    return {"high": max(here.pieces, 2)}


def _mark(here: Here) -> Fields:
    names = {getattr(step, "name", "") for bar in here.job.bar for step in bar.step
             if kind_of(step) == "mark"}  # fmt: skip
    number = next(k for k in range(1, len(names) + 2) if _nick(k) not in names)
    return {"name": _nick(number), "face": "mark-side", "depth_mm": _less(min(8.0, here.size[2]), 0.25)}


def _split(here: Here) -> Fields:
    x, y, _ = here.size
    nose = min(4.0, _less(y, 0.1))
    return {"included_deg": 45.0, "nose_mm": nose, "leave_mm": min(8.0, _less(x, 0.1)), "travel": "down"}


def _reweld(_here: Here) -> Fields:
    return {"heats": 2, "temperature_c": 1200.0, "close_to": 0.95}


_FIELDS: dict[str, Callable[[Here], Fields]] = {
    "bend": _bend,
    "crush-corners": _crush_corners,
    "fuller": _fuller,
    "cut": _cut,
    "draw": _draw,
    "flatten": _flatten,
    "forge-weld": _forge_weld,
    "grind-clean": _grind_clean,
    "join": _join,
    "mark": _mark,
    "press-on-edge": _press_on_edge,
    "restack": _restack,
    "reweld": _reweld,
    "slice": _slice,
    "split": _split,
    "square-up": _square_up,
    "stack": _stack,
    "taper": _taper,
    "trim": _trim,
    "upset": _upset,
}


def _nick(number: int) -> str:
    return "nick" if number == 1 else f"nick-{number}"


def _less(size: float, share: float) -> float:
    """Return a share of a size, rounded down to what a rule shows: it is never more."""
    part = size * share
    step = 0.5 if part >= 10.0 else 0.1 if part >= 0.5 else 0.01
    return round(math.floor(part / step + 1e-9) * step, 2) or round(part, 4)


def _round(size: float) -> float:
    return round(size, 1) or round(size, 4)
