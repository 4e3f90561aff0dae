"""Following a stream function: a published barrel, exact derivatives, order of the time steps."""

import numpy as np
import pytest

from patternsim.press.quick import CRUSH, corner_fold
from patternsim.press.stream import box_swirl, follow

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


def test_swirl_is_the_turned_slope_of_its_stream_function():
    points = points_of_the_square()
    assert box_swirl(points) == pytest.approx(rotated_gradient(swirl_stream, points), abs=1e-8)


@pytest.mark.parametrize(("flats", "weights"), CRUSH[1:])
def test_corner_fold_is_the_turned_slope_of_its_stream_function(flats, weights):
    points = points_of_the_square()
    expected = rotated_gradient(fold_stream(weights), points)
    assert corner_fold(flats).velocity(points) == pytest.approx(expected, abs=1e-7)


@pytest.mark.parametrize("velocity", [box_swirl, corner_fold(0.45).velocity], ids=["swirl", "fold"])
def test_flow_along_the_sides_of_the_square_only(velocity):
    t = np.linspace(-1.0, 1.0, 41)
    one = np.ones_like(t)
    for side in (-1.0, 1.0):
        assert np.abs(velocity(np.stack([side * one, t], axis=1))[:, 0]).max() < 1e-12
        assert np.abs(velocity(np.stack([t, side * one], axis=1))[:, 1]).max() < 1e-12
    assert np.abs(velocity(points_of_the_square())).max() > 0.1


def test_time_steps_are_of_fourth_order():
    # Runge and Kutta, 1901: halving the step divides the error by sixteen.
    points = points_of_the_square()

    def after(steps):
        return follow(lambda at, _: box_swirl(at), points, start=0.0, end=1.5, steps=steps)

    exact = after(1000)
    errors = [np.abs(after(steps) - exact).max() for steps in (8, 16, 32)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert orders == pytest.approx([4.0, 4.0], abs=0.3)


def test_time_steps_see_the_time():
    # x' = t^3 has the solution t^4 / 4, which a fourth-order rule gives exactly.
    moved = follow(lambda at, t: np.full_like(at, t**3), np.zeros((1, 2)), start=1.0, end=3.0, steps=1)
    assert moved == pytest.approx(20.0, rel=1e-12)


def test_no_time_step_at_all_is_refused():
    with pytest.raises(ValueError, match="at least one time step"):
        follow(lambda at, _: at, np.zeros((1, 2)), start=0.0, end=1.0, steps=0)
