import numpy as np
import pytest
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPainterPath

from patternsim_app.painting import Picture, array_of, cased, hatch, image_of, mixed, polyline, shaded


def opaque(height, width, seed=0):
    picture = np.random.default_rng(seed).integers(0, 256, (height, width, 4), dtype=np.uint8)
    picture[..., 3] = 255
    return picture


def test_an_array_and_its_picture_have_the_same_pixels():
    picture = opaque(7, 13)
    assert np.array_equal(array_of(image_of(picture)), picture)


def test_what_is_clear_stays_clear_and_half_stays_half():
    picture = np.zeros((2, 2, 4), dtype=np.uint8)
    picture[0, 0] = (200, 100, 50, 128)
    back = array_of(image_of(picture))
    assert back[1, 1, 3] == 0
    assert back[0, 0, 3] == 128
    assert np.abs(back[0, 0, :3].astype(int) - (200, 100, 50)).max() <= 1


def test_a_picture_outlives_the_array_it_was_made_of():
    picture = opaque(20, 20)
    kept = picture.copy()
    image = image_of(picture)
    picture[...] = 0
    del picture
    assert np.array_equal(array_of(image), kept)


def test_a_cut_out_of_an_array_is_taken_as_it_lies():
    whole = opaque(12, 12)
    assert np.array_equal(array_of(image_of(whole[2:9, 3:10])), whole[2:9, 3:10])


@pytest.mark.parametrize(
    "wrong",
    [
        np.zeros((4, 4, 3), dtype=np.uint8),
        np.zeros((4, 4), dtype=np.uint8),
        np.zeros((4, 4, 4), dtype=np.float64),
        np.zeros((0, 4, 4), dtype=np.uint8),
    ],
)
def test_what_is_no_picture_is_refused(wrong):
    with pytest.raises(ValueError, match="a picture is"):
        image_of(wrong)


def test_shading_darkens_steel_and_leaves_the_rest():
    picture = opaque(3, 3)
    dark = shaded(picture, 0.5)
    assert np.array_equal(dark[..., :3], np.rint(picture[..., :3] * 0.5).astype(np.uint8))
    assert np.array_equal(dark[..., 3], picture[..., 3])
    assert shaded(picture, 4.0).max() == 255


def test_fine_layers_are_averaged_and_not_picked():
    stripes = np.zeros((64, 64, 4), dtype=np.uint8)
    stripes[..., 3] = 255
    stripes[::2, :, :3] = 255
    small = array_of(Picture(stripes).at(8, 8, 1.0))
    assert np.abs(small[..., :3].astype(int) - 128).max() <= 3


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0])
def test_a_picture_has_a_dot_for_each_dot_of_the_screen(ratio):
    image = Picture(opaque(40, 80)).at(20, 10, ratio)
    assert (image.width(), image.height()) == (round(20 * ratio), round(10 * ratio))
    assert image.devicePixelRatio() == ratio
    assert image.deviceIndependentSize().width() == pytest.approx(20)


def test_scaling_is_done_once_for_a_size():
    picture = Picture(opaque(40, 80))
    assert picture.at(20, 10, 1.0).cacheKey() == picture.at(20, 10, 1.0).cacheKey()
    assert picture.at(20, 10, 1.0).width() != picture.at(21, 10, 1.0).width()


def canvas(tone="white"):
    image = QImage(40, 40, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor(tone))
    return image


@pytest.mark.parametrize("ground", ["black", "white", "#808080"])
def test_a_cased_line_shows_on_any_steel(ground):
    image = canvas(ground)
    painter = QPainter(image)
    line = polyline([QPointF(0, 20.5), QPointF(40, 20.5)])
    cased(painter, line, QColor("black"), QColor("white"), width=3.0)
    painter.end()
    column = array_of(image)[:, 20, 0].astype(int)
    assert column.min() < 20
    assert column.max() > 235


def test_a_hatch_leaves_the_ground_between_its_lines():
    image = canvas()
    painter = QPainter(image)
    painter.fillRect(QRectF(0, 0, 40, 40), hatch(QColor("black")))
    painter.end()
    shares = (array_of(image)[..., 0] < 128).mean()
    assert 0.08 < shares < 0.45


def test_nothing_makes_an_empty_line():
    assert polyline([]).isEmpty()
    assert isinstance(polyline([QPointF(1, 1)]), QPainterPath)


def test_mixing_lies_between_and_keeps_the_ends():
    one, other = QColor("#204060"), QColor("#FFFFFF")
    assert mixed(one, other, 1.0) == one.toRgb()
    assert mixed(one, other, 0.0).rgb() == other.rgb()
    assert one.red() < mixed(one, other, 0.5).red() < other.red()
    assert mixed(one, other, 0.5).alpha() == QColor(Qt.GlobalColor.white).alpha()


@pytest.mark.parametrize("tone", [0, 255])
def test_a_rim_shows_a_shape_on_a_ground_of_its_own_tone(tone):
    picture = np.zeros((20, 20, 4), dtype=np.uint8)
    picture[5:15, 5:15] = (tone, tone, tone, 255)
    image = QImage(40, 40, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor(tone, tone, tone))
    painter = QPainter(image)
    Picture(picture).draw(painter, QRectF(10, 10, 20, 20), rim=QColor("#808080"))
    painter.end()
    seen = array_of(image)[..., 0].astype(int)
    ring = np.zeros((40, 40), dtype=bool)
    ring[14:26, 14:26] = True
    ring[15:25, 15:25] = False
    assert (np.abs(seen[ring] - 128) < 4).all(), "a pixel wide all round"
    assert (seen[~ring] == tone).all(), "and nowhere else"
