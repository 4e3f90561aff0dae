"""The worked feather against a ledger worked by hand, row by row.

Sizes, masses and layers are those of an invented but checked feather: two 210 mm chef's knives from
one block, kerf 2, skins lost 0.10 a welding heat and 0.07 a forging heat. Sizes are length, width,
thickness; on end: height, width, depth of the block. The ledger takes every bar for a box: by closed
forms it is met with its own sizes, by the flow with those of the starting job, which squares the bar
harder and grinds off what bulges, and only where a box is what comes out.
"""

import pytest

from patternsim import run
from patternsim.job import parse, starting_job
from patternsim.work import losses_of

CLOSE = 0.02
ROWS = [
    # row, step, pieces, size, kg, layers, tolerance of the sizes
    (1, "stack", 1, (114.3, 50.8, 78.7), 3.59, "48", CLOSE),
    (2, "clean-strips", 1, (114.3, 50.4, 76.3), 3.45, "48", CLOSE),
    (3, "first-weld", 1, (124.9, 52.0, 66.0), 3.37, "48", CLOSE),
    (4, "draw-square", 1, (238.3, 42.0, 42.0), 3.30, "48", CLOSE),
    (5, "square", 1, (256.9, 40.0, 40.0), 3.23, "48", CLOSE),
    (6, "on-edge", 1, (323.6, 48.5, 26.0), 3.20, "48", CLOSE),
    (7, "restack-two", 1, (152.8, 47.5, 50.0), 2.85, "48 x 2", CLOSE),
    (8, "draw-two", 1, (287.8, 45.0, 27.0), 2.75, "48 x 2", CLOSE),
    (9, "restack-four", 1, (134.9, 44.0, 52.0), 2.42, "48 x 4", CLOSE),
    (10, "draw-flat", 1, (335.0, 52.0, 17.0), 2.32, "48 x 4", CLOSE),
    (11, "tall", 1, (96.0, 51.0, 48.5), 1.86, "288 x 4", CLOSE),
    (12, "weld-tall", 1, (86.4, 52.9, 50.4), 1.81, "288 x 4", CLOSE),
    (13, "close", 1, (90.9, 50.3, 49.3), 1.77, "288 x 4", CLOSE),
    (14, "clean-edges", 1, (75.9, 49.3, 49.3), 1.45, "240 x 4", CLOSE),
    (15, "clean-part", 2, (75.9, 49.3, 22.9), 1.34, "240 x 4", CLOSE),
    (16, "draw-blades", 2, (314.8, 56.0, 4.5), 1.25, "240 x 4", CLOSE),
]


# The starting job beside the ledger: corners crushed less and squared harder, edges ground clean.
OWN_SIZES = [
    ("length_mm = 120.0", "length_mm = 114.3"),
    ("flat_mm = 16.0", "flat_mm = 18.0"),
    ("side_mm = 39.0\nbite_mm = 60.0", "side_mm = 40.0"),
    ("edges_mm = 2.6", "edges_mm = 0.5"),
    ("edges_mm = 0.7", "edges_mm = 0.5"),
    ("edges_mm = 1.3", "edges_mm = 0.5"),
    ("near_mm = 5.0\nfar_mm = 12.0", "near_mm = 3.0\nfar_mm = 12.0"),
    ("edges_mm = 0.8", "edges_mm = 0.5"),
    ("width_mm = 56.5", "width_mm = 56.0"),
]


def worked(factor=1.0):
    """Work the job of the ledger by closed forms, with skins `factor` times as thick."""
    text = starting_job("feather-from-w")
    for ours, its in OWN_SIZES:
        assert text.count(ours) == 1
        text = text.replace(ours, its)
    for name, value in (("skin_weld_mm", 0.10), ("skin_forge_mm", 0.07)):
        assert text.count(f"{name} = {value:.2f}") == 1
        text = text.replace(f"{name} = {value:.2f}", f"{name} = {factor * value}")
    return run(parse(text), "quick")


@pytest.fixture(scope="module")
def result():
    return worked()


@pytest.mark.parametrize(
    ("row", "step", "pieces", "size", "kg", "layers", "close"), ROWS, ids=[row[1] for row in ROWS]
)
def test_row_of_the_ledger(result, row, step, pieces, size, kg, layers, close):
    found = result.after(step)
    piece = found.outcome.pieces[0]
    assert len(found.outcome.pieces) == pieces, row
    assert piece.size == pytest.approx(size, rel=close)
    assert found.mass_kg == pytest.approx(kg, rel=CLOSE)
    assert piece.layers.text() == layers


def test_what_is_lost_in_all(result):
    # The ledger: scale .641, ground .695, saw .181, crop .825 kg, the guard of .083 in the crop.
    losses = losses_of(result)
    last = result.steps[-1]
    density = last.mass_kg / last.volume_mm3
    (guard,) = result.after("saw-six").outcome.offcuts
    assert guard.mass_kg == pytest.approx(0.083, rel=CLOSE)
    assert losses.ground * density == pytest.approx(0.695, rel=CLOSE)
    assert losses.saw * density == pytest.approx(0.181, rel=CLOSE)
    assert losses.crop * density + guard.mass_kg == pytest.approx(0.825, rel=CLOSE)
    assert losses.scale * density == pytest.approx(0.641, rel=0.02)


def test_a_worse_fire_gives_a_shorter_bar(result):
    # The ledger by atmosphere factor .3, .5 (the demo) and 1: bars of 361, 315 and 216 mm.
    lengths = [row.steps[-1].outcome.pieces[0].size[0] for row in (worked(0.6), result, worked(2.0))]
    assert lengths == pytest.approx([361.0, 315.0, 216.0], rel=0.03)
    assert lengths[0] > lengths[1] > lengths[2]


# --- by the flow -----------------------------------------------------------------------------

# What is more than this beside the ledger, with the reason. The ledger takes a bar for a box, and starts
# with strips of 114.3 mm, the job with 120: all it says of length and mass is that much more.
NEAR = 0.05
HEAVIER = 120.0 / 114.3
TALL = {"tall", "weld-tall", "close", "clean-edges", "clean-part"}
ROUND_CORNERS = "corners stay round, so a bar of the same mass is longer than a box"
GROUND_OFF = "2.6 mm are ground off each edge, not 0.5: the bulge of the bar and its round corners"
CROPPED = "5 mm are cropped at the base, not 3, and .8 ground off an edge: its corners are round"
BESIDE = {
    ("square", "length"): f"{ROUND_CORNERS}; squared to 39, not 40 mm",
    ("on-edge", "length"): ROUND_CORNERS,
    ("restack-two", "length"): ROUND_CORNERS,
    ("restack-two", "width"): GROUND_OFF,
    ("restack-two", "kg"): GROUND_OFF,
    ("draw-two", "kg"): GROUND_OFF,
    ("restack-four", "length"): GROUND_OFF,
    ("restack-four", "kg"): GROUND_OFF,
    ("draw-flat", "kg"): GROUND_OFF,
    ("tall", "kg"): GROUND_OFF,
    ("weld-tall", "kg"): GROUND_OFF,
    ("close", "kg"): GROUND_OFF,
    ("clean-edges", "kg"): CROPPED,
    ("clean-part", "kg"): CROPPED,
    ("draw-blades", "length"): CROPPED,
    ("draw-blades", "kg"): CROPPED,
}


@pytest.fixture(scope="module")
def flowed():
    """Return the starting job worked by the flow, finely."""
    return run(parse(starting_job("feather-from-w")), "fine")


@pytest.mark.parametrize("row", ROWS, ids=[row[1] for row in ROWS])
def test_row_of_the_ledger_by_the_flow(flowed, row):
    _, step, pieces, size, kg, layers, _ = row
    found = flowed.after(step)
    piece = found.outcome.pieces[0]
    assert len(found.outcome.pieces) == pieces
    first, rest = piece.layers.text().split(" x ")[0], piece.layers.text().split(" x ")[1:]
    told, others = layers.split(" x ")[0], layers.split(" x ")[1:]
    assert rest == others
    assert int(first) == pytest.approx(int(told), abs=7)  # two more millimetres are cropped
    ours = dict(zip(("length", "width", "thickness", "kg"), (*piece.size, found.mass_kg), strict=True))
    more = [1.0, 1.0, HEAVIER, HEAVIER] if step in TALL else [HEAVIER, 1.0, 1.0, HEAVIER]
    for name, wanted, by in zip(ours, (*size, kg), more, strict=True):
        off = abs(ours[name] / (wanted * by) - 1.0)
        if (step, name) in BESIDE:
            assert off < 0.13, f"{name}: {ours[name]:.4g}, not {wanted * by:g}"
        else:
            assert off < NEAR, f"{name}: {ours[name]:.4g}, not {wanted * by:g}"


def test_the_bar_is_longer_on_edge_because_its_corners_are_round(flowed):
    # As long as a box of its length would be, had it the outline's area, not that of the box.
    piece = flowed.after("on-edge").outcome.pieces[0]
    box = piece.size[1] * piece.size[2]
    assert piece.section.area < 0.99 * box
    length_of_a_box = piece.volume_mm3 / box
    assert length_of_a_box < piece.size[0]
    assert piece.volume_mm3 == pytest.approx(piece.section.area * piece.size[0], rel=1e-6)


@pytest.mark.parametrize("name", ["feather-from-w", "feather", "w-bar"])
def test_what_goes_in_comes_out_or_is_booked(name):
    """No steel is made or lost on the way: what a step leaves is what it got less what it books."""
    result = run(parse(starting_job(name)), "fine")
    before = 0.0
    for row in result.steps:
        if before:
            aside = sum(piece.volume_mm3 for piece in row.outcome.offcuts)
            kept = row.volume_mm3 + row.outcome.losses.total + aside
            assert kept == pytest.approx(before, rel=1e-6), row.step.id
        before = row.volume_mm3
    assert before > 0.0
