"""Presses drawn by lot, and what must hold of every one of them."""

from dataclasses import replace

import numpy as np

from patternsim.flow.boundary import polygon_curve
from patternsim.flow.march import march
from patternsim.flow.presses import COARSE, between_dies, between_flats, split_half
from patternsim.flow.stops import Flat, Stroke
from patternsim.flow.tools import flat_dies

KINDS = ("press", "crush", "upset", "split")


def drawn(seed):
    """Return (kind, words for it, operation) of a press drawn by lot."""
    rng = np.random.default_rng(seed)
    kind = KINDS[seed % len(KINDS)]
    friction = float(rng.uniform(0.0, 1.0))
    reduction = float(rng.uniform(0.05, 0.7))
    aspect = float(np.exp(rng.uniform(np.log(0.2), np.log(6.0))))
    fineness = replace(COARSE, most=450)
    if kind == "crush":
        side = 1.0
        turned = box(side, side) @ np.array([[1.0, 1.0], [-1.0, 1.0]]) / np.sqrt(2.0)
        curve = polygon_curve(turned)
        wide = float(rng.uniform(0.15, 0.6))
        height = float(np.ptp(turned[:, 1]))
        dies = flat_dies(-height / 2, height / 2, friction=friction)
        operation = between_dies(
            curve,
            dies,
            (Flat("top die", wide * side), Stroke(0.6 * height)),
            fineness=fineness,
            height=height,
        )
        return kind, f"corners to {wide:.2f}, friction {friction:.2f}", operation
    if kind == "split":
        tall = float(rng.uniform(1.2, 4.0))
        included = float(rng.uniform(25.0, 65.0))
        nose = float(rng.uniform(0.05, 0.12))
        operation = split_half(
            polygon_curve(np.array([[0.0, 0.0], [0.5, 0.0], [0.5, tall], [0.0, tall]])),
            width=1.0,
            depth=float(rng.uniform(0.3, 0.85)) * tall,
            included=included,
            nose=nose,
            wedge_friction=friction,
            floor_friction=0.5,
            fineness=fineness,
        )
        return kind, f"{tall:.1f} tall, {included:.0f} degrees, nose {nose:.3f}", operation
    curve = polygon_curve(box(aspect, 1.0))
    sideways = 1.0 if kind == "upset" else float(rng.uniform(0.2, 1.0))
    operation = between_flats(
        curve, to=1.0 - reduction, friction=friction, fineness=fineness, sideways=sideways
    )
    return kind, f"aspect {aspect:.2f}, by {reduction:.2f}, friction {friction:.2f}", operation


def box(width, height):
    """Return the corners of a box about nought."""
    return np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * np.array([width, height]) / 2.0


def faults(operation, done):
    """Return what is wrong with a finished press: nothing, if the flow can be believed."""
    found = []
    report, mesh = done.report, done.mesh
    before, after = operation.mesh.area(), mesh.area() * report.stretch
    if abs(after / before - 1.0) > 3e-3:
        found.append(f"volume off by {after / before - 1.0:.1e}")
    size = float(np.ptp(operation.mesh.nodes, axis=0).min())
    border = mesh.nodes[mesh.loop]
    for tool, moved in zip(operation.tools, done.moved, strict=False):
        deep = -float(tool.gaps(border, moved)[0].min())
        if deep > (2e-2 if tool.name == "wedge" else 1e-2) * size:
            found.append(f"{deep / size:.1e} of the size inside the {tool.name}")
    rng = np.random.default_rng(1)
    low, high = mesh.nodes.min(axis=0), mesh.nodes.max(axis=0)
    points = rng.uniform(low, high, (3000, 2))
    points = points[done.chain.inside(points)]
    back = done.chain.back(points)
    start_low, start_high = operation.mesh.nodes.min(axis=0), operation.mesh.nodes.max(axis=0)
    out = np.maximum(start_low - back, back - start_high).max()
    if out > 0.02 * size:
        found.append(f"steel from {out / size:.1e} of the size outside the section")
    slopes = done.chain.gradient(points)
    det = np.linalg.det(slopes) / report.stretch
    five, ninety_five = np.percentile(det, [5, 95])
    if five < 0.92 or ninety_five > 1.08:
        found.append(f"area of the map between {five:.3f} and {ninety_five:.3f}")
    if report.unsettled > max(3, 0.1 * report.steps):
        found.append(f"{report.unsettled} of {report.steps} steps unsettled")
    return found


def tried(seed):
    """Return (kind, words, faults, seconds-free report or the refusal) of one press."""
    from patternsim.errors import FlowError

    kind, words, operation = drawn(seed)
    try:
        done = march(operation)
    except FlowError as refusal:
        return kind, words, [], refusal
    return kind, words, faults(operation, done), done.report
