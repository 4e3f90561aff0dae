"""sRGB and linear light."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def to_linear(srgb: Floats) -> Floats:
    """Return linear light (0..1) of sRGB values (0..1); IEC 61966-2-1."""
    return np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)


def to_srgb(linear: Floats) -> Floats:
    """Return sRGB values (0..1) of linear light (0..1, clipped); IEC 61966-2-1."""
    light = np.clip(linear, 0.0, 1.0)
    return np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
