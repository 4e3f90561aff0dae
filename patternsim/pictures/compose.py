"""Putting a picture together: steel on a light ground, title, scale bar, what it stands on."""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from patternsim.data import resource
from patternsim.etch.light import to_linear, to_srgb

Floats = NDArray[np.float64]

GROUND = (0.975, 0.970, 0.955)
"""sRGB of the paper."""
INK, FAINT = (38, 38, 40), (118, 118, 122)
TITLE_MM, TEXT_MM, MARGIN_MM = 4.6, 2.7, 8.0
SMALL_MM = 240.0
"""Letters and margins have these sizes on pictures up to this wide; on wider ones they grow along."""
LEAST_LETTERS = 0.7
"""Titles too long for a picture are written as small as this share before they are cut off."""
BARS_MM = (200.0, 100.0, 50.0, 20.0, 10.0, 5.0, 2.0)


@lru_cache(maxsize=16)
def _font(name: str, pixels: int) -> ImageFont.FreeTypeFont:
    data = io.BytesIO(resource(f"fonts/{name}.ttf").read_bytes())
    return ImageFont.truetype(data, max(6, pixels))


def on_paper(light: Floats, cover: Floats) -> NDArray[np.uint8]:
    """Return steel laid on the paper, mixed in linear light.

    Parameters
    ----------
    light : (h, w) float64
        Linear light, already weighted by `cover`.
    cover : (h, w) float64

    Returns
    -------
    (h, w, 3) uint8, sRGB
    """
    ground = np.array(GROUND)
    paper = np.asarray(np.round(ground * 255.0), dtype=np.uint8)
    pixels = np.empty((*light.shape, 3), dtype=np.uint8)
    pixels[:] = paper
    steel = cover > 0.0
    part = cover[steel][:, None]
    mixed = light[steel][:, None] + (1.0 - part) * to_linear(ground)
    pixels[steel] = np.round(to_srgb(mixed) * 255.0).astype(np.uint8)
    return pixels


def bar_length(width_mm: float) -> float:
    """Return the longest round scale bar that takes at most a third of `width_mm`."""
    return next((bar for bar in BARS_MM if bar <= width_mm / 3), BARS_MM[-1])


def growth(body_mm: float) -> float:
    """Return how much larger letters and margins are on a picture of a body `body_mm` wide."""
    return max(1.0, body_mm / SMALL_MM)


def lettered(
    pixels: NDArray[np.uint8],
    pixels_per_mm: float,
    *,
    grown: float,
    title: str,
    below_title: str,
    notes: Sequence[str],
) -> NDArray[np.uint8]:
    """Return the picture with title, scale bar and notes in its margins.

    Parameters
    ----------
    pixels : (h, w, 3) uint8
        With room above and below; see `margins`.
    pixels_per_mm, grown : float
        Scale of the picture, and of its letters; see `growth`.
    title, below_title : str
    notes : sequence of str
        Lines at the foot, right of the scale bar: level and what is not predicted.
    """
    image = Image.fromarray(pixels, mode="RGB")
    draw = ImageDraw.Draw(image)
    unit = pixels_per_mm * grown
    edge = MARGIN_MM * unit
    height, width = pixels.shape[:2]
    head = _font("Roboto-Medium", round(TITLE_MM * unit))
    body = _font("Roboto-Regular", round(TEXT_MM * unit))
    for words, font, tone, top in ((title, head, INK, 0.0), (below_title, body, FAINT, 1.35 * TITLE_MM)):
        told, fitting = _fitted(words, font, width - 2 * edge)
        draw.text((edge, 0.75 * edge + top * unit), told, font=fitting, fill=tone)
    foot = height - 0.9 * edge
    bar = bar_length((width - 2 * edge) / pixels_per_mm)
    _scale_bar(draw, (edge, foot), bar, pixels_per_mm, grown, body)
    line = 1.35 * TEXT_MM * unit
    room = width - 2 * edge - bar * pixels_per_mm - 4.0 * unit
    wrapped = [row for note in notes for row in _wrapped(note, body, room)]
    for number, note in enumerate(reversed(wrapped)):
        draw.text((width - edge, foot - number * line), note, font=body, fill=FAINT, anchor="rs")
    return np.asarray(image)


def _fitted(text: str, font: ImageFont.FreeTypeFont, room: float) -> tuple[str, ImageFont.FreeTypeFont]:
    """Return words that fit into `room` pixels, and their font: smaller, then cut off with dots."""
    least = LEAST_LETTERS * font.size
    while font.getlength(text) > room and font.size - 1 >= least:
        font = font.font_variant(size=font.size - 1)
    if font.getlength(text) <= room:
        return text, font
    while text and font.getlength(f"{text}\u2026") > room:
        text = text[:-1].rstrip()
    return f"{text}\u2026", font


def _wrapped(text: str, font: ImageFont.FreeTypeFont, room: float) -> list[str]:
    """Break a note into rows that fit into `room` pixels; a word is never broken."""
    rows: list[str] = []
    for word in text.split():
        longer = f"{rows[-1]} {word}" if rows else word
        if rows and font.getlength(longer) <= room:
            rows[-1] = longer
        else:
            rows.append(word)
    return rows


def _scale_bar(
    draw: ImageDraw.ImageDraw,
    at: tuple[float, float],
    bar_mm: float,
    pixels_per_mm: float,
    grown: float,
    font: ImageFont.FreeTypeFont,
) -> None:
    """A ruler bar in five parts, with its length; its foot stands at `at`, pixels."""
    unit = pixels_per_mm * grown
    left, top = round(at[0]), round(at[1] - 1.6 * unit)
    length = round(bar_mm * pixels_per_mm)
    thick = max(2, round(1.0 * unit))
    parts = 5
    draw.rectangle((left, top, left + length - 1, top + thick - 1), fill=(255, 255, 255), outline=INK)
    for part in range(0, parts, 2):
        a, b = left + round(part * length / parts), left + round((part + 1) * length / parts)
        draw.rectangle((a, top, b - 1, top + thick - 1), fill=INK)
    draw.text((left, top - 0.8 * unit), f"{bar_mm:g} mm", font=font, fill=INK, anchor="ls")


def margins(
    body: tuple[int, int], pixels_per_mm: float, grown: float
) -> tuple[int, int, tuple[int, int]]:
    """Return the left and top margin of a body (h, w) and the size (h, w) of the whole, pixels."""
    unit = pixels_per_mm * grown
    edge = round(MARGIN_MM * unit)
    top = edge + round((1.6 * TITLE_MM + 2.2 * TEXT_MM) * unit)
    foot = edge + round(4.2 * TEXT_MM * unit)
    return edge, top, (body[0] + top + foot, body[1] + 2 * edge)
