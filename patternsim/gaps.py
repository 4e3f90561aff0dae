"""Where pieces laid together leave gaps: how much of a section they take, which points lie in them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from patternsim.fields import IN_GAP, PLANES, lay_out, walk
from patternsim.piece import Floats, Piece
from patternsim.press import Gaps

GAP_PLACES = 240
"""Places along either side of a section at which gaps are counted."""
GAPS_LEAST = 3e-3
"""Share of a piece that may be wanting and still count as none."""


def middle_of(size: Sequence[float]) -> Floats:
    """Return the middle of a box in the frame of its piece, mm."""
    return np.array([size[0] / 2, 0.0, 0.0])


def gap_share(piece: Piece) -> float:
    """Return how much of what lies within the outline of a piece is gap, over a section of it."""
    low, high = (np.array(corner) for corner in piece.box())
    along = 0 if piece.section is None else piece.section.along
    axes = [k for k in range(3) if k != along]
    places = (np.arange(GAP_PLACES) + 0.5) / GAP_PLACES
    first, second = np.meshgrid(places, places, indexing="ij")
    points = np.tile((low + high) / 2, (first.size, 1))
    for axis, share in zip(axes, (first, second), strict=True):
        points[:, axis] = low[axis] + share.ravel() * (high[axis] - low[axis])
    hits = walk(lay_out(piece.solid()), points, workers=1)
    inside, gap = int(hits.inside.sum()), int((hits.layers == IN_GAP).sum())
    return gap / (inside + gap) if inside + gap else 0.0


def gaps_of(piece: Piece, plane: str, middle: Sequence[float]) -> Gaps | None:
    """Return what tells gaps from steel on the middle slice of a piece; None where it has none."""
    if piece.volume_mm3 >= piece.outlined_mm3 * (1.0 - GAPS_LEAST):
        return None
    program = lay_out(piece.field)
    axes = list(PLANES[plane])

    def gaps(points: Floats) -> NDArray[np.bool_]:
        full = np.tile(middle_of(piece.size), (len(points), 1))
        full[:, axes] = points + np.array(middle)[axes]
        hits = walk(program, full, workers=1)
        return np.asarray(hits.layers == IN_GAP)

    return gaps
