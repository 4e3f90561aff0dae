"""Words for numbers and codes; nothing is worked out here."""

from __future__ import annotations

PROFILE_WORDS = {"chef": "chef's knife", "hunter": "drop-point hunter", "dagger": "dagger"}
SIDE_WORDS = {"mark-side": "mark side", "off-side": "off side"}


def signed_spare(spare_mm: float) -> str:
    """Return a spare length in words: 'bar 45 mm longer than needed'."""
    if spare_mm < 0:
        return f"bar {-spare_mm:.0f} mm too short"
    return f"bar {spare_mm:.0f} mm longer than needed"
