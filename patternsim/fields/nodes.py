"""The links of a field: each leads from a point after a step to the point before it.

A field is a tree of links down to stacked bars. A deformation is never applied to a picture: a
point asks its way back, link by link, until it stands in a layer of the stack. Links hold numbers
only; `program` lays them out flat and `kernel` walks them.

Frames are right-handed: x along the piece, y across, z through the thickness, mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from patternsim.fields.grid import Grid

Floats = NDArray[np.float64]
Limits = tuple[float, float]

PLANES: dict[str, tuple[int, int]] = {"yz": (1, 2), "xy": (0, 1), "xz": (0, 2)}
"""Working planes by name, and the two axes each spans."""


def _frozen(values: object) -> Floats:
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


class Node:
    """A link. Compared by identity: two equal-looking links may carry different steel."""

    __slots__ = ()

    def children(self) -> tuple[Node, ...]:
        """Return the links a point may go on to."""
        return ()


class Leaf(Node):
    """A stack of flat layers, normal to z: where a walk ends.

    Parameters
    ----------
    name : str
        What the stack is called on screen.
    thicknesses : (n,) float, mm
        Of each layer, from the lowest z up. The stack is centred on z = 0.
    steels : (n,) str
        The steel of each layer.
    length, width : float, mm
        Size along x (from 0) and across y (centred).
    """

    __slots__ = ("edges", "length", "name", "steels", "width")

    def __init__(
        self,
        name: str,
        *,
        thicknesses: Floats,
        steels: tuple[str, ...],
        length: float,
        width: float,
    ) -> None:
        edges = np.concatenate([[0.0], np.cumsum(thicknesses)])
        self.name = name
        self.edges = _frozen(edges - edges[-1] / 2)
        self.steels = steels
        self.length = length
        self.width = width


class Affine(Node):
    """A turn, shift, scale or shear: before = matrix @ after + shift."""

    __slots__ = ("child", "matrix", "shift")

    def __init__(self, child: Node, *, matrix: object, shift: object) -> None:
        self.child = child
        self.matrix = _frozen(matrix)
        self.shift = _frozen(shift)

    def children(self) -> tuple[Node, ...]:
        """Return the one link before."""
        return (self.child,)


class PlaneMap(Node):
    """A sampled flow in one plane: the two coordinates of the plane move, the third stays.

    Parameters
    ----------
    child : Node
        The link before.
    plane : str
        'yz', 'xy' or 'xz'.
    grid : Grid
        Displacement before minus after, mm, as cubic B-spline coefficients.
    within : ((low, high), (low, high)) mm
        Where the steel lay before, along the two axes of the plane: what samples beside the skin put
        a hair beyond comes out on it. Everywhere where left out.
    """

    __slots__ = ("child", "grid", "plane", "within")

    def __init__(
        self, child: Node, *, plane: str, grid: Grid, within: tuple[Limits, Limits] | None = None
    ) -> None:
        self.child = child
        self.plane = plane
        self.grid = grid
        self.within = within or ((-np.inf, np.inf), (-np.inf, np.inf))

    def children(self) -> tuple[Node, ...]:
        """Return the one link before."""
        return (self.child,)


class Pick(Node):
    """Pieces side by side along one axis: a point goes to the piece it lies in.

    Parameters
    ----------
    axis : int
        0, 1 or 2.
    borders : (k + 1,) float, mm
        Ascending; piece i lies between borders i and i + 1. Beyond the ends is outside.
    pieces : tuple of k Node
    """

    __slots__ = ("axis", "borders", "pieces")

    def __init__(self, *, axis: int, borders: object, pieces: tuple[Node, ...]) -> None:
        self.axis = axis
        self.borders = _frozen(borders)
        self.pieces = pieces

    def children(self) -> tuple[Node, ...]:
        """Return the pieces."""
        return self.pieces


class Halve(Node):
    """Two halves on either side of a cut plane: normal @ p < at is `low`, else `high`."""

    __slots__ = ("at", "high", "low", "normal")

    def __init__(self, *, normal: object, at: float, low: Node, high: Node) -> None:
        self.normal = _frozen(normal)
        self.at = float(at)
        self.low = low
        self.high = high

    def children(self) -> tuple[Node, ...]:
        """Return the two halves, low first."""
        return (self.low, self.high)


class Clip(Node):
    """The limits of a solid: a point beyond them is outside the steel."""

    __slots__ = ("child", "high", "low")

    def __init__(self, child: Node, *, low: object, high: object) -> None:
        self.child = child
        self.low = _frozen(low)
        self.high = _frozen(high)

    def children(self) -> tuple[Node, ...]:
        """Return the one link before."""
        return (self.child,)


class Domain(Node):
    """The outline of a solid that is the same along one axis: a point beyond it is outside the steel.

    Parameters
    ----------
    child : Node
    plane : str
        'yz', 'xy' or 'xz'.
    polygon : (n, 2) float64, mm
        Over the two axes of the plane; closed by itself, not crossing itself.
    gap : bool
        What lies beyond is a gap between pieces, not the outside of the solid.
    """

    __slots__ = ("child", "gap", "laid", "plane", "polygon")

    def __init__(self, child: Node, *, plane: str, polygon: object, gap: bool = False) -> None:
        self.laid: Any = None
        """What `program` works out of the polygon, once."""
        self.child = child
        self.plane = plane
        self.polygon = _frozen(polygon)
        self.gap = gap

    def children(self) -> tuple[Node, ...]:
        """Return the one link before."""
        return (self.child,)


class Taper(Node):
    """A change of section along x that keeps volume: x-dependent scales of y and z.

    Before: X = reach(x), Y = (y - lift(x)) / across(x), Z = z / through(x), with
    reach' = across * through, so that the determinant is one.

    Parameters
    ----------
    child : Node
    step : float, mm
        Spacing of the table along x, from x = 0.
    table : (n, 4) float
        Columns reach (mm), across, through (ratios), lift (mm).
    """

    __slots__ = ("child", "step", "table")

    def __init__(self, child: Node, *, step: float, table: object) -> None:
        self.child = child
        self.step = float(step)
        self.table = _frozen(table)

    def children(self) -> tuple[Node, ...]:
        """Return the one link before."""
        return (self.child,)


class Bend(Node):
    """A bend in the face (xy) along a middle line whose curvature may change, keeping area.

    With s the length along the middle line and n the distance from it to the left, before is X = s,
    Y = n - k(s) n^2 / 2: the determinant is 1 - k n over 1 - k n, one, whatever the curvature k does.
    Beyond both ends the bar goes on straight.

    Parameters
    ----------
    child : Node
    step : float, mm
        Spacing of the table along the middle line, from X = 0.
    table : (n, 4) float
        Columns x, y (mm), heading (rad), curvature (1/mm), positive towards +y. It may turn by at
        most a quarter in all, or a point would have two ways back.
    """

    __slots__ = ("child", "step", "table")

    def __init__(self, child: Node, *, step: float, table: object) -> None:
        self.child = child
        self.step = float(step)
        self.table = _frozen(table)

    def children(self) -> tuple[Node, ...]:
        """Return the one link before."""
        return (self.child,)


class Gap(Node):
    """Room between pieces that holds no steel."""

    __slots__ = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Rigid:
    """A re-lay of steel: before = rotation @ after + shift, determinant +1."""

    rotation: tuple[tuple[int, int, int], tuple[int, int, int], tuple[int, int, int]]
    shift: tuple[float, float, float]

    def link(self, child: Node) -> Affine:
        """Return the link that leads through this re-lay to `child`."""
        return Affine(child, matrix=self.rotation, shift=self.shift)


def moved(child: Node, *, by: tuple[float, float, float]) -> Affine:
    """Return a link whose point before is the point after plus `by` (mm)."""
    return Affine(child, matrix=np.eye(3), shift=by)


def scaled(child: Node, *, ratios: tuple[float, float, float]) -> Affine:
    """Return a link whose point before is the point after times `ratios`, axis by axis."""
    return Affine(child, matrix=np.diag(ratios), shift=(0.0, 0.0, 0.0))
