"""Which triangle of a mesh a place lies in, and values there."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from patternsim.flow.compiled import finding
from patternsim.flow.mesh import Floats, Ints, Mesh

Bools = NDArray[np.bool_]


def as_points(points: ArrayLike) -> Floats:
    """Places as the compiled part takes them."""
    return np.ascontiguousarray(points, dtype=np.float64).reshape(-1, 2)


def _cells(boxes: Floats) -> tuple[Floats, Ints]:
    """Square cells over all boxes, about two to a box: low corner, cells to a length; their numbers."""
    low = boxes[:, :2].min(axis=0)
    extent = boxes[:, 2:].max(axis=0) - low
    per = np.sqrt(2.0 * len(boxes) / float(np.prod(extent)))
    return np.append(low, per), (extent * per).astype(np.int64) + 1


class Finder:
    """Finds places in a mesh: what can be worked out beforehand is, once."""

    __slots__ = ("plan",)

    def __init__(self, mesh: Mesh) -> None:
        shapes = finding.polynomials(mesh.nodes, mesh.triangles)
        boxes = finding.boxes_of(mesh.nodes, mesh.triangles)
        behind = finding.behind_outline(mesh.triangles, mesh.loop, len(mesh.nodes))
        frame, counts = _cells(boxes)
        heads, items = finding.listed(boxes, frame, counts)
        self.plan: tuple[Any, ...] = (shapes, boxes, frame, counts, heads, items, behind)

    def find(self, points: Floats) -> tuple[Ints, Floats, Bools]:
        """Of every place: its triangle, its two local coordinates, and whether it lies inside.

        A place outside gets the triangle behind the nearest edge of the outline, and coordinates beyond
        0 to 1, or those of the nearest place of the edge where the triangle's own map does not reach so
        far.
        """
        element, local, inside = finding.found(as_points(points), self.plan)
        return element, local, inside

    def nearest(self, points: Floats) -> tuple[Floats, Floats]:
        """Of every place: the nearest place of the outline, and the length of the edge that is on."""
        on, edge = finding.nearest(as_points(points), self.plan)
        return on, edge


def blended(mesh: Mesh, values: Floats, element: Ints, local: Floats) -> Floats:
    """Values (n,) or (n, c) at a mesh's points, at places as found."""
    values = np.ascontiguousarray(values, dtype=np.float64)
    table = values.reshape(len(mesh.nodes), -1)
    out: Floats = finding.blend(table, mesh.triangles, element, np.ascontiguousarray(local))
    return out[:, 0] if values.ndim == 1 else out
