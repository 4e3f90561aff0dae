"""Words for numbers and codes; nothing is worked out here."""

from __future__ import annotations

from collections.abc import Sequence

PROFILE_WORDS = {"chef": "chef's knife", "hunter": "drop-point hunter", "dagger": "dagger"}
SIDE_WORDS = {"mark-side": "mark side", "off-side": "off side"}


def counted(count: int, what: str) -> str:
    """Return a count in words.

    >>> counted(1, "heat"), counted(2, "heat")
    ('1 heat', '2 heats')
    """
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def lowered(title: str) -> str:
    """Return a title within a sentence.

    >>> lowered("Stack tall")
    'stack tall'
    """
    return title[:1].lower() + title[1:]


def told_mm(mm: float) -> str:
    """Return a length as a reason tells it: as exact as a smith can measure it.

    >>> told_mm(51.0), told_mm(12.345), told_mm(0.246)
    ('51 mm', '12.3 mm', '0.25 mm')
    """
    figures = f"{mm:.2f}" if abs(mm) < 0.995 else f"{mm:.1f}"
    return f"{figures.rstrip('0').rstrip('.')} mm"


def told_sizes(sizes: Sequence[float]) -> str:
    """Return sizes as a reason tells them.

    >>> told_sizes([864.0, 53.12, 2.0])
    '864 x 53.1 x 2 mm'
    """
    *others, last = (told_mm(size) for size in sizes)
    return " x ".join([*(one.removesuffix(" mm") for one in others), last])


def percent(share: float, decimals: int = 0) -> str:
    """Return a share in words.

    >>> percent(1.0), percent(0.0345, 1)
    ('100 %', '3.5 %')
    """
    return f"{100.0 * share:.{decimals}f} %"


def signed_spare(spare_mm: float) -> str:
    """Return a spare length in words: 'bar 45 mm longer than needed'."""
    if abs(spare_mm) < 0.05:
        return "bar just long enough"
    size = f"{abs(spare_mm):.0f}" if abs(spare_mm) >= 10.0 else f"{abs(spare_mm):.1f}"
    return f"bar {size} mm too short" if spare_mm < 0 else f"bar {size} mm longer than needed"


def spare_words(spare_mm: float) -> str:
    """Return a spare width or thickness in words.

    >>> spare_words(1.5), spare_words(-0.2), spare_words(-0.01)
    ('1.5 mm over', '0.2 mm too little', 'just enough')
    """
    if abs(spare_mm) < 0.05:
        return "just enough"
    return f"{spare_mm:.1f} mm over" if spare_mm > 0 else f"{-spare_mm:.1f} mm too little"


def told_kn(force: float) -> str:
    """Return a force as finely as it is known: 112.3 is '110', 47.6 is '48'."""
    step = 10.0 ** max(0, len(f"{abs(force):.0f}") - 2)
    return f"{round(force / step) * step:.0f}"


def force_words(likely: float, low: float | None = None, high: float | None = None) -> str:
    """Return a force, kN, with its range where that is known: 'about 110 kN (90 to 160)'."""
    said = f"about {told_kn(likely)} kN"
    return said if low is None or high is None else f"{said} ({told_kn(low)} to {told_kn(high)})"
