"""Numbers by which links and the ends of walks are told apart in a laid-out field.

The compiled walk repeats them: a kept kernel would not notice a change made here. A test holds the two
together.
"""

from __future__ import annotations

AFFINE, PLANE, PICK, HALVE, CLIP, LEAF, TAPER, BEND, GAP, DOMAIN = range(10)
"""Kinds of links."""
OUTSIDE = -1
IN_GAP = -2
REACHED = -3
"""Where a walk ended, if not in a layer."""
