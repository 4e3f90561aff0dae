"""Working a job out: every bar, step by step, in an order in which joins find their bars ready.

As far as it can be worked: a step that is refused ends its own bar and those that wait for it. What an
earlier result holds already is taken over from it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from patternsim.errors import StepError, UsageError
from patternsim.forming import Losses
from patternsim.job import (
    FIRST_KINDS,
    Blade,
    Job,
    Way,
    WiringError,
    forge_order,
    joined_bars,
    kind_of,
    step_numbers,
)
from patternsim.piece import Piece
from patternsim.press import Level
from patternsim.progress import Part, Progress, Silent, Worded
from patternsim.standing_in import WEDGED, remembered
from patternsim.step import Context, Outcome, Step
from patternsim.wording import lowered

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
    """A job worked out, or as much of it as could be worked.

    Attributes
    ----------
    job : Job
    level : Level
    steps : tuple of StepResult
        In the order they were worked; skipped steps are not among them.
    bars : mapping
        Pieces each bar ended with; only bars that were finished and not used up in a join.
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
            If there is no such step, or it was not worked.
        """
        for row in self.steps:
            if row.step.id == step_id:
                return row
        found = self.job.find_step(step_id)
        if found is not None:
            why = "is skipped" if found[0].step[found[1]].skip else "could not be worked"
            raise UsageError(f'the step "{step_id}" {why}, so there is no piece after it; name another')
        known = ", ".join(row.step.id for row in self.steps)
        raise UsageError(f'there is no step "{step_id}" in this job; the steps are: {known}')

    def blade_piece(self) -> Piece:
        """Return the piece the blade is cut from.

        Raises
        ------
        UsageError
            If the job has no blade, or its bar was not finished.
        WiringError
            If the bar of the blade has no such piece.
        """
        blade = self.job.blade
        if blade is None:
            raise UsageError(
                'the job has no [blade]; add one, or ask for a section or the blank ("--what blank")'
            )
        if blade.bar not in self.bars:
            raise UsageError(self._unfinished(blade.bar))
        return _piece_for(blade, self.bars[blade.bar])

    def _unfinished(self, name: str) -> str:
        if all(step.skip for step in self.job.bar_named(name).step):
            why = "all its steps are skipped; use them again"
        else:
            why = "it was not finished; mend the step that cannot be worked"
        return f"the blade is to come from bar {name}, but {why}, or take the blade from another bar"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Worked:
    """A job worked as far as it can be.

    Attributes
    ----------
    result : Result
        What was worked.
    refused : StepRefused or None
        The first step that could not be worked; None where all of the job was.
    """

    result: Result
    refused: StepRefused | None


def _piece_for(blade: Blade, pieces: tuple[Piece, ...]) -> Piece:
    if blade.piece > len(pieces):
        there = "1 piece" if len(pieces) == 1 else f"{len(pieces)} pieces"
        raise WiringError(
            f"the blade is to come from piece {blade.piece} of bar {blade.bar}, which ends with "
            f"{there}; give a piece that is there",
            ("blade", "piece"),
        )
    return pieces[blade.piece - 1]


def run(job: Job, level: Level | str = Level.FINE, progress: Progress | None = None) -> Result:
    """Work out every step of `job`.

    Parameters
    ----------
    job : Job
    level : Level or str
        'quick' (closed forms), 'coarse' or 'fine' (the flow of the steel, worked out).
    progress : Progress, optional

    Raises
    ------
    StepRefused
        If a step cannot be worked; names the step, the bar and the number that stops it.
    Cancelled
        If `progress` asks for it.
    """
    worked = work_out(job, level, progress)
    if worked.refused is not None:
        raise worked.refused
    return worked.result


def work_out(
    job: Job,
    level: Level | str = Level.FINE,
    progress: Progress | None = None,
    *,
    before: Result | None = None,
    like: Result | None = None,
) -> Worked:
    """Work `job` out as far as it can be worked.

    Parameters
    ----------
    job : Job
    level : Level or str
        See `run`.
    progress : Progress, optional
        Told before every step and pass ('step 8 of 32: draw out, pass 3'); may raise `Cancelled`.
    before : Result, optional
        An earlier result, of this job or another: what has not changed is taken over from it.
    like : Result, optional
        A result of a finer level. At level quick the steps before the first change are taken over from
        it; behind, the flows of its steps, stretched to the sizes there are now, stand in for closed
        forms wherever a step has not changed.

    Raises
    ------
    Cancelled
        If `progress` asks for it.
    """
    level = _level(level)
    bench = _Bench(job, level, progress or Silent(), before, like)
    for k in forge_order(job):
        bench.work_bar(k)
    bench.progress.at(1.0, "worked out")
    result = Result(job=job, level=level, steps=tuple(bench.done), bars=MappingProxyType(bench.bars))
    return Worked(result=result, refused=bench.refused)


class _Bench:
    """A job while it is worked: what is done, the bars that lie ready, the first refusal."""

    def __init__(
        self,
        job: Job,
        level: Level,
        progress: Progress,
        before: Result | None,
        like: Result | None,
    ) -> None:
        self.job = job
        self.level = level
        self.progress = progress
        self.total = sum(not step.skip for bar in job.bar for step in bar.step)
        self.done: list[StepResult] = []
        self.bars: dict[str, tuple[Piece, ...]] = {}
        self.refused: StepRefused | None = None
        self._numbers = step_numbers(job)
        self._known: dict[str, list[StepResult]] = {}
        if level is not Level.QUICK:
            like = None
        told = () if like is None else ((row.step, row.outcome.remembered) for row in like.steps)
        self._like = remembered(job, told)
        if like is not None and like.job.shop == job.shop:
            self._know(like, upto=WEDGED)
        elif before is not None and before.level == level and before.job.shop == job.shop:
            self._know(before)

    def _know(self, earlier: Result, upto: tuple[str, ...] = ()) -> None:
        """Keep an earlier result's rows; of kinds `upto` only those whose answer may stand in."""
        ended = set()
        for row in earlier.steps:
            if kind_of(row.step) in upto and row.step.id not in self._like:
                ended.add(row.bar)  # closed forms go another way from here on
            if row.bar not in ended:
                self._known.setdefault(row.bar, []).append(row)

    def work_bar(self, k: int) -> None:
        """Work the bar at place `k` of the job; it lies ready afterwards, unless a step is refused."""
        bar = self.job.bar[k]
        pieces: tuple[Piece, ...] = ()
        known: list[StepResult] = list(self._known.get(bar.name, ()))
        for place, step in enumerate(bar.step):
            if step.skip:
                continue
            self.progress.at(len(self.done) / self.total, self._at_step(step))
            row = self._taken_over(step, known.pop(0)) if known else None
            if row is None:
                # From here on the pieces are others than they were.
                known = []
                try:
                    row = self._worked(step, pieces, bar.name, ("bar", k, "step", place))
                except StepRefused as refusal:
                    self.refused = self.refused or refusal
                    return
            if row is None:
                return
            pieces = row.outcome.pieces
            self.done.append(row)
            for used in joined_bars(step):
                self.bars.pop(used)
        if pieces:
            self.bars[bar.name] = pieces

    def _taken_over(self, step: Step, row: StepResult) -> StepResult | None:
        """Return an earlier result of `step` on the same pieces; None if the step or a join differs."""
        if step != row.step:
            if step.model_copy(update={"stage": row.step.stage}) != row.step:
                return None
            row = replace(row, step=step)  # a heading of the card touches no steel
        for name in joined_bars(step):
            rows = self._known.get(name)
            if rows is None or rows[-1].outcome.pieces is not self.bars.get(name):
                return None
        return row

    def _worked(self, step: Step, pieces: tuple[Piece, ...], bar: str, way: Way) -> StepResult | None:
        """Return the step worked on `pieces`; None where a bar it joins was stopped by a refusal."""
        taken = [*pieces]
        for name in joined_bars(step):
            if name not in self.bars:
                if all(one.skip for one in self.job.bar_named(name).step):
                    reason = (
                        f"there is no steel in bar {name}: all its steps are skipped; use them again"
                    )
                    raise StepRefused(step.id, bar, reason, way)
                return None
            taken += self.bars[name]
        done = len(self.done) / self.total
        context = Context(
            shop=self.job.shop,
            level=self.level,
            bars=self.bars,
            progress=Worded(Part(self.progress, done, 1.0 / self.total), self._in_step(step)),
            like=self._like,
        )
        outcome = _outcome(step, pieces, context, bar, way)
        before = sum(piece.mass_kg for piece in taken)
        return StepResult(bar=bar, step=step, outcome=outcome, before_kg=before)

    def _in_step(self, step: Step) -> Callable[[str], str]:
        name = self._at_step(step)
        return lambda text: f"{name}, {text}" if text else name

    def _at_step(self, step: Step) -> str:
        return f"step {self._numbers[step.id]} of {len(self._numbers)}: {lowered(step.title)}"


def _level(level: Level | str) -> Level:
    try:
        return Level(level)
    except ValueError as error:
        known = ", ".join(Level)
        raise UsageError(f'there is no level "{level}"; use one of: {known}') from error


def _outcome(step: Step, pieces: tuple[Piece, ...], context: Context, bar: str, way: Way) -> Outcome:
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
