"""What is asked of a press and what it answers, whichever level works it out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from patternsim.fields import Grid
from patternsim.press.goals import Goal, Load
from patternsim.section import area_of, flattened

Floats = NDArray[np.float64]
Gaps = Callable[[Floats], NDArray[np.bool_]]
"""Points of a section before the press (n, 2) -> which of them are gaps that hold no steel."""


class Level(StrEnum):
    """Closed forms, or the flow solver on a coarse or a fine mesh."""

    QUICK = "quick"
    COARSE = "coarse"
    FINE = "fine"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One squeeze between flat dies: sizes of the section before it, mm.

    Attributes
    ----------
    across, along : float, mm
        Size across the stroke and along it.
    height : float, mm
        Die gap at the end.
    sideways : float
        Share of the squeeze that goes sideways in this plane (ln ratio over ln ratio); the rest
        goes into the third axis. 1: plane strain.
    turned : bool
        The stroke runs along the first axis of the plane instead of the second.
    """

    across: float
    along: float
    height: float
    sideways: float
    turned: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PressProblem:
    """What a press step asks: a section, what is to become of it, the friction of the dies.

    Attributes
    ----------
    width, height : float, mm
        Size of the section before the step along the first and second axis of its plane.
    passes : tuple of Pass
        What closed forms follow; the section is a box to them.
    friction : float
        Friction factor of the dies, 0 to 1.
    corners : float
        Corners crushed before the passes: width of the crushed flats over the side; 0 for none.
    goal : Goal or None
        What the flow works towards; None: only closed forms can answer.
    curve : (2k, 2) float64 or None, mm
        Closed quadratic outline about the middle of the section; None: the box.
    gaps : callable or None
        Points before (n, 2) mm -> which of them lie in gaps.
    """

    width: float
    height: float
    passes: tuple[Pass, ...]
    friction: float
    corners: float = 0.0
    goal: Goal | None = None
    curve: Floats | None = None
    gaps: Gaps | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PressAnswer:
    """What a level gives back.

    Attributes
    ----------
    grid : Grid or None
        Displacement in the plane of the section. Closed forms: in its size before the step (the even
        stretch is kept apart); None where nothing but the even stretch is left. The flow: all of it.
    source : str
        'quick', 'coarse', 'fine' or 'exact'.
    rough : bool
        A stand-in that must not be read closely.
    outline : (2k, 2) float64 or None, mm
        The section as it comes out, a closed quadratic curve; None for closed forms, whose sides stay
        straight.
    lengthened : float
        Area before over area after: what the third axis grows by.
    loads : tuple of Load
        One a pass; empty where the level does not work them out.
    damage : float or None
        Largest normalised Cockcroft-Latham sum.
    error_mm : float
        How far samples lie from the flow at 99 of 100 points.
    unsettled : float
        Share of the steps of the flow whose corrections did not die out.
    as_prism : bool
        The piece was rounded in another plane before: it was worked as if its middle were all of it.
    before, asked : (float, float), mm
        Sizes along both axes of the plane: of the section before, and those that were asked for.
    """

    grid: Grid | None
    source: str
    rough: bool
    outline: Floats | None = None
    lengthened: float = 1.0
    loads: tuple[Load, ...] = ()
    damage: float | None = None
    error_mm: float = 0.0
    unsettled: float = 0.0
    as_prism: bool = False
    before: tuple[float, float] = (0.0, 0.0)
    asked: tuple[float, float] = (0.0, 0.0)

    def stretched(
        self, before: tuple[float, float], asked: tuple[float, float], *, area: float
    ) -> PressAnswer:
        """Return this answer stretched to other sizes: a stand-in until those are worked out.

        Parameters
        ----------
        before, asked : (float, float), mm
            The sizes now.
        area : float, mm2
            Of the section before, now.

        Raises
        ------
        ValueError
            If it holds no flow.
        """
        if self.grid is None or self.outline is None:
            raise ValueError("there is no flow in this answer")
        late = (asked[0] / self.asked[0], asked[1] / self.asked[1])
        early = (before[0] / self.before[0], before[1] / self.before[1])
        outline = self.outline * np.array(late)
        return replace(
            self,
            grid=self.grid.stretched(after=late, before=early),
            source=Level.QUICK.value,
            rough=True,
            outline=outline,
            lengthened=area / area_of(flattened(outline)),
            loads=(),
            damage=None,
            before=before,
            asked=asked,
        )
