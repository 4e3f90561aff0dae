"""How fast a field is walked: against an outside yardstick, and how time grows.

Run alone on a quiet machine. Figures are the best of several runs, since others may be at work; user
time is that of all threads together.
"""

import os
import time
import tomllib
from importlib.resources import files

import numpy as np
import pytest
import tomlkit

import patternsim
from engine.fields import reference_walk, worked
from patternsim.fields import Leaf, PlaneMap, lay_out, moved, sample_flow, walk
from patternsim.knife.placement import placed
from patternsim.press.quick import press_flow

JOB = "feather-from-w"
MILLION = 1_000_000


def timed(work, runs=7):
    """Return the best wall time of several runs, and the least user time of all threads, s."""
    walls, users = [], []
    for _ in range(runs):
        user, wall = os.times().user, time.perf_counter()
        work()
        walls.append(time.perf_counter() - wall)
        users.append(os.times().user - user)
    return min(walls), min(users)


@pytest.fixture(scope="module")
def program():
    """Return the laid-out blade, compiled."""
    laid = lay_out(worked.blade(JOB).piece.solid())
    walk(laid, worked.face(JOB, 1000))
    return laid


def test_against_the_reference_walker(program):
    # The bar is 8. Measured 40 to 76 on two cores; the yardstick has one, and double precision.
    points = worked.face(JOB, 2 * MILLION)
    solid = worked.blade(JOB).piece.solid()
    engine, user = timed(lambda: walk(program, points))
    reference, reference_user = timed(lambda: reference_walk.walk(solid, points), runs=1)
    print(f"\n{len(points)} points: engine {engine:.3f} s (user {user:.3f}), ", end="")
    print(f"reference {reference:.1f} s (user {reference_user:.1f}), ratio {reference / engine:.0f}")
    assert reference / engine >= 8


def test_a_million_points(program):
    # The bar is 150 ms on two cores. Measured 57 to 85 ms, user time 90 to 115 ms.
    points = worked.face(JOB, MILLION)
    wall, user = timed(lambda: walk(program, points), runs=15)
    share = MILLION / len(points)
    maps = _maps_a_point()
    print(f"\nwall {1e3 * wall * share:.0f} ms, user {1e3 * user * share:.0f} ms a million, ", end="")
    print(f"{1e9 * user / len(points) / maps:.1f} ns user a map and point ({maps} maps on the way)")
    assert wall * share < 0.150


def _maps_a_point():
    """Return how many sampled maps a point passes on one way down."""
    count, node = 0, worked.blade(JOB).piece.solid()
    while node.children():
        count += isinstance(node, PlaneMap)
        node = node.children()[0]
    return count


def test_time_grows_with_points(program):
    # Measured within a tenth of a straight line through nought; a third is left for busy machines.
    counts = np.array([0.25, 1.0, 4.0])
    faces = [worked.face(JOB, round(count * MILLION)) for count in counts]
    walls = np.array(
        [timed(lambda points=points: walk(program, points, workers=1))[0] for points in faces]
    )
    slope = (counts @ walls) / (counts @ counts)
    off = walls / (slope * counts)
    print(f"\nms: {np.round(1e3 * walls, 1)}; over a straight line: {np.round(off, 2)}")
    assert np.all((off > 0.7) & (off < 1.35))
    assert 12.0 < walls[2] / walls[0] < 20.0  # 16 times the points


def test_time_grows_with_links():
    half = np.array([30.0, 20.0])
    flow = press_flow([(60.0, 40.0, 36.0, 1.0, False)], friction=0.6, corners=0.0, half=half)
    grid = sample_flow(flow, low=-half, high=half, cells=(144, 96))
    points = np.random.default_rng(4).uniform([0, -28, -18], [100, 28, 18], (MILLION // 2, 3))
    lengths, walls = np.array([2, 4, 8, 16]), []
    for length in lengths:
        node = Leaf("stack", thicknesses=np.full(20, 2.0), steels=("a", "b") * 10, length=100, width=60)
        for _ in range(length):
            node = PlaneMap(moved(node, by=(0.0, 0.0, 0.0)), plane="yz", grid=grid)
        laid = lay_out(node)
        walls.append(timed(lambda laid=laid: walk(laid, points, workers=1))[0])
    walls = np.array(walls)
    slope, start = np.polyfit(lengths, walls, 1)
    off = walls / (start + slope * lengths)
    print(
        f"\nms: {np.round(1e3 * walls, 1)}; {1e9 * slope / len(points):.1f} ns a map and point; ", end=""
    )
    print(f"over a straight line: {np.round(off, 2)}")
    assert np.all(np.abs(off - 1.0) < 0.25)
    assert walls[3] / walls[0] < 8.0  # eight times the maps


def test_four_times_the_layers_take_no_longer(program, tmp_path):
    text = (files("patternsim") / "data" / "jobs" / f"{JOB}.toml").read_text(encoding="utf-8")
    job = tomllib.loads(text)
    steps = job["bar"][0]["step"]
    for step in steps:
        if step["kind"] == "stack":
            step["repeat"] *= 4
            for strip in step["strips"]:
                strip["thickness_mm"] /= 4
        elif "strips_to_mm" in step:
            step["strips_to_mm"] = [v / 4 for v in step["strips_to_mm"]]
    path = tmp_path / "fine.toml"
    path.write_text(tomlkit.dumps(job), encoding="utf-8")
    result = patternsim.run(patternsim.load(str(path)), "quick")
    fine = lay_out(placed(result.job.blade, result.blade_piece()).piece.solid())
    assert len(fine.steels) == 4 * len(program.steels)
    points = worked.face(JOB, MILLION)
    plain, many = [], []
    for _ in range(4):  # by turns, so that a busy moment meets both
        plain.append(timed(lambda: walk(program, points, workers=1), runs=3)[0])
        many.append(timed(lambda: walk(fine, points, workers=1), runs=3)[0])
    ratio = min(many) / min(plain)
    print(f"\nfour times the layers: {ratio:.2f} times as long")
    assert ratio < 1.1
