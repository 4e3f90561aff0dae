"""Pressing bars between flat dies, turned or not: what drawing, squaring and flattening share."""

from __future__ import annotations

import math

from patternsim.errors import StepError
from patternsim.forming import Losses, refuse_unworkable, scaled_off, squeezed
from patternsim.piece import Piece
from patternsim.press import Pass, spread_exponent, spread_width
from patternsim.step import Context, HotStep, Outcome


def pressed_flat(
    pieces: tuple[Piece, ...],
    context: Context,
    *,
    step: HotStep,
    height: float,
    width: float | None,
    bite: float,
) -> Outcome:
    """Press every piece through its thickness to `height` mm, never turned.

    Raises
    ------
    StepError
        If a piece is thinner already, or cannot be pressed.
    """
    done, losses, source = [], Losses(), "exact"
    skin = context.shop.skin_forge_mm
    for piece in pieces:
        refuse_unworkable(piece, step.id)
        thick = piece.size[2] - 2 * skin * step.heats
        if height >= thick:
            raise StepError(
                f"{step.id}: pressing to {height:.2f} mm does nothing; clean of scale the piece is "
                f"{thick:.2f} mm thick"
            )
        clean_width = piece.size[1] - 2 * skin * step.heats
        wide = width or spread_width(clean_width, height=thick, to=height, bite=bite)
        clean, full, lost = scaled_off(
            piece, (None, wide, height), heats=step.heats, skin=skin, step_id=step.id, what=step.id
        )
        share = math.log(wide / clean.size[1]) / math.log(clean.size[2] / height)
        one = Pass(
            across=clean.size[1], along=clean.size[2], height=height,
            sideways=max(share, 0.0), turned=False,
        )  # fmt: skip
        piece_done, source, _ = squeezed(
            clean, full, plane="yz", passes=[one],
            friction=context.shop.friction_dies, level=context.level,
        )  # fmt: skip
        done.append(piece_done)
        losses += Losses(scale=lost)
    return Outcome(pieces=tuple(done), losses=losses, source=source)


def drawn(
    pieces: tuple[Piece, ...],
    context: Context,
    *,
    step: HotStep,
    width: float,
    thickness: float,
    bite: float | None,
) -> Outcome:
    """Draw every piece to `width` x `thickness` mm by passes turned a quarter.

    Raises
    ------
    StepError
        If a piece would have to become shorter, or cannot be pressed.
    """
    done, losses, source = [], Losses(), "exact"
    for piece in pieces:
        refuse_unworkable(piece, step.id)
        clean, full, lost = scaled_off(
            piece,
            (None, width, thickness),
            heats=step.heats,
            skin=context.shop.skin_forge_mm,
            step_id=step.id,
            what=step.id,
        )
        if full[0] < clean.size[0]:
            raise StepError(
                f"{step.id}: {width:.2f} x {thickness:.2f} mm is more than the section it has "
                f"({clean.size[1]:.2f} x {clean.size[2]:.2f} mm); drawing cannot thicken; use upset"
            )
        passes = draw_passes(
            (clean.size[1], clean.size[2]), (width, thickness), bite or clean.size[1] / 2
        )
        piece_done, source, _ = squeezed(
            clean, full, plane="yz", passes=passes,
            friction=context.shop.friction_dies, level=context.level,
        )  # fmt: skip
        done.append(piece_done)
        losses += Losses(scale=lost)
    return Outcome(pieces=tuple(done), losses=losses, source=source)


def draw_passes(before: tuple[float, float], after: tuple[float, float], bite: float) -> list[Pass]:
    """Return the squeezes that take a section from `before` to `after` (width, thickness; mm).

    All squeezes of one direction are taken together: ln sizes obey
    ln(z0/z1) = a_z - S a_y and ln(y0/y1) = a_y - S a_z, with S the spread of the bite and a the ln
    squeeze of each direction. A direction that would need widening by itself is not pressed.
    """
    y0, z0 = before
    spread = spread_exponent(bite / y0)
    down_y, down_z = math.log(y0 / after[0]), math.log(z0 / after[1])
    squeeze_z = (down_z + spread * down_y) / (1 - spread**2)
    squeeze_y = (down_y + spread * down_z) / (1 - spread**2)
    passes = []
    if squeeze_y < 0.0:
        squeeze_z, share_z = down_z, -down_y / down_z if down_z > 0 else 0.0
    else:
        share_z = spread
    if squeeze_z < 0.0:
        squeeze_y, share_y = down_y, -down_z / down_y if down_y > 0 else 0.0
    else:
        share_y = spread
    if squeeze_z > 0.0:
        passes.append(
            Pass(
                across=y0,
                along=z0,
                height=z0 * math.exp(-squeeze_z),
                sideways=max(share_z, 0.0),
                turned=False,
            )
        )
    if squeeze_y > 0.0:
        passes.append(
            Pass(
                across=z0,
                along=y0,
                height=y0 * math.exp(-squeeze_y),
                sideways=max(share_y, 0.0),
                turned=True,
            )
        )
    return passes
