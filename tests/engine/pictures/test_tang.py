"""Neck and tang: plain, but not flat; the same light wherever the picture is cut."""

import numpy as np
import pytest

from patternsim.etch.sampling import pixel_centres
from patternsim.pictures.face import View, polygon_cover
from patternsim.pictures.tang import CORNER_MM, _from_border, tang_light
from patternsim.shape.profiles import chef_knife

SCALE = 10.0
KNIFE = chef_knife(length_mm=210.0, width_mm=46.0)
"""A knife with a tang of two widths."""
SHAPE = (600, 600)
VIEW = View(pixels_per_mm=SCALE, left=580.0, top=500.0, mirrored=False)


def shone(view=VIEW, shape=SHAPE):
    body = polygon_cover(shape, view.pixels(KNIFE.polygon()))
    whole = polygon_cover(shape, view.pixels(KNIFE.silhouette()))
    wanted = whole - body > 0.99
    return tang_light(KNIFE, view, wanted), wanted


def test_the_corners_are_broken_and_the_middle_is_plain():
    light, wanted = shone()
    rows, columns = np.nonzero(wanted)
    u, v = VIEW.blade(pixel_centres(columns), pixel_centres(rows))
    away, *_ = _from_border(KNIFE.tang_polygon()[:-1], u, v)
    seen = light[rows, columns]
    middle = seen[(away > 4.0) & (u < -15.0)]
    rim = seen[(away < 0.5 * CORNER_MM) & (u < -15.0)]
    assert middle.std() < 0.08
    assert rim.std() > 3 * middle.std()


def test_light_comes_from_above_in_the_picture():
    light, wanted = shone()
    column = round(580.0 - 30.0 * SCALE)
    rows = np.flatnonzero(wanted[:, column])
    near = light[rows][:, column - 20 : column + 20].mean(axis=1)
    assert near[3] > near[len(near) // 2] > near[-4]


def test_distances_to_the_border_are_those_of_a_library_for_shapes():
    from shapely import LineString, Point

    line = KNIFE.tang_polygon()[:-1]
    rng = np.random.default_rng(3)
    u, v = rng.uniform(-60.0, 5.0, 200), rng.uniform(-5.0, 50.0, 200)
    away, to_u, to_v = _from_border(line, u, v)
    shape = LineString(line)
    assert away == pytest.approx([shape.distance(Point(x, y)) for x, y in zip(u, v, strict=True)])
    foot = np.column_stack((u - away * to_u, v - away * to_v))
    assert max(shape.distance(Point(*one)) for one in foot) < 1e-9


def test_bands_of_a_picture_fit_together():
    whole, _ = shone()
    part, _ = shone(View(pixels_per_mm=SCALE, left=580.0, top=400.0, mirrored=False), (500, 600))
    assert np.array_equal(whole[100:], part)


def test_where_nothing_is_wanted_nothing_is_changed():
    light = tang_light(KNIFE, VIEW, np.zeros(SHAPE, dtype=bool))
    assert (light == 1.0).all()
