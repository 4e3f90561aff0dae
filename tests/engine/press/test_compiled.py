"""The compiled flows: against the plain yardstick, exact slopes, a published barrel, time steps."""

import numpy as np
import pytest

from engine.press.reference_flows import Drag, fold_velocity, follow, swirl_velocity
from patternsim.press import HalfBlock, WedgeDrag, compiled
from patternsim.press.quick import CRUSH, corner_fold
from patternsim.press.wedge import (
    ABOVE,
    ANGLES_DEG,
    BELOW,
    BLUNTEST,
    CURVE_STEP,
    ROUND_OFF,
    SHARPEST,
    TIME_STEPS,
)

AGREE_MM = 1e-9


# --- the yardstick itself ----------------------------------------------------------------

# Barrelling of a block between sticking dies, one-parameter field of the family of Avitzur, Metal
# Forming, 1968, and Lee & Altan, 1972: minimum-power parameter by width over height at friction
# factor 1, tabled from a minimisation made independently of this program.
ASPECTS, BARREL = (1 / 3, 0.5, 1.0, 2.0, 4.0), (0.945, 0.898, 0.756, 0.544, 0.335)
WIDTH, HEIGHT = 25.0, 50.0


def barrel_velocity(points, time):
    """Plane-strain upset of 25 x 50 mm; time is the travel of both dies together, mm.

    psi = -x f(2 y / h) for each unit of die speed, f = (1 - B) e + B (3 e - e^3) / 2.
    """
    height = HEIGHT - time
    bulge = np.interp(WIDTH * HEIGHT / height**2, ASPECTS, BARREL)
    eta = 2.0 * points[:, 1] / height
    f = (1.0 - bulge) * eta + bulge * (3.0 * eta - eta**3) / 2.0
    slope = (1.0 - bulge) + bulge * 1.5 * (1.0 - eta**2)
    # Each die moves half the travel.
    return 0.5 * np.stack([points[:, 0] * slope * 2.0 / height, -f], axis=1)


def barrelled(x, *, count=401):
    """Return where a line of points standing at `x` lies after half the height is gone."""
    y = np.linspace(-HEIGHT / 2, HEIGHT / 2, count)
    line = np.stack([np.full_like(y, x), y], axis=1)
    return follow(barrel_velocity, line, start=0.0, end=HEIGHT / 2, steps=200)


def test_worked_barrel_of_a_block_pressed_to_half():
    # Worked example to the table above: mean 50, middle 64.7, ends 29.9, the outer layer bows 17.4.
    side = barrelled(WIDTH / 2)
    assert np.ptp(side[:, 1]) == pytest.approx(25.0, abs=1e-6)
    area = 2.0 * np.trapezoid(side[:, 0], side[:, 1])
    assert area == pytest.approx(WIDTH * HEIGHT, rel=1e-3)
    assert area / 25.0 == pytest.approx(50.0, rel=1e-3)
    middle, end = 2.0 * side[:, 0].max(), 2.0 * side[0, 0]
    assert middle == pytest.approx(64.7, rel=0.01)
    assert end == pytest.approx(29.9, rel=0.01)
    assert (middle - end) / 2.0 == pytest.approx(17.4, rel=0.01)


def test_a_layer_half_way_out_bows_half_as_far():
    # Same worked example: a layer at half the half-width bows 8.7 mm and keeps its share.
    inner, outer = barrelled(WIDTH / 4), barrelled(WIDTH / 2)
    assert np.ptp(inner[:, 0]) == pytest.approx(8.7, rel=0.01)
    assert inner[:, 0] == pytest.approx(outer[:, 0] / 2.0, rel=1e-9)


def test_the_way_back_undoes_the_way_there():
    start = np.random.default_rng(1).uniform(-0.9, 0.9, (50, 2)) * (WIDTH / 2, HEIGHT / 2)
    there = follow(barrel_velocity, start, start=0.0, end=25.0, steps=100)
    back = follow(barrel_velocity, there, start=25.0, end=0.0, steps=100)
    assert np.abs(back - start).max() < 1e-6
    assert np.abs(there - start).max() > 5.0


def test_time_steps_see_the_time():
    # x' = t^3 has the solution t^4 / 4, which a fourth-order rule gives exactly.
    moved = follow(lambda at, t: np.full_like(at, t**3), np.zeros((1, 2)), start=1.0, end=3.0, steps=1)
    assert moved == pytest.approx(20.0, rel=1e-12)


# --- presses -----------------------------------------------------------------------------


def points_of_the_square(count=200):
    return np.random.default_rng(2).uniform(-1.0, 1.0, (count, 2))


def rotated_gradient(psi, points, probe=1e-5):
    """Return (d psi / d b, - d psi / d a) by central differences."""
    a, b = np.array([probe, 0.0]), np.array([0.0, probe])
    u = (psi(points + b) - psi(points - b)) / (2.0 * probe)
    v = -(psi(points + a) - psi(points - a)) / (2.0 * probe)
    return np.stack([u, v], axis=1)


def swirl_stream(points):
    a, b = points.T
    return a * (1.0 - a**2) * b * (1.0 - b**2)


def fold_stream(weights):
    """The nine parts written out as they are fitted: four alike, the plain swirl, four of shear."""

    def psi(points):
        a, b = points.T
        edge, four = (1.0 - a**2) * (1.0 - b**2), a**2 - b**2
        r2 = a**2 + b**2
        series = (1.0, r2, r2**2, a**2 * b**2)
        alike = sum(w * s for w, s in zip(weights[:4], series, strict=True))
        sheared = sum(w * s for w, s in zip(weights[5:], series, strict=True))
        return edge * (a * b * four * alike + weights[4] * a * b + four * sheared)

    return psi


def swirl(points):
    """Velocity of the compiled swirl."""
    return np.array([compiled.swirl_velocity(a, b) for a, b in points])


def fold(weights):
    """Velocity of a compiled fold."""
    return lambda points: np.array([compiled.fold_velocity(a, b, weights) for a, b in points])


def test_swirl_is_the_turned_slope_of_its_stream_function():
    points = points_of_the_square()
    assert swirl(points) == pytest.approx(rotated_gradient(swirl_stream, points), abs=1e-8)


@pytest.mark.parametrize("weights", [w for _, w in CRUSH[1:]] + [tuple(np.eye(9)[k]) for k in range(9)])
def test_corner_fold_is_the_turned_slope_of_its_stream_function(weights):
    points = points_of_the_square()
    expected = rotated_gradient(fold_stream(weights), points)
    assert fold(weights)(points) == pytest.approx(expected, abs=1e-7)


@pytest.mark.parametrize(("flats", "weights"), CRUSH)
def test_a_fold_that_was_fitted_is_met(flats, weights):
    assert corner_fold(flats) == pytest.approx(weights, abs=1e-12)


@pytest.mark.parametrize("velocity", [swirl, fold(corner_fold(0.45))], ids=["swirl", "fold"])
def test_flow_along_the_sides_of_the_square_only(velocity):
    t = np.linspace(-1.0, 1.0, 41)
    one = np.ones_like(t)
    for side in (-1.0, 1.0):
        assert np.abs(velocity(np.stack([side * one, t], axis=1))[:, 0]).max() < 1e-12
        assert np.abs(velocity(np.stack([t, side * one], axis=1))[:, 1]).max() < 1e-12
    assert np.abs(velocity(points_of_the_square())).max() > 0.1


# More points than one tile holds, and a last tile that is not full.
MANY = 3 * compiled.TILE + 17


@pytest.mark.parametrize(("amount", "steps"), [(0.3, 12), (-0.05, 12), (1.4, 23)])
def test_a_swirl_goes_where_the_yardstick_goes(amount, steps):
    points = points_of_the_square(MANY)
    found = compiled.swirled(points, amount, 0.0, steps)
    expected = follow(lambda at, _: swirl_velocity(at), points, start=amount, end=0.0, steps=steps)
    assert np.abs(expected - points).max() > 0.01
    assert np.abs(found - expected).max() < 1e-12


@pytest.mark.parametrize("flats", [0.12, 0.3, 0.41, 0.6])
def test_a_fold_goes_where_the_yardstick_goes(flats):
    points, weights = points_of_the_square(MANY), corner_fold(flats)
    velocity = fold_velocity(weights)
    found = compiled.folded(points, weights, 1.0, 0.0, 12)
    expected = follow(lambda at, _: velocity(at), points, start=1.0, end=0.0, steps=12)
    assert np.abs(expected - points).max() > 0.01
    assert np.abs(found - expected).max() < 1e-12


def test_time_steps_are_of_fourth_order():
    # Runge and Kutta, 1901: halving the step divides the error by sixteen.
    points = points_of_the_square()
    exact = compiled.swirled(points, 0.0, 1.5, 1000)
    errors = [np.abs(compiled.swirled(points, 0.0, 1.5, n) - exact).max() for n in (8, 16, 32)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert orders == pytest.approx([4.0, 4.0], abs=0.3)


def test_points_asked_for_are_left_alone():
    points = points_of_the_square()
    kept = points.copy()
    compiled.swirled(points, 0.3, 0.0, 12)
    compiled.folded(points, corner_fold(0.4), 1.0, 0.0, 12)
    assert np.array_equal(points, kept)


# --- wedges ------------------------------------------------------------------------------


def test_exponentials_are_those_of_the_library():
    values = np.concatenate([np.linspace(-690.0, 690.0, 20_011), np.linspace(-1.0, 1.0, 2_001), [0.0]])
    found = np.array([compiled._exp(value) for value in values])
    assert np.abs(found / np.exp(values) - 1.0).max() < 1e-15
    assert found[-1] == 1.0


def test_exponentials_beyond_their_range_keep_the_border_value():
    found = [compiled._exp(value) for value in (-1e6, -701.0, 701.0, 1e6)]
    assert found == pytest.approx(np.exp([-700.0, -700.0, 700.0, 700.0]), rel=1e-12)


def half_block(**changes):
    usual = {
        "length": 100.0, "width": 60.0, "outer": 30.0, "outer_slope": 0.0, "nose_depth": 92.0,
        "nose": 4.0, "included_deg": 45.0, "friction": 0.8,
    }  # fmt: skip
    return HalfBlock(**(usual | changes))


HALVES = {
    "usual": {},
    "right through": {"nose_depth": 100.0},
    "much left": {"nose_depth": 50.0},
    "some left": {"nose_depth": 78.0},
    "off centre": {"outer": 36.0},
    "leaning out": {"outer": 26.0, "outer_slope": 0.08},
    "leaning in": {"outer": 34.0, "outer_slope": -0.08},
    "sharp": {"nose": 0.0, "included_deg": 30.0},
    "blunt": {"nose": 9.0, "included_deg": 60.0},
    "short": {"length": 45.0, "nose_depth": 40.0},
    "small": {"length": 12.0, "width": 5.0, "outer": 2.5, "nose_depth": 11.0, "nose": 0.5},
}


@pytest.mark.parametrize("name", HALVES)
def test_a_drag_goes_where_the_yardstick_goes(name):
    half = half_block(**HALVES[name])
    drag, plain = WedgeDrag(half), Drag(half)
    room = np.random.default_rng(5).uniform(0.0, 1.0, (MANY, 2))
    # The entry's lip, and just beyond the far end; on the cut itself too.
    s = -0.12 * half.width + room[:, 0] * (half.length + 0.13 * half.width)
    d = np.where(np.arange(MANY) % 9 == 0, 0.0, room[:, 1] * plain.outer(s))
    points = np.stack([s, d], axis=1)
    expected = plain.followed(points, start=1.0, end=0.0)
    assert np.abs(expected - points).max() > 0.02 * half.width
    assert np.abs(drag.back(points) - expected).max() < AGREE_MM
    top = plain.followed(np.zeros((1, 2)), start=0.0, end=1.0)
    assert drag.notch() == pytest.approx(top[0, 0], abs=AGREE_MM)
    assert drag.outer(s) == pytest.approx(plain.outer(s))


def test_the_numbers_written_twice_agree():
    # What the yardstick takes.
    assert (CURVE_STEP, BELOW, ABOVE, TIME_STEPS) == (0.01, 12, 0.2, 8)
    assert (compiled.BEYOND, ROUND_OFF) == (Drag.STEEL, 0.05)
    assert (ANGLES_DEG, SHARPEST, BLUNTEST) == ((30.0, 45.0, 60.0), 0.04, 0.12)
