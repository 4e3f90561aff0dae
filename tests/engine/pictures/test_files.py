"""Picture files: what Pillow, an outside reader, finds in them."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageCms

from patternsim.errors import UsageError
from patternsim.pictures import picture, save_picture


@pytest.fixture(scope="module")
def drawn(feather):
    return picture(feather, "mark-side", dpi=300)


@pytest.mark.parametrize("ending", ["png", "jpg", "jpeg", "tif", "tiff", "PNG"])
def test_resolution_and_colour_space_are_told(tmp_path, drawn, ending):
    path = tmp_path / f"face.{ending}"
    save_picture(drawn.pixels, path, drawn.dpi)
    with Image.open(path) as image:
        assert image.mode == "RGB"
        assert image.size == drawn.pixels.shape[1::-1]
        assert [float(v) for v in image.info["dpi"]] == pytest.approx([300, 300], abs=0.02)
        if ending.lower() == "png":
            assert image.info["srgb"] == 0
            assert np.array_equal(np.asarray(image), drawn.pixels)
        else:
            profile = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))
            assert "sRGB" in ImageCms.getProfileDescription(profile)
        if ending.startswith("tif"):
            assert np.array_equal(np.asarray(image), drawn.pixels)


def test_an_unknown_ending_and_a_missing_folder_are_refused(tmp_path, drawn):
    with pytest.raises(UsageError, match=r"\.png, \.jpg or \.tif"):
        save_picture(drawn.pixels, tmp_path / "face.bmp", 300)
    with pytest.raises(UsageError, match="no such file or directory"):
        save_picture(drawn.pixels, tmp_path / "nowhere" / "face.png", 300)


def test_the_same_job_gives_the_same_bytes(tmp_path, feather):
    files = []
    for name in ("a.png", "b.png"):
        drawn = picture(feather, "mark-side", dpi=120)
        save_picture(drawn.pixels, tmp_path / name, drawn.dpi)
        files.append((tmp_path / name).read_bytes())
    assert files[0] == files[1]


@pytest.mark.parametrize("what", ["mark-side", "off-side"])
def test_the_blade_is_drawn_at_true_size(drawn, feather, what):
    """210 mm of blade and 52 of neck and tang (the ledger's knife) at 300 dots an inch."""
    pixels = picture(feather, what, dpi=300).pixels.astype(int)
    # The steel is darker than the paper; the lettering lies above and below this band.
    height = pixels.shape[0]
    band = pixels[int(height * 0.36) : int(height * 0.74)]
    steel = np.flatnonzero((band.mean(axis=2) < 235).any(axis=0))
    assert (steel[-1] - steel[0] + 1) * 25.4 / 300 == pytest.approx(262.0, abs=0.3)


def test_the_scale_bar_is_as_long_as_it_says(drawn):
    """Its ink, measured: 50 mm at 300 dots an inch are 590.6 pixels."""
    pixels = drawn.pixels
    foot = pixels[-150:]
    ink = (foot.max(axis=2) < 60)[:, :1500]
    row = ink[ink.sum(axis=1).argmax()]
    at = np.flatnonzero(row)
    assert at[-1] - at[0] + 1 == pytest.approx(50 / 25.4 * 300, abs=1.5)


def test_a_width_in_pixels_sets_the_resolution(feather):
    drawn = picture(feather, "mark-side", width=1080)
    assert drawn.pixels.shape[1] == 1080
    assert 90 < drawn.dpi < 110


@pytest.mark.parametrize("dpi", [0.0, -5.0, 1e9, float("nan")])
def test_senseless_resolutions_are_refused(feather, dpi):
    with pytest.raises(UsageError, match="dots an inch"):
        picture(feather, "mark-side", dpi=dpi)


def test_what_is_not_there_is_refused_with_the_way_out(feather, w_bar):
    with pytest.raises(UsageError, match="no picture"):
        picture(feather, "front")
    with pytest.raises(UsageError, match="no \\[blade\\]"):
        picture(w_bar, "mark-side")
    with pytest.raises(UsageError, match="no step"):
        picture(feather, "section", after="nothing")
    with pytest.raises(UsageError, match="last step only"):
        picture(feather, "mark-side", after="split")


@pytest.mark.parametrize("what", ["section", "blank"])
def test_every_step_of_every_job_can_be_looked_at(feather_from_w, w_bar, what):
    for result in (feather_from_w, w_bar):
        for row in result.steps:
            pixels = picture(result, what, after=row.step.id, dpi=40).pixels
            assert pixels.dtype == np.uint8
            assert pixels.std() > 5.0
