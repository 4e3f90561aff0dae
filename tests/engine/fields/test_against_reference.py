"""The compiled walk against a second walker, and against closed forms where there are some."""

import numpy as np
import pytest

from engine.fields import reference_walk, worked
from patternsim.fields import (
    IN_GAP,
    OUTSIDE,
    REACHED,
    Affine,
    Bend,
    Clip,
    Gap,
    Halve,
    Leaf,
    Pick,
    PlaneMap,
    Taper,
    carry_back,
    lay_out,
    moved,
    sample_flow,
    walk,
)
from patternsim.steps.bend import bent_points, middle_line

ARC = middle_line(200.0, start=30.0, arc=40.0, angle=-0.5, ease=20.0)


def leaf(layers=40, thickness=1.0, length=100.0, width=60.0):
    steels = tuple("ab"[k % 2] for k in range(layers))
    thicknesses = np.full(layers, thickness)
    return Leaf("stack", thicknesses=thicknesses, steels=steels, length=length, width=width)


def cloud(count=4000, seed=3, low=(-5.0, -35.0, -25.0), high=(105.0, 35.0, 25.0)):
    return np.random.default_rng(seed).uniform(low, high, (count, 3))


# --- a whole job -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def face():
    """Return points of a blade's mark side, and what both walkers say of them."""
    points = worked.face("feather-from-w", 200_000)
    solid = worked.blade("feather-from-w").piece.solid()
    return walk(lay_out(solid), points), reference_walk.walk(solid, points)


def test_earlier_coordinates_of_a_blade_face(face):
    engine, reference = face
    off = np.abs(engine.points - reference.points).max(axis=1)
    print(f"{len(off)} points: farthest apart {off.max():.1e} mm")
    assert (reference.state >= 0).mean() > 0.99
    # Fields are held to 0.02 mm; single-precision spline sums leave a thousandth of that.
    assert off.max() < 1e-4


def test_layers_of_a_blade_face(face):
    engine, reference = face
    same = engine.layers == reference.state
    print(f"same layer: {same.mean():.6%}")
    assert same.mean() > 0.999
    away = np.abs(reference.depth - np.round(reference.depth)) > 1e-3
    assert away.mean() > 0.99
    assert same[away].all()
    assert np.abs(engine.depths - reference.depth)[same].max() < 1e-3


def test_every_layer_of_the_stack_is_on_the_face(face):
    # Else the agreement above would say little.
    engine, _ = face
    seen = np.unique(engine.layers[engine.layers >= 0])
    assert len(seen) > 0.8 * len(lay_out(worked.blade("feather-from-w").piece.solid()).steels)


def test_centre_line_coordinates_of_a_blade_face():
    knife = worked.blade("feather-from-w")
    solid, cut = knife.piece.solid(), knife.piece.cuts[-1]
    points = worked.face("feather-from-w", 20_000)
    engine = walk(lay_out(solid, keep=(cut.halve,)), points, stop=cut.halve)
    reference = reference_walk.walk(solid, points, stop=cut.halve)
    assert (engine.layers == REACHED).mean() > 0.99
    assert np.array_equal(engine.layers, reference.state)
    assert np.abs(engine.points - reference.points).max() < 1e-4


# --- a tree of every kind of link --------------------------------------------------------


def swirl(points, half=(30.0, 20.0), strength=4.0):
    """A smooth push that dies on the border of the rectangle."""
    a, b = points[:, 0] / half[0], points[:, 1] / half[1]
    edge = (1 - a**2) * (1 - b**2)
    return points + strength * np.stack([edge * (1 + 0.3 * b), edge * (a - 0.5)], axis=1)


def drag(points):
    """A push along the first axis that falls off with the second."""
    return points + 3.0 * np.stack([np.exp(-points[:, 1] / 5.0), np.zeros(len(points))], axis=1)


@pytest.fixture(scope="module")
def tree():
    """Return a field that holds every kind of link, and a link inside it that many ways lead to."""
    stack, other = leaf(), leaf(layers=16, thickness=2.5, width=58.0)
    grid = sample_flow(swirl, low=(-30.0, -20.0), high=(30.0, 20.0), cells=(60, 40))
    graded = sample_flow(drag, low=(0.0, 0.0), high=(100.0, 30.0), cells=(50, 50), grading=3.0)
    # Far beyond its rectangle a sampled flow means nothing: no steel is asked for there.
    pressed = Clip(PlaneMap(stack, plane="yz", grid=grid), low=(-200, -32, -22), high=(200, 32, 22))
    turned = Affine(pressed, matrix=np.diag([1, -1, -1]), shift=(0, 0, 0))
    dragged = Clip(PlaneMap(turned, plane="xy", grid=graded), low=(-2, -0.05, -90), high=(102, 31, 90))
    boxed = Clip(moved(pressed, by=(0, 1, 0)), low=(2, -90, -18), high=(97, 90, 18))
    split = Halve(
        normal=(-0.1, 1.0, 0.05),
        at=-4.0,
        low=Affine(dragged, matrix=np.diag([1, -1, 1]), shift=(0, 0, 0)),
        high=boxed,
    )
    part = np.linspace(0.0, 1.0, 53)
    table = np.stack([104 * part, 1 - 0.2 * part, 1 - 0.3 * part, 3 * part], axis=1)
    rows = Pick(
        axis=2,
        borders=(-22.0, -8.0, 1.0, 1.5, 22.0),
        pieces=(
            Taper(split, step=2.0, table=table),
            moved(other, by=(0.0, 0.0, 4.0)),
            Gap(),
            Bend(split, step=ARC[1], table=ARC[0]),
        ),
    )
    sheared = Affine(rows, matrix=[[1, 0, 0], [0, 0.9, 0.2], [0, -0.1, 1.1]], shift=(0.5, -0.2, 0.1))
    return sheared, pressed


@pytest.mark.parametrize("half_way", [False, True])
def test_both_walkers_agree_on_every_kind_of_link(tree, half_way):
    root, inner = tree
    points = cloud(40_000)
    stop = inner if half_way else None
    program = lay_out(root, keep=(inner,))
    engine = walk(program, points, stop=stop)
    reference = reference_walk.walk(root, points, stop=stop)
    wanted = {OUTSIDE, IN_GAP, REACHED} if half_way else {OUTSIDE, IN_GAP}
    assert wanted <= set(np.unique(engine.layers))
    # The second walker counts the layers of each stack from 0, the engine those of all stacks.
    starts = np.array([0, *program.stack_starts])
    stack = np.searchsorted(program.stack_starts, engine.layers, side="right")
    state = engine.layers - np.where(engine.layers >= 0, starts[stack], 0)
    away = np.abs(reference.depth - np.round(reference.depth)) > 1e-4
    away |= reference.state < 0
    same = state == reference.state
    assert same.mean() > 0.999
    # Borders of pieces and boxes are met by rounding too; there a point may go either way.
    assert (~same & away).mean() < 1e-3
    inside = engine.inside & same
    assert inside.mean() > 0.2
    assert len(np.unique(engine.paths[inside])) > 4
    assert np.abs(engine.points - reference.points)[inside].max() < 1e-4
    if not half_way:
        ends = np.diff([*program.stack_starts, len(program.steels)])
        hit = engine.layers >= 0
        assert np.array_equal(ends[stack[hit & same] - 1], reference.of[hit & same])


# --- closed forms ------------------------------------------------------------------------


def determinants(node, points, stop):
    """Return the determinants of the way back at `points`, by central differences."""
    probe = 1e-4
    columns = []
    for axis in probe * np.eye(3):
        ahead, behind = (carry_back(node, points + way, stop=stop) for way in (axis, -axis))
        columns.append((ahead - behind) / (2 * probe))
    return np.linalg.det(np.stack(columns, axis=-1))


def test_taper_with_straight_sides():
    # Width w(x) = 1 - x / 200 of the full width, thickness unchanged: the steel up to x was
    # x - x^2 / 400 of straight bar; its middle line rises by 0.02 x.
    stack = leaf()
    x = np.linspace(0.0, 100.0, 401)
    table = np.stack([x - x**2 / 400, 1 - x / 200, np.ones_like(x), 0.02 * x], axis=1)
    taper = Taper(stack, step=0.25, table=table)
    at = np.array([[40.0, 9.0, 3.0], [100.0, 12.0, -3.0], [0.0, -5.0, 0.5], [63.2, 0.0, 0.0]])
    reach = at[:, 0] - at[:, 0] ** 2 / 400
    across = (at[:, 1] - 0.02 * at[:, 0]) / (1 - at[:, 0] / 200)
    expected = np.stack([reach, across, at[:, 2]], axis=1)
    assert carry_back(taper, at, stop=stack) == pytest.approx(expected, abs=1e-4)
    # Between two rows the reach is straight and the width is not quite: 1/8 h^2 of curve.
    inner = at[[0, 3]] + [0.1, 0.0, 0.0]
    assert determinants(taper, inner, stack) == pytest.approx(1.0, abs=1e-3)


def test_taper_in_width_and_thickness_keeps_volume():
    stack = leaf()
    x = np.linspace(0.0, 80.0, 641)
    across, through = 1 - x / 160, 1 - x / 320
    # The integral of (1 - x/160)(1 - x/320).
    reach = x - x**2 / 320 - x**2 / 640 + x**3 / (3 * 160 * 320)
    taper = Taper(stack, step=x[1], table=np.stack([reach, across, through, 0 * x], axis=1))
    at = cloud(200, low=(1.0, -10.0, -8.0), high=(79.0, 10.0, 8.0))
    at[:, 0] = np.round(at[:, 0] * 8) / 8 + 0.0625  # half-way between rows, clear of their corners
    assert determinants(taper, at, stack) == pytest.approx(1.0, abs=1e-3)


def test_beyond_a_taper_the_ends_go_on_straight():
    stack = leaf(length=50.0)
    x = np.linspace(0.0, 60.0, 13)
    taper = Taper(stack, step=5.0, table=np.stack([x * 0.5, 0.5 + 0 * x, 1 + 0 * x, 0 * x], axis=1))
    at = np.array([[-4.0, 1.0, 1.0], [70.0, 1.0, 1.0]])
    assert carry_back(taper, at, stop=stack) == pytest.approx(
        np.array([[-2.0, 2.0, 1.0], [35.0, 2.0, 1.0]]), abs=1e-9
    )


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_quarter_bend(sign):
    # From x = 20 on a radius of 50, without easing: the arc is as long on its middle line as the
    # straight bar was, and a ring of it holds as much area: y = (r^2 - R^2) / 2R outwards (any text
    # on annuli).
    stack = leaf(length=200.0)
    table, step = middle_line(200.0, start=20.0, arc=25 * np.pi, angle=sign * np.pi / 2, ease=0.0)
    bend = Bend(stack, step=step, table=table)
    half = np.sqrt(0.5)
    after = np.array(
        [
            [10.0, 7.0, 2.0],  # before the arc nothing moves
            [20.0 + 50 * half, sign * 50 * (1 - half), 2.0],  # half-way, on the middle line
            [70.0, sign * 80.0, 2.0],  # straight on, 30 mm
            [20.0 + 60 * half, sign * (50 - 60 * half), 2.0],  # half-way, 10 mm outside
        ]
    )
    outward = -sign * (60.0**2 - 50.0**2) / 100.0
    before = np.array(
        [
            [10.0, 7.0, 2.0],
            [20.0 + 12.5 * np.pi, 0.0, 2.0],
            [50.0 + 25 * np.pi, 0.0, 2.0],
            [20.0 + 12.5 * np.pi, outward, 2.0],
        ]
    )
    # The table begins and ends the arc within a row, a quarter of a millimetre.
    assert carry_back(bend, after, stop=stack) == pytest.approx(before, abs=0.1)


@pytest.mark.parametrize("ease", [0.0, 40.0])
def test_a_bend_keeps_area(ease):
    stack = leaf(length=200.0)
    table, step = middle_line(200.0, start=40.0, arc=80.0, angle=1.3, ease=ease)
    bend = Bend(stack, step=step, table=table)
    random = np.random.default_rng(5)
    straight = np.stack(
        [random.uniform(1, 199, 500), random.uniform(-25, 25, 500), np.zeros(500)], axis=1
    )
    after = bent_points(straight, table, step)
    assert carry_back(bend, after, stop=stack) == pytest.approx(straight, abs=1e-6)
    assert determinants(bend, after, stack) == pytest.approx(1.0, abs=2e-3)


def test_a_bend_against_brute_force():
    stack = leaf(length=200.0)
    table, step = middle_line(200.0, start=40.0, arc=80.0, angle=-1.1, ease=30.0)
    bend = Bend(stack, step=step, table=table)
    points = cloud(3000, low=(5.0, -60.0, -2.0), high=(150.0, 25.0, 2.0))
    ours = walk(lay_out(bend, keep=(stack,)), points, stop=stack)
    theirs = reference_walk.walk(bend, points, stop=stack)
    near = np.abs(ours.points[:, 1]) < 30
    assert np.abs(ours.points - theirs.points)[near].max() < 1e-3


def test_a_box_keeps_its_border():
    stack = leaf()
    box = Clip(stack, low=(10.0, -5.0, -4.0), high=(20.0, 5.0, 4.0))
    on_it = [[10.0, -5.0, -4.0], [20.0, 5.0, 4.0], [15.0, 0.0, 0.5]]
    beyond = [[9.999, 0.0, 0.0], [15.0, 5.001, 0.0], [15.0, 0.0, -4.001]]
    hits = walk(lay_out(box), np.array(on_it + beyond))
    assert hits.inside.tolist() == [True, True, True, False, False, False]


def test_a_gap_between_two_bars():
    stack = leaf(layers=4)
    low, high = moved(stack, by=(0, 0, 3)), moved(stack, by=(0, 0, -3))
    rows = Pick(axis=2, borders=(-5.0, -1.0, 1.0, 5.0), pieces=(low, Gap(), high))
    at = np.array([[50.0, 0.0, z] for z in (-5.2, -4.5, -1.5, 0.0, 0.9, 1.5, 4.5, 5.2)])
    expected = [OUTSIDE, 0, 3, IN_GAP, IN_GAP, 0, 3, OUTSIDE]
    assert walk(lay_out(rows), at).layers.tolist() == expected


def test_halves_on_either_side_of_a_leaning_plane():
    # The plane y = 2 + 0.1 x - 0.3 z; the high half was 5 mm farther along x before.
    stack = leaf()
    halve = Halve(normal=(-0.1, 1.0, 0.3), at=2.0, low=stack, high=moved(stack, by=(5.0, 0.0, 0.0)))
    at = cloud(2000, low=(10.0, -20.0, -10.0), high=(80.0, 25.0, 10.0))
    above = at[:, 1] >= 2.0 + 0.1 * at[:, 0] - 0.3 * at[:, 2]
    assert 0.2 < above.mean() < 0.8
    expected = at + np.where(above[:, None], [5.0, 0.0, 0.0], 0.0)
    hits = walk(lay_out(halve, keep=(stack,)), at, stop=stack)
    assert hits.points == pytest.approx(expected, abs=1e-12)
    assert len(np.unique(hits.paths[above])) == 1
    assert set(hits.paths[above]).isdisjoint(hits.paths[~above])
