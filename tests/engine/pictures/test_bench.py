"""Pictures for the bench show the same steel as the finished ones, at any place and size."""

import numpy as np
import pytest
from skimage.transform import warp  # an outside reference for turning pictures

from patternsim.answers import line_on
from patternsim.job import parse, starting_job
from patternsim.knife import placed
from patternsim.laying import aimed
from patternsim.pictures.bench import (
    BarFrame,
    Window,
    bar_face,
    blade_face,
    layer_legend,
    piece_picture,
    station_picture,
)
from patternsim.pictures.face import View, etched_face
from patternsim.work import run

PX = 4.0


@pytest.fixture(scope="module")
def blade():
    result = run(parse(starting_job("feather-from-w"), name="the worked feather"), "quick")
    return placed(result.job.blade, result.blade_piece())


def window(blade, *, scale=PX, mirrored=False, left=60.0, top=30.0, wide=1000, high=240):
    x = blade.piece.size[0] - left if mirrored else left
    return Window(left_mm=x, top_mm=top, pixels_per_mm=scale, width=wide, height=high, mirrored=mirrored)


def test_the_blade_is_the_one_of_the_finished_picture(blade):
    here = window(blade)
    mine = blade_face(blade, "mark-side", here, shaft_mm=1.0)
    # In the frame of the blade, as finished pictures are drawn: same scale, same pixels.
    left = (blade.placement.tip_x - blade.outline.length_mm - here.left_mm) * PX
    view = View(
        pixels_per_mm=PX, left=left, top=(here.top_mm - blade.placement.tip_y) * PX, mirrored=False
    )
    light, cover = etched_face(blade, "mark-side", view, (240, 1000), shaft_mm=1.0)
    assert np.abs(mine[..., 3] / 255.0 - cover).max() < 0.01
    inside = cover > 0.99
    srgb = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055) * 255
    assert np.abs(mine[..., 0][inside] - srgb[inside]).max() <= 1.0


def test_neighbouring_windows_fit_together(blade):
    whole = bar_face(blade.piece, "mark-side", window(blade, wide=400))
    right = bar_face(blade.piece, "mark-side", window(blade, left=60.0 + 200 / PX, wide=200))
    apart = np.abs(whole[:, 204:396].astype(int) - right[:, 4:196])
    # On weld joints pixels are sampled at random places, others are the very same.
    assert (apart == 0).mean() > 0.95
    assert apart.max() <= 40


def test_the_off_side_is_seen_from_the_other_side(blade):
    here, there = window(blade), window(blade, mirrored=True)
    assert there.bar(np.array([0.0]), np.array([0.0]))[0] > here.left_mm
    mark = blade_face(blade, "mark-side", here, shaft_mm=1.0)[..., 3] > 128
    off = blade_face(blade, "off-side", there, shaft_mm=1.0)[..., 3] > 128
    columns_mark, columns_off = (np.flatnonzero(one.any(axis=0)) for one in (mark, off))
    # The tip points right on the mark side and left on the off side: fewer rows are covered there.
    assert mark[:, columns_mark[-1]].sum() < mark[:, columns_mark[-200]].sum()
    assert off[:, columns_off[0]].sum() < off[:, columns_off[200]].sum()


def test_a_turned_blade_is_the_straight_one_turned(blade):
    """Turned by scikit-image's warp, the outline of the straight picture is that of the turned."""
    spec = blade.spec
    place = aimed(spec, blade.piece, (blade.placement.tip_x, blade.placement.tip_y + 12.0))
    other = placed(spec.model_copy(update={"place": place}), blade.piece)
    here = window(blade, top=45.0, high=360)
    straight = blade_face(blade, "mark-side", here, shaft_mm=1.0)[..., 3] / 255.0
    slanted = blade_face(other, "mark-side", here, shaft_mm=1.0)[..., 3] / 255.0
    old, new = (BarFrame(window=here, placement=b.placement) for b in (blade, other))

    def back(points):
        u, v = new.blade(points[:, 0] + 0.5, points[:, 1] + 0.5)
        return old.pixels(np.column_stack((u, v))) - 0.5

    assert np.abs(warp(straight, back, order=1) - slanted).mean() < 0.004


def test_slopes_of_a_turned_blade_turn_with_it(blade):
    frame = BarFrame(window=window(blade), placement=blade.placement)
    (right, down), step = frame.axes, 1e-3
    at = np.array([500.0]), np.array([120.0])
    u0, v0 = frame.blade(*at)
    for axis, (du, dv) in enumerate((right, down)):
        moved = [at[0] + (step * PX if axis == 0 else 0), at[1] + (step * PX if axis == 1 else 0)]
        u1, v1 = frame.blade(*moved)
        assert ((u1 - u0) / step)[0] == pytest.approx(du, abs=1e-6)
        assert ((v1 - v0) / step)[0] == pytest.approx(dv, abs=1e-6)


def test_a_draft_is_the_same_picture_only_rougher(blade):
    full = blade_face(blade, "mark-side", window(blade), shaft_mm=1.0).astype(int)
    draft = blade_face(blade, "mark-side", window(blade), shaft_mm=1.0, draft=True).astype(int)
    assert ((full[..., 3] > 250) == (draft[..., 3] > 250)).mean() > 0.998
    inside = (full[..., 3] > 250) & (draft[..., 3] > 250)
    assert np.abs(full - draft)[..., 0][inside].mean() < 2.5


def test_the_layer_drawing_has_the_tones_of_its_legend_only(blade):
    legend = layer_legend(blade.piece)
    assert [(letter, steel) for letter, steel, _ in legend] == [("A", "1084"), ("B", "15N20")]
    pixels = bar_face(blade.piece, "mark-side", window(blade, scale=30.0, wide=400), drawing="layers")
    inside = pixels[pixels[..., 3] == 255][:, :3].astype(int)
    tones = np.array([[int(tone[k : k + 2], 16) for k in (1, 3, 5)] for _, _, tone in legend])
    nearest = np.abs(inside[:, None] - tones).sum(axis=2).min(axis=1)
    assert (nearest <= 3).mean() > 0.5, "most pixels this large lie in one layer"
    assert inside.min() >= tones.min() - 2
    assert inside.max() <= tones.max() + 2


def test_layers_take_the_share_of_their_thickness(blade):
    """24 pairs of 1.95 and 1.23 mm: 61 % dark, whatever was done to them (volume is kept)."""
    pixels = bar_face(
        blade.piece, "mark-side", window(blade, left=5.0, top=28.0, wide=1200, high=224),
        drawing="layers",
    )  # fmt: skip
    dark, bright = (int(tone[1:3], 16) / 255 for _, _, tone in layer_legend(blade.piece))

    def linear(v):
        return ((v + 0.055) / 1.055) ** 2.4

    inside = pixels[..., 3] == 255
    share = (linear(bright) - linear(pixels[..., 0][inside] / 255.0)) / (linear(bright) - linear(dark))
    assert share.mean() == pytest.approx(1.95 / (1.95 + 1.23), abs=0.03)


def test_a_station_is_as_high_and_thick_as_the_blade_there(blade):
    picture, (high, thick) = station_picture(blade, 60.0, 10.0, thick=2.0)
    assert high == pytest.approx(float(blade.outline.height_at(60.0)))
    assert picture.shape[1] == pytest.approx(high * 10.0, abs=1)
    assert picture.shape[0] == pytest.approx(thick * 20.0, abs=1)
    # Area of the section by the grind's own formula.
    area = (picture[..., 3] / 255.0).sum() / (10.0 * 20.0)
    assert area == pytest.approx(float(blade.grind.section_mm2(blade.outline, 60.0)), rel=0.02)


def test_views_of_a_piece_have_its_proportions(blade):
    x, y, z = blade.piece.size
    for plane, (wide, high) in {"blank": (x, y), "low-edge": (x, z), "far-end": (y, z)}.items():
        picture = piece_picture(blade.piece, plane, 2.0, draft=True)
        assert picture.shape[:2] == (max(1, round(high * 2)), max(1, round(wide * 2)))
        assert (picture[..., 3] > 0).mean() > 0.9


def test_the_dark_shaft_lies_on_the_line(blade):
    here = window(blade, scale=10.0, left=150.0, top=5.0, wide=400, high=100)
    pixels = blade_face(blade, "mark-side", here, shaft_mm=1.0, drawing="layers")
    frame = BarFrame(window=here, placement=blade.placement)
    u = np.linspace(60.0, 80.0, 41)
    at = frame.pixels(np.column_stack((u, line_on(blade, "mark-side", u))))
    seen = pixels[np.round(at[:, 1]).astype(int), np.round(at[:, 0]).astype(int), 0]
    assert np.median(seen) < 60


def test_bands_make_the_same_picture(blade, monkeypatch):
    from patternsim.pictures import face

    view = View(pixels_per_mm=PX, left=220.0, top=110.0, mirrored=False)
    monkeypatch.setattr(face, "BAND_PX", 60_000)
    whole = etched_face(blade, "mark-side", view, (240, 1080), shaft_mm=1.0)
    told = []

    class Watch:
        def at(self, fraction, text):
            told.append(fraction)

    parts = face.face_in_bands(blade, "mark-side", view, (240, 1080), shaft_mm=1.0, progress=Watch())
    for one, other in zip(whole, parts, strict=True):
        # On weld joints pixels are sampled at random places, others are the very same.
        assert (np.abs(one - other) < 1e-9).mean() > 0.93
        assert np.abs(one - other).mean() < 2e-3
    assert told == sorted(told)
    assert len(told) >= 5
    assert told[-1] <= 1.0
