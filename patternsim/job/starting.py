"""The starting jobs shipped with the program."""

from __future__ import annotations

import tomllib

from patternsim.data import resource
from patternsim.errors import UsageError

NAMES = ("feather-from-w", "feather", "w-bar", "random")


def starting_job(name: str) -> str:
    """Return the text of the starting job `name`.

    Raises
    ------
    UsageError
        If there is none of that name.
    """
    if name not in NAMES:
        raise UsageError(f'there is no starting job "{name}"; there are: {", ".join(NAMES)}')
    return resource(f"jobs/{name}.toml").read_text(encoding="utf-8")


def starting_jobs() -> list[tuple[str, str]]:
    """Return the name and what each starting job shows."""
    return [(name, str(tomllib.loads(starting_job(name))["about"]).split("\n")[0]) for name in NAMES]
