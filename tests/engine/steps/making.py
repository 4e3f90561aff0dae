"""Steel and steps for the tests: bars of any size, one step worked on them, the map it leaves."""

from dataclasses import replace

import numpy as np

import patternsim.steps  # noqa: F401 - fills the registry
from patternsim.fields import lay_out, walk
from patternsim.press import Level
from patternsim.shop import Shop
from patternsim.step import REGISTRY, Context


def step(kind, *, id="step", **numbers):
    return REGISTRY[kind](id=id, **numbers)


def work(kind, *pieces, shop=None, among=None, id="step", level=Level.QUICK, **numbers):
    """Work one step on `pieces`, the bars of the job in `among`; return the outcome."""
    context = Context(shop=Shop(**(shop or {})), level=Level(level), bars=among or {})
    return step(kind, id=id, **numbers).work(tuple(pieces), context)


def stacked(*, length=120.0, width=40.0, height=40.0, layers=8, steels=("1084", "15N20")):
    """Return a loose stack of `layers` equal strips, the steels in turn."""
    strips = [{"steel": steels[k % len(steels)], "thickness_mm": height / layers} for k in range(layers)]
    outcome = work("stack", strips=strips, width_mm=width, length_mm=length, id="stack")
    return outcome.pieces[0]


def bar(**sizes):
    """Return a stack as it would be after a weld that cost nothing."""
    return replace(stacked(**sizes), loose=False)


def with_mark(piece, *, name="nick", **numbers):
    return work("mark", piece, name=name, id="nick", **numbers).pieces[0]


def inside(piece, count, *, seed=0, margin=0.03):
    """Return random points of a piece's box, a little off its borders."""
    low, high = (np.array(corner) for corner in piece.box())
    share = np.random.default_rng(seed).uniform(margin, 1.0 - margin, (count, 3))
    return low + share * (high - low)


def determinants(after, stop, points, *, probe=0.02):
    """Return the determinant of the way back to `stop` at points of `after`, and who was seen.

    Central differences; a point whose neighbours take another way, or leave the steel, does not count.
    """
    program = lay_out(after.solid(), keep=(stop,))
    offsets = probe * np.concatenate([np.eye(3), -np.eye(3)])
    ways, places, there = [], [], np.ones(len(points), dtype=bool)
    for offset in offsets:
        hits = walk(program, points + offset, stop=stop, workers=1)
        ways.append(hits.paths)
        places.append(hits.points)
        there &= hits.inside & (hits.paths == ways[0])
    slopes = np.stack([(places[k] - places[k + 3]) / (2 * probe) for k in range(3)], axis=-1)
    return np.linalg.det(slopes[there]), there
