"""A section parted into curved triangles of six points."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.compiled import meshing

Floats = NDArray[np.float64]
Ints = NDArray[np.signedinteger[Any]]


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Triangles whose edges are parabolas through three points; the outline runs counter-clockwise."""

    nodes: Floats
    """(n, 2): corners of triangles first, then the points half-way along edges."""
    triangles: Ints
    """(m, 6): corners a, b, c counter-clockwise, then the points on ab, bc, ca."""
    vertices: int
    loop: Ints
    """(2k,) the outline: corner, point on the edge, corner, ..."""

    def moved(self, nodes: Floats) -> Mesh:
        """The same triangles with their points elsewhere."""
        return replace(self, nodes=np.ascontiguousarray(nodes, dtype=np.float64))

    def outline(self) -> Floats:
        """(2k, 2): the outline as a curve of parabolas, corner, point on the edge, corner, ..."""
        return self.nodes[self.loop]

    def area(self) -> float:
        """The area within the curved outline, exact."""
        outline = self.outline()
        # About a point of the section: far from the origin the terms would cancel to nothing.
        start = outline[0::2] - outline[0]
        middle = outline[1::2] - outline[0]
        end = np.roll(start, -1, axis=0)
        chords = end - start
        rise = middle - 0.5 * (start + end)
        flat = 0.5 * np.sum(start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0])
        # Under a parabola lie two thirds of chord times rise (Archimedes).
        return float(flat + 2 / 3 * np.sum(rise[:, 0] * chords[:, 1] - rise[:, 1] * chords[:, 0]))

    def shares(self) -> Floats:
        """(n,) the length of outline that belongs to each point by Simpson's rule, 0 inside."""
        outline = self.outline()
        start, middle = outline[0::2], outline[1::2]
        end = np.roll(start, -1, axis=0)
        lengths = np.hypot(*(middle - start).T) + np.hypot(*(end - middle).T)
        shares = np.zeros(len(self.nodes))
        shares[self.loop[0::2]] = (lengths + np.roll(lengths, 1)) / 6
        shares[self.loop[1::2]] = 4 * lengths / 6
        return shares

    def quality(self) -> tuple[float, float]:
        """The worst triangle's shape, 0 to 1, and the worst determinant over that of straight edges."""
        shape, stretch = meshing.shapes(self.nodes, self.triangles)
        return float(shape.min()), float(stretch.min())
