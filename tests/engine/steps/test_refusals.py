"""What cannot be forged is refused in words: the step, and the number that stops it."""

import pytest

from engine.steps.making import bar, stacked, with_mark, work
from patternsim.errors import StepError
from patternsim.step import REGISTRY


def open_split():
    return work("split", bar()).pieces[0]


def tapered():
    return work("taper", bar(), id="point", over_mm=50.0, width_mm=10.0).pieces[0]


# What is worked (a bar of 120 x 40 x 40 mm unless said), with which numbers, and what must be said.
REFUSED = [
    (
        "stack",
        [bar],
        {"strips": [{"steel": "1084", "thickness_mm": 2.0}], "width_mm": 40, "length_mm": 90},
        "has steel already",
    ),
    (
        "stack",
        [],
        {
            "strips": [{"steel": "1084", "thickness_mm": 2}] * 3,
            "repeat": 10000,
            "width_mm": 40,
            "length_mm": 90,
        },
        "30000 strips.*at most 20000",
    ),
    ("stack", [], {"strips": [], "width_mm": 40, "length_mm": 90}, "no strips"),
    ("forge-weld", [bar], {"height_mm": 45.0}, r"pressing to 45 mm does nothing.*39\.8 mm"),
    (
        "forge-weld",
        [bar],
        {"height_mm": 30.0, "width_mm": 60.0},
        r"60 x 30 mm is more than the .* the length would go from .* upset",
    ),
    (
        "forge-weld",
        [bar],
        {"along": "length", "down_pct": 10.0, "width_mm": 60.0},
        r"the thickness would go from 39.*give less width",
    ),
    ("forge-weld", [bar], {"height_mm": 1.0}, r"a thickness of 1 mm is asked for from 39"),
    ("forge-weld", [bar], {}, "either height_mm or down_pct"),
    ("forge-weld", [bar], {"down_pct": 10, "height_mm": 20}, "either height_mm or down_pct"),
    ("square-up", [bar], {"side_mm": 41.0}, r"41 x 41 mm is more than the 39\.9"),
    ("square-up", [stacked], {"side_mm": 30.0}, "loose; forge-weld"),
    ("press-on-edge", [bar], {"height_mm": 39.9}, r"39\.9 mm does nothing.*39\.9"),
    ("fuller", [bar], {"places_mm": (60.0,), "depth_mm": 9.0}, r"18 mm of a thickness of 39\.9 mm"),
    ("press-on-edge", [tapered], {"height_mm": 20.0}, r"no longer a straight bar \(step point\)"),
    ("crush-corners", [bar], {"flat_mm": 26.0}, r"26 mm on a side of 39\.9 mm.*at most 23\.9 mm"),
    ("crush-corners", [bar], {"old_face_mm": 2.0}, r"26\.8 mm on a side.*6 mm or more"),
    ("crush-corners", [bar], {"old_face_mm": 45.0}, r"flats of -3\.6 mm"),
    ("crush-corners", [lambda: bar(height=50.0)], {"flat_mm": 10.0}, r"39\.9 x 49\.9 mm.*square it up"),
    ("crush-corners", [bar], {}, "either the flats or the old face"),
    ("upset", [bar], {"length_mm": 130.0}, r"130 mm does nothing.*119\.9"),
    ("upset", [bar], {"length_mm": 2.0}, r"a length of 2 mm is asked for from 119"),
    ("draw", [bar], {"width_mm": 45.0, "thickness_mm": 40.0}, r"45 x 40 mm.*upset"),
    (
        "draw",
        [bar],
        {"width_mm": 1.0, "thickness_mm": 30.0},
        r"width of 1 mm is asked for from 40 mm; .* 30 times at most",
    ),
    ("draw", [open_split], {"width_mm": 30.0, "thickness_mm": 30.0}, "stands open"),
    ("flatten", [bar], {"thickness_mm": 60.0}, r"60 mm does nothing"),
    ("flatten", [bar], {"thickness_mm": 20.0, "width_mm": 90.0}, r"90 x 20 mm.*upset"),
    (
        "flatten",
        [lambda: bar(height=1.0, layers=2)],
        {"thickness_mm": 0.5, "heats": 10},
        r"scale takes 1\.4 mm off the thickness, which is only 1 mm",
    ),
    ("cut", [bar], {"crop_near_mm": 70.0, "crop_far_mm": 60.0}, r"take 130 mm of a bar 120 mm"),
    (
        "cut",
        [bar],
        {"pieces": 4, "piece_mm": 40.0},
        r"4 pieces of 40 mm need 160.*114 mm are left",
    ),
    ("cut", [bar], {"offcuts": [{"name": "guard", "length_mm": 130.0}]}, r"130|132"),
    ("cut", [stacked], {"pieces": 2}, "loose; forge-weld"),
    ("cut", [tapered], {"pieces": 2}, r"not straight \(step point\)"),
    ("slice", [bar], {"pieces": 30}, r"29 saw cuts of 2 mm .* take more than the 40 mm"),
    ("slice", [bar], {"at_mm": 40.0}, r"take more than the"),
    ("slice", [tapered], {}, r"no longer straight \(step point\)"),
    ("slice", [open_split], {}, "stands open"),
    ("grind-clean", [bar], {"faces_mm": 20.0}, r"40 mm would be taken off the thickness.*40 mm"),
    (
        "grind-clean",
        [stacked],
        {"strips_to_mm": [4.0, 4.0, 4.0]},
        "3 thicknesses are given for 8 strips",
    ),
    ("grind-clean", [stacked], {"strips_to_mm": [4.0, 6.0]}, r"strip 2 is 5 mm.*6 mm"),
    ("grind-clean", [stacked], {"strips_to_mm": [4.0, -1.0]}, r"strip 2 is 5 mm.*-1 mm"),
    ("grind-clean", [bar], {"strips_to_mm": [4.0]}, "only as they come from the stack"),
    ("grind-clean", [open_split], {"faces_mm": 0.1}, "stands open"),
    ("grind-clean", [tapered], {"faces_mm": 0.1}, r"\(step point\)"),
    ("restack", [bar, bar], {"high": 3}, "3 high x 1 wide needs 3 pieces; the bar has 2"),
    ("restack", [bar], {"high": 1}, "two pieces or more"),
    (
        "restack",
        [bar, lambda: bar(width=41.0)],
        {},
        r"piece 2: its width is 41 mm.*40 mm.*0\.5 mm",
    ),
    ("restack", [bar, stacked], {}, "piece 2: loose"),
    ("stack-tall", [bar, lambda: bar(length=130.0)], {}, r"its length is 130 mm"),
    ("stack-tall", [lambda: work("reweld", open_split()).pieces[0]], {}, r"ragged by \d\.\d mm; trim"),
    ("split", [bar], {"off_centre_mm": 18.0}, r"18 mm off the middle of a block 40 mm.*16 mm"),
    ("split", [bar], {"lean_face_deg": 20.0}, r"runs 43\.7 mm off the middle"),
    ("split", [bar], {"leave_mm": 100.0}, r"100 mm left uncut of 120 mm; leave at most 72"),
    ("split", [open_split], {}, "stands open"),
    ("reweld", [bar], {}, "no open split"),
    ("reweld", [open_split], {"grind_faces_mm": 1.0}, r"8 mm left uncut"),
    (
        "reweld",
        [lambda: work("split", bar(), leave_mm=0.0).pieces[0]],
        {"grind_faces_mm": 15.0},
        r"15 mm off each cut face leaves 10 mm of 40 mm",
    ),
    ("trim", [bar], {"near_mm": 100.0, "far_mm": 20.0}, r"120 mm would be taken off the length"),
    ("trim", [stacked], {"near_mm": 1.0}, "weld the piece first"),
    ("trim", [tapered], {"near_mm": 1.0}, r"\(step point\)"),
    (
        "taper",
        [bar],
        {"over_mm": 50.0, "width_mm": 45.0},
        r"width of 45 mm.*more than the 39\.9 mm",
    ),
    ("taper", [bar], {"over_mm": 50.0, "thickness_mm": 1.0}, r"1 mm at the end is less than 1/30"),
    (
        "taper",
        [bar],
        {"over_mm": 900.0, "width_mm": 20.0},
        r"900 mm long holds the steel of 675\.\d mm of bar; the bar is 119\.9",
    ),
    ("taper", [bar], {"over_mm": 50.0}, "the width or the thickness"),
    ("taper", [tapered], {"over_mm": 50.0, "width_mm": 9.0}, r"\(step point\)"),
    (
        "bend",
        [bar],
        {"start_mm": 10.0, "radius_mm": 20.0, "angle_deg": 30.0},
        r"20 mm.*width \(39\.9 mm\)",
    ),
    (
        "bend",
        [bar],
        {"start_mm": 60.0, "radius_mm": 80.0, "angle_deg": 90.0},
        r"needs 125\.7 mm of bar from 60 mm; the bar is 119\.9 mm long",
    ),
    ("bend", [bar], {"start_mm": 60.0, "radius_mm": 80.0, "angle_deg": 0.0}, "bend of 0°"),
    # The arc of 0.002 mm lies between two points of any table of the middle line.
    (
        "bend",
        [bar],
        {"start_mm": 60.03, "radius_mm": 100.0, "angle_deg": 0.001},
        "takes 0 mm of bar, too little to be made; give more angle",
    ),
    (
        "turn",
        [lambda: work("reweld", open_split()).pieces[0]],
        {"about": "width"},
        r"ragged by \d\.\d mm",
    ),
    ("turn", [tapered], {}, r"\(step point\)"),
    ("mark", [bar], {"along_mm": 130.0}, r"beside the piece, which is 120 x 40 x 40 mm"),
    ("mark", [bar], {"piece": 2}, "piece 2 is asked for; the bar has 1"),
    (
        "mark",
        [lambda: bar(height=1.5, layers=2)],
        {"depth_mm": 2.0},
        r"2 mm deep goes through.*1\.5 mm",
    ),
    ("mark", [lambda: with_mark(bar())], {}, 'called "nick" already'),
    ("mark", [tapered], {}, r"\(step point\)"),
    ("join", [bar], {"bars": []}, "two pieces or more; there is 1"),
]


@pytest.mark.parametrize(("kind", "makers", "numbers", "said"), REFUSED)
def test_what_cannot_be_is_refused_with_the_number_that_stops_it(kind, makers, numbers, said):
    pieces = [make() for make in makers]
    with pytest.raises(StepError, match=f"^the-step[:,].*{said}"):
        work(kind, *pieces, id="the-step", **numbers)


def test_every_kind_that_can_fail_is_tried():
    # A hold point does nothing that could fail.
    assert {row[0] for row in REFUSED} == set(REGISTRY) - {"check"}
