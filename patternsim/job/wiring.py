"""How the bars of a job hang together: names, joins, the blade."""

from __future__ import annotations

from patternsim.errors import JobError
from patternsim.job.model import Job
from patternsim.step import Step


class WiringError(JobError):
    """A job whose parts name one another wrongly; `way` leads to the place in the file."""

    def __init__(self, text: str, way: tuple[str | int, ...]) -> None:
        super().__init__(text)
        self.way = way


def joined_bars(step: Step) -> tuple[str, ...]:
    """Return the bars a step uses up; none for most."""
    names = getattr(step, "bars", ())
    return tuple(names)


def check_wiring(job: Job) -> None:
    """Refuse a job whose names do not fit together.

    Raises
    ------
    WiringError
    """
    names: dict[str, int] = {}
    ids: set[str] = set()
    for k, bar in enumerate(job.bar):
        if bar.name in names:
            raise WiringError(
                f'two bars are called "{bar.name}"; give each its own name', ("bar", k, "name")
            )
        names[bar.name] = k
        for place, step in enumerate(bar.step):
            if step.id in ids:
                raise WiringError(
                    f'two steps have the id "{step.id}"; give each its own',
                    ("bar", k, "step", place, "id"),
                )
            ids.add(step.id)
    _check_joins(job, names)
    if job.blade is not None:
        used = {name for bar in job.bar for step in bar.step for name in joined_bars(step)}
        if job.blade.bar not in names:
            raise WiringError(
                f'the blade is to come from a bar "{job.blade.bar}", which does not exist; the bars '
                f"are: {', '.join(names)}",
                ("blade", "bar"),
            )
        if job.blade.bar in used:
            raise WiringError(
                f'the blade is to come from the bar "{job.blade.bar}", which a join uses up; name '
                "the bar that is left at the end",
                ("blade", "bar"),
            )


def _check_joins(job: Job, names: dict[str, int]) -> None:
    users: dict[str, str] = {}
    for k, bar in enumerate(job.bar):
        for place, step in enumerate(bar.step):
            way = ("bar", k, "step", place, "bars")
            for name in joined_bars(step):
                if name not in names:
                    raise WiringError(
                        f'there is no bar "{name}" to join; the bars are: {", ".join(names)}', way
                    )
                if name in users:
                    raise WiringError(
                        f'the bar "{name}" is used up twice, in {users[name]} and {step.id}; a bar '
                        "can be joined once",
                        way,
                    )
                users[name] = step.id
    forge_order(job)


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
            stuck = next(k for k in range(len(job.bar)) if k not in order)
            ring = ", ".join(job.bar[k].name for k in range(len(job.bar)) if k not in order)
            raise WiringError(
                f"the bars {ring} wait for one another; a bar cannot be joined into itself",
                ("bar", stuck),
            )
        order += ready
    return order
