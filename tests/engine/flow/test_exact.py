"""The flow against exact solutions of even states, and what must fail if the flow is spoiled."""

from dataclasses import replace

import numpy as np
import pytest

from patternsim.errors import FlowError
from patternsim.flow import COARSE, FINE, between_flats, march, opening
from patternsim.flow.boundary import polygon_curve
from patternsim.flow.compiled import elements
from patternsim.flow.settings import Care, Law, Stretch
from patternsim.flow.tools import HalfPlane
from patternsim.verify import pressing

M = 0.15


def box(width, height):
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * np.array([width, height]) / 2.0
    return polygon_curve(corners)


def first_force(stretch, *, friction=0.0, exponent=M):
    """Return the force of the first moment on a block 2 wide and 1 high between dies closing at 1."""
    operation = between_flats(
        box(2.0, 1.0), to=0.5, friction=friction, fineness=COARSE, law=Law(exponent=exponent)
    )
    exact = Care(change=1e-8, power=1e-13, tries=60)
    opened = opening(replace(operation, stretch=stretch, care=exact), step=1e-6)
    # A quarter is worked out: half the width.
    return 2.0 * float(opened.force["top die"][1]), opened


def test_plane_strain_without_friction():
    """Uniform: D = (1, -1, 0), d = 2 / sqrt 3, force = K d^m 2 / sqrt 3 w."""
    force, _ = first_force(Stretch())
    d = 2.0 / np.sqrt(3.0)
    assert force == pytest.approx(d**M * d * 2.0, rel=1e-4)


@pytest.mark.parametrize("rate", [-0.3, 0.2, 0.7])
def test_prescribed_stretch_without_friction(rate):
    """Uniform: D = (1 - e, -1, e); lateral stress nought gives force = 2/3 K d^(m-1) (2 - e) w."""
    force, _ = first_force(Stretch(rate=rate))
    d = np.sqrt(2.0 / 3.0 * ((1.0 - rate) ** 2 + 1.0 + rate**2))
    assert force == pytest.approx(2.0 / 3.0 * d ** (M - 1.0) * (2.0 - rate) * 2.0, rel=1e-4)


def test_free_stretch_without_friction():
    """Uniaxial compression: e = 1/2, force = K w."""
    force, opened = first_force(Stretch(free=True))
    assert opened.settled.rates.stretch == pytest.approx(0.5, abs=1e-4)
    assert force == pytest.approx(2.0, rel=1e-4)


def test_friction_along_the_bar_holds_a_free_stretch_back():
    _, free = first_force(Stretch(free=True), friction=0.6)
    _, held = first_force(Stretch(free=True, bite=3.0), friction=0.6)
    assert 0.05 < held.settled.rates.stretch < free.settled.rates.stretch - 0.1


@pytest.mark.parametrize("sideways", [0.3, 0.8])
def test_volume_with_stretch(sideways):
    done = march(between_flats(box(2.0, 2.0), to=1.2, friction=0.5, fineness=FINE, sideways=sideways))
    assert done.report.stretch == pytest.approx((2.0 / 1.2) ** (1.0 - sideways), rel=2e-3)
    area = 4.0 * done.mesh.area()
    assert area * done.report.stretch == pytest.approx(4.0, rel=1e-3)
    assert done.report.drift < 1e-3


# --- spoiled on purpose: each must break a named check ----------------------------------------


def test_without_friction_the_platens_fail(monkeypatch):
    real = pressing.Tool
    monkeypatch.setattr(pressing, "Tool", lambda **given: real(**{**given, "friction": 0.0}))
    pressing.platens.cache_clear()
    try:
        assert pressing.platens(4.0, 0.02) < 0.7 * 1.75
    finally:
        pressing.platens.cache_clear()


def test_with_normals_turned_round_the_even_squeeze_fails(monkeypatch):
    real = HalfPlane.gaps

    def turned(self, points):
        gap, normal = real(self, points)
        return gap, -normal

    monkeypatch.setattr(HalfPlane, "gaps", turned)
    try:
        error = pressing.affine()
    except FlowError:
        return
    assert error > 2e-3


def test_without_the_volume_source_volume_is_lost(monkeypatch):
    monkeypatch.setattr(elements, "volume_source", lambda *given: None)
    done = march(between_flats(box(2.0, 2.0), to=1.5, friction=0.4, fineness=FINE))
    assert done.report.drift > 2e-3


def test_without_the_axial_terms_the_free_stretch_fails(monkeypatch):
    real = elements.assemble

    def dropped(*given):
        real(*given)
        given[-1][:] = 0.0
        return 0.0, 1.0

    monkeypatch.setattr(elements, "assemble", dropped)
    force, opened = first_force(Stretch(free=True))
    assert abs(opened.settled.rates.stretch - 0.5) > 0.05
    assert abs(force / 2.0 - 1.0) > 0.02
