"""What the export dialog shows and gives."""

from __future__ import annotations

from dataclasses import dataclass

from patternsim_app.shown.basics import Rgba


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Preview:
    """A picture as it would be written, with few pixels.

    Attributes
    ----------
    what, after : str
        As of the wish.
    picture : (h, w, 4) uint8
    size_mm : (width, height)
        Of the whole picture at true size.
    """

    what: str
    after: str
    picture: Rgba
    size_mm: tuple[float, float]
