"""Outlines to mesh, and what may be asked of any mesh."""

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from patternsim.flow.boundary import polygon_curve


def block(width, height):
    return polygon_curve([[0, 0], [width, 0], [width, height], [0, height]])


def circle(radius=1.0, edges=64, middle=(0.0, 0.0)):
    angle = np.arange(2 * edges) * np.pi / edges
    return np.array(middle) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def notched(depth, width):
    half = width / 2
    top = [[0.5 + half, 1], [0.5, 1 - depth], [0.5 - half, 1]]
    return polygon_curve([[0, 0], [1, 0], [1, 1], *top, [0, 1]])


def with_lip(thickness):
    top = 0.5 + thickness
    lip = [[1, 0.5], [1.6, 0.53], [1.6, 0.53 + thickness], [1, top]]
    return polygon_curve([[0, 0], [1, 0], *lip, [1, 1], [0, 1]])


def rounded(radius, edges=3):
    """A unit square with corners rounded, `edges` edges to a corner."""
    parts = []
    middles = [(1 - radius, radius), (1 - radius, 1 - radius), (radius, 1 - radius), (radius, radius)]
    for quarter, middle in enumerate(middles):
        angle = (quarter - 1) * np.pi / 2 + np.linspace(0, np.pi / 2, 2 * edges + 1)
        parts.append(np.array(middle) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1))
    flats = [0.5 * (a[-1] + b[0]) for a, b in zip(parts, parts[1:] + parts[:1], strict=True)]
    return np.concatenate([np.vstack([part, flat]) for part, flat in zip(parts, flats, strict=True)])


# --- random ones -------------------------------------------------------------------------


def spiky(rng):
    """A star of 5 to 40 corners: slivers, notches, spikes."""
    while True:
        count = rng.integers(5, 40)
        angle, radius = np.sort(rng.uniform(0, 2 * np.pi, count)), rng.uniform(0.15, 1, count)
        corners = radius[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        if sound(corners):
            return corners


def lips_that_nearly_touch(rng):
    """A block with a slit whose sides come within a thousandth to a tenth of its width."""
    count = rng.integers(3, 9)
    gap = 10 ** rng.uniform(-3, -1)
    down = np.sort(rng.uniform(0.3, 0.97, count))
    middle = 0.5 + rng.uniform(-0.15, 0.15, count)
    right = np.stack([middle + gap / 2, down], axis=1)
    left = np.stack([middle - gap / 2, down], axis=1)
    ends = np.array([middle[-1], 1.0])
    sides = [right[::-1], [[middle[0], down[0] - 0.1]], left]
    aside = np.array([gap / 2, 0])
    right_end, left_end = ends + aside, ends - aside
    box = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]])
    corners = np.vstack([box, [right_end], *sides, [left_end], [[0.0, 1.0]]])
    return corners if sound(corners) else lips_that_nearly_touch(rng)


def sliver(rng):
    """A long thin bent piece, a tenth to a thirtieth as thick as it is long."""
    count = rng.integers(3, 8)
    along = np.linspace(0, 1, count)
    middle = np.stack([along, rng.uniform(-0.1, 0.1, count)], axis=1)
    half = np.array([0, rng.uniform(0.015, 0.05)])
    corners = np.vstack([middle - half, (middle + half)[::-1]])
    return corners if sound(corners) else sliver(rng)


def sound(corners):
    """Whether corners make a proper counter-clockwise polygon, none all but on its neighbour."""
    polygon = Polygon(corners)
    apart = np.hypot(*(corners - np.roll(corners, -1, axis=0)).T)
    return polygon.is_valid and polygon.exterior.is_ccw and polygon.area > 0.005 and apart.min() > 1e-3


def sharpest_deg(corners):
    """The sharpest angle of the steel at a corner, degrees."""
    into, out = corners - np.roll(corners, 1, axis=0), np.roll(corners, -1, axis=0) - corners
    turn = np.arctan2(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0], np.sum(into * out, axis=1))
    return float(np.degrees(np.pi - turn.max()))


# --- what any mesh must be ---------------------------------------------------------------


def straight_shapes(mesh):
    """Shapes of the triangles by their corners, by the plain formula, 1 for an equal-sided one."""
    corners = mesh.nodes[mesh.triangles[:, :3]]
    sides = corners - np.roll(corners, 1, axis=1)
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = 0.5 * (first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0])
    return 4 * np.sqrt(3) * area / np.sum(sides**2, axis=(1, 2))


def assert_proper(mesh):
    """Euler's relation, positive triangles, every edge of the outline once, each inner one twice."""
    triangles, loop, count = mesh.triangles, mesh.loop, len(mesh.nodes)
    assert straight_shapes(mesh).min() > 0
    assert set(triangles[:, :3].ravel()) == set(range(mesh.vertices))
    assert set(triangles[:, 3:].ravel()) == set(range(mesh.vertices, count))
    sides = triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    edges = np.column_stack([np.sort(sides, axis=1), triangles[:, 3:].ravel()])
    different, uses = np.unique(edges, axis=0, return_counts=True)
    # A disc: corners - edges + triangles = 1.
    assert mesh.vertices - len(different) + len(triangles) == 1
    assert count == mesh.vertices + len(different)
    rim = different[uses == 1]
    start = loop[0::2]
    ends = np.sort(np.column_stack([start, np.roll(start, -1)]), axis=1)
    around = np.column_stack([ends, loop[1::2]])
    assert uses.max() <= 2
    np.testing.assert_array_equal(rim, around[np.lexsort(around.T[::-1])])


def distance_to(curve_polygon, points):
    """Distance of points to a closed polygon, by an outside library."""
    ring = LineString(np.vstack([curve_polygon, curve_polygon[:1]]))
    return shapely.distance(shapely.points(points), ring)
