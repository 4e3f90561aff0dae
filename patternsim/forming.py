"""What several steps share: taking steel off a box, pressing a box, and refusing what cannot be.

A heat costs a skin of scale off every face, half in the fire and half while the steel is worked. A
step of several heats is worked as one: the skins are taken off first, each as wide as it is in the
frame before the step, then the clean box is pressed, so that a target size is the finished size.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from patternsim.errors import FlowError, StepError
from patternsim.fields import PLANES, Clip, Node, PlaneMap, moved, scaled
from patternsim.gaps import GAPS_LEAST, gap_share, gaps_of, middle_of
from patternsim.piece import AXES, Floats, Piece, Triple, shifted, triple
from patternsim.press import Goal, Level, Pass, PressAnswer, PressProblem, press
from patternsim.progress import Progress
from patternsim.section import Section
from patternsim.wording import told_mm

RATIO_MOST = 30.0
"""Longest stretch or squeeze of one step that makes sense; beyond, a size is surely mistyped."""


SKIN_HAIR_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Losses:
    """Steel taken off by a step, mm3, by cause."""

    scale: float = 0.0
    saw: float = 0.0
    ground: float = 0.0
    crop: float = 0.0

    def __add__(self, other: Losses) -> Losses:
        """Return the sum, cause by cause."""
        return Losses(
            scale=self.scale + other.scale,
            saw=self.saw + other.saw,
            ground=self.ground + other.ground,
            crop=self.crop + other.crop,
        )

    @property
    def total(self) -> float:
        """All causes together, mm3."""
        return self.scale + self.saw + self.ground + self.crop


def refuse_unworkable(piece: Piece, what: str, *, loose_ok: bool = False) -> None:
    """Raise `StepError` where a press or hammer cannot work `piece`."""
    if piece.loose and not loose_ok:
        raise StepError(f"{what}: the strips are loose; forge-weld the stack first")
    if piece.open_cut:
        raise StepError(f"{what}: the split stands open; close and weld it first")
    if piece.shaped:
        raise StepError(
            f"{what}: the piece is no longer a straight bar (step {piece.shaped}); what flat "
            "dies do to it cannot be worked out; move this step before that one"
        )


def trimmed(
    piece: Piece,
    *,
    low: Triple,
    high: Triple,
    step_id: str,
    what: str,
    recount: bool = False,
    keep_lips: bool = False,
    skin: bool = False,
) -> tuple[Piece, float]:
    """Take `low` and `high` mm off the two ends of each axis; return the piece and the volume lost.

    With `recount`, layers are counted anew where whole ones were sawn off; a skin that is scaled or
    ground away does not change the count a smith gives. With `keep_lips`, ragged ends stay ragged. With
    `skin` it comes off all around a bulged or rounded outline, else the outline is cut straight.

    Raises
    ------
    StepError
        If nothing would be left; names the size and what was to be taken off.
    """
    if keep_lips:
        # No skin is taken off a ragged end: its surface is not the end of the box, and it is cropped.
        low = (0.0 if piece.lips[0] else low[0], low[1], low[2])
        high = (0.0 if piece.lips[1] else high[0], high[1], high[2])
    size = []
    for axis in range(3):
        left = piece.size[axis] - low[axis] - high[axis]
        if left <= 0.0:
            raise StepError(
                f"{what}: {told_mm(low[axis] + high[axis])} would be taken off the {AXES[axis]}, "
                f"which is only {told_mm(piece.size[axis])}; take less off, or start larger"
            )
        size.append(left)
    shift = (low[0], (low[1] - high[1]) / 2, (low[2] - high[2]) / 2)
    all_around = triple((np.array(low) + np.array(high)) / 2) if skin else None
    after = shifted(
        piece,
        by=shift,
        size=(size[0], size[1], size[2]),
        step_id=step_id,
        keep_lips=keep_lips,
        skin=all_around,
    )
    if not skin and 0.0 < after.volume_mm3 < after.outlined_mm3 * (1.0 - GAPS_LEAST):
        # What is cut off may be gap rather than steel: look again how much of either is left.
        kept = after.outlined_mm3 * (1.0 - gap_share(after))
        after = replace(after, volume_mm3=min(kept, piece.volume_mm3))
    if recount:
        after = replace(after, layers=piece.layers.kept(low, high, piece.size))
    return after, piece.volume_mm3 - after.volume_mm3


def skins(size: Triple, target: Triple, *, heats: int, skin: float) -> Triple:
    """Return what scale takes off each face in the frame before a step of several heats, mm.

    The piece goes from `size` to `target` by even ratios a heat. Half of a heat's skin is taken to
    form in the fire, at the size the piece goes in with, half while it is worked, at the size it
    comes out with; each is as thick in the frame before as the stretch up to there has thinned it.
    """
    result = []
    for axis in range(3):
        ratio = target[axis] / size[axis]
        ends = [ratio ** (-i / heats) for i in range(heats + 1)] if heats else [0.0]
        result.append(skin * (sum(ends) - (ends[0] + ends[-1]) / 2))
    return result[0], result[1], result[2]


def clean_size(piece: Piece, *, heats: int, skin: float, what: str) -> Triple:
    """Return the size `piece` has once the scale of `heats` heats is off, before it is pressed, mm.

    Raises
    ------
    StepError
        If the fire leaves nothing; names the size and what the scale takes.
    """
    off = 2 * skin * heats
    for axis in range(3):
        if piece.size[axis] <= off:
            raise StepError(
                f"{what}: scale takes {told_mm(off)} off the {AXES[axis]}, which is only "
                f"{told_mm(piece.size[axis])}; fewer heats, or start thicker"
            )
    return piece.size[0] - off, piece.size[1] - off, piece.size[2] - off


def descaled(piece: Piece, *, heats: int, skin: float, step_id: str) -> tuple[Piece, float]:
    """Take the scale of `heats` heats off every face; return the piece and the volume lost.

    Raises
    ------
    StepError
        If the fire leaves nothing.
    """
    clean_size(piece, heats=heats, skin=skin, what=step_id)
    off = (skin * heats, skin * heats, skin * heats)
    return trimmed(piece, low=off, high=off, step_id=step_id, what=step_id, keep_lips=True, skin=True)


def refuse_far(what: str, *, now: float, to: float, axis: int, asked: str = "is asked for") -> None:
    """Raise `StepError` for a size that is out of all proportion to the one there is."""
    if not 1.0 / RATIO_MOST < to / now < RATIO_MOST:
        raise StepError(
            f"{what}: a {AXES[axis]} of {told_mm(to)} {asked} from {told_mm(now)}; one step changes "
            f"a size {RATIO_MOST:.0f} times at most"
        )


def _refuse_far(what: str, now: Triple, full: Triple, open_axis: int) -> None:
    for axis in sorted(range(3), key=lambda axis: axis == open_axis):
        asked = "follows" if axis == open_axis else "is asked for"
        refuse_far(what, now=now[axis], to=full[axis], axis=axis, asked=asked)


def scaled_off(
    piece: Piece,
    target: tuple[float | None, float | None, float | None],
    *,
    heats: int,
    skin: float,
    step_id: str,
    what: str,
) -> tuple[Piece, Triple, float]:
    """Take the scale of a hot step off `piece`.

    Returns
    -------
    (Piece, (x, y, z), float)
        The clean piece, the finished sizes with the open one filled in, the volume lost.

    Raises
    ------
    StepError
        If a size cannot be reached; names it.
    """
    clean_size(piece, heats=heats, skin=skin, what=what)
    open_axis = target.index(None)
    for axis, value in enumerate(target):
        if value is not None:
            refuse_far(what, now=piece.size[axis], to=value, axis=axis)
    clean, lost = piece, 0.0
    full = piece.size
    for _ in range(4):  # the open size and the skins depend on each other; converges at once
        others = [value for value in target if value is not None]
        open_size = clean.volume_mm3 / (others[0] * others[1])
        sizes = [open_size if value is None else value for value in target]
        full = (sizes[0], sizes[1], sizes[2])
        _refuse_far(what, piece.size, full, open_axis)
        off = skins(piece.size, full, heats=heats, skin=skin)
        clean, lost = trimmed(
            piece, low=off, high=off, step_id=step_id, what=f"{what}, scale", keep_lips=True, skin=True
        )
    others = [value for value in target if value is not None]
    sizes = [clean.volume_mm3 / (others[0] * others[1]) if v is None else v for v in target]
    full = (sizes[0], sizes[1], sizes[2])
    _refuse_far(what, clean.size, full, open_axis)
    return clean, full, lost


def clipped(piece: Piece) -> Clip:
    """Return the field of `piece` within its limits, a hair wide: its skin must not drop out."""
    low, high = piece.box()
    return Clip(piece.outlined(), low=np.subtract(low, SKIN_HAIR_MM), high=np.add(high, SKIN_HAIR_MM))


def squeezed(
    clean: Piece,
    full: Triple,
    *,
    plane: str,
    passes: Sequence[Pass],
    goal: Goal,
    friction: float,
    level: Level,
    corners: float = 0.0,
    progress: Progress | None = None,
    like: PressAnswer | None = None,
) -> tuple[Piece, PressAnswer]:
    """Press a clean piece; return it with what the press answered.

    Closed forms follow `passes` and end at the sizes `full`; the flow works towards `goal` and comes
    out as it does. What it answered before to much `like` a press stands in for closed forms.

    Raises
    ------
    StepError
        If the flow gives out.
    """
    first, second = PLANES[plane]
    problem = PressProblem(
        width=clean.size[first],
        height=clean.size[second],
        passes=tuple(passes),
        friction=friction,
        corners=corners,
        goal=goal,
    )
    sizes = (clean.size[first], clean.size[second]), (full[first], full[second])
    if level is not Level.QUICK:
        answer = replace(
            _worked(clean, plane, problem, level, progress),
            before=sizes[0],
            asked=sizes[1],
            as_prism=clean.section is not None and clean.section.plane != plane,
        )
        return _as_pressed(clean, plane, answer), answer
    if like is not None and like.outline is not None:
        area = clean.outlined_mm3 / clean.size[3 - first - second]
        answer = like.stretched(*sizes, area=area)
        return _as_pressed(clean, plane, answer), answer
    answer = press(problem, level)
    node = clean.field
    if answer.grid is not None:
        # The section is sampled about its middle; x of a piece runs from its end.
        half = clean.size[0] / 2 if first == 0 else 0.0
        inner = moved(node, by=(half, 0.0, 0.0)) if half else node
        node = PlaneMap(inner, plane=plane, grid=answer.grid)
        node = moved(node, by=(-half, 0.0, 0.0)) if half else node
    return stretched(clean, full, node), answer


def _middle(piece: Piece, plane: str) -> Triple:
    """Return the middle of the section in the frame of its piece: x runs from an end."""
    return (piece.size[0] / 2 if 0 in PLANES[plane] else 0.0, 0.0, 0.0)


def _worked(
    clean: Piece, plane: str, problem: PressProblem, level: Level, progress: Progress | None
) -> PressAnswer:
    """Ask the flow what becomes of a clean piece."""
    middle, curve = _middle(clean, plane), None
    if clean.section is not None and clean.section.plane == plane:
        curve = clean.section.curve - np.array(middle)[list(PLANES[plane])]
    try:
        return press(replace(problem, curve=curve, gaps=gaps_of(clean, plane, middle)), level, progress)
    except FlowError as fault:
        raise StepError(
            f"the flow of the steel gives out here ({fault}); press less at a time, or grind gaps and "
            "sharp lips off before"
        ) from fault


def _as_pressed(clean: Piece, plane: str, answer: PressAnswer) -> Piece:
    """Return a clean piece as the flow leaves it."""
    if answer.outline is None or answer.grid is None:
        raise ValueError("this answer holds no flow")
    first, second = PLANES[plane]
    along = 3 - first - second
    after = Section(plane=plane, curve=answer.outline)
    low, high = after.box()
    place = [0.0, 0.0, 0.0]  # of the new origin, in the frame of the press
    size = list(clean.size)
    for axis, least, most in ((first, low[0], high[0]), (second, low[1], high[1])):
        place[axis] = least if axis == 0 else (least + most) / 2
        size[axis] = most - least
    size[along] = clean.size[along] * answer.lengthened
    ratios = [1.0, 1.0, 1.0]
    ratios[along] = 1.0 / answer.lengthened
    # Rounded in another plane before: that outline stays where it was, on the way back.
    prism = clean.section is None or clean.section.plane == plane
    inner: Node = clean.field if prism else clean.outlined()
    inner = moved(scaled(inner, ratios=triple(np.array(ratios))), by=_middle(clean, plane))
    a, b = clean.size[first] / 2, clean.size[second] / 2
    node = PlaneMap(inner, plane=plane, grid=answer.grid, within=((-a, a), (-b, b)))
    field = moved(node, by=triple(np.array(place)))

    def guess(before: Floats) -> Floats:
        ratio = np.array(size) / np.array(clean.size)
        return np.asarray((before - middle_of(clean.size)) * ratio + middle_of(size))

    return replace(
        clean,
        size=triple(np.array(size)),
        field=field,
        section=after.moved((-place[first], -place[second])),
        lips=(0.0, 0.0),
        marks=clean.carried(field, guess, within=_box(size)),
        loose=False,
    )


def _box(size: Sequence[float]) -> tuple[Triple, Triple]:
    x, y, z = size
    return (0.0, -y / 2, -z / 2), (x, y / 2, z / 2)


def evenly(piece: Piece, by: Triple) -> Piece:
    """Return a piece stretched evenly along its axes, its outline with it; `by` keeps its volume."""
    back = triple(1.0 / np.array(by))
    section = piece.section
    if section is not None:
        first, second = section.axes
        section = section.scaled((by[first], by[second]))
    return replace(
        piece,
        size=triple(np.array(piece.size) * by),
        field=scaled(piece.field, ratios=back),
        section=section,
        marks=tuple(
            mark if mark.lost_in else replace(mark, at=triple(np.array(mark.at) * by))
            for mark in piece.marks
        ),
    )


def stretched(clean: Piece, full: Triple, node: Node) -> Piece:
    """Return `clean` stretched evenly to the sizes `full`, its field led through `node`."""
    ratios = tuple(a / b for a, b in zip(clean.size, full, strict=True))
    after = scaled(node, ratios=(ratios[0], ratios[1], ratios[2]))

    def guess(before: Floats) -> Floats:
        return np.asarray(before / np.array(ratios), dtype=np.float64)

    return replace(
        clean,
        size=full,
        volume_mm3=clean.volume_mm3,
        field=after,
        lips=(clean.lips[0] / ratios[0], clean.lips[1] / ratios[0]),
        notch_mm=clean.notch_mm / ratios[0],
        marks=clean.carried(after, guess),
        section=None,
        loose=False,
    )
