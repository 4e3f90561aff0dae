"""The steels a job may name: density and lightness after the etch."""

from __future__ import annotations

import difflib
import tomllib
from dataclasses import dataclass
from functools import lru_cache

from patternsim.data import resource
from patternsim.errors import JobError


@dataclass(frozen=True, slots=True, kw_only=True)
class Steel:
    """One steel.

    Attributes
    ----------
    name : str
    density : float, kg/mm3
    carbon : float, wt %
    lightness : float
        After the etch, 0 black to 1 white, as the eye sees.
    also : tuple of str
        Names of the same steel elsewhere; a job may use them too.
    """

    name: str
    density: float
    carbon: float
    lightness: float
    also: tuple[str, ...] = ()


@lru_cache(maxsize=1)
def steel_table() -> dict[str, Steel]:
    """Return the shipped steels by name."""
    rows = tomllib.loads(resource("steels.toml").read_text(encoding="utf-8"))
    return {
        name: Steel(
            name=name,
            density=float(row["density_g_cm3"]) * 1e-6,
            carbon=float(row["carbon_pct"]),
            lightness=float(row["lightness"]),
            also=tuple(row["also"]),
        )
        for name, row in rows.items()
    }


@lru_cache(maxsize=1)
def _by_any_name() -> dict[str, Steel]:
    table = steel_table()
    return {other: steel for steel in table.values() for other in steel.also} | table


def find_steel(name: str) -> Steel:
    """Return the steel called `name`, here or elsewhere.

    >>> find_steel("75Ni8").name
    '15N20'

    Raises
    ------
    JobError
        If there is no such steel; names one that is near, or those there are.
    """
    known = _by_any_name()
    if name in known:
        return known[name]
    said = name if name.isprintable() else name.encode("unicode_escape").decode("ascii")
    said = said if len(said) <= 40 else f"{said[:37]}..."
    close = {one.lower(): one for one in known}
    near = difflib.get_close_matches(name[:40].lower(), close, n=1, cutoff=0.6)
    remedy = f'did you mean "{close[near[0]]}"?' if near else f"use one of: {', '.join(steel_table())}"
    raise JobError(f'there is no steel "{said}"; {remedy}')
