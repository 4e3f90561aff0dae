"""Light on the etched steel: relief at the layer borders, satin lines, the slope of the grind."""

from __future__ import annotations

import math
from functools import lru_cache

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
SATIN_PITCH_MM, SATIN_ROWS, SATIN_COLUMNS = 1.0, 1024, 512
"""Spacing and number of the values the lines are drawn from; they come round again after that."""
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


def satin(u: Floats, v: Floats, pixel_mm: float) -> Floats:
    """Return the factor of satin lines along the blade, the same every time and at any cutting-out.

    Parameters
    ----------
    u, v : float64, same shape, mm
        Along and across the blade: the lines stay where they are when the picture is moved.
    pixel_mm : float
        The lines are as fine as the pixels, in steps of two.
    """
    lines = _satin_lines()
    pitch = 2.0 ** round(math.log2(pixel_mm))
    row = np.floor(v / pitch).astype(np.int64) % SATIN_ROWS
    along = u / SATIN_PITCH_MM
    first = np.floor(along).astype(np.int64)
    part = along - first
    columns = lines.shape[1]
    value = lines[row, first % columns] * (1.0 - part) + lines[row, (first + 1) % columns] * part
    return np.asarray(1.0 + SATIN_SHARE * value)


@lru_cache(maxsize=1)
def _satin_lines() -> Floats:
    """Noise drawn out along its rows, round without an end: (SATIN_ROWS, n)."""
    rng = np.random.default_rng(7)
    noise = rng.standard_normal((SATIN_ROWS, SATIN_COLUMNS))
    run = round(SATIN_MM / SATIN_PITCH_MM)
    # Two boxes one after another, by turning: no edge where the rows begin.
    for width in (run, run // 2 + 1):
        noise = sum(np.roll(noise, k, axis=1) for k in range(width)) / width  # type: ignore[assignment]
    noise /= max(float(noise.std()), 1e-12)
    lines = np.clip(noise, -3.0, 3.0) * math.sqrt(0.5)
    lines.setflags(write=False)
    return np.asarray(lines)
