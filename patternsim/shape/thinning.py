"""Lines with no more points than it takes to draw them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def thinned(line: Floats, tolerance_mm: float) -> NDArray[np.int64]:
    """Return the numbers of the points of a line that are enough to draw it.

    Douglas and Peucker (1973): what lies nearer than the tolerance to the chord is left out.

    Parameters
    ----------
    line : (n, 2) float64, mm
    tolerance_mm : float
    """
    keep = np.zeros(len(line), dtype=bool)
    keep[[0, -1]] = True
    spans = [(0, len(line) - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        inner = line[first + 1 : last] - line[first]
        chord = line[last] - line[first]
        length = float(np.hypot(*chord))
        off = np.hypot(inner[:, 0], inner[:, 1])
        if length > 0.0:
            # From the chord itself, not from the endless line through it: an outline may turn back.
            along = np.clip(inner @ chord / length**2, 0.0, 1.0)[:, None] * chord
            off = np.hypot(*(inner - along).T)
        far = int(off.argmax())
        if off[far] > tolerance_mm:
            middle = first + 1 + far
            keep[middle] = True
            spans += [(first, middle), (middle, last)]
    return np.flatnonzero(keep)
