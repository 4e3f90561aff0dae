"""What a press tells besides where the steel went."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MEDIAN_OF = 5
"""Steps whose median is a steady force: nodes that meet or leave a tool scatter single steps."""


@dataclass(frozen=True, slots=True)
class Worst:
    """A largest value and where it is: `at` in the section as it lies at the end of the press."""

    value: float
    at: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Report:
    """What happened during a press.

    Attributes
    ----------
    reason : str
        Which stop ended it.
    steps, corrections, unsettled, remeshes : int
        Steps; Newton corrections in all; steps whose corrections did not die out; meshes after the
        first.
    most_nodes : int
    drift, repaired : float
        Relative change of volume by the steps themselves; what was put back or taken off at remeshing,
        both
        summed without sign.
    stroke : (s,)
        Travel at the end of each step.
    force : dict of str to (s,)
        Force on each tool per unit length of bar against its way (its whole size if it stands), the
        median
        of some steps; of the part worked out, where symmetry leaves the rest out.
    side : dict of str to (s,)
        Its x component, signed; what pushes a tool off its line.
    width : dict of str to (s,)
        Extent of each tool's contact.
    stretch : float
        Length after over length before.
    damage : Worst
        Largest normalised Cockcroft-Latham sum (Cockcroft and Latham 1968; Oh, Chen and Kobayashi
        1979): the
        integral of the largest tensile stress over flow stress, over equivalent strain.
    strain : (low, mean, high)
        Equivalent strain over the section.
    bow : dict of str to float
        Largest sideways distance of each followed line from the straight line between its ends.
    tension : dict of str to Worst
        Largest tensile stress across each followed line at any time, over the flow stress.
    """

    reason: str
    steps: int
    corrections: int
    unsettled: int
    remeshes: int
    most_nodes: int
    drift: float
    repaired: float
    stroke: Floats
    force: dict[str, Floats]
    side: dict[str, Floats]
    width: dict[str, Floats]
    stretch: float
    damage: Worst
    strain: tuple[float, float, float]
    bow: dict[str, float] = field(default_factory=dict)
    tension: dict[str, Worst] = field(default_factory=dict)

    def peak(self, tool: str) -> float:
        """Return the largest steady force on a tool."""
        return float(self.force[tool].max(initial=0.0))


def steady(values: Floats) -> Floats:
    """Return the running median of `MEDIAN_OF` values, of fewer at the ends."""
    half = MEDIAN_OF // 2
    count = len(values)
    return np.array(
        [np.median(values[max(0, i - half) : min(count, i + half + 1)]) for i in range(count)]
    )
