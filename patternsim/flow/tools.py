"""Rigid tools: where they are, how far a point is from them, and the sets of them that a press uses."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Pair = tuple[float, float]


class Shape(Protocol):
    """The solid of a tool at rest."""

    def gaps(self, points: Floats) -> tuple[Floats, Floats]:
        """Return the distances (n,), negative inside, and the normals (n, 2) out of the tool."""

    def lowest(self) -> float:
        """Return the height of its lowest point; -inf if there is none."""


@dataclass(frozen=True, slots=True)
class HalfPlane:
    """Everything behind a straight face.

    Attributes
    ----------
    point : (float, float)
        A point of the face.
    normal : (float, float)
        Out of the tool, into the steel; any length.
    """

    point: Pair
    normal: Pair

    def gaps(self, points: Floats) -> tuple[Floats, Floats]:
        """Return the distances (n,) and the normals (n, 2)."""
        normal = np.array(self.normal, dtype=float)
        normal /= np.linalg.norm(normal)
        return (points - np.array(self.point)) @ normal, np.broadcast_to(normal, points.shape)

    def lowest(self) -> float:
        """Return -inf: a half plane has no end."""
        return -np.inf


@dataclass(frozen=True, slots=True)
class RoundedPolygon:
    """A convex polygon with all its edges and corners rounded off to `radius`.

    Attributes
    ----------
    corners : tuple of (float, float)
        Counter-clockwise, before the radius is added all around.
    radius : float
    """

    corners: tuple[Pair, ...]
    radius: float = 0.0

    def gaps(self, points: Floats) -> tuple[Floats, Floats]:
        """Return the distances (n,) and the normals (n, 2)."""
        first = np.array(self.corners, dtype=float)
        edge = np.roll(first, -1, axis=0) - first
        length = np.linalg.norm(edge, axis=1)
        offset = points[:, None] - first
        along = np.clip((offset * edge).sum(-1) / np.maximum(length**2, 1e-300), 0.0, 1.0)
        away = offset - along[..., None] * edge
        far = np.linalg.norm(away, axis=-1)
        nearest = far.argmin(axis=1)
        row = np.arange(len(points))
        outward = np.stack([edge[:, 1], -edge[:, 0]], axis=1) / np.maximum(length, 1e-300)[:, None]
        side = (offset * outward).sum(-1)
        within = (side < 0.0).all(axis=1)
        face = np.where(within, side.argmax(axis=1), nearest)
        gap = np.where(within, side[row, face], far[row, nearest])
        straight = within | (far[row, nearest] < 1e-12)
        across = away[row, nearest] / np.maximum(far[row, nearest], 1e-300)[:, None]
        return gap - self.radius, np.where(straight[:, None], outward[face], across)

    def lowest(self) -> float:
        """Return the height of its lowest point."""
        return min(y for _, y in self.corners) - self.radius


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """A rigid tool that moves at a steady velocity.

    Attributes
    ----------
    name : str
        What the report calls it.
    shape : Shape
        Where it is at the start.
    velocity : (float, float)
    friction : float
        Friction factor, 0 to 1: the most friction, over the shear yield stress of the steel.
    coulomb : float or None
        Friction coefficient that caps it further where the pressure is low; None: no such cap.
    sticks : bool
        The steel can leave it but not slide.
    """

    name: str
    shape: Shape
    velocity: Pair = (0.0, 0.0)
    friction: float = 0.0
    coulomb: float | None = None
    sticks: bool = False

    def gaps(self, points: Floats, moved: Floats) -> tuple[Floats, Floats]:
        """Return distances and normals of `points` once the tool has `moved` (2,) from its start."""
        return self.shape.gaps(points - moved)

    def closing(self, velocity: Pair) -> Tool:
        """Return the same tool at another velocity."""
        return replace(self, velocity=velocity)


def flat_dies(
    bottom: float, top: float, *, friction: float, coulomb: float | None = None, speed: float = 1.0
) -> tuple[Tool, Tool]:
    """Return two flat dies wider than the steel, closing on each other at `speed` between them."""
    half = speed / 2
    return (
        Tool(
            name="top die",
            shape=HalfPlane((0.0, top), (0.0, -1.0)),
            velocity=(0.0, -half),
            friction=friction,
            coulomb=coulomb,
        ),
        Tool(
            name="bottom die",
            shape=HalfPlane((0.0, bottom), (0.0, 1.0)),
            velocity=(0.0, half),
            friction=friction,
            coulomb=coulomb,
        ),
    )


def tilted_dies(bottom: float, top: float, degrees: float, *, friction: float) -> tuple[Tool, Tool]:
    """Return a standing bottom die and a top die tilted about (0, top), closing at speed 1."""
    tilt = np.radians(degrees)
    normal = (float(np.sin(tilt)), float(-np.cos(tilt)))
    return (
        Tool(
            name="top die",
            shape=HalfPlane((0.0, top), normal),
            velocity=(0.0, -1.0),
            friction=friction,
        ),
        Tool(name="bottom die", shape=HalfPlane((0.0, bottom), (0.0, 1.0)), friction=friction),
    )


def drawing_dies(
    bottom: float,
    top: float,
    *,
    flat: float,
    radius: float,
    friction: float,
    coulomb: float | None = None,
    speed: float = 1.0,
) -> tuple[Tool, Tool]:
    """Return two narrow dies with a `flat` of that width between edges of `radius`, about x = 0."""
    half, deep = flat / 2, 4.0 * (top - bottom) + flat
    up = ((-half, top + radius), (half, top + radius), (half, top + deep), (-half, top + deep))
    down = (
        (-half, bottom - deep),
        (half, bottom - deep),
        (half, bottom - radius),
        (-half, bottom - radius),
    )
    return (
        Tool(
            name="top die",
            shape=RoundedPolygon(up, radius),
            velocity=(0.0, -speed / 2),
            friction=friction,
            coulomb=coulomb,
        ),
        Tool(
            name="bottom die",
            shape=RoundedPolygon(down, radius),
            velocity=(0.0, speed / 2),
            friction=friction,
            coulomb=coulomb,
        ),
    )


def v_die(bottom: float, included: float, *, friction: float, up: bool = True) -> tuple[Tool, Tool]:
    """Return the two faces of a V of `included` degrees with its bottom at (0, `bottom`), standing.

    `up` False: the V above, opening downwards.
    """
    half = np.radians(included / 2)
    rise = float(np.sin(half)) if up else -float(np.sin(half))
    name = "bottom V" if up else "top V"
    return tuple(
        Tool(
            name=f"{name}, {side}",
            shape=HalfPlane((0.0, bottom), (sign * float(np.cos(half)), rise)),
            friction=friction,
        )
        for side, sign in (("left", 1.0), ("right", -1.0))
    )  # type: ignore[return-value]


def walls(left: float, right: float, *, friction: float) -> tuple[Tool, Tool]:
    """Return two standing upright walls: the sides of a channel."""
    return (
        wall(left, friction=friction, name="left wall"),
        wall(right, friction=friction, faces_right=False, name="right wall"),
    )


def wall(
    x: float, *, friction: float, faces_right: bool = True, name: str = "wall", speed: float = 0.0
) -> Tool:
    """Return an upright wall at `x`; `speed` along x."""
    normal = (1.0, 0.0) if faces_right else (-1.0, 0.0)
    return Tool(name=name, shape=HalfPlane((x, 0.0), normal), velocity=(speed, 0.0), friction=friction)


def wedge(
    tip: float, included: float, nose: float, *, long: float, friction: float, x: float = 0.0
) -> Tool:
    """Return a wedge of `included` degrees, its lowest point at (`x`, `tip`), moving down at speed 1.

    `nose` is the radius of its rounded edge, `long` how far its flanks reach up.
    """
    half = np.radians(included / 2)
    # The flanks are straight beyond the rounding; the polygon inside it has its own sharp point.
    spread = float(long * np.tan(half))
    corners = ((x, tip + nose), (x + spread, tip + nose + long), (x - spread, tip + nose + long))
    return Tool(
        name="wedge", shape=RoundedPolygon(corners, nose), velocity=(0.0, -1.0), friction=friction
    )
