"""Sampled maps against the closed forms they were sampled from: place, and area kept.

Every closed form follows a stream function and keeps area exactly; what is sampled must keep it to a
thousandth, up to the borders of the steel. Slopes of the spline are taken by scipy, not by the walk.
"""

import itertools
import math
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.interpolate import NdBSpline

from patternsim.fields import Leaf, PlaneMap, carry_back, lay_out, sample_flow, walk
from patternsim.piece import Layers, Piece
from patternsim.press import HalfBlock, Level, Pass, PressProblem, WedgeDrag, press
from patternsim.press.quick import press_flow
from patternsim.shop import Shop
from patternsim.step import Context
from patternsim.steps.split import Split

PLACE_MM = 0.017
"""0.2 of a pixel at 300 dots an inch."""
AREA = 1e-3


def stack(length=100.0, width=60.0, height=40.0):
    return Leaf(
        "stack", thicknesses=np.full(10, height / 10), steels=("a", "b") * 5, length=length, width=width
    )


# --- measures ----------------------------------------------------------------------------


def through_walk(grid, points):
    """Return where the compiled walk leads `points` (n, 2) through a single sampled map."""
    end = stack()
    node = PlaneMap(end, plane="xy", grid=grid)
    return carry_back(node, np.column_stack([points, np.zeros(len(points))]), stop=end)[:, :2]


def determinants(grid, points):
    """Return the determinants of a sampled map, from the slopes of its spline."""
    coefs = grid.coefs.astype(np.float64)
    # A cardinal cubic B-spline has its middle two knots after its first.
    spline = NdBSpline(tuple(np.arange(n + 4.0) - 2.0 for n in coefs.shape[:2]), coefs, 3)
    b = points[:, 1]
    graded = np.arcsinh(b / grid.grading) if grid.grading else b
    places = np.stack(
        [(points[:, 0] - grid.origin[0]) / grid.step[0], (graded - grid.origin[1]) / grid.step[1]],
        axis=1,
    )
    knots_a = 1.0 / grid.step[0]
    knots_b = 1.0 / grid.step[1] / (np.hypot(b, grid.grading) if grid.grading else 1.0)
    by_a = spline(places, nu=(1, 0)) * knots_a
    by_b = spline(places, nu=(0, 1)) * np.reshape(knots_b, (-1, 1))
    return (1 + by_a[:, 0]) * (1 + by_b[:, 1]) - by_a[:, 1] * by_b[:, 0]


def section(width, height):
    """Return points of a section, crowded towards its sides and corners, these included."""
    part = np.concatenate([np.linspace(0.0, 1.0, 141), np.geomspace(1e-5, 0.1, 25)])
    part = np.unique(np.concatenate([part, 1.0 - part])) - 0.5
    return np.stack([g.ravel() for g in np.meshgrid(width * part, height * part)], axis=1)


@dataclass
class Judged:
    """How far a sampled map is off."""

    p99_mm: float
    most_mm: float
    area: float

    @classmethod
    def of(cls, grid, flow, points):
        exact = flow(points)
        off = np.hypot(*(through_walk(grid, points) - exact).T)
        area = np.abs(determinants(grid, points) - 1.0)
        judged = cls(float(np.percentile(off, 99)), float(off.max()), float(area.max()))
        print(judged)
        return judged

    def is_fine(self):
        return self.p99_mm < PLACE_MM and self.area < AREA


# --- presses -----------------------------------------------------------------------------


def pressed(width, height, passes, friction, corners=0.0):
    """Return the sampled map of a press and the closed form behind it."""
    answer = press(
        PressProblem(
            width=width, height=height, passes=tuple(passes), friction=friction, corners=corners
        ),
        Level.QUICK,
    )
    flow = press_flow(
        [(p.across, p.along, p.height, p.sideways, p.turned) for p in passes],
        friction=friction,
        corners=corners,
        half=np.array([width / 2, height / 2]),
    )
    return answer.grid, flow


def squeeze(width, height, to, *, sideways=1.0, turned=False):
    across, along = (height, width) if turned else (width, height)
    return Pass(across=across, along=along, height=to, sideways=sideways, turned=turned)


SECTIONS = {
    "square, lightly": (40, 40, [squeeze(40, 40, 32, sideways=0.4)]),
    "square, to half": (40, 40, [squeeze(40, 40, 20)]),
    "square, to a quarter": (40, 40, [squeeze(40, 40, 10)]),
    "a stack being welded": (50.8, 78, [squeeze(50.8, 78, 66, sideways=0.25)]),
    "tall, to half": (25, 50, [squeeze(25, 50, 25)]),
    "very tall": (20, 110, [squeeze(20, 110, 90)]),
    "flat": (56, 17, [squeeze(56, 17, 4.5, sideways=0.3)]),
    "very flat": (120, 12, [squeeze(120, 12, 6)]),
    "turned": (40, 26, [squeeze(40, 26, 24, turned=True)]),
    "both ways": (45, 60, [squeeze(45, 60, 27), squeeze(45, 60, 30, turned=True, sideways=0.2)]),
}


@pytest.mark.parametrize("friction", [0.3, 0.6, 1.0])
@pytest.mark.parametrize("name", SECTIONS)
def test_a_sampled_press(name, friction):
    width, height, passes = SECTIONS[name]
    grid, flow = pressed(width, height, passes, friction)
    assert Judged.of(grid, flow, section(width, height)).is_fine()


@pytest.mark.parametrize("flats", [0.15, 0.3, 0.34, 0.375, 0.42, 0.45, 0.5, 0.55, 0.6, 0.68])
def test_sampled_corners(flats):
    grid, flow = pressed(40, 40, [], 0.6, corners=flats)
    assert Judged.of(grid, flow, section(40, 40)).is_fine()


def test_no_friction_leaves_nothing_to_sample():
    assert pressed(40, 40, [squeeze(40, 40, 30)], 0.0) == (None, None)


def test_a_coarser_grid_would_not_do():
    # The measure tells good from bad: a quarter of the cells spoils area, not yet the place.
    width, height, passes = SECTIONS["square, to a quarter"]
    _, flow = pressed(width, height, passes, 0.6)
    coarse = sample_flow(flow, low=(-20.0, -20.0), high=(20.0, 20.0), cells=(24, 24))
    assert Judged.of(coarse, flow, section(40, 40)).area > 10 * AREA


# --- splits ------------------------------------------------------------------------------


def block(length=98.0, width=58.0, thick=45.0):
    leaf = stack(length, width, thick)
    return Piece(
        name="block",
        size=(length, width, thick),
        volume_mm3=length * width * thick,
        density=7.85e-6,
        field=leaf,
        layers=Layers(
            axis=2, along=10, across=1, across_axis=-1, total=10, distinct=10, ends=("a", "b")
        ),
    )


class Side:
    """One half of a split block: points of it, and the closed form behind its drag."""

    def __init__(self, step, piece, sign):
        self.sign = sign
        self.length, width, self.thick = piece.size
        self.lean = math.tan(math.radians(step.lean_face_deg))
        self.through = math.tan(math.radians(step.lean_thickness_deg))
        self.off = step.off_centre_mm
        self.down = step.travel == "down"
        self.drag = WedgeDrag(
            HalfBlock(
                length=self.length,
                width=width,
                outer=width / 2 - sign * self.off,
                outer_slope=-sign * self.lean,
                nose_depth=self.length - step.leave_mm,
                nose=step.nose_mm,
                included_deg=step.included_deg,
                friction=Shop().friction_wedge,
            )
        )
        self.width = width

    def depths(self):
        """Return (n, 2) depth below the entry and distance from the cut, all over the half, in steel."""
        deep = np.linspace(-0.12 * self.width, self.length, 181)
        near = np.concatenate([[1e-6, 1e-4], np.geomspace(1e-3, 0.05, 16), np.linspace(0.06, 1.0, 40)])
        s, share = (g.ravel() for g in np.meshgrid(deep, near))
        places = np.stack([s, share * self.drag.outer(s)], axis=1)
        before = self.drag.back(places)[:, 0]
        return places[(before >= 0.0) & (before <= self.length)]

    def laid(self, places, z):
        """Return (n, 3) mm in the block of (depth, distance) places."""
        x = self.length - places[:, 0] if self.down else places[:, 0]
        y = self.off + self.lean * places[:, 0] + self.through * z + self.sign * places[:, 1]
        return np.stack([x, y, z], axis=1)


def plane_maps(node):
    """Yield the sampled maps of a split, low half first."""
    for kid in node.children():
        if isinstance(kid, PlaneMap):
            yield kid.grid
        else:
            yield from plane_maps(kid)


SPLITS = {
    **{
        f"{angle} deg, {leave} left": {"included_deg": angle, "leave_mm": leave}
        for angle, leave in itertools.product((30, 45, 60), (0, 8, 20, 40))
    },
    "running up": {"travel": "up"},
    "off centre": {"off_centre_mm": 6.0},
    "leaning in the face": {"lean_face_deg": 5.0},
    "leaning through the thickness": {"lean_thickness_deg": -6.0},
    "all of it": {
        "included_deg": 60, "leave_mm": 20, "off_centre_mm": -5.0, "lean_face_deg": -4.0,
        "lean_thickness_deg": 4.0, "travel": "up",
    },
    "a sharp wedge": {"nose_mm": 0.5},
    "a blunt wedge": {"nose_mm": 9.0},
}  # fmt: skip


@pytest.mark.parametrize("name", SPLITS)
def test_a_sampled_split(name):
    piece = block()
    step = Split(id="split", **SPLITS[name])
    (open_block,) = step.work((piece,), Context(shop=Shop(), level=Level.QUICK)).pieces
    cut = open_block.cuts[-1]
    grids = list(plane_maps(cut.halve))
    for sign, grid in zip((-1.0, 1.0), grids, strict=True):
        side = Side(step, piece, sign)
        places = side.depths()
        z = np.random.default_rng(11).uniform(-side.thick / 2, side.thick / 2, len(places))
        exact = side.laid(side.drag.back(places), z)
        found = carry_back(open_block.field, side.laid(places, z), stop=cut.before)
        off = np.linalg.norm(found - exact, axis=1)
        along = side.length - places[:, 0] if side.down else places[:, 0]
        area = np.abs(determinants(grid, np.stack([along, places[:, 1]], axis=1)) - 1.0)
        print(f"{sign:+.0f}: p99 {np.percentile(off, 99):.1e} mm, area {area.max():.1e}")
        # Right at the cut and where the nose is sharp too: the bar of p99 is kept by all points.
        assert off.max() < PLACE_MM
        assert area.max() < AREA


def test_steel_stays_on_its_side_of_the_cut_and_inside_the_block():
    piece = block()
    step = Split(id="split", included_deg=60, lean_face_deg=3.0)
    (open_block,) = step.work((piece,), Context(shop=Shop(), level=Level.QUICK)).pieces
    cut = open_block.cuts[-1]
    inside = np.random.default_rng(12).uniform([0.0, -29.0, -22.0], [98.0, 29.0, 22.0], (20_000, 3))
    hits = walk(lay_out(open_block.field, keep=(cut.before,)), inside, stop=cut.before)
    before = hits.points[hits.inside]
    after = inside[hits.inside]
    assert hits.inside.mean() > 0.9
    slack = 1e-3
    assert np.abs(before[:, 1]).max() < 29.0 + slack
    side_after = after @ cut.halve.normal - cut.halve.at
    side_before = before @ cut.halve.normal - cut.halve.at
    assert not np.any((side_after * side_before < 0) & (np.abs(side_before) > slack))


# --- the sampling itself -----------------------------------------------------------------


def ripple(points):
    a, b = points[:, 0], points[:, 1]
    return points + np.stack([np.sin(a / 3.0 + b / 7.0), np.cos(a / 5.0 - b / 4.0)], axis=1)


@pytest.mark.parametrize("grading", [0.0, 2.0])
def test_error_falls_with_the_fourth_power_of_the_cell_up_to_the_border(grading):
    low, high = (-3.0, 0.0), (25.0, 18.0)
    a, b = np.meshgrid(np.linspace(low[0], high[0], 301), np.linspace(low[1], high[1], 301))
    points = np.stack([a.ravel(), b.ravel()], axis=1)
    worst = []
    for cells in (20, 40):
        grid = sample_flow(ripple, low=low, high=high, cells=(cells, cells), grading=grading)
        worst.append(np.abs(through_walk(grid, points) - ripple(points)).max())
    # A cubic spline with the right slopes at its ends (de Boor): order four everywhere.
    assert worst[0] / worst[1] > 10.0
    assert worst[1] < 1e-3


@pytest.mark.parametrize("grading", [0.0, 2.0])
def test_samples_are_met(grading):
    low, high, cells = (-3.0, 0.0), (25.0, 18.0), (9, 14)
    grid = sample_flow(ripple, low=low, high=high, cells=cells, grading=grading)
    a = np.linspace(low[0], high[0], cells[0] + 1)
    top = np.arcsinh(high[1] / grading) if grading else high[1]
    b = np.linspace(0.0, top, cells[1] + 1)
    b = grading * np.sinh(b) if grading else b
    knots = np.stack([g.ravel() for g in np.meshgrid(a, b)], axis=1)
    assert through_walk(grid, knots) == pytest.approx(ripple(knots), abs=1e-5)
    places = grid.knot_coordinates(knots)
    assert places == pytest.approx(np.round(places), abs=1e-9)


def test_a_flow_is_asked_inside_its_rectangle_only():
    asked = []

    def flow(points):
        asked.append(points)
        return points

    sample_flow(flow, low=(-2.0, 0.0), high=(5.0, 3.0), cells=(30, 20), grading=0.5)
    points = np.concatenate(asked)
    assert points.min(axis=0) == pytest.approx([-2.0, 0.0], abs=1e-12)
    assert points.max(axis=0) == pytest.approx([5.0, 3.0], abs=1e-12)


def test_just_beyond_the_border_a_map_goes_on_smoothly():
    # Rounding and the slack of borders put points there.
    grid = sample_flow(ripple, low=(-10.0, -10.0), high=(10.0, 10.0), cells=(40, 40))
    beyond = np.array([[10.05, 3.0], [-10.05, -2.0], [1.0, 10.05], [4.0, -10.05], [10.05, 10.05]])
    assert through_walk(grid, beyond) == pytest.approx(ripple(beyond), abs=1e-3)
