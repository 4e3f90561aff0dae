"""How the parts of a job hang together: names, first steps, steels, joins, the blade.

A skipped step is not worked, so it brings no steel and uses up no bar: of it only the id counts.
What stands on it all the same, such as a step with no steel before it, is refused when worked.
"""

from __future__ import annotations

from patternsim.errors import JobError
from patternsim.job.faults import shown
from patternsim.job.model import Bar, Job
from patternsim.steels import find_steel
from patternsim.step import Step

FIRST_KINDS = ("stack", "join")
"""Kinds a bar may begin with: they bring steel of their own."""


class WiringError(JobError):
    """A job whose parts name one another wrongly; `way` leads to the place in the file."""

    def __init__(self, text: str, way: tuple[str | int, ...]) -> None:
        super().__init__(text)
        self.way = way


def kind_of(step: Step) -> str:
    """Return the kind of a step as a job file names it."""
    return str(type(step).model_fields["kind"].default)


def joined_bars(step: Step) -> tuple[str, ...]:
    """Return the bars a step uses up; none for most, nor for a skipped one."""
    if step.skip or "bars" not in type(step).model_fields:
        return ()
    return tuple(step.bars)  # type: ignore[attr-defined]


def check_wiring(job: Job) -> None:
    """Refuse a job whose parts do not fit together.

    Raises
    ------
    WiringError
    """
    bars: dict[str, int] = {}
    ids: dict[str, str] = {}
    for k, bar in enumerate(job.bar):
        if bar.name in bars:
            raise WiringError(
                f"two bars are called {shown(bar.name)}; give each its own name", ("bar", k, "name")
            )
        bars[bar.name] = k
        for place, step in enumerate(bar.step):
            if step.id in ids:
                where = "" if ids[step.id] == bar.name else f" (the first in bar {ids[step.id]})"
                raise WiringError(
                    f'two steps have the id "{step.id}"{where}; give each its own',
                    ("bar", k, "step", place, "id"),
                )
            ids[step.id] = bar.name
    for k, bar in enumerate(job.bar):
        _check_steel(bar, k)
    _check_joins(job, bars)
    forge_order(job)
    _check_blade(job, bars)


def _check_steel(bar: Bar, k: int) -> None:
    """See that the bar has steel to begin with, and steel that is known."""
    begun = False
    for place, step in enumerate(bar.step):
        if step.skip:
            continue
        way = ("bar", k, "step", place)
        kind = kind_of(step)
        if place == 0 and kind not in FIRST_KINDS:
            raise WiringError(
                f'"{kind}" cannot begin a bar, for there is no steel yet; begin with stack or join',
                (*way, "kind"),
            )
        before, begun = begun, begun or kind in FIRST_KINDS
        if kind != "stack":
            continue
        if before:
            raise WiringError(
                "there is steel already; a stack is the first step of a bar, so begin another bar "
                "and join the two",
                (*way, "kind"),
            )
        strips = getattr(step, "strips", ())
        if not strips:
            raise WiringError("no strips are given; name at least one steel and its thickness",
                              (*way, "strips"))  # fmt: skip
        for number, strip in enumerate(strips):
            try:
                find_steel(strip.steel)
            except JobError as error:
                raise WiringError(str(error), (*way, "strips", number, "steel")) from None


def _check_joins(job: Job, bars: dict[str, int]) -> None:
    users: dict[str, str] = {}
    for k, bar in enumerate(job.bar):
        for place, step in enumerate(bar.step):
            for number, name in enumerate(joined_bars(step)):
                way = ("bar", k, "step", place, "bars", number)
                if name not in bars:
                    raise WiringError(
                        f"there is no bar {shown(name)} to join; the bars are: {_listed(bars)}", way
                    )
                if name == bar.name:
                    raise WiringError(
                        f"the bar {shown(name)} cannot be joined to itself; name another bar", way
                    )
                if name in users:
                    where = "here" if users[name] == step.id else f"in step {users[name]}"
                    raise WiringError(
                        f"the bar {shown(name)} is used up {where} already; a bar can be joined once",
                        way,
                    )
                users[name] = step.id


def _check_blade(job: Job, bars: dict[str, int]) -> None:
    if job.blade is None:
        return
    name = job.blade.bar
    if name not in bars:
        raise WiringError(
            f"the blade is to come from a bar {shown(name)}, which does not exist; the bars are: "
            f"{_listed(bars)}",
            ("blade", "bar"),
        )
    if any(name in joined_bars(step) for bar in job.bar for step in bar.step):
        raise WiringError(
            f"the blade is to come from the bar {shown(name)}, which a join uses up; name the bar "
            "that is left at the end",
            ("blade", "bar"),
        )


def _listed(names: dict[str, int]) -> str:
    """Return the names in a row; of a great many the first."""
    row = [shown(name)[1:-1] for name in names]
    return ", ".join(row[:8]) + (" and more" if len(row) > 8 else "")


def forge_order(job: Job) -> list[int]:
    """Return the places of the bars in an order in which every join finds its bars ready.

    Raises
    ------
    WiringError
        If bars wait for one another in a ring.
    """
    names = {bar.name: k for k, bar in enumerate(job.bar)}
    needs = [{names[name] for step in bar.step for name in joined_bars(step)} for bar in job.bar]
    order: list[int] = []
    while len(order) < len(job.bar):
        ready = [k for k in range(len(job.bar)) if k not in order and needs[k] <= set(order)]
        if not ready:
            stuck = _in_ring(needs, next(k for k in range(len(job.bar)) if k not in order))
            ring = _listed({job.bar[k].name: k for k in sorted(stuck)})
            first = min(stuck)
            place = next(n for n, step in enumerate(job.bar[first].step) if joined_bars(step))
            raise WiringError(
                f"the bars {ring} wait for one another; take one of them out of a join",
                ("bar", first, "step", place, "bars"),
            )
        order += ready
    return order


def step_numbers(job: Job) -> dict[str, int]:
    """Return the numbers of the steps by their ids: their places in forge order, from 1.

    Raises
    ------
    WiringError
        If bars wait for one another in a ring.
    """
    ids = [step.id for k in forge_order(job) for step in job.bar[k].step]
    return {name: k for k, name in enumerate(ids, start=1)}


def _in_ring(needs: list[set[int]], start: int) -> list[int]:
    """Return the bars of the ring that is met on the way from `start` to what it waits for."""
    walked = [start]
    done: set[int] = set()
    while True:
        waiting = [k for k in needs[walked[-1]] if k not in done]
        if not waiting:  # ready in itself: the ring lies elsewhere
            done.add(walked.pop())
            continue
        nearest = min(waiting)
        if nearest in walked:
            return walked[walked.index(nearest) :]
        walked.append(nearest)
