"""Pictures as files, and how they will look: what the worker does for the export dialog."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patternsim.progress import Progress
from patternsim_app.shown import Preview

if TYPE_CHECKING:
    from patternsim.work import Result

PREVIEW_PX = 760
"""Width of a picture that only shows how it will look."""
LEAST_DPI = 10.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ExportGiven:
    """A picture to be written; see `patternsim.pictures.picture`."""

    result: Result
    what: str
    path: str
    after: str | None = None
    dpi: float = 300.0
    width: int | None = None


def export(given: ExportGiven, progress: Progress) -> str:
    """Draw and write a picture, the same as the command line's; return where it lies."""
    from patternsim.pictures import picture, save_picture

    drawn = picture(
        given.result, given.what, after=given.after, dpi=given.dpi, width=given.width,
        progress=progress,
    )  # fmt: skip
    progress.at(0.98, "writing the file")
    save_picture(drawn.pixels, given.path, drawn.dpi)
    return given.path


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PreviewGiven:
    """A picture whose looks and size are asked for."""

    result: Result
    what: str
    after: str | None = None


def preview(given: PreviewGiven, progress: Progress) -> Preview:
    """Draw the very picture that would be written, with few pixels, and measure it.

    Raises
    ------
    PatternSimError
        If there is no such picture.
    """
    import numpy as np

    from patternsim.errors import UsageError
    from patternsim.pictures import picture
    from patternsim.units import MM_PER_INCH

    try:
        drawn = picture(given.result, given.what, after=given.after, width=PREVIEW_PX, progress=progress)
    except UsageError:
        # So long a piece has more than these pixels even at the fewest dots there are.
        drawn = picture(given.result, given.what, after=given.after, dpi=LEAST_DPI, progress=progress)
    height, width = drawn.pixels.shape[:2]
    rgba = np.dstack([drawn.pixels, np.full((height, width), 255, np.uint8)])
    size = (width / drawn.dpi * MM_PER_INCH, height / drawn.dpi * MM_PER_INCH)
    return Preview(what=given.what, after=given.after or "", picture=rgba, size_mm=size)
