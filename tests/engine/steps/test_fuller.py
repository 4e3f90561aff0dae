"""Grooves across a bar: steel kept, layers dipping where the die went, refusals."""

import numpy as np
import pytest

from patternsim.errors import StepError
from patternsim.fields import lay_out, walk
from patternsim.job import parse
from patternsim.work import run

JOB = """
format = 1
name = "grooves"

[[bar]]
name = "bar"

[[bar.step]]
id = "stack"
kind = "stack"
strips = [{{ steel = "1084", thickness_mm = 1.0 }}, {{ steel = "15N20", thickness_mm = 1.0 }}]
repeat = 7
width_mm = 30.0
length_mm = 100.0

[[bar.step]]
id = "weld"
kind = "forge-weld"
height_mm = 12.0

[[bar.step]]
id = "grooves"
kind = "fuller"
places_mm = {places}
depth_mm = {depth}
radius_mm = 5.0
faces = "{faces}"
"""


def grooved(places=(50.0,), depth=1.5, faces="both", level="coarse"):
    text = JOB.format(places=list(places), depth=depth, faces=faces)
    return run(parse(text), level)


@pytest.fixture(scope="module")
def one():
    return grooved()


def test_steel_is_kept(one):
    before, after = one.after("weld"), one.after("grooves")
    lost = after.outcome.losses.total
    assert after.volume_mm3 + lost == pytest.approx(before.volume_mm3, rel=1e-6)
    piece, was = after.outcome.pieces[0], before.outcome.pieces[0]
    # The bulged sides of the weld are left out: the groove is worked as if the bar were a box.
    filled = was.volume_mm3 / np.prod(was.size)
    outlined = piece.section.area * piece.size[1] * filled
    assert outlined == pytest.approx(piece.volume_mm3, rel=3e-3)


def test_the_groove_is_where_and_as_deep_as_asked(one):
    piece = one.after("grooves").outcome.pieces[0]
    before = one.after("weld").outcome.pieces[0]
    points = piece.section.polygon()
    at = 50.0 / before.size[0] * piece.size[0]
    top = points[points[:, 1] > 0.0]
    x, z = top[np.abs(top[:, 0] - at) < 12.0].T
    lowest = int(z.argmin())
    assert x[lowest] == pytest.approx(at, abs=1.0)
    thick = before.size[2] - 2 * 0.07  # a forging heat's skin off both faces
    assert 2 * z[lowest] == pytest.approx(thick - 2 * 1.5, abs=0.08)


def test_layers_dip_under_the_groove_alike_on_both_faces(one):
    piece = one.after("grooves").outcome.pieces[0]
    program = lay_out(piece.solid())
    middle = 50.0 / one.after("weld").outcome.pieces[0].size[0] * piece.size[0]
    heights = np.linspace(0.3, 3.5, 9)

    def depth(x, sign):
        z = sign * heights
        points = np.stack([np.full_like(z, x), np.zeros_like(z), z], axis=1)
        return walk(program, points, workers=1).points[:, 2] * sign

    under, far = depth(middle, 1.0), depth(middle - 28.0, 1.0)
    # Less height is left under the die for the same layers: at one height more of them lie below.
    assert (under > far).all()
    assert depth(middle, -1.0) == pytest.approx(under, abs=0.05)


def test_determinant_is_one(one):
    piece = one.after("grooves").outcome.pieces[0]
    program = lay_out(piece.solid())
    random = np.random.default_rng(2)
    points = random.uniform([20.0, -10.0, -3.0], [piece.size[0] - 20.0, 10.0, 3.0], (600, 3))
    step = 0.02
    moved = np.concatenate([points + s * step * axis for axis in np.eye(3) for s in (1.0, -1.0)])
    back = walk(program, moved, workers=1).points.reshape(3, 2, -1, 3)
    slopes = ((back[:, 0] - back[:, 1]) / (2 * step)).transpose(1, 2, 0)
    five, half, ninety_five = np.percentile(np.linalg.det(slopes), [5, 50, 95])
    assert half == pytest.approx(1.0, abs=6e-3)
    assert 0.97 < five < ninety_five < 1.03


def thickness(piece, at):
    """Return how thick the section of a piece is at a place along it."""
    a = piece.section.polygon()
    b = np.roll(a, -1, axis=0)
    crossing = (a[:, 0] < at) != (b[:, 0] < at)
    share = (at - a[crossing, 0]) / (b[crossing, 0] - a[crossing, 0])
    return float(np.ptp(a[crossing, 1] + share * (b[crossing, 1] - a[crossing, 1])))


@pytest.mark.parametrize("faces", ["mark-side", "off-side"])
def test_one_face_at_a_time_takes_the_depth_once(faces):
    result = grooved(places=(50.0,), depth=1.2, faces=faces)
    piece, before = (result.after(one).outcome.pieces[0] for one in ("grooves", "weld"))
    at = 50.0 / before.size[0] * piece.size[0]
    thinnest = min(thickness(piece, at + off) for off in np.linspace(-2.0, 2.0, 41))
    assert thinnest == pytest.approx(before.size[2] - 2 * 0.07 - 1.2, abs=0.12)


def test_the_face_that_is_asked_for_is_grooved():
    """Turned over the bar comes out the other way up: the same section, upside down."""
    mark, off = (
        grooved(places=(50.0,), depth=1.2, faces=one).after("grooves").outcome.pieces[0]
        for one in ("mark-side", "off-side")
    )
    upper, lower = (piece.section.polygon()[:, 1] for piece in (mark, off))
    assert upper.max() - abs(upper.min()) == pytest.approx(-(lower.max() - abs(lower.min())), abs=0.05)
    middle = 50.0 / 107.0
    for piece, sign in ((mark, 1.0), (off, -1.0)):
        points = piece.section.polygon()
        face = points[points[:, 1] * sign > 0.0]
        near = np.abs(face[:, 0] - middle * piece.size[0]) < 4.0
        far = (np.abs(face[:, 0] - middle * piece.size[0]) > 8.0) & (
            np.abs(face[:, 0] - middle * piece.size[0]) < 14.0
        )
        assert np.abs(face[near, 1]).min() < np.abs(face[far, 1]).min() - 0.5


def test_quick_is_the_coarse_flow():
    quick, coarse = (grooved(level=level).after("grooves").outcome for level in ("quick", "coarse"))
    assert quick.source == coarse.source == "coarse"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"places": ()}, "no place is given"),
        ({"places": (2.0,)}, "from both ends"),
        ({"places": (140.0,)}, "from both ends"),
        ({"depth": 4.0}, "cut through"),
    ],
)
def test_grooves_that_cannot_be_are_refused(change, words):
    with pytest.raises(StepError, match=words):
        grooved(**change)
