"""A barrelling flow known exactly, and meshes carried along by it.

Upset of a block between dies at y = +-h: with time t = ln(h0/h), z = y/h, the stream function
psi = x y + B h x (z - z^3) gives u = x (1 + B (1 - 3 z^2)), v = -(y + B h (z - z^3)), which keeps area
everywhere and is tangent to the dies.
"""

from types import SimpleNamespace

import numpy as np

from patternsim.flow.chain import Segment
from patternsim.flow.mesher import meshed, remeshed

BARREL = 0.4


def velocity(points, time):
    height = np.exp(-time)
    x, y = points.T
    z = y / height
    zz = z * z
    return np.stack(
        [x * (1 + BARREL * (1 - 3 * zz)), -(y + BARREL * height * (z - z * zz))],
        axis=1,
    )


def follow(points, start, end, steps=400):
    """Points followed from one time to another: classical fourth-order Runge-Kutta."""
    at, h = np.array(points, dtype=float), (end - start) / steps
    for step in range(steps):
        t = start + step * h
        k1 = velocity(at, t)
        k2 = velocity(at + h / 2 * k1, t + h / 2)
        k3 = velocity(at + h / 2 * k2, t + h / 2)
        k4 = velocity(at + h * k3, t + h)
        at = at + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
    return at


def upset(reduction, size, curve, *, every=4, start=0.0, mirrors=()):
    """Segments of a mesh whose points follow the flow exactly, meshed anew every few steps or when bad.

    `mirrors` are the axes (0 for x = 0, 1 for y = 0) whose end points stay corners.
    """
    duration = -np.log(1 - reduction)
    steps = int(np.ceil(duration / 0.05))
    times = start + np.linspace(0, duration, steps + 1)
    mesh = meshed(curve, size)
    before, segments = mesh.nodes, []
    for step in range(steps):
        mesh = mesh.moved(follow(mesh.nodes, times[step], times[step + 1], 4))
        last = step == steps - 1
        if last or (step + 1) % every == 0 or min(mesh.quality()) < 0.3:
            segments.append(Segment(mesh.triangles, before, mesh.nodes, mesh.vertices, mesh.loop))
        if not last and segments and segments[-1].end is mesh.nodes:
            mesh, _ = remeshed(mesh, size, keep=_ends_on(mesh, mirrors))
            before = mesh.nodes
    return SimpleNamespace(segments=segments, end=mesh, times=(start, float(times[-1])))


def _ends_on(mesh, mirrors):
    corners = mesh.outline()[0::2]
    keep = np.zeros(len(corners), dtype=bool)
    for axis in mirrors:
        on = np.abs(corners[:, axis]) < 1e-9
        keep |= on & ~(np.roll(on, 1) & np.roll(on, -1))
    return keep
