"""From the layers at sampled points to the light of each pixel, without moire.

A pixel is an area. Within one copy of a layer stack, the position through the layers is smooth, so
the light of a pixel is the mean of the stack's tones over the stretch of layers it covers: worked out
exactly from running sums of the tones, weighted by a bell (a box three times over). Where neighbouring
samples lie in different copies (across a weld joint or the centre line) the samples stand for
themselves, and there are more of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.etch.light import to_linear
from patternsim.fields import Program
from patternsim.steels import find_steel

Floats = NDArray[np.float64]


BOX = 1.0
"""Width of each of the three boxes of the bell over the stretch a pixel covers. Waves just too fine for
a picture (0.6 a pixel) come back at an eighth of their strength, (sin 0.6 pi / 0.6 pi)^3; layers of a
fifth of a pixel leave less than a quarter of a grey level of theirs."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tones:
    """Running sums of the tones of all stacks of a field.

    Attributes
    ----------
    starts : (k,) int
        First layer of each stack.
    edges : list of (n + 1,) float
        Borders of the layers of each stack, mm from its low side.
    values : list of (n,) float
        Light of each layer, linear.
    sums : list of (n, 4) float
        Light less its mean, and its first, second and third running sum at the low border of each
        layer, each less its own mean: they stay small, so that differences of them stay exact.
    means : list of float
    """

    starts: NDArray[np.int64]
    edges: tuple[Floats, ...]
    values: tuple[Floats, ...]
    sums: tuple[Floats, ...]
    means: tuple[float, ...]


def steel_tones(program: Program) -> Tones:
    """Return the tones of the layers of a field: lightness of each steel, in linear light."""
    light = np.array([find_steel(name).lightness for name in program.steels])
    return layer_values(program, to_linear(light))


def layer_values(program: Program, values: Floats) -> Tones:
    """Return running sums of any value a layer: (all layers,) float."""
    starts = np.array(program.stack_starts, dtype=np.int64)
    ends = [*starts[1:], len(program.steels)]
    edges, parts, sums, means = [], [], [], []
    for start, end in zip(starts, ends, strict=True):
        borders = np.concatenate([[0.0], np.cumsum(program.thicknesses[start:end])])
        part = np.asarray(values[start:end], dtype=np.float64)
        mean = float((part * np.diff(borders)).sum() / borders[-1])
        edges.append(borders)
        parts.append(part)
        sums.append(_running_sums(part - mean, np.diff(borders)))
        means.append(mean)
    return Tones(
        starts=starts,
        edges=tuple(edges),
        values=tuple(parts),
        sums=tuple(sums),
        means=tuple(means),
    )


def _running_sums(values: Floats, widths: Floats) -> Floats:
    """Return `values` and three running sums at the low borders of layers, (n, 4)."""
    length = widths.sum()
    levels = [values]
    for order in (1, 2, 3):
        # The sum over a layer of everything below, in powers of the way into the layer.
        gain = sum(
            levels[order - 1 - k] * widths ** (k + 1) / math.factorial(k + 1) for k in range(order)
        )
        low = np.concatenate([[0.0], np.cumsum(gain)])[:-1]
        if order < 3:
            inner = low * widths + sum(
                levels[order - 1 - k] * widths ** (k + 2) / math.factorial(k + 2) for k in range(order)
            )
            low = low - inner.sum() / length
        levels.append(low)
    return np.stack(levels, axis=1)


def filtered(tones: Tones, stack: int, at: Floats, spread: Floats) -> Floats:
    """Return the mean of a stack's tones about `at`, weighted by a bell.

    The bell is a box of width `BOX` x `spread` convolved with itself twice; its mean is a third
    difference of the third running sum.

    Parameters
    ----------
    tones : Tones
    stack : int
        Which stack.
    at : (n,) float, mm
        Position through the stack from its low side.
    spread : (n,) float, mm
        Stretch of layers a pixel covers.

    Returns
    -------
    (n,) float
    """
    edges, sums = tones.edges[stack], tones.sums[stack]
    wide = np.maximum(BOX * spread, 1e-3)  # finer than any etch; keeps differences free of rounding

    def third(x: Floats) -> Floats:
        k = np.clip(np.searchsorted(edges, x, side="right") - 1, 0, len(sums) - 1)
        d = x - edges[k]
        value, one, two, three = sums[k].T
        return np.asarray(three + d * (two + d / 2 * (one + d / 3 * value)))

    # Beyond the stack its outer layers go on: the steel there is the piece's own skin.
    near = third(at + 0.5 * wide) - third(at - 0.5 * wide)
    far = third(at + 1.5 * wide) - third(at - 1.5 * wide)
    return np.asarray(tones.means[stack] + (far - 3.0 * near) / wide**3)
