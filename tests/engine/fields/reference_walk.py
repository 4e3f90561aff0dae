"""A second walker of fields, slow and plain, that shares nothing with the compiled one but the links.

Every link is read afresh in numpy, splines are evaluated by scipy.ndimage.map_coordinates in double
precision, and points that part ways are put together again in order. It uses no flat layout and no
compiled code of the engine.
"""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import map_coordinates

from patternsim.fields import Affine, Bend, Clip, Gap, Halve, Leaf, Pick, PlaneMap, Taper

SLACK_MM = 0.05
"""How far past the borders of a pick or a stack a point still belongs to it."""
OUTSIDE, IN_GAP, REACHED = -1, -2, -3
AXES = {"yz": (1, 2), "xy": (0, 1), "xz": (0, 2)}


@dataclass
class Found:
    """What a walk found, one row a point.

    state: OUTSIDE, IN_GAP, REACHED, or the layer counted within its stack. of: how many layers that
    stack has. depth: layer with fraction. points: where the walk ended.
    """

    state: np.ndarray
    of: np.ndarray
    depth: np.ndarray
    points: np.ndarray


def walk(node, points, stop=None):
    points = np.array(points, dtype=float)
    if node is stop:
        return _all(points, REACHED)
    if isinstance(node, Affine):
        return walk(node.child, points @ node.matrix.T + node.shift, stop)
    if isinstance(node, PlaneMap):
        return walk(node.child, through_plane(node, points), stop)
    if isinstance(node, Taper):
        return walk(node.child, untapered(node, points), stop)
    if isinstance(node, Bend):
        return walk(node.child, unbent(node, points), stop)
    if isinstance(node, Gap):
        return _all(points, IN_GAP)
    if isinstance(node, Leaf):
        return in_stack(node, points)
    if isinstance(node, Clip):
        ways = np.all((points >= node.low) & (points <= node.high), axis=1) - 1
        kids = (node.child,)
    elif isinstance(node, Halve):
        ways = (points @ node.normal >= node.at).astype(int)
        kids = (node.low, node.high)
    elif isinstance(node, Pick):
        at = points[:, node.axis]
        ways = np.clip(np.searchsorted(node.borders, at, side="right") - 1, 0, len(node.pieces) - 1)
        beyond = (at < node.borders[0] - SLACK_MM) | (at > node.borders[-1] + SLACK_MM)
        ways[beyond] = -1
        kids = node.pieces
    else:
        raise TypeError(type(node).__name__)
    return _together(points, ways, kids, stop)


def _all(points, state):
    count = len(points)
    return Found(np.full(count, state), np.zeros(count, dtype=np.int64), np.zeros(count), points.copy())


def _together(points, ways, kids, stop):
    """Walk each way by itself and put the answers back in order; way -1 is outside."""
    parts, places = [], []
    for way in np.unique(ways):
        here = np.flatnonzero(ways == way)
        places.append(here)
        parts.append(_all(points[here], OUTSIDE) if way < 0 else walk(kids[way], points[here], stop))
    if not parts:
        return _all(points, OUTSIDE)
    order = np.argsort(np.concatenate(places))
    return Found(
        *(
            np.concatenate([getattr(part, name) for part in parts])[order]
            for name in ("state", "of", "depth", "points")
        )
    )


def in_stack(leaf, points):
    x, y, z = points.T
    edges = leaf.edges
    count = len(edges) - 1
    inside = (
        (np.abs(x - leaf.length / 2) <= leaf.length / 2 + SLACK_MM)
        & (np.abs(y) <= leaf.width / 2 + SLACK_MM)
        & (z >= edges[0] - SLACK_MM)
        & (z <= edges[-1] + SLACK_MM)
    )
    layer = np.clip(np.searchsorted(edges, z, side="right") - 1, 0, count - 1)
    depth = np.interp(z, edges, np.arange(count + 1))
    return Found(
        np.where(inside, layer, OUTSIDE),
        np.where(inside, count, 0),
        np.where(inside, depth, 0.0),
        points.copy(),
    )


def through_plane(node, points):
    """Return the points before a sampled flow: one spline a component, coefficients as they are."""
    axes = list(AXES[node.plane])
    grid = node.grid
    a, b = points[:, axes].T
    if grid.grading:
        b = np.arcsinh(b / grid.grading)
    places = [(a - grid.origin[0]) / grid.step[0], (b - grid.origin[1]) / grid.step[1]]
    back = points.copy()
    for k, axis in enumerate(axes):
        coefs = grid.coefs[..., k].astype(np.float64)
        back[:, axis] += map_coordinates(coefs, places, order=3, prefilter=False, mode="nearest")
    return back


def untapered(node, points):
    """Return the points before a taper: straight lines between the rows of its table."""
    x, y, z = points.T
    at = node.step * np.arange(len(node.table))
    near = np.clip(x, at[0], at[-1])
    reach, across, through, lift = (np.interp(near, at, column) for column in node.table.T)
    return np.stack([reach + (x - near) * across * through, (y - lift) / across, z / through], axis=1)


def unbent(node, points):
    """Return the points of the straight bar: the foot of each on the middle line, by brute force."""
    x, y, heading, curve = node.table.T
    s = node.step * np.arange(len(x))
    ahead = (points[:, :1] - x) * np.cos(heading) + (points[:, 1:2] - y) * np.sin(heading)
    row = np.argmax((ahead[:, :-1] > 0) & (ahead[:, 1:] <= 0), axis=1)
    row = np.where(ahead[:, -1] > 0, len(x) - 2, row)
    k = np.arange(len(points))
    # The feet change evenly between two rows a quarter millimetre apart, to a few ten-thousandths.
    part = ahead[k, row] / (ahead[k, row] - ahead[k, row + 1])
    along = s[row] + part * node.step
    inside = np.clip(along, 0.0, s[-1])
    h, c = np.interp(inside, s, heading), np.interp(inside, s, curve)
    px, py = np.interp(inside, s, x), np.interp(inside, s, y)
    off = -(points[:, 0] - px) * np.sin(h) + (points[:, 1] - py) * np.cos(h)
    back = points.copy()
    back[:, 0], back[:, 1] = along, off - c * off**2 / 2
    return back
