"""Files read at run time: steels, starting jobs, fonts."""

from __future__ import annotations

from importlib import resources
from importlib.resources.abc import Traversable

__all__ = ["resource"]


def resource(name: str) -> Traversable:
    """Return the shipped file `name` (a path below this folder, with forward slashes)."""
    return resources.files(__name__).joinpath(*name.split("/"))
