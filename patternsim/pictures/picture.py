"""The pictures a worked job gives: both sides, the blank, a section."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.errors import UsageError
from patternsim.job import step_numbers
from patternsim.knife.placement import placed
from patternsim.pictures.compose import growth, lettered, margins, on_paper
from patternsim.pictures.face import View, face_in_bands
from patternsim.pictures.plain import piece_view
from patternsim.piece import Piece
from patternsim.progress import Progress
from patternsim.units import MM_PER_INCH, pixels_per_mm
from patternsim.wording import PROFILE_WORDS, SIDE_WORDS, lowered
from patternsim.work import Result, StepResult

Floats = NDArray[np.float64]
KINDS = ("mark-side", "off-side", "section", "blank")
MOST_PIXELS = 200_000_000
LEAST_DPI, MOST_DPI = 10.0, 2400.0
RIM_PX = 2
"""Room round the blade, so that its soft edge is whole."""
LEAST_TEXT_MM = 96.0
"""A picture is at least this wide, or its words would not fit."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """A finished picture.

    Attributes
    ----------
    pixels : (h, w, 3) uint8, sRGB
    dpi : float
        Resolution at which it shows true size.
    """

    pixels: NDArray[np.uint8]
    dpi: float


def picture(
    result: Result,
    what: str = "mark-side",
    *,
    after: str | None = None,
    dpi: float = 300.0,
    width: int | None = None,
    progress: Progress | None = None,
) -> Picture:
    """Draw a picture of a worked job.

    Parameters
    ----------
    result : Result
    what : str
        'mark-side', 'off-side' (the etched blade), 'blank' (the piece from the mark side) or
        'section' (across the middle of its length).
    after : str, optional
        Id of a step: the piece as it is after it; sections and blanks only.
    dpi : float
        Dots an inch, true size.
    width : int, optional
        Width in pixels; the resolution then follows.
    progress : Progress, optional

    Raises
    ------
    UsageError
        If there is no such picture of this job.
    """
    if what not in KINDS:
        raise UsageError(f'there is no picture "{what}"; use one of: {", ".join(KINDS)}')
    if what in ("mark-side", "off-side"):
        if after is not None and after != _last(result).step.id:
            raise UsageError(
                f"the blade is there after the last step only ({_last(result).step.id}); for {after} "
                'ask for "section" or "blank"'
            )
        return _blade_picture(result, what, dpi, width, progress)
    return _piece_picture(result, what, after, dpi, width, progress)


def _last(result: Result) -> StepResult:
    blade = result.job.blade
    rows = [row for row in result.steps if blade is None or row.bar == blade.bar]
    return rows[-1]


def _scale(size_mm: tuple[float, float], dpi: float, width: int | None) -> float:
    """Pixels a millimetre for a picture `size_mm` (width, height) large."""
    if width is not None:
        dpi = width / size_mm[0] * MM_PER_INCH
    if not LEAST_DPI <= dpi <= MOST_DPI:
        raise UsageError(
            f"{dpi:.0f} dots an inch cannot be drawn; ask for {LEAST_DPI:.0f} to {MOST_DPI:.0f}"
            + (f" (a picture {size_mm[0]:.0f} mm wide)" if width else "")
        )
    scale = pixels_per_mm(dpi)
    if size_mm[0] * size_mm[1] * scale**2 > MOST_PIXELS:
        raise UsageError(
            f"at {dpi:.0f} dots an inch the picture has {size_mm[0] * size_mm[1] * scale**2 / 1e6:.0f}"
            f" million pixels, more than {MOST_PIXELS / 1e6:.0f}; ask for fewer"
        )
    return scale


def _sized(size: tuple[float, float], dpi: float, width: int | None) -> float:
    _, _, whole = margins((round(size[1] * 100), round(size[0] * 100)), 100.0, growth(size[0]))
    return _scale((whole[1] / 100, whole[0] / 100), dpi, width)


def _notes(result: Result, last: StepResult) -> list[str]:
    """What the picture stands on, as it is after step `last`."""
    rough, numbers = [], step_numbers(result.job)
    for row in result.steps:
        if row.outcome.rough:
            rough.append(numbers[row.step.id])
        if row is last:
            break
    said = "An estimate."
    if rough:
        steps = "step" if len(rough) == 1 else "steps"
        said += f" A sketch only: {steps} {', '.join(str(number) for number in sorted(rough))}."
    return [said, "The shaft itself, and how gaps close, are not predicted."]


def _blade_picture(
    result: Result, side: str, dpi: float, width: int | None, progress: Progress | None
) -> Picture:
    piece = result.blade_piece()
    spec = result.job.blade
    assert spec is not None
    blade = placed(spec, piece)
    corners = blade.outline.silhouette()
    low, high = corners.min(axis=0), corners.max(axis=0)
    size = (float(high[0] - low[0]), float(high[1] - low[1]))
    scale = _sized(size, dpi, width)
    body = (round(size[1] * scale) + 2 * RIM_PX, round(size[0] * scale) + 2 * RIM_PX)
    left, top, shape = margins((body[0] - 2 * RIM_PX, body[1] - 2 * RIM_PX), scale, growth(size[0]))
    mirrored = side == "off-side"
    view = View(
        pixels_per_mm=scale,
        left=RIM_PX + (float(high[0]) if mirrored else -float(low[0])) * scale,
        top=RIM_PX + float(high[1]) * scale,
        mirrored=mirrored,
    )
    if width is not None:
        shape = (shape[0], width)
    light, cover = face_in_bands(
        blade,
        "off-side" if mirrored else "mark-side",
        view,
        body,
        shaft_mm=result.job.shop.shaft_mm,
        progress=progress,
    )
    light, cover = _laid(light, shape, left, top), _laid(cover, shape, left, top)
    words = PROFILE_WORDS[spec.profile]
    below = f"{blade.outline.length_mm:g} mm {words}, {SIDE_WORDS[side]}, etched"
    pixels = lettered(
        on_paper(light, cover), scale, grown=growth(size[0]), title=result.job.name, below_title=below,
        notes=_notes(result, _last(result)),
    )  # fmt: skip
    return Picture(pixels=pixels, dpi=scale * MM_PER_INCH)


def _laid(body: Floats, shape: tuple[int, int], left: int, top: int) -> Floats:
    """Lay the body of a picture (with its rim) on an empty sheet."""
    sheet = np.zeros(shape)
    place = sheet[top - RIM_PX :, left - RIM_PX :][: body.shape[0], : body.shape[1]]
    place[...] = body[: place.shape[0], : place.shape[1]]
    return sheet


def _piece_after(result: Result, after: str | None) -> tuple[Piece, StepResult]:
    blade = result.job.blade
    row = _last(result) if after is None else result.after(after)
    pieces = row.outcome.pieces
    if not pieces:
        raise UsageError(f"after step {row.step.id} there is no piece to draw")
    at = 0
    if blade is not None and row.bar == blade.bar and len(pieces) == len(result.bars.get(blade.bar, ())):
        at = min(blade.piece, len(pieces)) - 1
    return pieces[at], row


def _piece_picture(
    result: Result,
    what: str,
    after: str | None,
    dpi: float,
    width: int | None,
    progress: Progress | None,
) -> Picture:
    piece, row = _piece_after(result, after)
    low, high = piece.box()
    right, up = (1, 2) if what == "section" else (0, 1)
    wide, tall = high[right] - low[right], high[up] - low[up]
    room = max(0.0, LEAST_TEXT_MM - wide)
    scale = _sized((wide + room, tall), dpi, width)
    light, cover = piece_view(piece, what, scale, progress=progress)
    body = (light.shape[0], light.shape[1] + round(room * scale))
    left, top, shape = margins(body, scale, growth(wide + room))
    if width is not None:
        shape = (shape[0], max(width, left + light.shape[1]))
    canvas, mask = np.zeros(shape), np.zeros(shape)
    left += (shape[1] - 2 * left - light.shape[1]) // 2  # narrow pieces stand in the middle
    place = np.s_[top : top + light.shape[0], left : left + light.shape[1]]
    canvas[place], mask[place] = light * cover, cover
    size = " x ".join(f"{v:.1f}" for v in piece.size)
    kind = "section across the middle" if what == "section" else "from the mark side"
    after_step = f"After step {step_numbers(result.job)[row.step.id]}, {lowered(row.step.title)}"
    below = f"{after_step}: {kind}; {size} mm, {piece.layers.text()} layers"
    pixels = lettered(
        on_paper(canvas, mask), scale, grown=growth(wide + room), title=result.job.name,
        below_title=below, notes=_notes(result, row),
    )  # fmt: skip
    return Picture(pixels=pixels, dpi=scale * MM_PER_INCH)
