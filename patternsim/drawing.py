"""Pressing bars between flat dies: what drawing, squaring, flattening and upsetting share."""

from __future__ import annotations

import math

from patternsim.errors import StepError
from patternsim.forming import clean_size, evenly, refuse_far, refuse_unworkable, scaled_off, squeezed
from patternsim.piece import AXES, Piece
from patternsim.press import Draw, Level, Pass, PressAnswer, Squeeze, spread_exponent, spread_width
from patternsim.step import Context, HotStep, Outcome
from patternsim.tally import Tally
from patternsim.wording import told_mm, told_sizes

ROUNDS = 8
"""Rounds of squeeze and quarter turn a draw is worked in; twice as many change nothing that shows."""


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
    tally = Tally(step, context, bite=bite)
    for piece in pieces:
        refuse_unworkable(piece, step.id)
        done = flattened(
            piece, context, what=step.id, heats=step.heats, skin=context.shop.skin_forge_mm,
            height=height, width=width, bite=bite, like=tally.like_press(),
        )  # fmt: skip
        tally.add(piece, *done)
    return tally.outcome()


def flattened(
    piece: Piece,
    context: Context,
    *,
    what: str,
    heats: int,
    skin: float,
    height: float,
    width: float | None,
    bite: float,
    like: PressAnswer | None = None,
) -> tuple[Piece, float, PressAnswer]:
    """Press one piece through its thickness; return it, the scale lost (mm3), the press's answer."""
    _, wide, thick = clean_size(piece, heats=heats, skin=skin, what=what)
    refuse_idle(what, to=height, now=thick, axis=2)
    refuse_far(what, to=height, now=thick, axis=2)
    for _ in range(2):  # the spread starts from the clean size, the skins hang a little on the spread
        asked = width or spread_width(wide, height=thick, to=height, bite=bite)
        clean, full, lost = scaled_off(
            piece, (None, asked, height), heats=heats, skin=skin, step_id=what, what=what
        )
        wide, thick = clean.size[1], clean.size[2]
        refuse_idle(what, to=height, now=thick, axis=2)
    refuse_thickening(what, clean, full, axis=0)
    share = max(math.log(full[1] / wide) / math.log(thick / height), 0.0)
    one = Pass(across=wide, along=thick, height=height, sideways=share, turned=False)
    done, answer = squeezed(
        clean, full, plane="yz", passes=[one],
        goal=Squeeze(to=height, sideways=min(share, 1.0), width=width, bite=bite),
        friction=context.shop.friction_dies, level=context.level, progress=context.progress, like=like,
    )  # fmt: skip
    return done, lost, answer


def pressed_on_end(
    piece: Piece,
    context: Context,
    *,
    what: str,
    heats: int,
    skin: float,
    length: float,
    width: float | None,
    like: PressAnswer | None = None,
) -> tuple[Piece, float, PressAnswer]:
    """Press one piece along its length; width and thickness grow alike unless `width` is held.

    Returns
    -------
    (Piece, float, PressAnswer)
        The piece, the scale lost (mm3) and the press's answer.

    Raises
    ------
    StepError
        If the piece is shorter already, or would have to become thinner.
    """
    long, wide, _ = clean_size(piece, heats=heats, skin=skin, what=what)
    refuse_idle(what, to=length, now=long, axis=0)
    refuse_far(what, to=length, now=long, axis=0)
    for _ in range(2):
        asked = width or wide * math.sqrt(long / length)
        clean, full, lost = scaled_off(
            piece, (length, asked, None), heats=heats, skin=skin, step_id=what, what=what
        )
        long, wide = clean.size[0], clean.size[1]
        refuse_idle(what, to=length, now=long, axis=0)
    refuse_thickening(what, clean, full, axis=2)
    start = clean.size
    squeeze = math.log(start[0] / length)
    # The flow takes the middle slice: across it, the thickness only grows.
    closed = context.level is Level.QUICK and like is None
    planes = {"xy": 1, "xz": 2} if closed else {"xy": 1}
    # A column bends in its own plane: if every fibre had to thicken alike, as an even growth of the
    # thickness asks, it would be three times too stiff. Out of true it is pressed in its plane alone;
    # what belongs to the thickness is given to it evenly afterwards.
    shop = context.shop
    askew = not closed and bool(shop.die_tilt_deg or shop.stack_lean_deg or shop.stack_bow_mm)
    for plane, side in planes.items():
        share = 1.0 if askew else max(math.log(full[side] / start[side]) / squeeze, 0.0)
        one = Pass(across=start[side], along=start[0], height=length, sideways=share, turned=True)
        clean, answer = squeezed(
            clean, full, plane=plane, passes=[one],
            goal=_on_end(context, length, share, width, bite=start[side]),
            friction=context.shop.friction_dies, level=context.level, progress=context.progress,
            like=like,
        )  # fmt: skip
    if askew:
        grown = full[2] / start[2]
        clean = evenly(clean, (1.0, 1.0 / grown, grown))
    return clean, lost, answer


def _on_end(
    context: Context, length: float, share: float, width: float | None, *, bite: float
) -> Squeeze:
    shop = context.shop
    return Squeeze(
        to=length,
        sideways=min(share, 1.0),
        turned=True,
        width=width,
        bite=bite,
        tilt_deg=shop.die_tilt_deg,
        lean_deg=shop.stack_lean_deg,
        bow_mm=shop.stack_bow_mm,
    )


def refuse_idle(what: str, *, to: float, now: float, axis: int) -> None:
    """Raise `StepError` where the steel is as small as asked before it is pressed."""
    if to >= now * (1.0 - 1e-9):
        raise StepError(
            f"{what}: pressing to {told_mm(to)} does nothing; clean of scale the {AXES[axis]} is "
            f"{told_mm(now)} already; ask for less, or leave the step out"
        )


def refuse_thickening(what: str, clean: Piece, full: tuple[float, float, float], *, axis: int) -> None:
    """Raise `StepError` where the open size would have to shrink to make up for a size asked for."""
    if full[axis] < clean.size[axis] * (1.0 - 1e-6):
        others = [k for k in range(3) if k != axis]
        asked = told_sizes([full[k] for k in others])
        has = told_sizes([clean.size[k] for k in others])
        words = "it would have to become shorter; use upset" if axis == 0 else "give less width"
        raise StepError(
            f"{what}: {asked} is more than the {has} it has clean of scale; the {AXES[axis]} would "
            f"go from {told_mm(clean.size[axis])} to {told_mm(full[axis])}; {words}"
        )


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
    tally = Tally(step, context, bite=bite)
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
        if clean.section is None:
            refuse_thickening(step.id, clean, full, axis=0)
        elif width > clean.size[1] and thickness > clean.size[2]:
            raise StepError(
                f"{step.id}: {told_sizes((width, thickness))} is more than the "
                f"{told_sizes(clean.size[1:])} it has clean of scale; use upset"
            )
        held = bite or clean.size[1] / 2
        passes: list[Pass] = []
        if context.level is Level.QUICK:
            passes = draw_passes((clean.size[1], clean.size[2]), (width, thickness), held)
        done, answer = squeezed(
            clean, full, plane="yz", passes=passes, like=tally.like_press(),
            goal=Draw(width=width, thickness=thickness, bite=held),
            friction=context.shop.friction_dies, level=context.level, progress=context.progress,
        )  # fmt: skip
        tally.add(piece, done, lost, answer)
    return tally.outcome()


def draw_passes(before: tuple[float, float], after: tuple[float, float], bite: float) -> list[Pass]:
    """Return the squeezes that take a section from `before` to `after` (width, thickness; mm).

    Squeezes and quarter turns follow one another with the section as it is by then: ln sizes obey
    ln(z0/z1) = a_z - S a_y and ln(y0/y1) = a_y - S a_z, with S the spread of the bite and a the ln
    squeeze of each direction, both shared evenly among the rounds. A direction that would need
    widening by itself is not pressed; the other then spreads as much as the sizes ask for.
    """
    y0, z0 = before
    spread = spread_exponent(bite / y0)
    down_y, down_z = math.log(y0 / after[0]), math.log(z0 / after[1])
    squeeze_z = (down_z + spread * down_y) / (1 - spread**2) / ROUNDS
    squeeze_y = (down_y + spread * down_z) / (1 - spread**2) / ROUNDS
    if squeeze_y <= 0.0:
        return [_pass(z0, y0, down_z, -down_y / down_z, turned=False)] if down_z > 0.0 else []
    if squeeze_z <= 0.0:
        return [_pass(y0, z0, down_y, -down_z / down_y, turned=True)] if down_y > 0.0 else []
    passes = []
    y, z = y0, z0
    for _ in range(ROUNDS):
        passes.append(_pass(z, y, squeeze_z, spread, turned=False))
        y, z = y * math.exp(spread * squeeze_z), z * math.exp(-squeeze_z)
        passes.append(_pass(y, z, squeeze_y, spread, turned=True))
        y, z = y * math.exp(-squeeze_y), z * math.exp(spread * squeeze_y)
    return passes


def _pass(along: float, across: float, squeeze: float, share: float, *, turned: bool) -> Pass:
    height = along * math.exp(-squeeze)
    return Pass(across=across, along=along, height=height, sideways=max(share, 0.0), turned=turned)
