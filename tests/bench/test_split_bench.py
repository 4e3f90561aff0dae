"""Splits over the range of wedges: the whole table of lags.

`python3 tests -m bench -n0 -s tests/bench/test_split_bench.py` prints it.
"""

import numpy as np

from engine.press.lags import TABLE, TALL, WITHIN, block, measured, shut_half


def test_the_whole_table_of_lags(capsys):
    """A regression against an earlier solver of the same kind; its cells stand beside ours."""
    lines, worst = [], 0.0
    for wedge, row in TABLE.items():
        found = measured(shut_half(block(TALL, *wedge), "fine"), TALL)
        off = found.off(*row)
        worst = max(worst, float(np.abs(off).max()))
        numbers = " ".join(f"{v:.3f}" for v in found.lags)
        angles = " ".join(f"{v:.0f}" for v in found.angles)
        shares = " ".join(f"{100 * v:+.0f}" for v in off)
        lines.append(f"{wedge}: {numbers} | {angles} | {found.notch:.2f}; off, %: {shares}")
    with capsys.disabled():
        print("\n" + "\n".join(lines))
    assert worst < WITHIN
