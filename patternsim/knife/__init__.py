"""The blade: outline, ground surface, placing in the bar."""

from __future__ import annotations

__all__: list[str] = []
