"""Light from layers: sRGB, the tent over the layers, and layers too fine for a pixel."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage.color import rgb2xyz

from patternsim.etch.finish import LIGHT, bevel_light, relief
from patternsim.etch.light import to_linear, to_srgb
from patternsim.etch.sampling import sample_picture
from patternsim.etch.tones import BOX, filtered, layer_values, steel_tones
from patternsim.fields import Affine, Clip, Leaf, Pick, lay_out, moved

SEEDS = np.random.default_rng(5)


def stack(count: int, thickness: float, *, size: float = 400.0) -> Leaf:
    """Bright and dark layers in turn, all as thick."""
    return Leaf(
        "stack",
        thicknesses=np.full(count, thickness),
        steels=tuple(("1084", "15N20")[k % 2] for k in range(count)),
        length=size,
        width=size,
    )


def test_srgb_agrees_with_the_reference_library():
    """scikit-image's rgb2xyz linearises by IEC 61966-2-1: for greys Y is the linear light."""
    grey = np.linspace(0.0, 1.0, 101)
    xyz = rgb2xyz(np.repeat(grey[:, None], 3, axis=1))
    assert np.abs(to_linear(grey) - xyz[:, 1]).max() < 1e-6
    assert np.abs(to_srgb(to_linear(grey)) - grey).max() < 1e-12


@settings(max_examples=60, deadline=None)
@given(
    thicknesses=st.lists(st.floats(0.05, 3.0), min_size=4, max_size=30),
    at=st.floats(0.2, 0.8),
    wide=st.floats(0.02, 2.0),
)
def test_the_bell_is_the_mean_by_plain_summing(thicknesses, at, wide):
    """Against a sum over 20 001 points of the bell, the plainest way there is.

    Three boxes of width 1 make the quadratic B-spline: 3/4 - t^2 in the middle, (3/2 - |t|)^2 / 2
    beyond (any text on splines).
    """
    leaf = Leaf(
        "s",
        thicknesses=np.array(thicknesses),
        steels=tuple(("1084", "15N20")[k % 2] for k in range(len(thicknesses))),
        length=10.0,
        width=10.0,
    )
    program = lay_out(leaf)
    values = SEEDS.uniform(0.0, 1.0, len(thicknesses))
    tones = layer_values(program, values)
    edges = np.concatenate([[0.0], np.cumsum(thicknesses)])
    middle = at * edges[-1]
    offsets = np.linspace(-1.5 * BOX * wide, 1.5 * BOX * wide, 20001)
    t = np.abs(offsets) / (BOX * wide)
    weights = np.where(t < 0.5, 0.75 - t**2, (1.5 - t) ** 2 / 2)
    layer = np.clip(np.searchsorted(edges, middle + offsets, side="right") - 1, 0, len(values) - 1)
    expected = (values[layer] * weights).sum() / weights.sum()
    got = filtered(tones, 0, np.array([middle]), np.array([wide]))[0]
    assert got == pytest.approx(expected, abs=3e-4)


def face_of(leaf: Leaf, pixel_mm: float, angle_deg: float, pixels: int = 128):
    """Look at a stack edge on, turned in the picture by an angle."""
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    solid = Clip(leaf, low=(0, -1e3, -1e3), high=(1e3, 1e3, 1e3))

    def to_piece(columns, rows):
        a, b = (columns - pixels / 2) * pixel_mm, (rows - pixels / 2) * pixel_mm
        return np.stack([200.0 + c * a - s * b, np.zeros_like(a), s * a + c * b], axis=-1)

    program = lay_out(solid)
    return program, sample_picture(
        program, steel_tones(program), to_piece, np.ones((pixels, pixels), dtype=bool)
    )


@pytest.mark.parametrize("angle", [0.0, 3.0, 17.0, 31.0, 45.0, 88.0])
@pytest.mark.parametrize("layers_a_pixel", [5.0, 5.13, 4.71, 9.0, 2.03])
def test_layers_finer_than_a_pixel_turn_grey_without_moire(angle, layers_a_pixel):
    """Sampling theorem: what a pixel cannot hold must not come back as a coarser wave.

    The right grey is the mean of the two linear lights, by area; the spectrum of the picture (its
    sRGB values, as the eye gets them) must hold no wave of more than half a grey level.
    """
    pixel_mm = 0.1
    leaf = stack(6000, pixel_mm / layers_a_pixel)
    program, seen = face_of(leaf, pixel_mm, angle)
    expected = 255.0 * to_srgb(np.mean(np.concatenate(steel_tones(program).values)))
    grey = 255.0 * to_srgb(seen.light)
    assert abs(grey.mean() - expected) < 2.0
    spectrum = np.abs(np.fft.fft2(grey - grey.mean())) / grey.size
    # A wave of amplitude a shows as two peaks of a / 2.
    assert 2.0 * spectrum.max() < 0.5


@pytest.mark.parametrize("layers_a_pixel", [0.02, 0.1, 0.3])
def test_layers_wider_than_a_pixel_keep_their_shares(layers_a_pixel):
    """By area, half bright and half dark, whatever the zoom."""
    pixel_mm = 0.1
    leaf = stack(2000, pixel_mm / layers_a_pixel)
    program, seen = face_of(leaf, pixel_mm, 0.0, pixels=200)
    values = np.concatenate(steel_tones(program).values)
    rows = seen.light.mean(axis=1)
    # Whole layers in the middle of the picture.
    whole = round(2 / layers_a_pixel) * int(200 * layers_a_pixel / 2 - 0.01)
    assert rows[: max(whole, 1)].mean() == pytest.approx(values[:2].mean(), rel=0.02)
    assert seen.light.min() == pytest.approx(values.min(), rel=1e-6)
    assert seen.light.max() == pytest.approx(values.max(), rel=1e-6)


def test_a_joint_is_a_sharp_border_and_not_a_blur():
    """Two copies of a stack, one shifted by a layer: each side keeps its own layers to the joint."""
    leaf = stack(40, 1.0)
    low = moved(leaf, by=(0.0, 0.0, 0.0))
    high = moved(leaf, by=(0.0, 0.0, 1.0))
    both = Pick(axis=1, borders=[-50.0, 0.03, 50.0], pieces=(low, high))
    program = lay_out(Clip(both, low=(0, -50, -18), high=(400, 50, 18)))

    def to_piece(columns, rows):
        a, b = (columns - 20) * 0.1, (rows - 20) * 0.1
        return np.stack([np.full_like(a, 10.0), a, b], axis=-1)

    seen = sample_picture(program, steel_tones(program), to_piece, np.ones((40, 40), dtype=bool))
    row = seen.light[5]
    assert len(np.unique(np.round(row[:19], 6))) == 1
    assert len(np.unique(np.round(row[22:], 6))) == 1
    assert abs(row[5] - row[30]) > 0.3
    # The pixel the joint runs through is mixed by area: the joint lies 0.3 of a pixel into it.
    assert row[20] == pytest.approx(0.3 * row[5] + 0.7 * row[30], abs=0.05)


def test_outside_the_steel_there_is_no_light():
    leaf = stack(40, 1.0)
    program = lay_out(Clip(leaf, low=(0, -5, -5), high=(400, 5, 5)))

    def to_piece(columns, rows):
        return np.stack([np.full_like(columns, 10.0), columns - 20.0, rows - 20.0], axis=-1)

    seen = sample_picture(program, steel_tones(program), to_piece, np.ones((40, 40), dtype=bool))
    assert seen.cover.sum() == pytest.approx(100.0, rel=0.01)
    assert seen.light[seen.cover == 0.0].max() == 0.0


def test_relief_and_bevel_follow_lamberts_law():
    """Lambert's cosine law in closed form on a plane of known slope."""
    front = np.array(LIGHT) / np.linalg.norm(LIGHT)
    for slope_x, slope_y in ((0.05, 0.0), (0.0, -0.08), (0.03, 0.04)):
        normal = np.array([-2 * slope_x, -2 * slope_y, 1.0])  # lifted twice, see GRIND_GAIN
        normal /= np.linalg.norm(normal)
        expected = max(normal @ front, 0.0) / front[2]
        got = bevel_light(np.array([[slope_x]]), np.array([[slope_y]]))[0, 0]
        assert got == pytest.approx(expected, rel=1e-9)
    flat = np.full((9, 9), 0.3)
    assert np.allclose(relief(flat, 0.1, 0.6, 0.1), 1.0)


def test_a_scaled_field_is_the_same_picture():
    """The picture is exact at any zoom: twice the pixels hold the same light, area by area."""
    leaf = stack(40, 1.0)
    field = Affine(leaf, matrix=np.diag([1.0, 1.0, 2.0]), shift=(0, 0, 0))
    program = lay_out(Clip(field, low=(0, -1e3, -9), high=(1e3, 1e3, 9)))
    pictures = []
    for zoom in (1, 4):

        def to_piece(columns, rows, zoom=zoom):
            a, b = columns / zoom * 0.2, rows / zoom * 0.2 - 8.0
            return np.stack([10.0 + a, np.zeros_like(a), b], axis=-1)

        wanted = np.ones((80 * zoom, 8 * zoom), dtype=bool)
        pictures.append(sample_picture(program, steel_tones(program), to_piece, wanted).light)
    coarse = pictures[0].reshape(4, 20, 8).mean(axis=(1, 2))
    fine = pictures[1].reshape(4, 80, 32).mean(axis=(1, 2))
    # Twenty pixels hold two layers and two thirds of their wave; their edges blur by the bell.
    assert np.abs(fine - coarse).max() < 0.01
