"""The equations of a mesh: which unknowns there are and where their entries lie."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.compiled import pattern as compiled
from patternsim.flow.elimination import Elimination
from patternsim.flow.mesh import Mesh

Ints = NDArray[np.int32]


class Pattern:
    """Unknowns u, v of each node by turns, then the pressures of the vertices.

    Attributes
    ----------
    size : int
    places : (m, 15, 15) int32
        Where the entries of an element's matrix go among the values.
    blocks : (n, 4) int32
        Where the entries uu, vu, uv, vv of a node go.
    diagonal : (size,) int32
    entries : int
    pointers, rows : int32
        The pattern by columns.
    """

    def __init__(self, mesh: Mesh) -> None:
        nodes = len(mesh.nodes)
        self.size = 2 * nodes + mesh.vertices
        heads, items = compiled.neighbours(mesh.triangles, nodes)
        self.pointers, self.rows = compiled.unknown_pattern(heads, items, mesh.vertices)
        self.places = compiled.element_places(
            mesh.triangles, nodes, mesh.vertices, heads, items, self.pointers
        )
        self.blocks, self.diagonal = compiled.block_places(nodes, self.size, self.pointers, self.rows)
        self.entries = len(self.rows)
        where = np.concatenate([np.repeat(mesh.nodes, 2, axis=0), mesh.nodes[: mesh.vertices]])
        late = np.arange(self.size) >= 2 * nodes
        self.elimination = Elimination(self.pointers, self.rows, where, late)
