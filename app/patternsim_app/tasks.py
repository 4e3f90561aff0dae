"""What is worked out in the background: from frozen job values to frozen values for the views.

Plain functions of (given, progress), without Qt: they run on the worker's thread. The engine's heavy
parts are brought in inside them, so that the window can be up before numba and scipy are loaded.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from patternsim.errors import PatternSimError
from patternsim.progress import Progress, Worded
from patternsim_app.roughness import holds_all, rough_steps
from patternsim_app.shown import (
    FacePicture,
    FaceShown,
    Patch,
    Points,
    Rgba,
    StationShown,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from patternsim.answers import Answers
    from patternsim.job import Blade, Job
    from patternsim.pictures.bench import Drawing, Window
    from patternsim.piece import Piece
    from patternsim.shape.grind import Side
    from patternsim.work import Result, StepResult, Worked

THUMB_PX = 80
"""Longer side of the small sections on the card; drawn half as large, for fine screens."""
STATIONS = (0.1, 0.4, 0.7, 0.95)
"""Shares of the blade's length at which its sections are shown."""
STATION_THICK = 3.0
STATION_PX_PER_MM = 6.0


# --- working a job out -------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WorkGiven:
    """A job to be worked.

    Attributes
    ----------
    job : Job
    before : Result or None
        A rough result, whose equal steps are taken over.
    like : Result or None
        The result that was worked out last: it stands in roughly, and its equal steps are taken over.
    look : Look or None
    """

    job: Job
    before: Result | None = None
    like: Result | None = None
    look: Look | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WorkDone:
    """A job worked as far as it goes, and its face where one was asked for.

    Attributes
    ----------
    job : Job
    worked : Worked
    face : FaceDone or None
        A draft where the result is rough.
    rough : frozenset of str
        Ids of the steps that are rough: worked by closed forms or stretched flows, or behind such.
    """

    job: Job
    worked: Worked
    face: FaceDone | None = None
    rough: frozenset[str] = frozenset()

    @property
    def is_rough(self) -> bool:
        """Whether the flow of the steel is still to be worked out."""
        return self.worked.result.level == "quick"


def work(given: WorkGiven, progress: Progress) -> WorkDone:
    """Work a job out roughly, as far as it can be worked, and draw its face roughly.

    What is all known from the result worked out last is not rough: it is taken from there.
    """
    from patternsim.work import work_out

    if given.like is not None and holds_all(given.like, given.job):
        worked = work_out(given.job, given.like.level, progress, before=given.like)
        rough: frozenset[str] = frozenset()
    else:
        worked = work_out(given.job, "quick", progress, before=given.before, like=given.like)
        rough = rough_steps(worked.result, given.like)
    face = None
    if given.look is not None:
        lying = lying_on_bench(worked.result)
        if lying is not None:
            face = draw_face(FaceGiven(lying=lying, look=given.look, draft=True), progress)
    return WorkDone(job=given.job, worked=worked, face=face, rough=rough)


FIRST_TIME = "the first time takes up to a minute"


def refine(given: WorkGiven, progress: Progress) -> WorkDone:
    """Work a job out by the flow of its steel; the rough face stays until the true one is drawn."""
    from patternsim.flow import is_compiled
    from patternsim.work import work_out

    if not is_compiled():
        progress = Worded(progress, lambda text: f"{text} ({FIRST_TIME})")
    worked = work_out(given.job, "fine", progress, before=given.like)
    return WorkDone(job=given.job, worked=worked)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lying:
    """The piece whose face is shown, with its blade; `spec` is None where no blade can be laid."""

    piece: Piece
    spec: Blade | None
    shaft_mm: float


def lying_on_bench(result: Result) -> Lying | None:
    """Return the piece the blade is cut from, or the last there is; None where there is no steel."""
    spec = result.job.blade
    shaft = result.job.shop.shaft_mm
    try:
        return Lying(piece=result.blade_piece(), spec=spec, shaft_mm=shaft)
    except PatternSimError:
        pass  # no blade, or its bar is not finished: the last piece is shown without one
    bar = None if spec is None else spec.bar
    rows = [row for row in result.steps if bar in (None, row.bar)] or list(result.steps)
    if not rows or not rows[-1].outcome.pieces:
        return None
    return Lying(piece=rows[-1].outcome.pieces[0], spec=None, shaft_mm=shaft)


# --- the face ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How the face is looked at."""

    patch: Patch
    side: Side
    drawing: Drawing


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaceGiven:
    """A face to be drawn.

    Attributes
    ----------
    lying : Lying
    look : Look
    draft : bool
    bar : Rgba or None
        The picture of the bar's skin where it is known already.
    line : points
        The centre line where it is known well enough; else empty.
    """

    lying: Lying
    look: Look
    draft: bool = False
    bar: Rgba | None = None
    line: Points = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaceDone:
    """A face drawn, with what lies on it."""

    lying: Lying
    look: Look
    shown: FaceShown
    picture: FacePicture

    def has_skin_of(self, other: FaceDone) -> bool:
        """Tell whether the skin of the bar is here in full, as it is looked at in the other."""
        return (
            not self.picture.draft and self.look == other.look and self.lying.piece is other.lying.piece
        )


def draw_face(given: FaceGiven, progress: Progress) -> FaceDone:
    """Draw a part of the face of a bar with the blade in it."""
    import numpy as np

    from patternsim.knife.placement import placed
    from patternsim.laying import laid
    from patternsim.pictures.bench import bar_face, blade_face
    from patternsim.shape.thinning import thinned

    lying, look = given.lying, given.look
    window = _window(look.patch, whole=not given.draft)
    bar = given.bar
    if bar is None:
        bar = bar_face(
            lying.piece, look.side, window, drawing=look.drawing, draft=given.draft, progress=progress
        )
    low, high = lying.piece.box()
    box = (low[0], low[1], high[0], high[1])
    blade_picture = None
    if lying.spec is None:
        shown = FaceShown(box=box)
    else:
        blade = placed(lying.spec, lying.piece)
        blade_picture = blade_face(
            blade, look.side, window, drawing=look.drawing, shaft_mm=lying.shaft_mm,
            draft=given.draft, progress=progress,
        )  # fmt: skip
        lies = laid(blade, look.side, line=np.array(given.line) if given.line else None)
        kept = thinned(lies.outline, THIN_MM)
        whole = thinned(lies.silhouette, THIN_MM)
        lacking, tang = _runs(lies.lacking, kept), _runs(lies.tang_lacking, whole)
        shown = FaceShown(
            box=box,
            outline=_points(lies.outline[kept]),
            silhouette=_points(lies.silhouette[whole]),
            tip=lies.tip,
            heel=lies.heel,
            belly=lies.belly,
            line=_points(lies.line),
            allowance_mm=lying.spec.allowance_mm,
            lacking=lacking,
            tang_lacking=tang,
            length_mm=blade.outline.length_mm,
        )
    picture = FacePicture(patch=look.patch, bar=bar, blade=blade_picture, draft=given.draft)
    return FaceDone(lying=lying, look=look, shown=shown, picture=picture)


THIN_MM = 0.01
"""The outline is drawn by no more points than this needs."""
DRAFT_MOST_PX = 160_000
"""A draft has at most so many pixels, so that it follows the hand."""


def _window(patch: Patch, *, whole: bool) -> Window:
    from patternsim.pictures.bench import Window

    many = patch.width * patch.height
    part = 1.0 if whole or many <= DRAFT_MOST_PX / 4 else max(0.4, (DRAFT_MOST_PX / many) ** 0.5 / 2)
    return Window(
        left_mm=patch.left_mm,
        top_mm=patch.top_mm,
        pixels_per_mm=patch.pixels_per_mm * part,
        width=round(patch.width * part),
        height=round(patch.height * part),
        mirrored=patch.mirrored,
    )


def _runs(
    runs: tuple[tuple[int, int, float], ...], kept: NDArray[np.int64]
) -> tuple[tuple[int, int, float], ...]:
    """Return runs of the points of a line as runs of those that are kept of it."""
    last_one = len(kept) - 1
    return tuple(
        (int(kept.searchsorted(first)), min(int(kept.searchsorted(last)), last_one), lack)
        for first, last, lack in runs
    )


def _points(array: NDArray[np.float64]) -> Points:
    return tuple((float(x), float(y)) for x, y in array)


# --- the answers -------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JudgeGiven:
    """A worked job to be judged, and what the smith's press gives, kN."""

    result: Result
    press_limit_kn: float | None = None


def judge(given: JudgeGiven, progress: Progress) -> Answers:
    """Return the five answers of a worked job."""
    from patternsim.answers import answers

    return answers(given.result, progress, press_limit_kn=given.press_limit_kn)


# --- small pictures ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThumbsGiven:
    """Steps whose small sections are wanted; `known` holds those drawn already, by their result."""

    rows: tuple[StepResult, ...]
    known: Mapping[StepResult, Rgba] = field(default_factory=dict)


def draw_thumbs(given: ThumbsGiven, progress: Progress) -> dict[StepResult, Rgba]:
    """Draw the small sections after the steps."""
    from patternsim.pictures.bench import small_picture

    made: dict[StepResult, Rgba] = {}
    for k, row in enumerate(given.rows):
        progress.at(k / max(len(given.rows), 1), "drawing the small sections")
        if row in given.known:
            made[row] = given.known[row]
        elif row.outcome.pieces:
            stands = stands_on_end(given.rows, row)
            made[row] = small_picture(row.outcome.pieces[0], THUMB_PX, standing=stands)
    return made


def stands_on_end(rows: Sequence[StepResult], row: StepResult) -> bool:
    """Tell whether the piece stands on end after a step, as the steps of its bar leave it."""
    from patternsim.job import kind_of
    from patternsim.kinds import leaves_standing

    own = [one for one in rows if one.bar == row.bar]
    return leaves_standing([kind_of(one.step) for one in own[: own.index(row) + 1]])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StationsDone:
    """Sections of the blade, or of the bar where there is none."""

    stations: tuple[StationShown, ...]
    heading: str


def draw_stations(given: Lying, progress: Progress) -> StationsDone:
    """Draw the sections of the blade at its stations; without a blade, across the bar."""
    from patternsim.knife.placement import placed
    from patternsim.pictures.bench import piece_picture, station_picture

    made = []
    if given.spec is None:
        piece = given.piece
        for share in (0.1, 0.5, 0.9):
            progress.at(share, "drawing sections")
            at = share * piece.size[0]
            picture = piece_picture(piece, "section", STATION_PX_PER_MM, at=at)
            caption = f"at {at:.0f} mm"
            made.append(StationShown(picture=picture, caption=caption, size_mm=piece.size[1:]))
        return StationsDone(stations=tuple(made), heading="Sections of the bar, from the near end")
    blade = placed(given.spec, given.piece)
    for share in STATIONS:
        progress.at(share, "drawing sections")
        at = share * blade.outline.length_mm
        picture, size = station_picture(blade, at, STATION_PX_PER_MM, thick=STATION_THICK)
        caption = f"at {at:.0f} mm"
        made.append(StationShown(picture=picture, caption=caption, size_mm=size, thick=STATION_THICK))
    return StationsDone(stations=tuple(made), heading="Sections of the blade, from the heel")
