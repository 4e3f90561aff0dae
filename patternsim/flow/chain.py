"""Back from a place after the flow to the same steel before it.

Between two remeshes every triangle is its own map: a place keeps its local coordinates. Carried through
all of them, last to first, nothing is blended anew and nothing is lost; a map kept on the points of one
mesh and taken over at each remesh shows hooks that are not there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.boundary import fine
from patternsim.flow.compiled import enclosing, finding
from patternsim.flow.finding import Bools, Finder, as_points
from patternsim.flow.folding import Fold, unfolded_outline
from patternsim.flow.mesh import Floats, Ints, Mesh

REACH = 0.3
"""How far out of the steel the map is drawn on, in edges of the outline there."""
INWARDS = 1 / 3
"""How far in, in edges, the second place lies that the map is drawn on from."""


@dataclass(frozen=True, slots=True, eq=False)
class Segment:
    """The flow between two remeshes: the points of one mesh at its start and at its end."""

    triangles: Ints
    start: Floats
    end: Floats
    vertices: int
    loop: Ints

    def mesh(self) -> Mesh:
        """The mesh at the end."""
        return Mesh(np.ascontiguousarray(self.end), self.triangles, self.vertices, self.loop)


class _Carrier:
    """One segment made ready: places at its end in, places at its start out."""

    __slots__ = ("finder", "starts")

    def __init__(self, segment: Segment) -> None:
        self.finder = Finder(segment.mesh())
        self.starts: Floats = finding.polynomials(np.ascontiguousarray(segment.start), segment.triangles)

    def carry(self, points: Floats, slopes: Floats) -> None:
        """Carry places, and the slopes of the map so far, in place."""
        finding.carried(points, slopes, self.finder.plan, self.starts)


@dataclass(frozen=True, slots=True, eq=False)
class _Stretch:
    """The segments of one flow, with the mirrors of the section it was solved on."""

    segments: tuple[Segment, ...]
    carriers: tuple[_Carrier, ...]
    fold: Fold

    @classmethod
    def of(cls, segments: Sequence[Segment], mirror_x: float | None, mirror_y: float | None) -> _Stretch:
        """Make segments ready."""
        kept = tuple(segments)
        # The side that was solved shows in any of the meshes; the last is the one asked.
        fold = Fold.of(kept[-1].end, mirror_x, mirror_y)
        return cls(kept, tuple(_Carrier(segment) for segment in kept), fold)

    def carry(self, points: Floats, slopes: Floats) -> None:
        """Carry places of the folded section to the start, in place."""
        for carrier in reversed(self.carriers):
            carrier.carry(points, slopes)


class Chain:
    """The backward map of one flow, or of several one after another (`joined`)."""

    def __init__(
        self, segments: Sequence[Segment], mirror_x: float | None = None, mirror_y: float | None = None
    ) -> None:
        """`mirror_x`, `mirror_y`: where the upright or level line lies that mirrors the solved part."""
        if not segments:
            raise ValueError("a chain needs at least one segment")
        self._stretches: tuple[_Stretch, ...] = (_Stretch.of(segments, mirror_x, mirror_y),)

    @classmethod
    def _of(cls, stretches: Sequence[_Stretch]) -> Chain:
        chain = cls.__new__(cls)
        chain._stretches = tuple(stretches)
        return chain

    @property
    def segments(self) -> tuple[Segment, ...]:
        """All segments, the first flow's first."""
        return tuple(segment for stretch in self._stretches for segment in stretch.segments)

    def back(self, points: Floats, *, reach: float = REACH) -> Floats:
        """Where the steel at places (n, 2) was before.

        Outside the steel the map is drawn on straight from the nearest place of the outline, by `reach`
        edges of it at most; places farther out come out as at that distance.
        """
        points = as_points(points)
        last = self._stretches[-1]
        folded, sides = last.fold.folded(points)
        inside = _within(last, folded)
        outside = ~inside
        out = np.empty_like(points)
        out[inside] = self._carried(points[inside])
        if outside.any():
            out[outside] = self._drawn_on(folded[outside], sides[outside], reach)
        return out

    def gradient(self, points: Floats) -> Floats:
        """(n, 2, 2) slopes of `back`, exact inside a triangle; outside, those at the nearest place."""
        points = as_points(points).copy()
        last = self._stretches[-1]
        folded, sides = last.fold.folded(points)
        outside = np.flatnonzero(~_within(last, folded))
        if len(outside):
            on, _ = last.carriers[-1].finder.nearest(folded[outside])
            points[outside] = last.fold.unfolded(on, sides[outside])
        slopes = np.tile(np.eye(2), (len(points), 1, 1))
        self._carried(points, slopes)
        return slopes

    def inside(self, points: Floats) -> Bools:
        """Which places lie in the steel: within the curved outline at the end."""
        last = self._stretches[-1]
        folded, _ = last.fold.folded(as_points(points))
        return _within(last, folded)

    def outline(self) -> Floats:
        """(k, 2): the outline at the end as a fine polygon, counter-clockwise, mirrored to the whole."""
        last = self._stretches[-1]
        return unfolded_outline(fine(last.segments[-1].mesh().outline()), last.fold)

    def to_arrays(self) -> dict[str, NDArray[Any]]:
        """All of the chain as few plain arrays, to be stored."""
        segments = self.segments
        sizes = [(len(one.triangles), len(one.start), len(one.loop), one.vertices) for one in segments]
        return {
            "triangles": np.concatenate([one.triangles for one in segments]),
            "start": np.concatenate([one.start for one in segments]),
            "end": np.concatenate([one.end for one in segments]),
            "loop": np.concatenate([one.loop for one in segments]),
            "sizes": np.array(sizes, dtype=np.int64),
            "stretches": np.array([len(one.segments) for one in self._stretches], dtype=np.int64),
            "mirrors": np.array([one.fold.lines() for one in self._stretches], dtype=np.float64),
        }

    @classmethod
    def from_arrays(cls, arrays: Mapping[str, NDArray[Any]]) -> Chain:
        """The chain of stored arrays."""
        sizes = arrays["sizes"]
        ends = np.cumsum(sizes[:, :3], axis=0)[:-1]
        triangles, loops = (
            np.split(arrays["triangles"], ends[:, 0]),
            np.split(arrays["loop"], ends[:, 2]),
        )
        starts, lasts = np.split(arrays["start"], ends[:, 1]), np.split(arrays["end"], ends[:, 1])
        parts = zip(triangles, starts, lasts, sizes[:, 3], loops, strict=True)
        segments = [Segment(t, start, end, int(count), loop) for t, start, end, count, loop in parts]
        stretches, first = [], 0
        for count, mirrors in zip(arrays["stretches"], arrays["mirrors"], strict=True):
            x, y = (None if np.isnan(line) else float(line) for line in mirrors)
            stretches.append(_Stretch.of(segments[first : first + int(count)], x, y))
            first += int(count)
        return cls._of(stretches)

    def _carried(self, points: Floats, slopes: Floats | None = None) -> Floats:
        """Carry places of the whole section through all stretches, and slopes if given, in place."""
        slopes = np.empty((0, 2, 2)) if slopes is None else slopes
        for stretch in reversed(self._stretches):
            folded, sides = stretch.fold.folded(points)
            if len(slopes):
                slopes *= sides[:, :, None]
            stretch.carry(folded, slopes)
            points[:] = stretch.fold.unfolded(folded, sides)
            if len(slopes):
                slopes *= sides[:, :, None]
        return points

    def _drawn_on(self, folded: Floats, sides: Floats, reach: float) -> Floats:
        """Where places outside, given folded, came from, drawn on from the outline."""
        last = self._stretches[-1]
        on, edge = last.carriers[-1].finder.nearest(folded)
        away = folded - on
        distance = np.hypot(*away.T)[:, None]
        outwards = away / np.maximum(distance, 1e-300)
        step = INWARDS * edge[:, None]
        deeper = on - step * outwards
        here = self._carried(last.fold.unfolded(on, sides))
        there = self._carried(last.fold.unfolded(deeper, sides))
        onwards = (here - there) / step
        # In a lip thinner than that, or behind a sharp corner, the second place lies outside again.
        lost = ~_within(last, last.fold.folded(deeper)[0])
        if lost.any():
            slopes = self.gradient(last.fold.unfolded(on[lost], sides[lost]))
            onwards[lost] = np.einsum("nij,nj->ni", slopes, (outwards * sides)[lost])
        out: Floats = here + onwards * np.minimum(distance, reach * edge[:, None])
        return out


def joined(*chains: Chain) -> Chain:
    """Flows one after another, the earliest first, as one map."""
    return Chain._of([stretch for chain in chains for stretch in chain._stretches])


def _within(last: _Stretch, folded: Floats) -> Bools:
    """Which folded places lie within the last outline; on a mirror the steel goes on."""
    outline = np.ascontiguousarray(last.segments[-1].mesh().outline())
    inside: Bools = enclosing.within(last.fold.off_the_lines(folded), outline)
    return inside
