"""A bar of W's worked as a picture, step after step, with an image library: the same layers come out.

The stack is painted as an image of layer numbers. Presses warp it, each by its own way back only; turns
are numpy.rot90, grinding crops, restacking is numpy.block. Every step makes a new raster out of the
last, so that nothing of the walk through all steps at once is used.
"""

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt
from skimage.transform import warp

from engine.fields import worked
from patternsim.fields import carry_back, lay_out, walk

PITCH_MM = 0.05
"""Size of a pixel. Each of the seven rasters rounds by up to half of it."""
AWAY_MM = 0.1
"""Pixels nearer to a border of layers than this are not compared: two pixels."""
PRESSED = {"forge-weld", "draw", "square-up", "crush-corners", "press-on-edge"}
UNMOVED = {"cut", "check"}
"""They part the length or only look; the section stays as it is."""


def pixels(length_mm):
    return round(length_mm / PITCH_MM)


def places(count):
    """Return where the middles of `count` pixels lie, mm from the middle of the section."""
    return (np.arange(count) - (count - 1) / 2) * PITCH_MM


def painted(step):
    """Return the section of a loose stack: row z from the bottom up, column y."""
    edges = np.cumsum([0.0, *(strip.thickness_mm for strip in step.strips * step.repeat)])
    z = places(pixels(edges[-1])) + edges[-1] / 2
    layers = np.searchsorted(edges, z, side="right") - 1
    return np.repeat(layers[:, None], pixels(step.width_mm), axis=1)


def pressed(image, before, after, piece):
    """Warp a section by the way back from `after` to `before` alone."""
    shape = pixels(piece.size[2]), pixels(piece.size[1])

    def back(columns_and_rows):
        y, z = (columns_and_rows - (np.array(shape[::-1]) - 1) / 2).T * PITCH_MM
        points = np.stack([np.full_like(y, piece.size[0] / 2), y, z], axis=1)
        there = carry_back(after, points, stop=before)
        middle = (np.array(image.shape[::-1]) - 1) / 2
        return there[:, 1:] / PITCH_MM + middle

    warped = warp(
        image.astype(np.float64), back, output_shape=shape, order=0, mode="edge", preserve_range=True
    )
    return np.round(warped).astype(np.int64)


def laid_over(image):
    """Turn a section a quarter about its length, right-handed: +y goes up, +z goes to -y."""
    # Rows count upwards here, so that what goes anticlockwise is clockwise for the library.
    return np.rot90(image, -1)


def next_link(node, end):
    """Return the last link before `end` on a chain."""
    while node.child is not end:
        node = node.child
    return node


def cropped(image, faces_mm, edges_mm):
    rows, columns = pixels(faces_mm), pixels(edges_mm)
    assert rows * PITCH_MM == pytest.approx(faces_mm)
    return image[rows : image.shape[0] - rows, columns : image.shape[1] - columns]


def raster_of(result):
    """Work a job of one bar as pictures of its section; yield (step id, image, piece)."""
    image, last = None, None
    for row in result.steps:
        step, piece = row.step, row.outcome.pieces[0]
        if step.kind == "stack":
            image = painted(step)
        elif step.kind == "grind-clean":
            assert not step.strips_to_mm
            image = cropped(image, step.faces_mm, step.edges_mm)
        elif step.kind == "restack":
            assert step.turned == "none"
            image = np.block([[image] * step.wide] * step.high)
        elif step.kind == "turn":
            assert (step.about, step.degrees) == ("length", 90)
            image = np.rot90(image, -1)
        elif step.kind in PRESSED:
            before = last.field
            if step.kind == "press-on-edge":
                image = laid_over(image)
                before = next_link(piece.field, before)
            image = pressed(image, before, piece.field, piece)
        else:
            assert step.kind in UNMOVED, f"this pipeline knows no {step.kind}"
        yield step.id, image, piece
        last = piece


def section_of(piece, shape):
    """Return the layers the engine finds at the pixels of a section across the middle."""
    z, y = np.meshgrid(places(shape[0]), places(shape[1]), indexing="ij")
    points = np.stack([np.full(y.size, piece.size[0] / 2), y.ravel(), z.ravel()], axis=1)
    return walk(lay_out(piece.field), points).layers.reshape(shape)


def away_from_borders(layers):
    """Return True where no other layer is within `AWAY_MM`."""
    border = np.zeros(layers.shape, dtype=bool)
    across, up = np.diff(layers, axis=1) != 0, np.diff(layers, axis=0) != 0
    border[:, 1:] |= across
    border[:, :-1] |= across
    border[1:] |= up
    border[:-1] |= up
    return distance_transform_edt(~border) * PITCH_MM > AWAY_MM


@pytest.fixture(scope="module")
def sections():
    """Return (step id, raster, section of the engine) wherever the section changed."""
    return [
        (name, image, section_of(piece, image.shape))
        for name, image, piece in raster_of(worked.job("w-bar"))
    ]


def test_every_step_agrees_with_its_picture(sections):
    for name, image, layers in sections:
        away = away_from_borders(layers)
        same = (image == layers)[away].mean()
        print(f"{name}: {image.shape} pixels, {away.mean():.1%} compared, {same:.4%} agree")
        assert away.mean() > 0.5
        assert same >= 0.99, name


def test_the_last_section_is_worth_comparing(sections):
    # Four rows of bent layers: all layers of the stack but those ground off its edges, four times,
    # none of them straight.
    *_, (_, _, layers), _ = sections  # the last but one: then it is only laid flat
    assert len(np.unique(layers)) >= 22
    upper, lower = np.array_split(layers, 2, axis=0)
    left, right = np.array_split(lower, 2, axis=1)
    assert (upper[: lower.shape[0]] == lower).mean() > 0.3
    assert all((part != part[:, :1]).any(axis=0).mean() > 0.9 for part in (left, right))


def test_laid_over_the_wrong_way_is_noticed(monkeypatch):
    monkeypatch.setattr(f"{__name__}.laid_over", lambda image: np.rot90(image, 1))
    *_, (_, image, piece) = raster_of(worked.job("w-bar"))
    layers = section_of(piece, image.shape)
    assert (image == layers)[away_from_borders(layers)].mean() < 0.5
