"""The flow against published solutions; values and tolerances stand here, beside their sources."""

import numpy as np
import pytest

from patternsim.verify import CHECKS, pressing, slip_lines, wedges
from patternsim.verify.check import worked

# Hill, The Mathematical Theory of Plasticity, 1950, and closed forms recomputed from it: mean pressure
# over twice the shear yield stress between rough platens, by width over height.
PLATENS = {1.0: 1.0, 2.0: 1.2138, 4.0: 1.75, 8.0: 2.75}
# Hill, Lee and Tupper, Proc. R. Soc. A 188 (1947) 273; fan angle psi from
# cos(2 theta - psi) = cos psi / (1 + sin psi): semi-angle to contact, lip, force / 2k,
# each per depth.
WEDGES = {
    30.0: (1.5459, 0.3388, 2.0138),
    45.0: (2.0077, 0.4196, 4.4714),
    60.0: (2.9346, 0.4673, 9.5928),
}
# Hill 1950: height over die width, Q from the slip-line net (table from memory, recomputed).
NARROW = {1.605: 1.104, 2.129: 1.252, 3.190: 1.551, 5.434: 2.057, 7.117: 2.345}


def test_a_frictionless_squeeze_is_even():
    """Exact: every point moves in proportion."""
    assert pressing.affine() < 2e-3


def test_flat_punch():
    """Prandtl 1920: (2 + pi) k."""
    assert pressing.punch(0.02) == pytest.approx(5.1416, rel=0.02)


@pytest.mark.parametrize("ratio", [1.0, 2.0, 4.0])
def test_rough_platens(ratio):
    assert pressing.platens(ratio, 0.02) == pytest.approx(PLATENS[ratio], rel=0.04)
    at_rest = 2.0 * pressing.platens(ratio, 0.01) - pressing.platens(ratio, 0.02)
    assert at_rest == pytest.approx(PLATENS[ratio], rel=0.015)


def test_wide_platens():
    at_rest = 2.0 * pressing.platens(8.0, 0.01) - pressing.platens(8.0, 0.02)
    assert at_rest == pytest.approx(PLATENS[8.0], rel=0.03)


def test_no_limit_load_lies_below_the_exact_one():
    """Limit theorems (Drucker, Prager and Greenberg 1952): no flow field needs less power."""
    for ratio, exact in PLATENS.items():
        assert pressing.platens(ratio, 0.01) > 0.98 * exact


@pytest.mark.parametrize(("ratio", "exact"), NARROW.items())
def test_closed_form_of_the_slip_line_net(ratio, exact):
    assert slip_lines.platen_pressure(ratio) == pytest.approx(exact, abs=1.5e-3)


@pytest.mark.slow
def test_free_split_threshold():
    """Hill 1950: about 8.7 die widths; 8.712 from the closed form."""
    assert slip_lines.free_split() == pytest.approx(8.712, abs=2e-3)
    assert pressing.split_threshold() == pytest.approx(8.7, rel=0.05)


@pytest.mark.slow
@pytest.mark.parametrize("degrees", WEDGES)
def test_wedge_pressed_in(degrees):
    contact, lip, force = WEDGES[degrees]
    theory = slip_lines.indentation(degrees)
    assert (theory.contact, theory.lip, theory.force) == pytest.approx(WEDGES[degrees], rel=1e-3)
    found = wedges.pressed_in(degrees)
    assert found.force == pytest.approx(force, rel=0.06)
    assert found.contact == pytest.approx(contact, rel=0.05)
    # The edge of the lip is drawn out along the flank, the more the sharper the wedge: 18, 15 and 10 %.
    assert found.lip == pytest.approx(lip, rel={30.0: 0.2, 45.0: 0.17, 60.0: 0.12}[degrees])


@pytest.mark.parametrize("degrees", [22.5, 30.0])
def test_a_smooth_wedge_parts_a_block(degrees):
    """Upper bound of two sliding halves: tan(theta / 2) of 2k times the width."""
    at_rest = 2.0 * wedges.parted(degrees, 0.01) - wedges.parted(degrees, 0.02)
    assert at_rest == pytest.approx(np.tan(np.radians(degrees / 2.0)), rel=0.08)


def test_the_table_says_what_is_checked_here():
    """The command's table rests on these sources, not on numbers of its own."""
    published = {check.name: check.published for check in CHECKS}
    for ratio, exact in PLATENS.items():
        name = f"rough platens, width over height {ratio:g}, rigid: pressure / 2k"
        assert published[name] == pytest.approx(exact, rel=2e-3)
    assert all(check.source for check in CHECKS)
    quick = next(check for check in CHECKS if "punch" in check.name)
    row = worked(quick)
    assert row.passed
    assert row.error == pytest.approx(row.computed / 5.14159 - 1.0, rel=1e-3)
