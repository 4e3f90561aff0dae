"""Light on the etched steel: relief at the layer borders, satin lines, the slope of the grind."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

RELIEF_MM = 0.02
"""Depth of the etch between resistant and dark steel; 10 to 40 um is usual; no source."""
LIGHT = (-0.45, -0.55, 0.70)
"""Where the light stands: to the left, from above in the picture, in front."""
SATIN_SHARE = 0.035
"""Depth of the satin lines, share of the light; by eye."""
SATIN_MM = 14.0
"""Length of a satin line; by eye."""
WINDOW, GLEAM = 0.22, 0.10
"""Light lost from spine to edge, and the soft gleam below the spine; by eye."""
GRIND_GAIN = 2.0
"""How much the slope of the bevels is lifted, so that a few degrees can be seen; by eye."""


def relief(light: Floats, low: float, high: float, pixel_mm: float) -> Floats:
    """Return the factor by which relief at the layer borders changes the light.

    Parameters
    ----------
    light : (h, w) float64
        Linear light of the flat face.
    low, high : float
        Light of the darkest and the brightest steel: the lowest and the highest after the etch.
    pixel_mm : float

    Returns
    -------
    (h, w) float64
    """
    if high <= low:
        return np.ones_like(light)
    height = np.clip((light - low) / (high - low), 0.0, 1.0) * RELIEF_MM
    rows, columns = np.gradient(height, pixel_mm)
    return _lambert(np.asarray(columns), np.asarray(rows))


def _lambert(slope_x: Floats, slope_y: Floats) -> Floats:
    """Lambert's law on a surface of these slopes, over the light on a flat one."""
    across, down, front = LIGHT
    length = np.sqrt(1.0 + slope_x**2 + slope_y**2)
    return np.maximum((front - across * slope_x - down * slope_y) / (front * length), 0.0)


def bevel_light(slope_x: Floats, slope_y: Floats) -> Floats:
    """Return the factor by which the slope of the ground surface changes the light.

    Parameters
    ----------
    slope_x, slope_y : (h, w) float64
        Rise of the surface towards the eye, to the right and downwards in the picture.
    """
    return _lambert(GRIND_GAIN * slope_x, GRIND_GAIN * slope_y)


def fall_of_light(height: Floats) -> Floats:
    """Return how the light of a bench window falls off down a blade.

    Parameters
    ----------
    height : (n,) float64
        0 at the edge to 1 at the spine.
    """
    return np.asarray(1.0 + WINDOW * (height - 0.5) + GLEAM * np.exp(-(((height - 0.72) / 0.16) ** 2)))


def satin(shape: tuple[int, int], pixel_mm: float) -> Floats:
    """Return the factor of satin lines along the blade, the same every time.

    Parameters
    ----------
    shape : (int, int)
    pixel_mm : float
    """
    from scipy.ndimage import uniform_filter1d  # heavy: only a finished face needs it

    rng = np.random.default_rng(7)
    noise = rng.standard_normal(shape)
    run = max(3, round(SATIN_MM / pixel_mm))
    lines = uniform_filter1d(uniform_filter1d(noise, run, axis=1), run // 2 + 1, axis=1)
    lines /= max(float(lines.std()), 1e-12)
    return np.asarray(1.0 + SATIN_SHARE * np.clip(lines, -3.0, 3.0) * math.sqrt(0.5))
