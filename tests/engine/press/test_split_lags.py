"""The feather of a split against a table of lags; the whole table stands in tests/bench."""

import numpy as np
import pytest

from engine.press.lags import TABLE, TALL, WITHIN, block, measured, shut_half


@pytest.mark.parametrize(
    ("wedge", "level"),
    [((45.0, 0.08, 0.8), "fine"), ((60.0, 0.10, 0.5), "coarse"), ((60.0, 0.10, 0.9), "coarse")],
)
def test_layers_lag_as_tabled(wedge, level):
    """A regression against an earlier solver of the same kind: see the table."""
    found = measured(shut_half(block(TALL, *wedge), level), TALL)
    assert np.abs(found.off(*TABLE[wedge])).max() < WITHIN


def test_what_makes_layers_lag():
    """Bold wedges and dry ones drag more, as smiths say of them (common practice, no source)."""
    sharp, bold, dry = (
        measured(shut_half(block(TALL, *wedge), "coarse"), TALL).lags
        for wedge in ((35.0, 0.05, 0.8), (60.0, 0.10, 0.5), (60.0, 0.10, 0.9))
    )
    assert (bold > 1.3 * sharp).all()
    assert (dry > 1.3 * bold).all()
