"""Working a job out: every bar, step by step, in an order in which joins find their bars ready."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from patternsim.errors import StepError, UsageError
from patternsim.forming import Losses
from patternsim.job import Blade, Job, forge_order, joined_bars
from patternsim.piece import Piece
from patternsim.press import Level, refuse_unoffered
from patternsim.progress import Progress, Silent
from patternsim.step import Context, Outcome, Step


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StepResult:
    """One step worked out.

    Attributes
    ----------
    bar : str
    step : Step
    outcome : Outcome
    """

    bar: str
    step: Step
    outcome: Outcome

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
        pieces = self.outcome.pieces
        density = self.mass_kg / self.volume_mm3 if pieces and self.volume_mm3 else 0.0
        return self.outcome.losses.total * density


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
            If the job has no blade, or the bar has no such piece.
        """
        blade = self.job.blade
        if blade is None:
            raise UsageError(
                'the job has no [blade]; add one, or ask for a section or the blank ("--what blank")'
            )
        return _piece_for(blade, self.bars[blade.bar])


def _piece_for(blade: Blade, pieces: tuple[Piece, ...]) -> Piece:
    if blade.piece > len(pieces):
        raise UsageError(
            f"the blade is to come from piece {blade.piece} of bar {blade.bar}, which ends with "
            f"{len(pieces)}"
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
    StepError
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
        for step in bar.step:
            watch.at(len(done) / total, f"{bar.name}: {step.title.lower()}")
            context = Context(shop=job.shop, level=level, bars=bars, progress=watch)
            outcome = _worked(step, pieces, context, bar.name)
            pieces = outcome.pieces
            done.append(StepResult(bar=bar.name, step=step, outcome=outcome))
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


def _worked(step: Step, pieces: tuple[Piece, ...], context: Context, bar: str) -> Outcome:
    if not pieces and step.__class__.__name__ not in ("Stack", "Join"):
        raise StepError(
            f"step {step.id} of bar {bar}: there is no steel yet; a bar begins with stack or join"
        )
    try:
        return step.work(pieces, context)
    except StepError as error:
        raise StepError(f"step {step.id} of bar {bar}: {_bare(str(error), step.id)}") from error


def _bare(text: str, step_id: str) -> str:
    """Take the step's own name off the front of its message: it is said once."""
    return text.removeprefix(f"{step_id}: ").removeprefix(f"{step_id}, ").removeprefix(f"{step_id} ")


def losses_of(result: Result) -> Losses:
    """Return all losses of a worked job together, mm3."""
    total = Losses()
    for row in result.steps:
        total += row.outcome.losses
    return total
