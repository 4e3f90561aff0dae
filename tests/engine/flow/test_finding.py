"""Places found in meshes: by their own map, against an outside library, outside, at edges."""

import numpy as np
import pytest
import skfem

from engine.flow import outlines
from patternsim.flow.boundary import fine
from patternsim.flow.compiled.enclosing import within
from patternsim.flow.finding import Finder, blended
from patternsim.flow.mesher import graded, meshed

CASES = {
    "square": (outlines.block(1, 1), 0.1),
    "circle": (outlines.circle(edges=24), 0.3),
    "notch": (outlines.notched(0.6, 0.05), 0.1),
    "lip": (outlines.with_lip(0.04), 0.15),
    "graded": (outlines.block(1, 1), graded((0.5, 1.0), 0.12, 0.012)),
}


def bent(curve, size, by=0.06):
    """A mesh with all its edges bent."""
    mesh = meshed(curve, size)
    x, y = mesh.nodes.T
    return mesh.moved(mesh.nodes + by * np.stack([np.sin(3 * y), np.cos(4 * x)], axis=1))


def anywhere(mesh, count, seed=1):
    """Random triangles and local places in them."""
    rng = np.random.default_rng(seed)
    return rng.integers(0, len(mesh.triangles), count), rng.dirichlet([1, 1, 1], count)[:, 1:]


@pytest.mark.parametrize("name", CASES)
def test_places_are_found_by_their_own_map(name):
    mesh = bent(*CASES[name])
    element, local = anywhere(mesh, 20_000)
    places = blended(mesh, mesh.nodes, element, local)
    found, again, inside = Finder(mesh).find(places)
    assert inside.all()
    np.testing.assert_allclose(blended(mesh, mesh.nodes, found, again), places, atol=1e-12)
    same = found == element
    assert same.mean() > 0.999
    np.testing.assert_allclose(again[same], local[same], atol=1e-10)


def test_the_points_of_the_mesh_are_found():
    mesh = bent(*CASES["notch"])
    element, local, inside = Finder(mesh).find(mesh.nodes)
    assert inside.all()
    np.testing.assert_allclose(blended(mesh, mesh.nodes, element, local), mesh.nodes, atol=1e-12)


@pytest.mark.parametrize("name", ["square", "circle", "notch"])
def test_blending_agrees_with_an_outside_library(name):
    mesh = bent(*CASES[name])
    # skfem wants points on edges in its own order: those of ab, bc, ac follow the corners.
    outside = skfem.MeshTri2(mesh.nodes.T.copy(), mesh.triangles.T.astype(np.int64).copy())
    element, local = anywhere(mesh, 500)
    theirs = outside.mapping().F(local.T[:, None, :].transpose(0, 2, 1), tind=element)
    places = blended(mesh, mesh.nodes, element, local)
    np.testing.assert_allclose(theirs[:, :, 0].T, places, atol=1e-13)
    # And back: their inverse map ends where ours does.
    back = outside.mapping().invF(places.T[:, :, None], tind=element)
    _, again, _ = Finder(mesh).find(places)
    np.testing.assert_allclose(back[:, :, 0].T, again, atol=1e-9)


def test_a_quadratic_is_blended_exactly():
    mesh = meshed(*CASES["square"])
    x, y = mesh.nodes.T
    values = np.stack([1 + x - 2 * y + 3 * x * x - x * y + y * y, x * y], axis=1)
    places = np.random.default_rng(0).uniform(0, 1, (2000, 2))
    element, local, _ = Finder(mesh).find(places)
    x, y = places.T
    exact = np.stack([1 + x - 2 * y + 3 * x * x - x * y + y * y, x * y], axis=1)
    np.testing.assert_allclose(blended(mesh, values, element, local), exact, atol=1e-13)
    np.testing.assert_allclose(blended(mesh, values[:, 0], element, local), exact[:, 0], atol=1e-13)


@pytest.mark.parametrize("name", CASES)
def test_inside_agrees_with_the_curved_outline(name):
    mesh = bent(*CASES[name])
    low, high = mesh.nodes.min(axis=0) - 0.1, mesh.nodes.max(axis=0) + 0.1
    places = np.random.default_rng(2).uniform(low, high, (20_000, 2))
    _, _, inside = Finder(mesh).find(places)
    by_curve = within(places, mesh.outline())
    # They may differ within the tolerance of the border alone.
    differ = inside != by_curve
    if differ.any():
        assert outlines.distance_to(fine(mesh.outline(), 400), places[differ]).max() < 1e-5
    assert 0.2 < inside.mean() < 0.99


def test_within_a_curve_of_parabolas():
    # Between y = x^2 - 1 and y = 1 - x^2: 8/3.
    curve = np.array([[-1, 0], [0, -1], [1, 0], [0, 1]], dtype=float)
    places = np.random.default_rng(3).uniform(-1.2, 1.2, (200_000, 2))
    x, y = places.T
    np.testing.assert_array_equal(within(places, curve), (y > x * x - 1) & (y < 1 - x * x))
    # Level with the ends, the peaks and nothing else in the way:
    level = np.array([[-1.1, 0.0], [0.3, 0.0], [1.1, 0.0], [0.5, 1.0], [-0.5, -1.0], [0.0, 0.999]])
    np.testing.assert_array_equal(within(level, curve), [False, True, False, False, False, True])


def test_a_place_outside_gets_the_nearest_triangle():
    mesh = bent(*CASES["circle"], by=0.03)
    on = fine(mesh.outline(), 4)
    along = np.roll(on, -1, axis=0) - np.roll(on, 1, axis=0)
    out = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.hypot(*along.T)[:, None]
    finder = Finder(mesh)
    for distance in (0.001, 0.02, 0.3, 5.0):
        places = on + distance * out
        element, local, inside = finder.find(places)
        assert not inside.any()
        nearest, edge = finder.nearest(places)
        away = np.hypot(*(places - nearest).T)
        by_library = outlines.distance_to(fine(mesh.outline(), 400), places)
        np.testing.assert_allclose(away, by_library, atol=1e-5)
        assert ((edge > 0.1) & (edge < 0.5)).all()
        assert (np.isin(mesh.triangles[element], mesh.loop).sum(axis=1) >= 3).all()
        # Near by, its triangle's own map reaches the place.
        if distance < 0.05:
            np.testing.assert_allclose(blended(mesh, mesh.nodes, element, local), places, atol=1e-10)
            assert local.min() < 0 or local.sum(axis=1).max() > 1
        assert local.min() >= -1.0 - 1e-9


def test_far_from_the_origin_nothing_is_lost():
    mesh = bent(*CASES["square"])
    away = np.array([3000.0, -5000.0])
    far = mesh.moved(mesh.nodes + away)
    element, local = anywhere(mesh, 2000)
    places = blended(far, far.nodes, element, local)
    found, again, inside = Finder(far).find(places)
    assert inside.all()
    same = found == element
    assert same.mean() > 0.99
    np.testing.assert_allclose(again[same], local[same], atol=1e-8)
