"""Views of a piece as it lies on the bench: its section, its mark side, its low edge, its far end."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from patternsim.etch.finish import relief
from patternsim.etch.sampling import FINE, sample_picture
from patternsim.etch.tones import steel_tones
from patternsim.fields import Taper, lay_out
from patternsim.knife.placement import SKIN_MM
from patternsim.piece import Piece
from patternsim.progress import Progress
from patternsim.section import Section

Floats = NDArray[np.float64]
PLANES = {"section": (0, 1, 2), "blank": (2, 0, 1), "low-edge": (1, 0, 2), "far-end": (0, 1, 2)}
"""Axis that is held, axis to the right and axis up of each view."""
PROFILE_POINTS = 96
SKIN_POINTS = 400


def half_thickness(piece: Piece) -> tuple[Floats, Floats]:
    """Return places along a piece and half its thickness there, mm; straight between them."""
    low, high = piece.box()
    link = piece.field
    if piece.section is not None and piece.section.plane == "xz":
        places, top = skin(piece.section, held=2, high=True)
        return places, (top - skin(piece.section, held=2, high=False)[1]) / 2
    if not isinstance(link, Taper):
        return np.array([low[0], high[0]]), np.full(2, high[2])
    x = np.arange(len(link.table)) * link.step
    few = np.unique(np.linspace(0, len(x) - 1, PROFILE_POINTS).round().astype(int))
    return x[few], link.table[few, 2] * piece.size[2] / 2


def skin(section: Section, *, held: int, high: bool) -> tuple[Floats, Floats]:
    """Return places along the other axis of an outline, how far it reaches along `held` there, mm."""
    other = next(axis for axis in section.axes if axis != held)
    points = section.polygon()[:, [section.axes.index(other), section.axes.index(held)]]
    ends = np.roll(points, -1, axis=0)
    at = np.linspace(points[:, 0].min(), points[:, 0].max(), SKIN_POINTS + 2)[1:-1]
    crossing = (points[:, 0] <= at[:, None]) != (ends[:, 0] <= at[:, None])
    run = np.where(crossing, ends[:, 0] - points[:, 0], 1.0)
    share = (at[:, None] - points[:, 0]) / run
    reach = points[:, 1] + share * (ends[:, 1] - points[:, 1])
    none = -np.inf if high else np.inf
    reach = np.where(crossing, reach, none)
    return at, reach.max(axis=1) if high else reach.min(axis=1)


def piece_view(
    piece: Piece, plane: str, pixels_per_mm: float, *, at: float | None = None,
    progress: Progress | None = None, fine: int = FINE,
) -> tuple[Floats, Floats]:  # fmt: skip
    """Return the light and the cover of a plane view of a piece, exactly as large as the piece.

    Parameters
    ----------
    piece : Piece
    plane : str
        'section' or 'far-end' (y to the right, z up), 'blank' (x to the right, y up, seen from the
        mark side, on its skin all along) or 'low-edge' (x to the right, z up).
    pixels_per_mm : float
    at : float, mm, optional
        Where the section is taken along the length; the middle by default.
    progress : Progress, optional
    fine : int
        Samples a side of pixels on weld joints.

    Returns
    -------
    light, cover : (h, w) float64
    """
    low, high = np.array(piece.box()[0]), np.array(piece.box()[1])
    held, right, up = PLANES[plane]
    width = max(1, round(float(high[right] - low[right]) * pixels_per_mm))
    height = max(1, round(float(high[up] - low[up]) * pixels_per_mm))
    fixed = piece.size[0] / 2 if at is None else at
    along, half = half_thickness(piece)
    round_skin = None
    if plane in ("blank", "low-edge") and piece.section is not None and held in piece.section.axes:
        round_skin = skin(piece.section, held=held, high=plane == "blank")
        axis = next(one for one in piece.section.axes if one != held)
    if plane == "far-end":
        fixed = float(high[held]) - SKIN_MM
    elif plane == "low-edge":
        fixed = float(low[held]) + SKIN_MM

    def to_piece(columns: Floats, rows: Floats) -> Floats:
        points = np.full((len(columns), 3), fixed)
        points[:, right] = low[right] + columns / width * (high[right] - low[right])
        points[:, up] = high[up] - rows / height * (high[up] - low[up])
        if round_skin is not None:
            # Bulged or rounded there: seen on its skin, wherever that is.
            inwards = -SKIN_MM if plane == "blank" else SKIN_MM
            points[:, held] = np.interp(points[:, axis], *round_skin) + inwards
        elif plane == "blank":
            points[:, held] = np.interp(points[:, right], along, half) - SKIN_MM
        return points

    program = lay_out(piece.solid())
    tones = steel_tones(program)
    everywhere = np.ones((height, width), dtype=bool)
    seen = sample_picture(program, tones, to_piece, everywhere, progress, fine=fine)
    values = np.concatenate(tones.values)
    light = seen.light * relief(
        seen.light, float(values.min()), float(values.max()), 1.0 / pixels_per_mm
    )
    return light, seen.cover
