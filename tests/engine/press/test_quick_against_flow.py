"""Closed forms against the flow of this program: what the figures beside their constants say.

A regression: both make the same assumptions. What the flow is worth stands in the tests of the flow.
"""

import numpy as np
import pytest
from scipy.ndimage import map_coordinates
from skimage.measure import points_in_poly

from patternsim.press import Level, Pass, PressProblem, Squeeze, press
from patternsim.press.quick import press_flow
from patternsim.section import flattened


def squeezed(aspect, friction, down):
    """Return points after a squeeze and where the flow and the closed form say they were; width 1."""
    width, height = 1.0, 1.0 / aspect
    to = height * (1.0 - down)
    answer = press(
        PressProblem(
            width=width, height=height, passes=(), friction=friction,
            goal=Squeeze(to=to, sideways=1.0, bite=1.0),
        ),
        Level.FINE,
    )  # fmt: skip
    final = np.array([width / (1.0 - down), to])
    places = (np.arange(40) + 0.5) / 40 - 0.5
    after = np.stack([g.ravel() for g in np.meshgrid(places, places)], axis=1) * final
    after = after[points_in_poly(after, flattened(answer.outline))]
    at = answer.grid.knot_coordinates(after).T
    moved = [
        map_coordinates(answer.grid.coefs[..., axis].astype(float), at, order=3, prefilter=False)
        for axis in (0, 1)
    ]
    flow = after + np.stack(moved, axis=1)
    half = np.array([width, height]) / 2
    steel = (np.abs(flow) <= half).all(axis=1)
    one = Pass(across=width, along=height, height=to, sideways=1.0, turned=False)
    closed = press_flow(
        [(one.across, one.along, one.height, one.sideways, one.turned)],
        friction=friction, corners=0.0, half=half,
    )  # fmt: skip
    even = after * (half / (final / 2))
    return flow[steel], closed(even[steel]), even[steel]


def rms(off):
    return float(np.sqrt((off**2).sum(axis=1).mean()))


# (width over height, friction): rms off the flow over the width before, at 30 and 50 % down; some 5 %
# above what was measured.
OFF = {
    (0.5, 0.2): (0.028, 0.037), (0.5, 1.0): (0.033, 0.046),
    (0.7, 0.2): (0.013, 0.024), (0.7, 1.0): (0.024, 0.036),
    (1.0, 0.2): (0.006, 0.014), (1.0, 1.0): (0.018, 0.025),
    (2.0, 0.2): (0.004, 0.008), (2.0, 1.0): (0.010, 0.018),
}  # fmt: skip


@pytest.mark.parametrize("run", OFF, ids=str)
def test_a_squeeze_by_closed_forms(run):
    for down, most in zip((0.30, 0.50), OFF[run], strict=True):
        flow, closed, even = squeezed(*run, down)
        assert rms(closed - flow) < most
        assert rms(closed - flow) < 0.85 * rms(even - flow)
