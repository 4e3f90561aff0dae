"""The etched face on the knife outline: sampled on the ground surface, lit, in linear light."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from patternsim.etch.finish import bevel_light, fall_of_light, relief, satin
from patternsim.etch.light import to_linear
from patternsim.etch.sampling import FINE, ToPiece, pixel_centres, sample_picture
from patternsim.etch.tones import steel_tones
from patternsim.fields import Program
from patternsim.knife.line import cut_distance
from patternsim.knife.placement import PlacedBlade
from patternsim.pictures.tang import tang_light
from patternsim.piece import program_of
from patternsim.progress import Part, Progress, Silent
from patternsim.shape.grind import Side

Floats = NDArray[np.float64]
MASK_SAMPLES = 4
"""Samples a side of a pixel of the outline."""
PLAIN_LIGHTNESS = 0.62
"""Of the tang, which is ground bright and not etched; by eye."""
SHAFT_OF_HEIGHT = 0.05
"""The shaft is drawn no wider than this share of the blade's height, so that it runs out at the tip."""
RIM_MM, RIM_SHADE = 0.22, 0.35
"""A fine dark rim, as a thin edge shows against a light ground; by eye."""
BAND_PX, SEAM_ROWS = 200_000, 4
"""A band has about so many pixels, and so many rows more on either side."""
SHAFT_SHADE = 0.4
"""Light of the shaft over the mean of the layers: it etches as a crisp dark line; by eye, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """How blade coordinates lie on the picture.

    Attributes
    ----------
    pixels_per_mm : float
    left, top : float
        Pixel of u = 0 (mirrored views count from the right) and of v = 0.
    mirrored : bool
        The tip points left: the blade seen from the off side.
    """

    pixels_per_mm: float
    left: float
    top: float
    mirrored: bool

    def pixels(self, points: Floats) -> Floats:
        """Return (n, 2) pixels of blade points (n, 2) mm."""
        sign = -1.0 if self.mirrored else 1.0
        return np.stack(
            [
                self.left + sign * points[:, 0] * self.pixels_per_mm,
                self.top - points[:, 1] * self.pixels_per_mm,
            ],
            axis=1,
        )

    def blade(self, columns: Floats, rows: Floats) -> tuple[Floats, Floats]:
        """Return u and v (mm) of picture points."""
        sign = -1.0 if self.mirrored else 1.0
        u = sign * (columns - self.left) / self.pixels_per_mm
        return u, (self.top - rows) / self.pixels_per_mm

    @property
    def axes(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Change of (u, v) a millimetre to the right, and a millimetre down."""
        return (-1.0 if self.mirrored else 1.0, 0.0), (0.0, -1.0)


class Frame(Protocol):
    """How blade coordinates lie on a picture: `View`, or a bar with the blade turned in it."""

    @property
    def pixels_per_mm(self) -> float:
        """Pixels a millimetre."""

    @property
    def axes(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Change of (u, v) a millimetre to the right, and a millimetre down."""

    def pixels(self, points: Floats) -> Floats:
        """Return (n, 2) pixels of blade points (n, 2) mm."""

    def blade(self, columns: Floats, rows: Floats) -> tuple[Floats, Floats]:
        """Return u and v (mm) of picture points."""


def polygon_cover(shape: tuple[int, int], polygon: Floats) -> Floats:
    """Return the share of each pixel inside a polygon.

    Parameters
    ----------
    shape : (int, int)
    polygon : (n, 2) float, pixels

    Returns
    -------
    (h, w) float64, 0 to 1
    """
    height, width = shape
    image = Image.new("L", (width * MASK_SAMPLES, height * MASK_SAMPLES))
    corners = [(float(x), float(y)) for x, y in polygon * MASK_SAMPLES - 0.5]
    ImageDraw.Draw(image).polygon(corners, fill=255)
    cover = np.asarray(image.reduce(MASK_SAMPLES), dtype=np.float64) / 255.0
    return np.asarray(cover)


def etched_face(
    blade: PlacedBlade,
    side: Side,
    view: Frame,
    shape: tuple[int, int],
    *,
    shaft_mm: float,
    progress: Progress | None = None,
    fine: int = FINE,
    shade_every: int = 1,
) -> tuple[Floats, Floats]:
    """Return the linear light and the cover of the blade with its tang.

    Parameters
    ----------
    blade : PlacedBlade
    side : str
        'mark-side' or 'off-side'.
    view : View
    shape : (int, int)
        Height and width of the picture, pixels.
    shaft_mm : float
        Width of the line drawn where the halves meet.
    progress : Progress, optional
    fine : int
        Samples a side of pixels on weld joints; few give a draft.
    shade_every : int
        The light of the bevels is worked out on every nth pixel; 1 but for drafts.

    Returns
    -------
    light, cover : (h, w) float64
    """
    outline = blade.outline
    pixel_mm = 1.0 / view.pixels_per_mm
    mask = polygon_cover(shape, view.pixels(outline.polygon()))
    pattern, steel = _pattern(blade, side, view, mask > 0.0, shaft_mm, progress, fine)
    lines = satin(*_everywhere(view, shape), pixel_mm)
    face = pattern * _shading(blade, side, view, mask > 0.0, shade_every) * lines * steel
    whole = polygon_cover(shape, view.pixels(outline.silhouette()))
    tang = np.clip(whole - mask, 0.0, 1.0)
    plain = float(to_linear(np.array(PLAIN_LIGHTNESS)))
    light = face * mask + plain * tang_light(outline, view, tang > 0.0) * tang
    rim = _rim(shape, view.pixels(outline.silhouette()), RIM_MM / pixel_mm)
    cover = np.clip(mask * np.maximum(steel, 0.0) + tang, 0.0, 1.0)
    return light * (1.0 - (1.0 - RIM_SHADE) * rim), cover


def face_in_bands(
    blade: PlacedBlade,
    side: Side,
    view: View,
    shape: tuple[int, int],
    *,
    shaft_mm: float,
    progress: Progress | None = None,
) -> tuple[Floats, Floats]:
    """Return what `etched_face` does, worked out in bands of rows.

    A large picture then takes little memory beside itself, tells how far it is, and can be called off.
    """
    watch = progress or Silent()
    height, width = shape
    step = max(2 * SEAM_ROWS, BAND_PX // max(width, 1))
    light, cover = np.zeros(shape), np.zeros(shape)
    for first in range(0, height, step):
        watch.at(first / height, "drawing the blade")
        last = min(height, first + step)
        # Some rows more on both sides: slopes are told from neighbours.
        low, high = max(0, first - SEAM_ROWS), min(height, last + SEAM_ROWS)
        part, steel = etched_face(
            blade, side, replace(view, top=view.top - low), (high - low, width), shaft_mm=shaft_mm,
            progress=Part(watch, first / height, (last - first) / height),
        )  # fmt: skip
        light[first:last] = part[first - low : last - low]
        cover[first:last] = steel[first - low : last - low]
    return light, cover


def _everywhere(view: Frame, shape: tuple[int, int]) -> tuple[Floats, Floats]:
    """Return u and v (mm) of all pixels, (h, w) each."""
    rows, columns = (pixel_centres(np.arange(count)) for count in shape)
    grid_columns, grid_rows = np.meshgrid(columns, rows)
    return view.blade(grid_columns, grid_rows)


def _pattern(
    blade: PlacedBlade,
    side: Side,
    view: Frame,
    wanted: NDArray[np.bool_],
    shaft_mm: float,
    progress: Progress | None,
    fine: int,
) -> tuple[Floats, Floats]:
    """Return the light of the etched layers with shaft and relief, and the share of steel."""
    program = program_of(blade.piece)
    tones = steel_tones(program)
    pixel_mm = 1.0 / view.pixels_per_mm

    def to_piece(columns: Floats, rows: Floats) -> Floats:
        u, v = view.blade(columns, rows)
        return blade.surface(u, v, side)

    seen = sample_picture(program, tones, to_piece, wanted, progress, fine=fine)
    values = np.concatenate(tones.values)
    light = seen.light
    if blade.piece.cuts and shaft_mm > 0.0:
        share = shaft_share(blade, side, view, wanted, shaft_mm)
        light = light * (1.0 - share) + share * SHAFT_SHADE * float(values.mean())
    light = light * relief(light, float(values.min()), float(values.max()), pixel_mm)
    return light, seen.cover


def etched_skin(
    program: Program,
    to_piece: ToPiece,
    wanted: NDArray[np.bool_],
    pixel_mm: float,
    *,
    progress: Progress | None = None,
    fine: int = FINE,
) -> tuple[Floats, Floats]:
    """Return the light, weighted by its cover, and the cover of etched steel as it lies, unground."""
    tones = steel_tones(program)
    seen = sample_picture(program, tones, to_piece, wanted, progress, fine=fine)
    values = np.concatenate(tones.values)
    light = seen.light * relief(seen.light, float(values.min()), float(values.max()), pixel_mm)
    return light * seen.cover, seen.cover


def _shading(
    blade: PlacedBlade, side: Side, view: Frame, wanted: NDArray[np.bool_], every: int
) -> Floats:
    """Return the factor of light by the slope of the ground surface and the height on the blade."""
    if every > 1:
        return _coarsely_shaded(blade, side, view, wanted, every)
    rows, columns = np.nonzero(wanted)
    factor = np.ones(wanted.shape)
    factor[rows, columns] = _shade(blade, side, view, pixel_centres(columns), pixel_centres(rows))
    return factor


def _coarsely_shaded(
    blade: PlacedBlade, side: Side, view: Frame, wanted: NDArray[np.bool_], every: int
) -> Floats:
    """Shading on every nth pixel, straight between."""
    height, width = wanted.shape
    knots = [np.arange(0, size + every, every, dtype=np.float64) for size in (height, width)]
    columns, rows = np.meshgrid(knots[1], knots[0])
    coarse = _shade(blade, side, view, columns.ravel(), rows.ravel()).reshape(columns.shape)
    at, part = np.divmod(pixel_centres(np.arange(height)) / every, 1.0)
    first = at.astype(np.int64)
    across = coarse[first] * (1.0 - part[:, None]) + coarse[first + 1] * part[:, None]
    at, part = np.divmod(pixel_centres(np.arange(width)) / every, 1.0)
    first = at.astype(np.int64)
    return np.asarray(across[:, first] * (1.0 - part) + across[:, first + 1] * part)


def _shade(blade: PlacedBlade, side: Side, view: Frame, columns: Floats, rows: Floats) -> Floats:
    outline = blade.outline
    u, v = view.blade(columns, rows)
    rise_u, rise_v = blade.grind.slope(outline, u, v, side)
    # Towards the eye is +w on the mark side and -w on the off side.
    eye = 1.0 if side == "mark-side" else -1.0
    right, down = view.axes
    up = (v - outline.edge_at(u)) / np.maximum(outline.height_at(u), 1e-6)
    light = bevel_light(
        eye * (right[0] * rise_u + right[1] * rise_v), eye * (down[0] * rise_u + down[1] * rise_v)
    )
    return np.asarray(light * fall_of_light(np.clip(up, 0.0, 1.0)))


def _rim(shape: tuple[int, int], polygon: Floats, width: float) -> Floats:
    """Share of each pixel that lies on the line of a polygon, `width` pixels wide."""
    image = Image.new("L", (shape[1] * MASK_SAMPLES, shape[0] * MASK_SAMPLES))
    corners = [(float(x), float(y)) for x, y in polygon * MASK_SAMPLES - 0.5]
    thick = max(1, round(width * MASK_SAMPLES))
    ImageDraw.Draw(image).line(corners, fill=255, width=thick, joint="curve")
    return np.asarray(np.asarray(image.reduce(MASK_SAMPLES), dtype=np.float64) / 255.0)


def shaft_share(
    blade: PlacedBlade, side: Side, view: Frame, wanted: NDArray[np.bool_], shaft_mm: float
) -> Floats:
    """Return the share of each pixel on the shaft: within half its width of the line on the face.

    It is drawn narrower where the blade runs out to the tip.
    """
    pixel_mm = 1.0 / view.pixels_per_mm
    rows, columns = np.nonzero(wanted)
    u, v = view.blade(pixel_centres(columns), pixel_centres(rows))
    distance = np.full(wanted.shape, np.nan)
    points = blade.surface(u, v, side)
    distance[rows, columns] = cut_distance(blade.piece, points, blade.piece.cuts[-1])
    half = np.zeros(wanted.shape)
    height = np.maximum(blade.outline.height_at(u), 0.0)
    half[rows, columns] = np.minimum(shaft_mm / 2, SHAFT_OF_HEIGHT / 2 * height)
    down, across = np.gradient(distance, pixel_mm)
    # The cut is told off in the block it was made in; its slope there turns it to the face.
    away = np.abs(distance) / np.maximum(np.hypot(down, across), 1e-9)
    share = np.clip(0.5 + (half - away) / pixel_mm, 0.0, 1.0)
    return np.asarray(np.nan_to_num(share))
