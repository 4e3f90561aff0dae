"""Pictures as files: PNG, JPEG or TIFF with resolution and colour space told."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms, PngImagePlugin

from patternsim.errors import UsageError

ENDINGS = (".png", ".jpg", ".jpeg", ".tif", ".tiff")


def refuse_unknown_ending(path: str | Path) -> None:
    """Raise `UsageError` for a file ending no picture can be written in."""
    if Path(path).suffix.lower() not in ENDINGS:
        raise UsageError(
            f"{path}: a picture ends in .png, .jpg or .tif; name it so, and the ending says the kind"
        )


def save_picture(pixels: NDArray[np.uint8], path: str | Path, dpi: float) -> None:
    """Write a picture; the kind follows the ending.

    Parameters
    ----------
    pixels : (h, w, 3) uint8, sRGB
    path : str or Path
    dpi : float
        Written into the file, so that it prints at true size.

    Raises
    ------
    UsageError
        If the ending is unknown or the place cannot be written.
    """
    refuse_unknown_ending(path)
    target = Path(path)
    image = Image.fromarray(pixels, mode="RGB")
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    ending = target.suffix.lower()
    both = (dpi, dpi)
    made = io.BytesIO()
    if ending == ".png":
        info = PngImagePlugin.PngInfo()
        info.add(b"sRGB", b"\0")  # rendering intent: perceptual
        image.save(made, format="PNG", dpi=both, pnginfo=info)
    elif ending in (".jpg", ".jpeg"):
        image.save(made, format="JPEG", dpi=both, quality=95, subsampling=0, icc_profile=profile)
    else:
        image.save(made, format="TIFF", dpi=both, compression="tiff_adobe_deflate", icc_profile=profile)
    # Beside the target first: a picture cut off half-way never takes the place of a whole one.
    beside = target.with_name(f".{target.name[:40]}.part")
    try:
        beside.write_bytes(made.getvalue())
        beside.replace(target)
    except OSError as error:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        reason = (error.strerror or "cannot be written").lower()
        raise UsageError(f"{target}: {reason}; choose another place for the picture") from error
