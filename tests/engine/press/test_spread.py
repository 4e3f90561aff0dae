"""Spread under flat dies, after Tomlinson & Stringer, J. Iron Steel Inst. 193 (1959) 157."""

import pytest

from patternsim.press import spread_exponent, spread_width


@pytest.mark.parametrize(
    ("ratio", "spread"),
    # Worked by hand from the published S = 0.14 + 0.36 r - 0.054 r^2, r the bite over the width.
    [(0.25, 0.227), (0.5, 0.3065), (0.75, 0.380), (1.0, 0.446), (1.5, 0.5585), (2.0, 0.644)],
)
def test_spread_by_bite_over_width(ratio, spread):
    assert spread_exponent(ratio) == pytest.approx(spread, abs=5e-4)


def test_worked_squeeze_of_a_square_bar():
    # Worked example: 40 x 40 pressed to 32 with bites of 25: S = 0.3439, 43.19 wide, 1.1577 longer.
    width = spread_width(40.0, height=40.0, to=32.0, bite=25.0)
    assert spread_exponent(25.0 / 40.0) == pytest.approx(0.3439, abs=5e-5)
    assert width == pytest.approx(43.19, abs=0.02)
    longer = (40.0 / 32.0) ** (1.0 - spread_exponent(25.0 / 40.0))
    assert longer == pytest.approx(1.1577, abs=0.001)
    assert width * 32.0 * longer == pytest.approx(40.0 * 40.0, rel=1e-12)


@pytest.mark.parametrize(("beyond", "border"), [(0.01, 0.25), (9.0, 2.0)])
def test_beyond_the_measured_range_the_border_value_is_kept(beyond, border):
    assert spread_exponent(beyond) == spread_exponent(border)


def test_longer_bites_spread_more():
    widths = [spread_width(40.0, height=40.0, to=30.0, bite=bite) for bite in (10, 20, 40, 80)]
    assert widths == sorted(widths)
    assert widths[0] < widths[-1]
