"""The equations against scikit-fem, a general finite-element library, and a made-up Stokes solution."""

import numpy as np
import pytest
import skfem
from scipy.sparse import bmat, csc_matrix
from skfem.helpers import ddot, div, dot, grad, sym_grad

from patternsim.flow.boundary import polygon_curve
from patternsim.flow.elements import SIX, shapes
from patternsim.flow.mesher import meshed
from patternsim.flow.moment import Moment, Rates
from patternsim.flow.pattern import Pattern
from patternsim.flow.settings import Care, Law, Stretch
from patternsim.flow.settling import settle
from patternsim.flow.tools import HalfPlane, Tool
from patternsim.flow.touching import touching

SQUARE = polygon_curve(np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]))
LEAST = 1e-4


def moment_on(mesh, *, exponent, fixed=None, tools=(), load=None, step=1e-9, care=None):
    pattern = Pattern(mesh)
    pairs = touching(
        mesh, tools, np.zeros((len(tools), 2)), step=step, element=0.1,
        shear=1.0, pressing=np.zeros((len(tools), len(mesh.nodes))),
    )  # fmt: skip
    return Moment(
        mesh,
        pattern,
        strength=np.ones(len(mesh.triangles)),
        law=Law(exponent=exponent, least=LEAST),
        care=care or Care(change=1e-10, power=1e-15, tries=60),
        rate=1.0,
        touching=pairs,
        fixed=np.zeros(pattern.size, bool) if fixed is None else fixed,
        step=step,
        stretch=Stretch(),
        element=0.1,
        load=load,
    )


class Library:
    """The same mesh and unknowns in scikit-fem; `order` takes its unknowns to ours."""

    def __init__(self, mesh):
        corners = skfem.MeshTri(
            mesh.nodes[: mesh.vertices].T.copy(), mesh.triangles[:, :3].T.astype(np.int64).copy()
        )
        self.velocity = skfem.Basis(corners, skfem.ElementVector(skfem.ElementTriP2()), intorder=4)
        self.pressure = self.velocity.with_element(skfem.ElementTriP1())
        places = self.velocity.doflocs.T
        nearest = np.array([np.argmin(((mesh.nodes - at) ** 2).sum(axis=1)) for at in places])
        component = np.empty(len(places), int)
        for axis in (0, 1):
            component[self.velocity.nodal_dofs[axis]] = axis
            component[self.velocity.facet_dofs[axis]] = axis
        self.order = 2 * nearest + component
        self.vertex = np.array(
            [np.argmin(((mesh.nodes[: mesh.vertices] - at) ** 2).sum(axis=1)) for at in corners.p.T]
        )

    def ours(self, velocity, pressure):
        flat = np.empty(len(velocity))
        flat[self.order] = velocity
        vertex = np.empty(len(pressure))
        vertex[self.vertex] = pressure[self.pressure.nodal_dofs[0]]
        return flat.reshape(-1, 2), vertex


def rate_of(w, least=LEAST):
    stretching = sym_grad(w)
    return np.sqrt(2.0 / 3.0 * ddot(stretching, stretching) + least**2)


@skfem.BilinearForm
def tangent(u, v, w):
    d = rate_of(w["at"])
    now = sym_grad(w["at"])
    mu = 2.0 / 3.0 * d ** (w.exponent - 1.0)
    bend = mu * (w.exponent - 1.0) * 2.0 / 3.0 / d**2
    return mu * ddot(sym_grad(u), sym_grad(v)) + bend * ddot(now, sym_grad(u)) * ddot(now, sym_grad(v))


@skfem.LinearForm
def internal(v, w):
    d = rate_of(w["at"])
    return 2.0 / 3.0 * d ** (w.exponent - 1.0) * ddot(sym_grad(w["at"]), sym_grad(v))


@skfem.BilinearForm
def pressing(u, q, w):
    return -div(u) * q


def test_the_matrix():
    """Every entry, straight and curved flow, against the library's: 1e-8."""
    mesh = meshed(SQUARE, 0.2)
    library = Library(mesh)
    x, y = mesh.nodes.T
    velocity = np.stack([x + 0.2 * y**2, -y + 0.1 * x**2], axis=1)
    moment = moment_on(mesh, exponent=0.15)
    moment.look(Rates(velocity, np.zeros(mesh.vertices), 0.0), secant=False)
    nodes = 2 * len(mesh.nodes)
    ours = csc_matrix((moment.values, moment.pattern.rows, moment.pattern.pointers))
    at = library.velocity.interpolate(velocity.ravel()[library.order])
    theirs = tangent.assemble(library.velocity, at=at, exponent=0.15)
    order = library.order
    difference = ours[:nodes, :nodes][order][:, order] - theirs
    # Ours holds a faint drag on every node besides.
    assert abs(difference).max() < 1e-8 * abs(theirs).max() + 1.1e-8
    coupling = pressing.assemble(library.velocity, library.pressure)
    rows = nodes + library.vertex
    assert abs(ours[rows][:, order] - coupling).max() < 1e-10 * abs(coupling).max()


def test_a_solved_moment():
    """A block between sticking dies, rate exponent 0.2: velocities and pressures within 1 %."""
    mesh = meshed(SQUARE, 0.15)
    dies = (
        Tool(name="top", shape=HalfPlane((0.0, 1.0), (0.0, -1.0)), velocity=(0.0, -1.0), sticks=True),
        Tool(name="bottom", shape=HalfPlane((0.0, -1.0), (0.0, 1.0)), velocity=(0.0, 1.0), sticks=True),
    )
    moment = moment_on(mesh, exponent=0.2, tools=dies)
    nodes, vertices = len(mesh.nodes), mesh.vertices
    settled = settle(moment, Rates(np.zeros((nodes, 2)), np.zeros(vertices), 0.0), fresh=True)
    assert settled.whole
    velocity, pressure = solved_by_the_library(mesh, exponent=0.2)
    size = np.sqrt((velocity**2).sum())
    assert np.sqrt(((settled.rates.velocity - velocity) ** 2).sum()) < 0.01 * size
    inside = np.abs(mesh.nodes[:vertices]).max(axis=1) < 0.9
    off = settled.rates.pressure - pressure
    assert np.sqrt((off[inside] ** 2).mean()) < 0.01 * np.sqrt((pressure[inside] ** 2).mean())


def solved_by_the_library(mesh, *, exponent):
    library = Library(mesh)
    basis = library.velocity
    y = basis.doflocs[1]
    held = np.flatnonzero(np.abs(np.abs(y) - 1.0) < 1e-9)
    up = np.isin(np.arange(basis.N), np.concatenate([basis.nodal_dofs[1], basis.facet_dofs[1]]))
    u = np.where(up, -y, basis.doflocs[0])
    u[held] = np.where(up[held], -np.sign(y[held]), 0.0)
    p = np.zeros(library.pressure.N)
    coupling = pressing.assemble(basis, library.pressure)
    free = np.setdiff1d(np.arange(basis.N + len(p)), held)
    for _ in range(70):
        at = basis.interpolate(u)
        # By secants: Newton's method alone runs away where next to nothing moves.
        stiff = secant(basis, at, exponent)
        residual = np.concatenate(
            [internal.assemble(basis, at=at, exponent=exponent) + coupling.T @ p, coupling @ u]
        )
        matrix = bmat([[stiff, coupling.T], [coupling, None]], format="csc")
        change = np.zeros(basis.N + len(p))
        change[free] = skfem.solve(matrix[free][:, free], -residual[free])
        u = u + change[: basis.N]
        p = p + change[basis.N :]
    assert np.abs(change[: basis.N]).max() < 1e-5
    return library.ours(u, p)


def secant(basis, at, exponent):
    @skfem.BilinearForm
    def form(u, v, w):
        mu = 2.0 / 3.0 * rate_of(w["at"]) ** (exponent - 1.0)
        return mu * ddot(sym_grad(u), sym_grad(v))

    return form.assemble(basis, at=at)


def test_stokes_with_a_made_up_solution():
    """Exponent 1: third order in velocity, second in pressure (Brezzi and Fortin 1991)."""
    errors = [stokes_error(size) for size in (0.4, 0.2, 0.1)]
    velocity, pressure = np.array(errors).T
    orders = np.log2(velocity[:-1] / velocity[1:])
    assert orders.min() > 2.6
    assert np.log2(pressure[:-1] / pressure[1:]).min() > 1.6


def stokes_error(size):
    """Return the errors of velocity and pressure in the mean square.

    u = (sin x cos y, -cos x sin y), p = sin x sin y on the square |x|, |y| < 1: divergence-free;
    stress 2/3 D - p, so the body force is -div(stress), (2/3 sin x cos y + cos x sin y,
    -2/3 cos x sin y + sin x cos y): the Laplacian of u is -2 u, and div D is half of it.
    """
    mesh = meshed(SQUARE, size)
    x, y = mesh.nodes.T
    exact = np.stack([np.sin(x) * np.cos(y), -np.cos(x) * np.sin(y)], axis=1)
    nodes = len(mesh.nodes)
    load = np.zeros((nodes, 2))
    where = np.einsum("qi,eid->eqd", SIX.value, mesh.nodes[mesh.triangles])
    a, b = where[..., 0], where[..., 1]
    body = np.stack(
        [
            2 / 3 * np.sin(a) * np.cos(b) + np.cos(a) * np.sin(b),
            -2 / 3 * np.cos(a) * np.sin(b) + np.sin(a) * np.cos(b),
        ],
        axis=-1,
    )
    probe = moment_on(mesh, exponent=1.0)
    share = np.einsum("eq,qi,eqd->eid", probe.areas, SIX.value, body)
    np.add.at(load, mesh.triangles, share)
    fixed = np.zeros(probe.pattern.size, bool)
    fixed[2 * mesh.loop] = fixed[2 * mesh.loop + 1] = True
    start = np.zeros((nodes, 2))
    start[mesh.loop] = exact[mesh.loop]
    # All of the border is held, so the pressure has no level of its own: hold one.
    fixed[2 * nodes] = True
    pressure = np.zeros(mesh.vertices)
    pressure[0] = np.sin(x[0]) * np.sin(y[0])
    moment = moment_on(mesh, exponent=1.0, fixed=fixed, load=load.ravel())
    found = settle(moment, Rates(start, pressure, 0.0), fresh=True).rates
    value, _, _, linear = shapes(SIX.points)
    u = np.einsum("qi,eid->eqd", value, found.velocity[mesh.triangles])
    p = np.einsum("qk,ek->eq", linear, found.pressure[mesh.triangles[:, :3]])
    off = u - np.stack([np.sin(a) * np.cos(b), -np.cos(a) * np.sin(b)], axis=-1)
    off_p = p - np.sin(a) * np.sin(b)
    return (
        np.sqrt((probe.areas * (off**2).sum(axis=-1)).sum()),
        np.sqrt((probe.areas * off_p**2).sum()),
    )


def test_helpers_of_the_library_are_the_ones_meant():
    """The double dot and the symmetric gradient mean what the equations above take them for."""
    field = np.array([[[[1.0]], [[2.0]]], [[[3.0]], [[4.0]]]])
    assert ddot(field, field)[0, 0] == pytest.approx(30.0)
    assert dot(field[0], field[0])[0, 0] == pytest.approx(5.0)
    assert callable(grad)
