"""A split block as it stands before it is closed: its halves leaning apart from the web.

How far real halves spread is not worked out: they are opened for the eye, by no more than the wedge
would open them. Only pictures are taken of the opened piece; the job goes on with the closed one.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from patternsim.fields import Affine, Bend, Clip, Halve, Node
from patternsim.piece import CutLine, Floats, Mark, Piece, triple
from patternsim.steps.bend import bent_points, middle_line

OPENED = 0.5
"""Gap where the wedge went in, over the width of the block; by eye."""
HINGE = 7.0
"""Radius on which a half leans away from the web, over its own width: the outer side hardly bulges."""
BENT = 0.4
"""The bend, from the web on, takes at most so much of a half twice over; a short one opens less."""
WEB_LEAST_MM = 1e-6
RIM_POINTS = 200
_FAR = 1e6


def opened(piece: Piece) -> Piece:
    """Return a split piece with its halves leaning apart; any other piece as it is."""
    if not piece.open_cut or piece.parted is not None:
        return piece
    cut = piece.cuts[-1]
    low_half, high_half = (_Half(piece, cut, sign) for sign in (-1.0, 1.0))
    node = Halve(normal=cut.halve.normal, at=cut.halve.at, low=low_half.node(), high=high_half.node())
    after = np.concatenate([half.forward(half.rim()) for half in (low_half, high_half)])
    first, last = after.min(axis=0), after.max(axis=0)
    low, high = piece.box()
    return replace(
        piece,
        field=node,
        limits=(*triple(np.array([first[0], first[1], low[2]])),
                *triple(np.array([last[0], last[1], high[2]]))),
        marks=tuple(_leaning(mark, cut, low_half, high_half) for mark in piece.marks),
    )  # fmt: skip


def _leaning(mark: Mark, cut: CutLine, low: _Half, high: _Half) -> Mark:
    at = np.array(mark.at)
    half = high if float(cut.halve.normal @ at) >= cut.halve.at else low
    return replace(mark, at=triple(half.forward(at[None])[0]))


class _Half:
    """One half in a frame of its own: s from the base, d away from the cut, z."""

    def __init__(self, piece: Piece, cut: CutLine, sign: float) -> None:
        self.piece, self.cut, self.sign = piece, cut, sign
        length, width = piece.size[0], piece.size[1]
        along, base = (1.0, 0.0) if cut.down else (-1.0, length)
        self.into = np.array([[along, 0.0, 0.0], sign * cut.halve.normal, [0.0, 0.0, 1.0]])
        self.by = np.array([-along * base, -sign * cut.halve.at, 0.0])
        web = cut.nose_x if cut.down else length - cut.nose_x
        # Split right through nothing holds the halves: they stand apart.
        self.apart = np.array([0.0, OPENED * width / 4 if web < WEB_LEAST_MM else 0.0, 0.0])
        reach = length - web
        # The first part of the bend hardly opens yet.
        angle = math.atan(OPENED / 2 * width / ((1.0 - BENT) * reach))
        angle = min(angle, BENT * reach / (HINGE * self._outer()))
        arc = HINGE * self._outer() * angle
        # The curvature grows and fades evenly, from the web on: the web itself is whole.
        self.table, self.step = middle_line(length, start=web + arc / 2, arc=arc, angle=angle, ease=arc)

    def _outer(self) -> float:
        """Return the width of the half where it is widest, mm."""
        low, high = self.piece.box()
        y = high[1] if self.sign > 0 else low[1]
        corners = np.array([[x, y, z] for x in (low[0], high[0]) for z in (low[2], high[2])])
        return float((corners @ self.into.T + self.by)[:, 1].max())

    def node(self) -> Node:
        """Return the link from a point of the opened half back to the closed one."""
        back = np.linalg.inv(self.into)
        closed = Affine(self.piece.solid(), matrix=back, shift=-back @ self.by)
        # Only steel of this half: the hinge must not show steel of the other.
        half: Node = Clip(closed, low=(-_FAR, 0.0, -_FAR), high=(_FAR, _FAR, _FAR))
        if not self.apart.any():
            half = Bend(half, step=self.step, table=self.table)
        return Affine(half, matrix=self.into, shift=self.by - self.apart)

    def forward(self, points: Floats) -> Floats:
        """Return where points (n, 3) of the closed half lie in the opened one."""
        own = points @ self.into.T + self.by
        if not self.apart.any():
            own = bent_points(own, self.table, self.step)
        return np.asarray((own + self.apart - self.by) @ np.linalg.inv(self.into).T)

    def rim(self) -> Floats:
        """Return points along the outer side and along the cut, on both faces."""
        low, high = self.piece.box()
        x = np.linspace(low[0], high[0], RIM_POINTS)
        y = high[1] if self.sign > 0 else low[1]
        normal, rows = self.cut.halve.normal, []
        for z in (low[2], high[2]):
            on_cut = (self.cut.halve.at - normal[0] * x - normal[2] * z) / normal[1]
            rows += [np.stack([x, across, np.full_like(x, z)], axis=1) for across in (
                np.full_like(x, y), on_cut)]  # fmt: skip
        return np.concatenate(rows)
