"""Splits worked out by the flow: a wedge between two halves, then the halves pressed shut.

Each half by itself, in a frame of its own: (distance from the cut, height above the floor), the wedge
coming down. Worked out at a block width of 1, kept at that.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from patternsim.fields import Grid
from patternsim.flow import Flowed, Operation, close_half, split_half
from patternsim.flow.presses import Fineness
from patternsim.flow.sampling import sampled
from patternsim.flow.settings import STEEL
from patternsim.press import keeping
from patternsim.press.asked import Level
from patternsim.press.flowing import sturdily
from patternsim.press.goals import Load
from patternsim.press.way import Heeded, Way
from patternsim.press.worked import grid_arrays, grid_from
from patternsim.progress import Progress, Silent
from patternsim.section import flattened
from patternsim.wedge import ROUNDED, Wedge

Floats = NDArray[np.float64]

SIDE_DIES = 0.3
"""Friction factor of the dies that press the halves shut: they hardly slide along the steel."""
GRADING = 0.06
"""Length over the width in which samples crowd towards the cut."""
SHORT_OPEN, SHORT_SHUT = 160, 110
"""Samples across the short side, of the open halves (only looked at) and of the shut ones."""
SHAFT = 0.03
"""Distance from the cut over the width within which nothing is predicted."""
WEB_LEAST = 0.02
"""Steel left under the nose over the width, at least: what parts right through is shut again alike."""
OPEN_KEPT = 6
"""Open halves kept whole for closing, some MB each."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Half:
    """One half as it comes out.

    Attributes
    ----------
    grid : Grid
        Displacement, before minus after, mm: open, over (distance, height); shut, over (height,
        distance), crowded towards the cut.
    outline : (k, 2) float64, mm
        Over (distance from the cut, height above the floor).
    web : float, mm
        Height up to which the halves are one piece.
    side : float, mm
        What pushes the wedge aside, as `load`.
    load : Load
    damage : float
    """

    grid: Grid
    outline: Floats
    web: float
    side: float
    load: Load
    damage: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Halves:
    """Both halves; alike ones are one."""

    low: Half
    high: Half

    def stretched(self, was: Wedge, now: Wedge) -> Halves:
        """Return them stretched from one block to another: a stand-in until those are worked out."""
        tall = float(np.ptp(now.low[:, 1]) / np.ptp(was.low[:, 1]))
        return Halves(
            low=_stretched(self.low, now.width / was.width, tall),
            high=_stretched(self.high, now.width / was.width, tall),
        )


def _stretched(half: Half, wide: float, tall: float) -> Half:
    by = (tall, wide) if half.grid.grading else (wide, tall)
    return replace(
        half,
        grid=half.grid.stretched(after=by, before=by),
        outline=half.outline * [wide, tall],
        web=half.web * tall,
    )


def parted(wedge: Wedge, level: Level, progress: Progress | None = None) -> Halves:
    """Drive the wedge in.

    Raises
    ------
    FlowError
        If the flow gives out.
    Cancelled
        From `progress`.
    """
    return _both(wedge, lambda curve: _half(wedge, curve, None, level, progress or Silent()))


def shut(wedge: Wedge, to: float, level: Level, progress: Progress | None = None) -> Halves:
    """Press the open halves shut, each to the share `to` of what it measured before the wedge.

    Raises
    ------
    FlowError, Cancelled
        As `parted`.
    """
    share, watch = round(to, ROUNDED), progress or Silent()
    return _both(wedge, lambda curve: _half(wedge, curve, share, level, watch))


def _both(wedge: Wedge, work: Callable[[Floats], Half]) -> Halves:
    low, high = wedge.halves()
    first = work(low)
    alike = low.shape == high.shape and np.abs(low - high).max() < 10.0**-ROUNDED * 5
    return Halves(low=first, high=first if alike else work(high))


def _half(wedge: Wedge, curve: Floats, to: float | None, level: Level, progress: Progress) -> Half:
    told = [
        round(v, 9)
        for v in (wedge.leave / wedge.width, wedge.included_deg, wedge.nose_mm / wedge.width,
                  wedge.friction, wedge.floor)
    ]  # fmt: skip
    key = keeping.key_of("wedge", curve, told, level.value)

    def work() -> keeping.Arrays:
        opened = _opened(key, wedge, curve, level, progress)
        if to is None:
            return _packed_open(opened, progress)
        return _packed_shut(opened, _shut(opened, curve, to, level, progress), progress)

    name = key if to is None else keeping.key_of("shut", key, to)
    kept = keeping.shelf().kept(name, work)
    scale = wedge.width
    web, side, load, strain, damage = (float(v) for v in kept["told"])
    return Half(
        grid=grid_from(kept, scale),
        outline=kept["outline"] * scale,
        web=web * scale,
        side=side * scale,
        load=Load(width=load * scale, height=scale, strain=strain),
        damage=damage,
    )


_open: OrderedDict[str, Flowed] = OrderedDict()
_lock = Lock()


def _opened(key: str, wedge: Wedge, curve: Floats, level: Level, progress: Progress) -> Flowed:
    with _lock:
        if key in _open:
            _open.move_to_end(key)
            return _open[key]
    height = float(np.ptp(curve[:, 1]))
    leave = max(wedge.leave / wedge.width, WEB_LEAST)

    def wedged(fineness: Fineness) -> Operation:
        return split_half(
            curve,
            width=1.0,
            depth=height - leave,
            included=wedge.included_deg,
            nose=wedge.nose_mm / wedge.width,
            wedge_friction=wedge.friction,
            floor_friction=wedge.floor,
            fineness=fineness,
        )

    flowed = sturdily(wedged, level is Level.FINE, progress)
    with _lock:
        _open[key] = flowed
        while len(_open) > OPEN_KEPT:
            _open.popitem(last=False)
    return flowed


def _shut(opened: Flowed, curve: Floats, to: float, level: Level, progress: Progress) -> Flowed:
    def closing(fineness: Fineness) -> Operation:
        return close_half(
            opened.mesh,
            width=1.0,
            to=to * float(curve[:, 0].max()),
            fineness=fineness,
            die_friction=SIDE_DIES,
        )

    return sturdily(closing, level is Level.FINE, progress)


def _packed_open(opened: Flowed, progress: Progress) -> keeping.Arrays:
    found = sampled(Heeded(opened.chain, progress), short=SHORT_OPEN)
    report = opened.report
    rate = 1.0  # the mean rate at a width of 1 is the speed
    load = 2.0 * report.peak("wedge") / rate**STEEL.exponent
    side = float(np.median(report.side["wedge"]))
    return {
        **grid_arrays(found.grid),
        "outline": flattened(opened.mesh.outline()),
        "told": np.array([_web(opened), side, load, report.strain[1], report.damage.value]),
    }


def _packed_shut(opened: Flowed, closed: Flowed, progress: Progress) -> keeping.Arrays:
    way = Way()
    way.add(opened.chain)
    way.add(closed.chain)
    found = sampled(Heeded(way, progress), short=SHORT_SHUT, grading=GRADING, shaft=SHAFT)
    report = closed.report
    load = report.peak("side die")
    return {
        **grid_arrays(found.grid),
        "outline": flattened(closed.mesh.outline()),
        "told": np.array([_web_after(opened, closed), 0.0, load, report.strain[1], report.damage.value]),
    }


def _web(opened: Flowed) -> float:
    """Return the height up to which the halves of an open split are joined."""
    border = opened.mesh.nodes[opened.mesh.loop]
    on_line = border[np.abs(border[:, 0]) < 1e-6]
    return float(on_line[:, 1].max()) if len(on_line) else 0.0


def _web_after(opened: Flowed, closed: Flowed) -> float:
    """Return where the top of the joined part lies once the halves are shut."""
    web = _web(opened)
    low, high = 0.0, float(closed.mesh.nodes[:, 1].max())
    for _ in range(40):
        middle = (low + high) / 2
        there = closed.chain.back(np.array([[1e-6, middle]]))[0]
        if there[1] < web and there[0] < 1e-3:
            low = middle
        else:
            high = middle
    return low
