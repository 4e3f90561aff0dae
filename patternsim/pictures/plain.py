"""Views of a piece as it lies on the bench: its section, and its face seen from the mark side."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from patternsim.etch.finish import relief
from patternsim.etch.sampling import sample_picture
from patternsim.etch.tones import steel_tones
from patternsim.fields import lay_out
from patternsim.knife.placement import SKIN_MM
from patternsim.piece import Piece
from patternsim.progress import Progress

Floats = NDArray[np.float64]


def piece_view(
    piece: Piece, plane: str, pixels_per_mm: float, *, at: float | None = None,
    progress: Progress | None = None,
) -> tuple[Floats, Floats]:  # fmt: skip
    """Return the light and the cover of a plane view of a piece, exactly as large as the piece.

    Parameters
    ----------
    piece : Piece
    plane : str
        'section' (y to the right, z up) or 'blank' (x to the right, y up, seen from the mark side).
    pixels_per_mm : float
    at : float, mm, optional
        Where the section is taken along the length; the middle by default.
    progress : Progress, optional

    Returns
    -------
    light, cover : (h, w) float64
    """
    low, high = np.array(piece.box()[0]), np.array(piece.box()[1])
    right, up = (1, 2) if plane == "section" else (0, 1)
    width = max(1, round(float(high[right] - low[right]) * pixels_per_mm))
    height = max(1, round(float(high[up] - low[up]) * pixels_per_mm))
    fixed = piece.size[0] / 2 if at is None else at
    if plane == "blank":
        fixed = float(high[2]) - SKIN_MM

    def to_piece(columns: Floats, rows: Floats) -> Floats:
        a = low[right] + columns / width * (high[right] - low[right])
        b = high[up] - rows / height * (high[up] - low[up])
        third = np.full_like(a, fixed)
        return np.stack([third, a, b] if plane == "section" else [a, b, third], axis=-1)

    program = lay_out(piece.solid())
    tones = steel_tones(program)
    everywhere = np.ones((height, width), dtype=bool)
    seen = sample_picture(program, tones, to_piece, everywhere, progress)
    values = np.concatenate(tones.values)
    light = seen.light * relief(
        seen.light, float(values.min()), float(values.max()), 1.0 / pixels_per_mm
    )
    return light, seen.cover
