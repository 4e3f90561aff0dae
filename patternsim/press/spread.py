"""How a squeeze shares between width and length."""

from __future__ import annotations


def spread_exponent(bite_over_width: float) -> float:
    """Return S of w1/w0 = (h0/h1)^S for a bite of `bite_over_width` widths.

    Tomlinson and Stringer, J. Iron Steel Inst. 193 (1959) 157: S = 0.14 + 0.36 r - 0.054 r^2 for hot
    mild steel between flat tools, r about 0.3 to 2 (here 0.25 to 2; beyond, the border value is kept).
    The coefficients are as public press-control codes give them; the paper itself was not seen.
    """
    r = min(max(bite_over_width, 0.25), 2.0)
    return 0.14 + 0.36 * r - 0.054 * r * r


def spread_width(width: float, *, height: float, to: float, bite: float) -> float:
    """Return the width after a squeeze from `height` to `to` with bites of `bite` (all mm)."""
    return float(width * (height / to) ** spread_exponent(bite / width))
