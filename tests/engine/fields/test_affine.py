"""Turns, shifts and picks against plain matrix products; re-lays are rotations, whatever follows."""

import itertools

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from patternsim.fields import Affine, Leaf, Pick, carry_back, lay_out, moved, scaled, walk
from patternsim.piece import Layers, Piece
from patternsim.relay import TALL, laid_together, quarter_turns, relaid
from patternsim.steps.restack import TURNS

SIZE = (90.0, 40.0, 24.0)


def leaf(size=SIZE, layers=12):
    return Leaf(
        "stack",
        thicknesses=np.full(layers, size[2] / layers),
        steels=tuple("ab"[k % 2] for k in range(layers)),
        length=size[0],
        width=size[1],
    )


def bar(size=SIZE, layers=12):
    count = Layers(
        axis=2, along=layers, across=1, across_axis=-1, total=layers, distinct=layers, ends=("a", "b")
    )
    volume = float(np.prod(size))
    return Piece(
        name="bar", size=size, volume_mm3=volume, density=7.85e-6, field=leaf(size, layers), layers=count
    )


# --- chains of links against matrix products ---------------------------------------------


def random_link(random, child):
    """Return an affine link of some kind and the same as a 4 x 4 matrix."""
    kind = random.integers(4)
    matrix = np.eye(4)
    if kind == 0:  # a turn about any axis, by Rodrigues' formula (any text on mechanics)
        axis = random.normal(size=3)
        x, y, z = axis / np.linalg.norm(axis)
        k = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
        angle = random.uniform(-np.pi, np.pi)
        matrix[:3, :3] += np.sin(angle) * k + (1 - np.cos(angle)) * k @ k
        link = Affine(child, matrix=matrix[:3, :3], shift=(0.0, 0.0, 0.0))
    elif kind == 1:
        matrix[:3, 3] = random.uniform(-50.0, 50.0, 3)
        link = moved(child, by=tuple(matrix[:3, 3]))
    elif kind == 2:
        ratios = random.uniform(0.7, 1.4, 3)
        matrix[:3, :3] = np.diag(ratios)
        link = scaled(child, ratios=tuple(ratios))
    else:
        i, j = random.permutation(3)[:2]
        matrix[i, j] = random.uniform(-0.4, 0.4)
        link = Affine(child, matrix=matrix[:3, :3], shift=(0.0, 0.0, 0.0))
    return link, matrix


def applied(matrix, points):
    return points @ matrix[:3, :3].T + matrix[:3, 3]


@given(seed=st.integers(0, 2**32 - 1), length=st.integers(1, 12))
def test_a_chain_is_the_product_of_its_matrices(seed, length):
    random = np.random.default_rng(seed)
    node = end = leaf()
    whole = np.eye(4)
    for _ in range(length):
        # The link laid last is walked first: its matrix stands on the right.
        node, matrix = random_link(random, node)
        whole = whole @ matrix
    points = random.uniform(-60.0, 60.0, (200, 3))
    assert carry_back(node, points, stop=end) == pytest.approx(applied(whole, points), abs=1e-9)


@given(seed=st.integers(0, 2**32 - 1), length=st.integers(2, 10))
def test_a_walk_can_stop_at_any_link_of_a_chain(seed, length):
    random = np.random.default_rng(seed)
    nodes, matrices = [leaf()], []
    for _ in range(length):
        link, matrix = random_link(random, nodes[-1])
        nodes.append(link)
        matrices.append(matrix)
    points = random.uniform(-60.0, 60.0, (50, 3))
    expected = points
    for at in reversed(range(length)):
        expected = applied(matrices[at], expected)
        assert carry_back(nodes[-1], points, stop=nodes[at]) == pytest.approx(expected, abs=1e-9)


@given(seed=st.integers(0, 2**32 - 1), levels=st.integers(1, 4), axes=st.permutations([0, 1, 2]))
def test_picks_send_every_point_through_its_own_matrices(seed, levels, axes):
    random = np.random.default_rng(seed)
    points = random.uniform(-60.0, 60.0, (300, 3))
    node = end = leaf()
    steps = []
    for level in range(levels):
        count = int(random.integers(2, 6))
        borders = np.sort(random.uniform(-500.0, 500.0, count + 1))
        borders[[0, -1]] = -1e4, 1e4  # no point is lost here; that is looked at elsewhere
        links, matrices = zip(*(random_link(random, node) for _ in range(count)), strict=True)
        axis = axes[level % 3]
        steps.append((axis, borders, matrices))
        node = Pick(axis=axis, borders=borders, pieces=links)
    expected = points.copy()
    for axis, borders, matrices in reversed(steps):
        which = np.searchsorted(borders, expected[:, axis], side="right") - 1
        chosen = np.stack(matrices)[which]
        expected = (chosen[:, :3, :3] @ expected[..., None])[..., 0] + chosen[:, :3, 3]
    assert carry_back(node, points, stop=end) == pytest.approx(expected, abs=1e-9)


def test_a_pick_loses_what_lies_beyond_it_and_keeps_what_rounding_moved():
    end = leaf()
    pick = Pick(axis=1, borders=(-10.0, 0.0, 10.0), pieces=(end, moved(end, by=(1.0, 0.0, 0.0))))
    at = np.array([[5.0, y, 0.0] for y in (-10.2, -10.01, -0.001, 0.0, 10.01, 10.2)])
    back = carry_back(pick, at, stop=end)
    assert back[:, 0] == pytest.approx([np.nan, 5.0, 5.0, 6.0, 6.0, np.nan], nan_ok=True)


# --- re-lays -----------------------------------------------------------------------------

RELAYS = {
    **{f"axis {axis}, {q} quarters": quarter_turns(axis, q) for axis in range(3) for q in range(-4, 5)},
    "tall": TALL,
    **{f"turned {name}": quarter_turns(*turn) for name, turn in TURNS.items()},
}


@pytest.mark.parametrize("name", RELAYS)
def test_a_relay_is_a_rotation(name):
    turn = np.array(RELAYS[name])
    assert turn.dtype.kind == "i"
    assert np.array_equal(turn @ turn.T, np.eye(3))
    assert round(np.linalg.det(turn)) == 1


@pytest.mark.parametrize(("axis", "quarters"), list(itertools.product(range(3), range(-3, 8))))
def test_quarter_turns_are_right_handed(axis, quarters):
    # After from before is the transpose; e_i goes towards e_j for i, j following the axis in order.
    after = np.array(quarter_turns(axis, quarters)).T
    i, j = (axis + 1) % 3, (axis + 2) % 3
    expected = np.linalg.matrix_power(_one_quarter(axis, i, j), quarters % 4)
    assert np.array_equal(after, expected)


def _one_quarter(axis, i, j):
    turn = np.zeros((3, 3), dtype=int)
    turn[axis, axis] = 1
    turn[j, i], turn[i, j] = 1, -1
    return turn


def test_stacked_tall_the_height_becomes_the_length():
    # x' = z, y' = y, z' = -x of the design.
    after = np.array(TALL).T
    assert np.array_equal(after @ [1, 0, 0], [0, 0, -1])
    assert np.array_equal(after @ [0, 1, 0], [0, 1, 0])
    assert np.array_equal(after @ [0, 0, 1], [1, 0, 0])


@pytest.mark.parametrize("name", TURNS)
def test_turned_pieces_run_the_other_way(name):
    turn = np.array(quarter_turns(*TURNS[name]))
    assert turn[0, 0] == -1
    assert np.array_equal(turn @ turn, np.eye(3))


@given(names=st.lists(st.sampled_from(sorted(RELAYS)), max_size=12))
def test_any_row_of_relays_is_one_rotation(names):
    start = bar()
    piece = start
    for name in names:
        piece = relaid(piece, RELAYS[name], what="turn")
    assert sorted(piece.size) == pytest.approx(sorted(SIZE))
    low, high = piece.box()
    corners = np.array(list(itertools.product(*zip(low, high, strict=True))))
    origin_and_axes = np.concatenate([np.zeros((1, 3)), np.eye(3)])
    back = carry_back(piece.field, np.concatenate([origin_and_axes, corners]), stop=start.field)
    turn = (back[1:4] - back[0]).T
    assert np.abs(turn - np.round(turn)).max() < 1e-9
    assert round(np.linalg.det(turn)) == 1
    assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-9)
    # The box of the piece is the box of the bar, corner on corner.
    old_low, old_high = start.box()
    old = np.array(list(itertools.product(*zip(old_low, old_high, strict=True))))
    order = np.lexsort(np.round(back[4:], 6).T)
    assert back[4:][order] == pytest.approx(old[np.lexsort(old.T)], abs=1e-9)
    # Layers are counted along the axis they are met on, from the steel that lies low there.
    axis = piece.layers.axis
    assert abs(round(turn[2, axis])) == 1
    ends = np.tile([piece.size[0] / 2, 0.0, 0.0], (2, 1))
    ends[:, axis] = low[axis] + 0.1, high[axis] - 0.1
    program = lay_out(piece.field)
    met = [program.steels[layer] for layer in walk(program, ends).layers]
    assert tuple(met) == piece.layers.ends


@given(
    names=st.lists(st.sampled_from(sorted(RELAYS)), min_size=2, max_size=5),
    axis=st.integers(0, 2),
    seed=st.integers(0, 99),
)
def test_every_turned_piece_of_a_block_is_turned_alone(names, axis, seed):
    start = bar((40.0, 40.0, 40.0))
    pieces = [relaid(start, RELAYS[name], what="turn") for name in names]
    assume(len({piece.layers.axis for piece in pieces}) == 1)
    block = laid_together(pieces, axis=axis, what="block", name="block")
    assert block.size[axis] == pytest.approx(40.0 * len(names))
    assert block.volume_mm3 == pytest.approx(40.0**3 * len(names))
    random = np.random.default_rng(seed)
    inside = random.uniform([1.0, -19.0, -19.0], [39.0, 19.0, 19.0], (20, 3))
    for k, piece in enumerate(pieces):
        shift = np.zeros(3)
        shift[axis] = 40.0 * k if axis == 0 else 40.0 * (k - (len(names) - 1) / 2)
        there = carry_back(block.field, inside + shift, stop=start.field)
        alone = carry_back(piece.field, inside, stop=start.field)
        assert there == pytest.approx(alone, abs=1e-9)
