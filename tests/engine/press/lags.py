"""How far a layer lags behind its edge in a split pressed shut: measured on the shut half."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import map_coordinates

from patternsim.press.asked import Level
from patternsim.press.parting import parted, shut
from patternsim.section import as_curve
from patternsim.wedge import Wedge

SHUT = 0.94
"""The halves are closed to this share of the width."""
WEB = 0.16
"""The nose stops this far above the base, over the width."""
LONG, WIDE = 4.0, 1.09
"""Draws after the split: angles are measured on the drawn bar."""
LAGS_AT, ANGLES_AT = (0.1, 0.2, 0.3), (0.125, 0.225, 0.325, 0.42)
"""Distances from the cut, over the width of the block."""
BELOW = 0.7
"""How far below the top the layer's edge lies, over the width of the block."""
INSIDE = 0.003
"""Where the edge of a layer is taken: this far within the outer side, over the width."""


@dataclass(frozen=True)
class Lags:
    """Lags over the width, angles in degrees to the cut after the draw, the notch over the width."""

    lags: np.ndarray
    angles: np.ndarray
    notch: float

    def off(self, lags, angles, notch):
        """Return how far every number is from a table's, as shares of the table's."""
        found = np.concatenate([self.lags, self.angles, [self.notch]])
        return found / np.array([*lags, *angles, notch]) - 1.0


def block(tall, included, nose, friction, *, leave=WEB, floor=0.6):
    """Return what is asked of a wedge on a block one wide and `tall` high."""
    half = as_curve(np.array([[0.0, 0.0], [0.5, 0.0], [0.5, tall], [0.0, tall]]))
    return Wedge(
        low=half, high=half, width=1.0, leave=leave, included_deg=included, nose_mm=nose,
        friction=friction, floor=floor,
    )  # fmt: skip


def shut_half(wedge, level, *, to=SHUT):
    """Return one half of a split worked out and pressed shut."""
    parted(wedge, Level(level))
    return shut(wedge, to, Level(level)).low


def before(half, points):
    """Return where points (n, 2) (distance, height) of a shut half were before the wedge."""
    at = half.grid.knot_coordinates(points[:, ::-1]).T
    moved = [
        map_coordinates(half.grid.coefs[..., axis].astype(float), at, order=3, prefilter=False)
        for axis in (1, 0)
    ]
    return points + np.stack(moved, axis=1)


def heights(half, layer, places, low, high):
    """Return how high the layer that stood at `layer` lies at each distance from the cut."""
    room = np.linspace(low, high, 1601)
    found = []
    for place in places:
        over = before(half, np.stack([np.full_like(room, place), room], axis=1))[:, 1] - layer
        k = np.flatnonzero((over[:-1] < 0.0) & (over[1:] >= 0.0))[-1]
        found.append(room[k] - over[k] * (room[k + 1] - room[k]) / (over[k + 1] - over[k]))
    return np.array(found)


def measured(half, tall, *, to=SHUT):
    """Return the lags of the layer whose edge lies `BELOW` the top.

    The top is where it would lie had the half been drawn up evenly: the true one is ragged.
    """
    edge = tall / to - BELOW
    layer = before(half, np.array([[to / 2 - INSIDE, edge]]))[0, 1]

    def lag(places):
        return edge - heights(half, layer, places, edge - 0.9, edge + 0.05)

    near = 0.0125
    slopes = [(lag([x - near]) - lag([x + near]))[0] / (2 * near) for x in ANGLES_AT]
    top = half.outline[:, 1].max()
    on_cut = half.outline[half.outline[:, 0] < 0.004, 1].max()
    return Lags(
        lags=lag(LAGS_AT),
        angles=np.degrees(np.arctan2(WIDE, LONG * np.array(slopes))),
        notch=float(top - on_cut),
    )


TALL = 1.65
TABLE = {
    (35.0, 0.05, 0.8): ((0.102, 0.049, 0.017), (24.0, 37.0, 53.0, 87.0), 0.10),
    (45.0, 0.08, 0.8): ((0.133, 0.063, 0.023), (19.0, 31.0, 46.0, 81.0), 0.14),
    (60.0, 0.10, 0.5): ((0.163, 0.073, 0.022), (15.0, 25.0, 44.0, 90.0), 0.19),
    (60.0, 0.10, 0.9): ((0.255, 0.126, 0.054), (10.0, 19.0, 28.0, 49.0), 0.21),
}
"""(included, nose over the width, friction): lags at 0.1, 0.2, 0.3 widths; angles at 0.125, 0.225,
0.325, 0.42 widths; notch over the width. From plane finite-element splits by an earlier solver that
shares no code with this one but makes the same assumptions (rate exponent 0.15, a rigid wedge, plane
strain): a regression; no measurement of real steel is behind it."""
WITHIN = 0.20
