"""From the layers at sampled points to the light of each pixel, without moire.

A pixel is an area. Within one copy of a layer stack, the position through the layers is smooth, so
the light of a pixel is the mean of the stack's tones over the stretch of layers it covers: worked out
exactly from running sums of the tones, weighted by a tent as wide as two pixels. Where neighbouring
samples lie in different copies (across a weld joint or the centre line) the samples stand for
themselves, and there are more of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.etch.light import to_linear
from patternsim.fields import Program
from patternsim.steels import find_steel

Floats = NDArray[np.float64]


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
    """

    starts: NDArray[np.int64]
    edges: tuple[Floats, ...]
    values: tuple[Floats, ...]


def steel_tones(program: Program) -> Tones:
    """Return the tones of the layers of a field: lightness of each steel, in linear light."""
    light = np.array([find_steel(name).lightness for name in program.steels])
    return layer_values(program, to_linear(light))


def layer_values(program: Program, values: Floats) -> Tones:
    """Return running sums of any value a layer: (all layers,) float."""
    starts = np.array(program.stack_starts, dtype=np.int64)
    ends = [*starts[1:], len(program.steels)]
    edges, parts = [], []
    for start, end in zip(starts, ends, strict=True):
        edges.append(np.concatenate([[0.0], np.cumsum(program.thicknesses[start:end])]))
        parts.append(np.asarray(values[start:end], dtype=np.float64))
    return Tones(starts=starts, edges=tuple(edges), values=tuple(parts))


def filtered(tones: Tones, stack: int, at: Floats, spread: Floats) -> Floats:
    """Return the mean of a stack's tones about `at`, weighted by a tent of half-width `spread`.

    Parameters
    ----------
    tones : Tones
    stack : int
        Which stack.
    at, spread : (n,) float, mm
        Position through the stack from its low side; half-width of the tent.

    Returns
    -------
    (n,) float
    """
    edges, values = tones.edges[stack], tones.values[stack]
    # A tent is a box twice over, so its mean is a second difference of the twice-summed tones.
    once = np.concatenate([[0.0], np.cumsum(values * np.diff(edges))])
    width = np.diff(edges)
    twice = np.concatenate([[0.0], np.cumsum(once[:-1] * width + values * width * width / 2)])
    wide = np.maximum(spread, 1e-3)  # finer than any etch; keeps the differences free of rounding

    def second(x: Floats) -> Floats:
        k = np.clip(np.searchsorted(edges, x, side="right") - 1, 0, len(values) - 1)
        into = x - edges[k]
        return twice[k] + once[k] * into + values[k] * into * into / 2

    # Beyond the stack its outer layers go on: the steel there is the piece's own skin.
    result = (second(at + wide) - 2.0 * second(at) + second(at - wide)) / (wide * wide)
    return np.asarray(result)
