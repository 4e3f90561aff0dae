"""The steels a job may name: density and lightness after the etch."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache

from patternsim.data import resource
from patternsim.errors import JobError


@dataclass(frozen=True, slots=True, kw_only=True)
class Steel:
    """One steel: `density` kg/mm3; `lightness` after the etch, 0 black to 1 white, as the eye sees."""

    name: str
    density: float
    lightness: float


@lru_cache(maxsize=1)
def steel_table() -> dict[str, Steel]:
    """Return the shipped steels by name."""
    rows = tomllib.loads(resource("steels.toml").read_text(encoding="utf-8"))
    return {
        name: Steel(
            name=name,
            density=float(row["density_g_cm3"]) * 1e-6,
            lightness=float(row["lightness"]),
        )
        for name, row in rows.items()
    }


def find_steel(name: str) -> Steel:
    """Return the steel called `name`.

    Raises
    ------
    JobError
        If there is no such steel; lists those there are.
    """
    table = steel_table()
    if name not in table:
        known = ", ".join(table)
        raise JobError(f'no steel called "{name}" is known; use one of: {known}')
    return table[name]
