"""Slow flows assembled by an outside library: matrices to be solved with."""

import numpy as np
import scipy.sparse as sp
import skfem
from scipy.spatial import Delaunay
from skfem.helpers import ddot, div, dot, grad, transpose

from patternsim.flow.elimination import Elimination


def mesh(points):
    """Return triangles between points, with none of them flat."""
    corners = points[Delaunay(points).simplices]
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    sound = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) > 1e-6 * ((a**2).sum(1) + (b**2).sum(1))
    used, triangles = np.unique(Delaunay(points).simplices[sound], return_inverse=True)
    return skfem.MeshTri(points[used].T.copy(), triangles.reshape(-1, 3).T.copy())


def strewn(count, power=1.0, seed=0):
    """Return points in a square and on its rim, the closer together the nearer to one corner."""
    rng = np.random.default_rng(seed)
    side = np.linspace(0.0, 1.0, max(int(count**0.5), 3))
    rim = [(t, u) for t in side for u in (0.0, 1.0)] + [(u, t) for t in side for u in (0.0, 1.0)]
    return np.unique(np.vstack([rim, rng.random((count, 2))]), axis=0) ** power


class Flow:
    """A slow flow on a mesh, velocities first: of uneven stiffness, held and pushed at some places."""

    def __init__(self, mesh, penalty=0.0, held=0, seed=0):
        rng = np.random.default_rng(seed)
        element = skfem.ElementVector(skfem.ElementTriP2())
        u = skfem.Basis(mesh, element, intorder=4)
        p = skfem.Basis(mesh, skfem.ElementTriP1(), intorder=4)
        stiff = np.exp(rng.uniform(-3.0, 3.0, mesh.nelements))[:, None]

        def viscous(u, v, w):
            return stiff * ddot(grad(u) + transpose(grad(u)), grad(v)) + 1e-3 * dot(u, v)

        a = skfem.BilinearForm(viscous).assemble(u)
        b = skfem.BilinearForm(lambda u, q, w: -q * div(u)).assemble(u, p)
        c = skfem.BilinearForm(lambda p, q, w: 1e-7 / stiff * p * q).assemble(p)
        full = sp.bmat([[a, b.T], [b, -c]]).tocsc()
        # All unknowns of one triangle are linked, whatever the values.
        ties = np.vstack([u.element_dofs, p.element_dofs + u.N])
        count = len(ties)
        ones = sp.coo_matrix(
            (
                np.ones(count * count * mesh.nelements),
                (np.repeat(ties, count, axis=0).ravel(), np.tile(ties, (count, 1)).ravel()),
            )
        ).tocsc()
        ones.data[:] = 1e-300
        matrix = (full + ones).tocsc()
        matrix.data[np.abs(matrix.data) < 1e-200] = 0.0
        matrix.sort_indices()
        self.places = np.vstack([u.doflocs.T, p.doflocs.T])
        self.late = np.arange(matrix.shape[0]) >= u.N
        rim = np.unique(u.get_dofs().all())
        if penalty:
            for i in rng.choice(rim, len(rim) // 2, replace=False):
                matrix[i, i] += penalty * np.abs(a).max() * rng.random()
        fixed = np.zeros(matrix.shape[0], bool)
        fixed[rng.choice(rim, min(held, len(rim)), replace=False)] = True
        cols = np.repeat(np.arange(matrix.shape[0]), np.diff(matrix.indptr))
        out = fixed[matrix.indices] | fixed[cols]
        matrix.data[out] = (matrix.indices == cols)[out]
        self.matrix = matrix

    def elimination(self):
        return Elimination(self.matrix.indptr, self.matrix.indices, self.places, self.late)
