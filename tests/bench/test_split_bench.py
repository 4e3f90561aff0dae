"""Splits over the range of wedges: lags, and drags over depth.

`python3 tests -m bench -n0 -s tests/bench/test_split_bench.py` prints both tables; what the second test
prints is `tests/engine/press/drags.json` worked out anew.
"""

import numpy as np

from engine.press import drags
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


def test_the_whole_table_of_drags(capsys):
    """A regression: the flow scatters by some hundredths of the width with its elements and steps."""
    table = drags.worked_out()
    with capsys.disabled():
        print("\n" + drags.written(table))
        for key, rows in table.items():
            shares = drags.factors(np.array(rows, dtype=float), float(key.split()[0]))
            print(key, "share of full drag:", " ".join(f"{v:.2f}" for v in shares))
    for key, rows in drags.tabled().items():
        assert np.nanmax(np.abs(np.array(table[key], dtype=float) - rows)) < 0.05
