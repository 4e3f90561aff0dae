"""Laying the outline, worked out in the background: plain functions, without Qt."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from patternsim.progress import Progress
from patternsim_app.shown import Points, Rgba, TipShown, Units
from patternsim_app.tasks import FaceDone, FaceGiven, Look, Lying, draw_face
from patternsim_app.tip_tasks import TipGiven, draw_tip

if TYPE_CHECKING:
    from patternsim.job import Place

How = Literal["move", "aim", "turn", "line", "end"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayGiven:
    """What the hand did with the outline since it was taken.

    Attributes
    ----------
    lying : Lying
        As it lay when it was taken.
    how : str
        'move' by `by` (dx, dy mm); 'aim' the tip at `by` (x, y mm); 'turn' by `by[0]` degrees about the
        tip; 'line': tip on the centre line and along it; 'end' for end.
    look : Look or None
        None where only the place is asked for.
    bar : Rgba or None
        The skin of the bar for this look, where it is known.
    tip_right : bool
    line : points
        The centre line on the face, as it was when the outline was taken.
    final : bool
        The hand has let go: the place is to be kept, and needs no picture.
    label : str
        What it is called in the list of undos.
    merge : str
        Pushes of one name are undone together.
    units : str
        Of what is told of the tip.
    """

    lying: Lying
    how: How
    by: tuple[float, float]
    look: Look | None
    bar: Rgba | None
    tip_right: bool
    final: bool
    line: Points = ()
    label: str = ""
    merge: str = ""
    units: Units = "mm"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayDone:
    """Where the outline lies now; with pictures while the hand holds it."""

    given: LayGiven
    place: Place
    face: FaceDone | None
    tip: TipShown | None


def lay(given: LayGiven, progress: Progress) -> LayDone:
    """Lay the outline and look at it roughly."""
    from patternsim import laying

    lying = given.lying
    spec = lying.spec
    assert spec is not None
    if given.how == "move":
        place = laying.moved(spec, lying.piece, given.by)
    elif given.how == "aim":
        place = laying.aimed(spec, lying.piece, given.by)
    elif given.how == "turn":
        place = laying.turned(spec, given.by[0])
    elif given.how == "line":
        place = laying.on_the_line(spec, lying.piece)
    else:
        place = laying.end_for_end(spec)
    if given.final or given.look is None:
        return LayDone(given=given, place=place, face=None, tip=None)
    there = replace(lying, spec=spec.model_copy(update={"place": place}))
    face = draw_face(
        FaceGiven(lying=there, look=given.look, draft=True, bar=given.bar, line=given.line), progress
    )
    tip = draw_tip(
        TipGiven(
            lying=there, side=given.look.side, tip_right=given.tip_right, draft=True, units=given.units
        ),
        progress,
    )
    return LayDone(given=given, place=place, face=face, tip=tip)
