"""Working a job out: every bar, step by step, in an order in which joins find their bars ready."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from patternsim.errors import StepError, UsageError
from patternsim.forming import Losses
from patternsim.job import FIRST_KINDS, Blade, Job, Way, WiringError, forge_order, joined_bars, kind_of
from patternsim.piece import Piece
from patternsim.press import Level, refuse_unoffered
from patternsim.progress import Progress, Silent
from patternsim.step import Context, Outcome, Step

MOST_PIECES = 500
"""More pieces than any bar is sawn into; keeps cuts of cuts from filling the memory."""


class StepRefused(StepError):
    """A step that cannot be worked, with its place in the job.

    Attributes
    ----------
    step, bar : str
        Id of the step, name of the bar.
    reason : str
        What stops it, without the place.
    way : tuple of str and int
        The way to the step in the job file.
    """

    def __init__(self, step: str, bar: str, reason: str, way: Way = ()) -> None:
        super().__init__(f"step {step} of bar {bar}: {reason}")
        self.step = step
        self.bar = bar
        self.reason = reason
        self.way = way


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StepResult:
    """One step worked out.

    Attributes
    ----------
    bar : str
    step : Step
    outcome : Outcome
    before_kg : float
        Mass of the pieces that went into the step.
    """

    bar: str
    step: Step
    outcome: Outcome
    before_kg: float

    @property
    def volume_mm3(self) -> float:
        """Volume of all pieces after the step."""
        return sum(piece.volume_mm3 for piece in self.outcome.pieces)

    @property
    def mass_kg(self) -> float:
        """Mass of all pieces after the step."""
        return sum(piece.mass_kg for piece in self.outcome.pieces)

    @property
    def lost_kg(self) -> float:
        """Mass taken off in the step, off-cuts apart."""
        if not self.outcome.losses.total:
            return 0.0
        aside = sum(piece.mass_kg for piece in self.outcome.offcuts)
        return self.before_kg - self.mass_kg - aside


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Result:
    """A job worked out.

    Attributes
    ----------
    job : Job
    level : Level
    steps : tuple of StepResult
        In the order they were worked.
    bars : mapping
        Pieces each bar ended with.
    """

    job: Job
    level: Level
    steps: tuple[StepResult, ...]
    bars: Mapping[str, tuple[Piece, ...]] = field(default_factory=dict)

    def after(self, step_id: str) -> StepResult:
        """Return the result of the step `step_id`.

        Raises
        ------
        UsageError
            If there is no such step.
        """
        for row in self.steps:
            if row.step.id == step_id:
                return row
        known = ", ".join(row.step.id for row in self.steps)
        raise UsageError(f'there is no step "{step_id}" in this job; the steps are: {known}')

    def blade_piece(self) -> Piece:
        """Return the piece the blade is cut from.

        Raises
        ------
        UsageError
            If the job has no blade.
        WiringError
            If the bar of the blade has no such piece.
        """
        blade = self.job.blade
        if blade is None:
            raise UsageError(
                'the job has no [blade]; add one, or ask for a section or the blank ("--what blank")'
            )
        return _piece_for(blade, self.bars[blade.bar])


def _piece_for(blade: Blade, pieces: tuple[Piece, ...]) -> Piece:
    if blade.piece > len(pieces):
        there = "1 piece" if len(pieces) == 1 else f"{len(pieces)} pieces"
        raise WiringError(
            f"the blade is to come from piece {blade.piece} of bar {blade.bar}, which ends with "
            f"{there}; give a piece that is there",
            ("blade", "piece"),
        )
    return pieces[blade.piece - 1]


def run(job: Job, level: Level | str = Level.QUICK, progress: Progress | None = None) -> Result:
    """Work out every step of `job`.

    Parameters
    ----------
    job : Job
    level : Level or str
        'quick' (closed forms); 'coarse' and 'fine' need the flow solver and are refused until it is
        there.
    progress : Progress, optional

    Raises
    ------
    StepRefused
        If a step cannot be worked; names the step, the bar and the number that stops it.
    LevelError
        If the level is not offered.
    Cancelled
        If `progress` asks for it.
    """
    level = _level(level)
    refuse_unoffered(level)
    watch = progress or Silent()
    total = sum(len(bar.step) for bar in job.bar)
    done: list[StepResult] = []
    bars: dict[str, tuple[Piece, ...]] = {}
    for k in forge_order(job):
        bar = job.bar[k]
        pieces: tuple[Piece, ...] = ()
        for place, step in enumerate(bar.step):
            watch.at(len(done) / total, f"{bar.name}: {step.title.lower()}")
            context = Context(shop=job.shop, level=level, bars=bars, progress=watch)
            outcome = _worked(step, pieces, context, bar.name, ("bar", k, "step", place))
            taken = [*pieces, *(piece for name in joined_bars(step) for piece in bars[name])]
            before = sum(piece.mass_kg for piece in taken)
            pieces = outcome.pieces
            done.append(StepResult(bar=bar.name, step=step, outcome=outcome, before_kg=before))
            for used in joined_bars(step):
                bars.pop(used)
        bars[bar.name] = pieces
    watch.at(1.0, "worked out")
    return Result(job=job, level=level, steps=tuple(done), bars=MappingProxyType(bars))


def _level(level: Level | str) -> Level:
    try:
        return Level(level)
    except ValueError as error:
        known = ", ".join(Level)
        raise UsageError(f'there is no level "{level}"; use one of: {known}') from error


def _worked(step: Step, pieces: tuple[Piece, ...], context: Context, bar: str, way: Way) -> Outcome:
    if not pieces and kind_of(step) not in FIRST_KINDS:
        raise StepRefused(step.id, bar, "there is no steel yet; begin with stack or join", way)
    try:
        outcome = step.work(pieces, context)
    except StepError as error:
        raise StepRefused(step.id, bar, _bare(str(error), step), way) from error
    if len(outcome.pieces) > MOST_PIECES:
        reason = f"{len(outcome.pieces)} pieces; a bar can be parted into {MOST_PIECES} at most"
        raise StepRefused(step.id, bar, reason, way)
    return outcome


def _bare(text: str, step: Step) -> str:
    """Take the step's own name off the front of its message: it is said once."""
    for name in (step.id, kind_of(step)):
        for sign in (": ", ", ", " "):
            if text.startswith(name + sign):
                return text.removeprefix(name + sign)
    return text


def losses_of(result: Result) -> Losses:
    """Return all losses of a worked job together, mm3."""
    total = Losses()
    for row in result.steps:
        total += row.outcome.losses
    return total
