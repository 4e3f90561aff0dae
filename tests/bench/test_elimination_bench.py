"""How fast the equations of a flow are solved, beside an outside library's sparse factors.

Run alone on a quiet machine. By turns, the best of several runs each, so that a busy moment meets both.
"""

import time

import numpy as np
import pytest
import scipy.sparse as sp
from scipy.sparse.linalg import splu

from engine.flow.assembled_flows import Flow, mesh, strewn

HOW = {"diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True, "Equil": False}}


def by_turns(works, runs=30):
    """Return the best wall time of each work, ms."""
    walls = np.full(len(works), np.inf)
    for _ in range(runs):
        for k, work in enumerate(works):
            work()  # so that its numbers are at hand, whatever ran before
            start = time.perf_counter()
            work()
            walls[k] = min(walls[k], time.perf_counter() - start)
    return 1e3 * walls


@pytest.mark.parametrize(("count", "bar"), [(120, 3.0), (280, 3.0), (850, 3.0)])
def test_factors_beside_an_outside_library(count, bar):
    # Measured on a quiet machine: 10, 7 and 7 times as long outside.
    flow = Flow(mesh(strewn(count)), penalty=1e4, held=10)
    matrix = flow.matrix
    order = np.argsort(splu(matrix, permc_spec="MMD_AT_PLUS_A", **HOW).perm_c)
    turned = sp.csc_array(matrix[order][:, order])
    turned.sort_indices()
    elimination = flow.elimination()
    factor, right = elimination.factor(matrix.data), np.ones(matrix.shape[0])
    planned, factored, solved, outside = by_turns(
        [
            flow.elimination,
            lambda: elimination.factor(matrix.data),
            lambda: factor.solve(right),
            lambda: splu(turned, permc_spec="NATURAL", **HOW),
        ]
    )
    print(f"\n{np.count_nonzero(~flow.late) // 2} places, {matrix.shape[0]} unknowns: order ", end="")
    print(f"{planned:.2f} ms, factors {factored:.2f}, answer {solved:.2f}; ", end="")
    print(f"outside factors {outside:.2f} ms, {outside / factored:.1f} times as long")
    assert outside > bar * factored
    assert solved < 0.6 * factored
    assert planned < 5.0 * factored
