"""Starting jobs worked once, and points on what comes of them."""

from functools import cache
from importlib.resources import files

import numpy as np

import patternsim
from patternsim.knife.placement import placed


@cache
def job(name):
    """Return the starting job `name`, worked."""
    return patternsim.run(
        patternsim.load(str(files("patternsim") / "data" / "jobs" / f"{name}.toml")), "quick"
    )


@cache
def blade(name):
    """Return the blade of a starting job, placed in its piece."""
    result = job(name)
    return placed(result.job.blade, result.blade_piece())


def face(name, count, side="mark-side"):
    """Return about `count` points of the finished surface of a side, row by row as a picture asks."""
    knife = blade(name)
    outline = knife.outline
    low, high = outline.polygon().min(axis=0), outline.polygon().max(axis=0)

    def inside(spacing):
        u, v = np.meshgrid(
            np.arange(low[0] + spacing / 2, high[0], spacing),
            np.arange(low[1] + spacing / 2, high[1], spacing),
        )
        u, v = u.ravel(), v.ravel()
        on_blade = (u > 0.0) & (u < outline.length_mm)
        u, v = u[on_blade], v[on_blade]
        above = v - outline.edge_at(u)
        on_blade = (above >= 0.0) & (above <= outline.height_at(u))
        return u[on_blade], v[on_blade]

    # A coarse grid first: what share of the rectangle is blade?
    spacing = 0.5
    spacing *= np.sqrt(len(inside(spacing)[0]) / count)
    u, v = inside(spacing)
    return knife.surface(u, v, side)
