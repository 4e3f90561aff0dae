"""Pictures for a bench one looks at and moves about: any part of a face at any size, see-through.

The same maps, tones and grind as the finished pictures, without paper, letters or scale bar. A draft
takes fewer samples where weld joints lie and coarser shading; it is otherwise the same picture.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from patternsim.etch.light import to_linear, to_srgb
from patternsim.etch.sampling import FINE, ToPiece, sample_picture
from patternsim.etch.tones import layer_values
from patternsim.fields import Program
from patternsim.knife.placement import SIDES, SKIN_MM, PlacedBlade, Placement
from patternsim.pictures.face import etched_face, etched_skin, polygon_cover, shaft_share
from patternsim.pictures.opened import opened
from patternsim.pictures.plain import piece_view
from patternsim.pictures.tang import tang_light
from patternsim.piece import Piece, program_of
from patternsim.progress import Progress
from patternsim.shape.grind import Side
from patternsim.steels import find_steel

Floats = NDArray[np.float64]
Rgba = NDArray[np.uint8]
Drawing = Literal["etched", "layers"]
DRAFT_FINE = 2
COLOURS = ("#3C424A", "#C9CDD2", "#A98F5B", "#7C93A8")
"""Of the layer drawing, darkest steel first; told apart by every kind of colour sight."""
SHAFT_COLOUR = "#14171B"
TANG_COLOUR = "#9AA1A8"


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The part of a bar's face that a picture shows.

    Attributes
    ----------
    left_mm, top_mm : float
        x and y of the bar at the upper left corner of the picture.
    pixels_per_mm : float
    width, height : int
        Pixels.
    mirrored : bool
        The bar as seen from the off side: x runs to the left.
    """

    left_mm: float
    top_mm: float
    pixels_per_mm: float
    width: int
    height: int
    mirrored: bool = False

    @property
    def sign(self) -> float:
        """1 where x runs to the right."""
        return -1.0 if self.mirrored else 1.0

    def bar(self, columns: Floats, rows: Floats) -> tuple[Floats, Floats]:
        """Return x and y (mm) of picture points."""
        x = self.left_mm + self.sign * columns / self.pixels_per_mm
        return x, self.top_mm - rows / self.pixels_per_mm

    def pixels(self, x: Floats, y: Floats) -> Floats:
        """Return (n, 2) pixels of points x, y (mm) of the bar."""
        columns = self.sign * (x - self.left_mm) * self.pixels_per_mm
        return np.stack([columns, (self.top_mm - y) * self.pixels_per_mm], axis=-1)


@dataclass(frozen=True, slots=True, kw_only=True)
class BarFrame:
    """The frame of a blade that lies in a bar: what `etched_face` asks of its view."""

    window: Window
    placement: Placement

    @property
    def pixels_per_mm(self) -> float:
        """Pixels a millimetre."""
        return self.window.pixels_per_mm

    @property
    def axes(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Change of (u, v) a millimetre to the right, and a millimetre down."""
        end = 1.0 if self.placement.far else -1.0
        c, s = math.cos(self.placement.turn), math.sin(self.placement.turn)
        right = self.window.sign * end
        return (right * c, right * s), (end * s, -end * c)

    def pixels(self, points: Floats) -> Floats:
        """Return (n, 2) pixels of blade points (n, 2) mm."""
        at = self.placement.to_piece(points[:, 0], points[:, 1], np.zeros(len(points)))
        return self.window.pixels(at[:, 0], at[:, 1])

    def blade(self, columns: Floats, rows: Floats) -> tuple[Floats, Floats]:
        """Return u and v (mm) of picture points."""
        return self.placement.from_piece(*self.window.bar(columns, rows))


def bar_face(
    piece: Piece,
    side: Side,
    window: Window,
    *,
    drawing: Drawing = "etched",
    draft: bool = False,
    progress: Progress | None = None,
) -> Rgba:
    """Return a part of the forged skin of a bar, (h, w, 4) uint8 sRGB with transparency."""
    low, high = piece.box()
    z = high[2] - SKIN_MM if side == "mark-side" else low[2] + SKIN_MM
    shape = (window.height, window.width)
    corners = window.pixels(np.array([low[0], high[0]]), np.array([high[1], low[1]]))
    inside = _box(shape, corners)

    def to_piece(columns: Floats, rows: Floats) -> Floats:
        x, y = window.bar(columns, rows)
        return np.stack([x, y, np.full_like(x, z)], axis=-1)

    fine = DRAFT_FINE if draft else FINE
    program = program_of(piece)
    if drawing == "layers":
        return coloured(*_layers(program, to_piece, inside, progress, fine))
    pixel_mm = 1.0 / window.pixels_per_mm
    return grey(*etched_skin(program, to_piece, inside, pixel_mm, progress=progress, fine=fine))


def blade_face(
    blade: PlacedBlade,
    side: Side,
    window: Window,
    *,
    drawing: Drawing = "etched",
    shaft_mm: float,
    draft: bool = False,
    progress: Progress | None = None,
) -> Rgba:
    """Return a part of the ground blade where it lies in its bar, (h, w, 4) uint8 sRGB."""
    frame = BarFrame(window=window, placement=blade.placement)
    shape = (window.height, window.width)
    fine = DRAFT_FINE if draft else FINE
    if drawing == "etched":
        return grey(
            *etched_face(
                blade, side, frame, shape, shaft_mm=shaft_mm, progress=progress, fine=fine,
                shade_every=4 if draft else 1,
            )
        )  # fmt: skip
    mask = polygon_cover(shape, frame.pixels(blade.outline.polygon()))

    def to_piece(columns: Floats, rows: Floats) -> Floats:
        u, v = frame.blade(columns, rows)
        return blade.surface(u, v, side)

    program = program_of(blade.piece)
    colours, cover = _layers(program, to_piece, mask > 0.0, progress, fine)
    if blade.piece.cuts and shaft_mm > 0.0:
        share = shaft_share(blade, side, frame, mask > 0.0, shaft_mm)[..., None]
        colours = colours * (1.0 - share) + share * cover[..., None] * _linear(SHAFT_COLOUR)
    whole = polygon_cover(shape, frame.pixels(blade.outline.silhouette()))
    tang = np.clip(whole - mask, 0.0, 1.0)
    plain = tang * tang_light(blade.outline, frame, tang > 0.0)
    mixed = colours * mask[..., None] + plain[..., None] * _linear(TANG_COLOUR)
    return coloured(mixed, np.clip(cover * mask + tang, 0.0, 1.0))


def piece_picture(
    piece: Piece, plane: str, pixels_per_mm: float, *, at: float | None = None, draft: bool = False
) -> Rgba:
    """Return a plane view of a piece (see `piece_view`), (h, w, 4) uint8 sRGB."""
    light, cover = piece_view(piece, plane, pixels_per_mm, at=at, fine=DRAFT_FINE if draft else FINE)
    return grey(light * cover, cover)


def small_picture(piece: Piece, longest_px: float, *, standing: bool = False) -> Rgba:
    """Return a small picture of a piece: its section, or standing on end its mark side.

    A split block is shown open, the end where the wedge went in on top.
    """
    if not standing:
        low, high = piece.box()
        scale = longest_px / max(high[1] - low[1], high[2] - low[2])
        return piece_picture(piece, "section", scale, draft=True)
    shown = opened(piece)
    low, high = shown.box()
    scale = longest_px / max(high[0] - low[0], high[1] - low[1])
    picture = piece_picture(shown, "blank", scale, draft=True)
    down = not piece.open_cut or piece.cuts[-1].down
    return np.ascontiguousarray(np.rot90(picture, 1 if down else -1))


def station_picture(
    blade: PlacedBlade, u: float, pixels_per_mm: float, *, thick: float = 1.0
) -> tuple[Rgba, tuple[float, float]]:
    """Return the section of the ground blade at a station, spine at the left, mark side up.

    Parameters
    ----------
    blade : PlacedBlade
    u : float, mm
        From the heel.
    pixels_per_mm : float
    thick : float
        How many times thicker than true it is drawn.

    Returns
    -------
    picture : (h, w, 4) uint8 sRGB
    size : (float, float), mm
        Height of the blade there and its greatest thickness.
    """
    edge, spine = (float(f(u)) for f in (blade.outline.edge_at, blade.outline.spine_at))
    across = np.linspace(edge, spine, 65)
    stations = np.full_like(across, u)
    half = float(np.max(blade.grind.surface_w(blade.outline, stations, across, "mark-side")))
    half = min(half, blade.piece.size[2] / 2)
    width = max(2, round((spine - edge) * pixels_per_mm))
    height = max(2, round(2.0 * half * pixels_per_mm * thick))

    def place(columns: Floats, rows: Floats) -> tuple[Floats, Floats]:
        return spine - columns / width * (spine - edge), half - rows / height * 2.0 * half

    def to_piece(columns: Floats, rows: Floats) -> Floats:
        v, w = place(columns, rows)
        return blade.placement.to_piece(np.full_like(v, u), v, w)

    columns, rows = np.meshgrid(np.arange(width) + 0.5, np.arange(height) + 0.5)
    v, w = place(columns, rows)
    at = np.full_like(v, u)
    room = [
        sign * (blade.grind.surface_w(blade.outline, at, v, side) - w)
        for sign, side in zip((1.0, -1.0), SIDES, strict=True)
    ]
    cover = np.clip(0.5 + np.minimum(*room) * pixels_per_mm * thick, 0.0, 1.0)
    program = program_of(blade.piece)
    light, steel = etched_skin(program, to_piece, cover > 0.0, 1.0 / pixels_per_mm)
    return grey(light * cover, steel * cover), (spine - edge, 2.0 * half)


def layer_legend(piece: Piece) -> tuple[tuple[str, str, str], ...]:
    """Return letter, steel and colour of the layer drawing, darkest steel first."""
    steels = _steels(program_of(piece))
    return tuple((chr(ord("A") + k), name, COLOURS[k % len(COLOURS)]) for k, name in enumerate(steels))


def grey(light: Floats, cover: Floats) -> Rgba:
    """Return linear light, weighted by its cover, as sRGB with transparency."""
    pixels = np.empty((*light.shape, 4), dtype=np.uint8)
    tone = to_srgb(light / np.maximum(cover, 1e-6)) * 255.0
    pixels[..., :3] = np.round(tone)[..., None]
    pixels[..., 3] = np.round(np.clip(cover, 0.0, 1.0) * 255.0)
    return pixels


def coloured(colours: Floats, cover: Floats) -> Rgba:
    """Return linear colours (h, w, 3), weighted by their cover, as sRGB with transparency."""
    pixels = np.empty((*cover.shape, 4), dtype=np.uint8)
    pixels[..., :3] = np.round(to_srgb(colours / np.maximum(cover, 1e-6)[..., None]) * 255.0)
    pixels[..., 3] = np.round(np.clip(cover, 0.0, 1.0) * 255.0)
    return pixels


def _box(shape: tuple[int, int], corners: Floats) -> NDArray[np.bool_]:
    """Pixels within two corners (2, 2), a pixel's rim around them included."""
    low, high = corners.min(axis=0), corners.max(axis=0)
    inside = np.zeros(shape, dtype=bool)
    left, top = (max(0, math.floor(v)) for v in low)
    right, foot = (max(0, math.ceil(v)) for v in high)
    inside[top:foot, left:right] = True
    return inside


def _steels(program: Program) -> list[str]:
    """Return the steels of a field by their own names, darkest after the etch first."""
    found = {find_steel(name) for name in program.steels}
    return [steel.name for steel in sorted(found, key=lambda one: (one.lightness, one.name))]


def _layers(
    program: Program,
    to_piece: ToPiece,
    wanted: NDArray[np.bool_],
    progress: Progress | None,
    fine: int,
) -> tuple[Floats, Floats]:
    """Return linear colours of the layer drawing, weighted by cover, and the cover."""
    names = _steels(program)
    owner = np.array([names.index(find_steel(name).name) for name in program.steels])
    colours = np.zeros((*wanted.shape, 3))
    cover = np.zeros(wanted.shape)
    rest = np.ones(wanted.shape)
    # The last steel is what the others leave: one walk fewer.
    for k in range(max(1, len(names) - 1)):
        tones = layer_values(program, (owner == k).astype(np.float64))
        seen = sample_picture(program, tones, to_piece, wanted, progress, fine=fine)
        cover = seen.cover
        colours += (seen.light * cover)[..., None] * _linear(COLOURS[k % len(COLOURS)])
        rest = rest - seen.light
    if len(names) > 1:
        last = _linear(COLOURS[(len(names) - 1) % len(COLOURS)])
        colours += (np.clip(rest, 0.0, 1.0) * cover)[..., None] * last
    return colours, cover


def _linear(name: str) -> Floats:
    value = np.array([int(name[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0
    return to_linear(value)
