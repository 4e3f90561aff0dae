"""From layers to light: sampling, tones, relief, finish."""

from __future__ import annotations

__all__: list[str] = []
