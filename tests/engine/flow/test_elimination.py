"""Factors and answers against those of an outside library, on flows an outside library assembled."""

import numpy as np
import pytest
import scipy.sparse as sp
import skfem
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse.linalg import splu

from engine.flow.assembled_flows import Flow, mesh, strewn
from patternsim.flow.elimination import Elimination
from patternsim.flow.ordering import ordered


def off(matrix, answer, right):
    """Return how far an answer is off, over its right side."""
    return np.linalg.norm(matrix @ answer - right, axis=0) / np.linalg.norm(right, axis=0)


def lost(matrix, answer, right):
    """Return the least share by which all entries must be changed for the answer to be exact.

    Oettli and Prager, Numer. Math. 6, 1964.
    """
    return np.max(np.abs(matrix @ answer - right) / (abs(matrix) @ np.abs(answer) + np.abs(right)))


def asked(matrix, count=None):
    """Return right sides whose answers are about one."""
    size = matrix.shape[0] if count is None else (matrix.shape[0], count)
    return matrix @ np.random.default_rng(5).normal(size=size)


FLOWS = {
    "even": lambda: Flow(mesh(strewn(150))),
    "pushed": lambda: Flow(mesh(strewn(150)), penalty=1e4),
    "held": lambda: Flow(mesh(strewn(150)), held=30),
    "pushed and held": lambda: Flow(mesh(strewn(300, seed=1)), penalty=1e4, held=40),
    "graded": lambda: Flow(mesh(strewn(200, power=4.0)), penalty=1e4, held=20),
    "steeply graded": lambda: Flow(mesh(strewn(200, power=9.0)), held=20),
    "one triangle": lambda: Flow(mesh(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))),
    "a strip": lambda: Flow(mesh(strewn(100) * [1e3, 1.0]), held=5),
}


@pytest.fixture(scope="module", params=FLOWS)
def flow(request):
    return FLOWS[request.param]()


def test_flows_are_answered(flow):
    truth = np.random.default_rng(3).normal(size=flow.matrix.shape[0])
    right = flow.matrix @ truth
    factor = flow.elimination().factor(flow.matrix.data)
    answer = factor.solve(right)
    assert off(flow.matrix, answer, right) < 1e-9
    known = splu(flow.matrix).solve(right)
    for part in (flow.late, ~flow.late):
        # Where the matrix itself hides the truth, no more than from others.
        away = np.abs(answer - truth)[part].max()
        assert away < 1e-7 + 3.0 * np.abs(known - truth)[part].max()
    # Loads at random are answered by very large flows: still none of the digits of the sums is lost.
    load = np.random.default_rng(4).normal(size=len(right))
    assert lost(flow.matrix, factor.solve(load), load) < 1e-12


def test_several_right_sides_are_answered_at_once(flow):
    rights = asked(flow.matrix, count=3)
    kept = rights.copy()
    factor = flow.elimination().factor(flow.matrix.data)
    answers = factor.solve(rights)
    assert answers.shape == rights.shape
    assert np.all(off(flow.matrix, answers, rights) < 1e-9)
    assert np.array_equal(rights, kept)
    for k in range(3):
        assert np.array_equal(factor.solve(rights[:, k]), answers[:, k])


def test_no_digits_are_lost_on_random_meshes():
    # Pressures that did not wait for the velocities around them lost four more of them here.
    for seed in range(100):
        points = strewn(10 + 4 * seed, power=1.0 + seed % 4, seed=seed)
        flow = Flow(mesh(points), penalty=1e4 * (seed % 2), held=3 * (seed % 23), seed=seed)
        load = np.random.default_rng(seed).normal(size=flow.matrix.shape[0])
        answer = flow.elimination().factor(flow.matrix.data).solve(load)
        assert lost(flow.matrix, answer, load) < 1e-12, seed
        right = asked(flow.matrix)
        answer = flow.elimination().factor(flow.matrix.data).solve(right)
        assert off(flow.matrix, answer, right) < 1e-9, seed


def test_the_same_again_to_the_last_digit(flow):
    right = asked(flow.matrix)
    elimination = flow.elimination()
    first = elimination.factor(flow.matrix.data)
    answer = first.solve(right)
    again = elimination.factor(flow.matrix.data)
    assert np.array_equal(again.solve(right), answer)
    assert np.array_equal(flow.elimination().factor(flow.matrix.data).solve(right), answer)
    # Factors made before are not touched by those of other values.
    elimination.factor(2.0 * flow.matrix.data)
    assert np.array_equal(first.solve(right), answer)


def test_pieces_that_nothing_joins():
    two = [Flow(mesh(strewn(80, seed=k)), held=10) for k in range(2)]
    matrix = sp.block_diag([one.matrix for one in two]).tocsc()
    places = np.vstack(
        [two[0].places, two[1].places + np.array([0.5, 0.0])]
    )  # they lie across each other
    elimination = Elimination(
        matrix.indptr, matrix.indices, places, np.concatenate([one.late for one in two])
    )
    right = asked(matrix)
    assert off(matrix, elimination.factor(matrix.data).solve(right), right) < 1e-9


def test_the_order_fills_in_no_more_than_that_of_an_outside_library():
    flow = Flow(skfem.MeshTri.init_circle(3))
    matrix = flow.matrix
    order = ordered(matrix.indptr, matrix.indices, flow.places, flow.late)
    turn = np.concatenate(
        [order.unknowns[order.starts[a] : order.starts[a + 1]] for a in order.sequence]
    )
    assert np.array_equal(np.sort(turn), np.arange(matrix.shape[0]))
    # No digit matters here, and nothing may be exchanged.
    flat = matrix.copy()
    flat.data[:] = -1e-6
    flat = (flat + sp.eye_array(matrix.shape[0])).tocsc()
    how = {"diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True}}
    ours = splu(flat[turn][:, turn].tocsc(), permc_spec="NATURAL", **how).L.nnz
    known = splu(flat, permc_spec="MMD_AT_PLUS_A", **how).L.nnz
    assert ours < 1.25 * known


@st.composite
def definite(draw):
    """Return a random sparse positive definite matrix, and somewhere for its unknowns to lie."""
    n = draw(st.integers(1, 60))
    rng = np.random.default_rng(draw(st.integers(0, 2**32)))
    pattern = sp.random_array((n, n), density=draw(st.floats(0.0, 0.3)), rng=rng)
    matrix = pattern + pattern.T
    matrix = (
        matrix + sp.diags_array(np.abs(matrix).sum(axis=0) + 10.0 ** rng.uniform(-3, 3, n))
    ).tocsc()
    matrix.sort_indices()
    # Coarse places, so that many unknowns share one.
    return matrix, rng.integers(0, draw(st.integers(1, 40)), (n, 2)).astype(float), rng.random(n) < 0.3


@given(definite())
@settings(max_examples=150, deadline=None)
def test_random_definite_matrices(case):
    matrix, places, late = case
    right = np.linspace(-1.0, 2.0, matrix.shape[0])
    factor = Elimination(matrix.indptr, matrix.indices, places, late).factor(matrix.data)
    answer = factor.solve(right)
    np.testing.assert_allclose(answer, np.linalg.solve(matrix.toarray(), right), rtol=1e-9, atol=1e-12)


def chain(n=40):
    """Return a row of springs, held nowhere: it may be shifted as a whole."""
    matrix = sp.diags_array(
        [np.r_[1.0, np.full(n - 2, 2.0), 1.0], -np.ones(n - 1), -np.ones(n - 1)], offsets=[0, 1, -1]
    ).tocsc()
    places = np.stack([np.arange(n, dtype=float), np.zeros(n)], axis=1)
    return matrix, Elimination(matrix.indptr, matrix.indices, places, np.zeros(n, bool))


def test_what_is_held_nowhere_is_told():
    matrix, elimination = chain()
    with pytest.raises(ArithmeticError, match="no single answer"):
        elimination.factor(matrix.data)
    data = matrix.data.copy()
    data[0] += 1e-3
    right = np.ones(matrix.shape[0])
    held = sp.csc_array((data, matrix.indices, matrix.indptr))
    assert off(held, elimination.factor(data).solve(right), right) < 1e-9


@pytest.mark.parametrize("wrong", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("place", [0, 7, 50, -1])
def test_what_is_no_number_is_told(wrong, place):
    matrix, elimination = chain()
    matrix.data[0] += 1.0
    row = matrix.indices[place]
    column = np.repeat(np.arange(matrix.shape[0]), np.diff(matrix.indptr))[place]
    matrix[row, column] = matrix[column, row] = wrong
    with pytest.raises(ArithmeticError, match="no single answer"):
        elimination.factor(matrix.data)


def test_an_empty_diagonal_is_told():
    matrix = sp.csc_array(np.array([[0.0, 1.0], [1.0, 0.0]]))
    elimination = Elimination(matrix.indptr, matrix.indices, np.eye(2), np.zeros(2, bool))
    with pytest.raises(ArithmeticError, match="no single answer"):
        elimination.factor(matrix.data)


def test_values_of_another_pattern_are_refused():
    matrix, elimination = chain()
    with pytest.raises(ValueError, match="values are needed"):
        elimination.factor(matrix.data[:-1])


def test_unknowns_that_lie_nowhere_are_refused():
    matrix, _ = chain()
    places = np.full((matrix.shape[0], 2), np.nan)
    with pytest.raises(ValueError, match="lies nowhere"):
        Elimination(matrix.indptr, matrix.indices, places, np.zeros(len(places), bool))


def test_no_unknowns():
    none = np.empty(0, np.int32)
    elimination = Elimination(np.zeros(1, np.int32), none, np.empty((0, 2)), np.empty(0, bool))
    assert elimination.factor(np.empty(0)).solve(np.empty(0)).shape == (0,)
