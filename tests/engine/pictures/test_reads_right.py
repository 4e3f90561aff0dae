"""The picture says what the answers say: read by the structure tensor of scikit-image."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.feature import structure_tensor

from engine.job.yardstick import with_value
from patternsim.answers import answers
from patternsim.job import parse, starting_job
from patternsim.knife.placement import placed
from patternsim.pictures.face import View, etched_face
from patternsim.work import run

PX = 6.0
"""Pixels a millimetre."""


def changed(**values):
    """The plain feather with some values changed."""
    text = starting_job("feather")
    job = parse(text)
    steps = {step.id: k for k, step in enumerate(job.bar[0].step)}
    for key, value in values.items():
        if key == "tip_end":
            text = with_value(text, ("blade", "place", "tip_end"), value)
        else:
            text = with_value(text, ("bar", 0, "step", steps["split"], key), value)
    return run(parse(text), "quick")


def leans_in_the_picture(result, side="mark-side"):
    """Read the face: +1 where stripes lean to the tip, leaving the centre line, -1 to the handle.

    The structure tensor's mixed term is the sign of the stripes' slope: positive where they rise to
    the right. Taken over the middle of each half, between a third and two thirds of the way out.
    """
    blade = placed(result.job.blade, result.blade_piece())
    length, width = blade.outline.length_mm, blade.outline.width_mm
    shape = (round(width * PX), round(length * PX))
    top = float(blade.outline.bounding_box[3])
    mirrored = side == "off-side"
    view = View(pixels_per_mm=PX, left=length * PX if mirrored else 0.0, top=top * PX, mirrored=mirrored)
    light, _ = etched_face(blade, side, view, shape, shaft_mm=1.0)
    _, mixed, _ = structure_tensor(light, sigma=4.0, order="rc")
    along = slice(round(0.3 * length * PX), round(0.6 * length * PX))
    # The tip lies on the line: v = 0 is the centre line.
    row = round(top * PX)
    upper = mixed[row - round(15 * PX) : row - round(7 * PX), along].mean()
    lower = mixed[row + round(7 * PX) : row + round(13 * PX), along].mean()
    towards_right = np.array([np.sign(upper), -np.sign(lower)])
    return -towards_right if mirrored else towards_right


@pytest.mark.parametrize(
    ("values", "towards"),
    [
        ({}, "tip"),
        ({"travel": "up"}, "handle"),
        ({"tip_end": "near"}, "handle"),
        ({"travel": "up", "tip_end": "near"}, "tip"),
    ],
)
@pytest.mark.parametrize("side", ["mark-side", "off-side"])
def test_barbs_lean_in_the_picture_as_the_answer_says(values, towards, side):
    """Layers are dragged the way the wedge runs, so the outer ends lean the other way (geometry).

    Flipping the wedge's travel, or turning the bar end for end, flips it; both together do not.
    """
    result = changed(**values)
    assert answers(result).barbs.towards == towards
    expected = 1 if towards == "tip" else -1
    assert leans_in_the_picture(result, side).tolist() == [expected, expected]


def test_the_face_holds_layers_a_centre_line_and_barbs(feather):
    """What a feather shows: many stripes along each half, one dark line where they meet."""
    blade = placed(feather.job.blade, feather.blade_piece())
    top, length = float(blade.outline.bounding_box[3]), blade.outline.length_mm
    shape = (round(46 * PX), round(length * PX))
    view = View(pixels_per_mm=PX, left=0.0, top=top * PX, mirrored=False)
    light, cover = etched_face(blade, "mark-side", view, shape, shaft_mm=1.0)
    row = round(top * PX)
    half = light[row - round(10 * PX), : round(150 * PX)]
    edges = np.abs(np.diff(half > half.mean())).sum()
    # 120 layers on 314 mm of bar (the job's ledger): about 57 on 150 mm.
    assert 40 < edges < 75
    line = light[row - 1 : row + 1, round(20 * PX) : round(190 * PX)]
    assert line.std() < 0.2 * light[cover > 0.99].std()
    assert cover.max() == pytest.approx(1.0)


def test_bright_and_dark_keep_their_shares(feather_from_w):
    """By area the face shows the steels as they lie in the stack: thicknesses 1.95 and 1.23."""
    blade = placed(feather_from_w.job.blade, feather_from_w.blade_piece())
    from patternsim.etch.tones import steel_tones
    from patternsim.fields import lay_out, walk

    u, v = (g.ravel() for g in np.meshgrid(np.arange(5, 200, 0.11), np.arange(-12, 12, 0.11)))
    program = lay_out(blade.piece.solid())
    hits = walk(program, blade.surface(u, v, "mark-side"))
    bright = np.concatenate(steel_tones(program).values) > 0.3
    share = bright[hits.layers[hits.layers >= 0]].mean()
    assert share == pytest.approx(1.23 / (1.95 + 1.23), abs=0.01)
