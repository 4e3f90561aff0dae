"""How fast presses are worked out, and 300 drawn by lot.

Run alone on a quiet machine. The bar is a ratio to the factoring of the library in the same run, so that
a busy or a slow machine shifts both.
"""

import time
from collections import Counter

import numpy as np
import pytest
import scipy.sparse as sparse
import scipy.sparse.linalg as linear

from engine.flow.random_presses import tried
from engine.flow.test_march import SQUARE
from patternsim.errors import FlowError
from patternsim.flow import COARSE, FINE, between_flats, close_half, march, split_half
from patternsim.flow.boundary import polygon_curve
from patternsim.flow.march import opening

pytestmark = pytest.mark.bench


def timed(work, runs=3):
    walls = []
    for _ in range(runs):
        start = time.perf_counter()
        result = work()
        walls.append(time.perf_counter() - start)
    return float(np.median(walls)), result


def split(fineness):
    half = polygon_curve(np.array([[0.0, 0.0], [0.5, 0.0], [0.5, 3.0], [0.0, 3.0]]))
    return march(
        split_half(
            half, width=1.0, depth=2.5, included=45.0, nose=0.1,
            wedge_friction=0.5, floor_friction=0.5, fineness=fineness,
        )
    )  # fmt: skip


def test_presses(capsys):
    upset = between_flats(SQUARE, to=1.0, friction=0.4, fineness=FINE)
    march(upset)
    moment = opening(upset, step=0.02).moment
    factor, _ = timed(lambda: moment.pattern.elimination.factor(moment.values), 30)
    matrix = sparse.csc_matrix((moment.values, moment.pattern.rows, moment.pattern.pointers))
    options = {"SymmetricMode": True}
    library, _ = timed(
        lambda: linear.splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=options),
        10,
    )
    lines = [f"factoring: {1e3 * factor:.2f} ms, the library {1e3 * library:.2f} ms"]
    for name, fineness in (("coarse", COARSE), ("fine", FINE)):
        press, _ = timed(
            lambda f=fineness: march(between_flats(SQUARE, to=1.0, friction=0.4, fineness=f))
        )
        wall, done = timed(lambda f=fineness: split(f), 1)
        shut, closed = timed(
            lambda d=done, f=fineness: march(close_half(d.mesh, width=1.0, to=0.475, fineness=f)), 1
        )
        lines.append(
            f"{name}: upset {press:.2f} s, split {wall:.2f} s ({done.report.corrections} corrections), "
            f"closing {shut:.2f} s ({closed.report.corrections})"
        )
    with capsys.disabled():
        print("\n" + "\n".join(lines))
    assert factor < 0.5 * library


def test_three_hundred_presses_by_lot(capsys):
    """Each worked out soundly or clearly refused; none hangs."""
    outcomes, found, longest = Counter(), [], 0.0
    for seed in range(300):
        start = time.perf_counter()
        kind, words, faults, outcome = tried(seed)
        longest = max(longest, time.perf_counter() - start)
        verdict = "refused" if isinstance(outcome, FlowError) else "faulty" if faults else "sound"
        outcomes[verdict] += 1
        if verdict != "sound":
            found.append(f"{seed} {kind}, {words}: {faults or outcome}")
    with capsys.disabled():
        print("\n", dict(outcomes), f"longest {longest:.1f} s", *found, sep="\n")
    assert outcomes["faulty"] == 0
    assert longest < 60.0
