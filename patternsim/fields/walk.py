"""Asking a field: which layer is here, and where was this point before that step."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patternsim.errors import PatternSimError
from patternsim.fields import codes
from patternsim.fields.nodes import Floats, Node
from patternsim.fields.program import Program, lay_out
from patternsim.progress import Progress, Silent

PROBE_MM = 1e-3
ROUNDS = 25
"""Step for the slope, and rounds, of Newton's method when a point is followed forwards."""
BAND = 16384
"""Points walked between two looks at progress and cancelling: some milliseconds."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hits:
    """What a walk found, one row a point.

    Attributes
    ----------
    layers : (n,) int32
        Index into `Program.steels`, or `codes.OUTSIDE`, `codes.IN_GAP`, `codes.REACHED`.
    depths : (n,) float64
        Layer number within its stack, with fraction.
    paths : (n,) int64
        Names the way taken through cuts and restacks.
    points : (n, 3) float64, mm
        Where the walk ended, in the frame of the stack or of the link asked for.
    """

    layers: NDArray[np.int32]
    depths: Floats
    paths: NDArray[np.int64]
    points: Floats

    @property
    def inside(self) -> NDArray[np.bool_]:
        """True where there is steel (or, for a walk that stops early, where it arrived)."""
        return np.asarray((self.layers >= 0) | (self.layers == codes.REACHED))


def walk(
    program: Program,
    points: Floats,
    *,
    stop: Node | None = None,
    progress: Progress | None = None,
    workers: int | None = None,
) -> Hits:
    """Walk points back through a field.

    Parameters
    ----------
    program : Program
        From `lay_out`.
    points : (n, 3) float64, mm
        In the frame of the root. Not changed.
    stop : Node, optional
        Stop when this link is reached and give the coordinates there. It must have been named in
        `lay_out(keep=...)` or `lay_out(stop=...)`.
    progress : Progress, optional
        Told after every band; may raise `Cancelled`.
    workers : int, optional
        Threads; by default one a core.

    Raises
    ------
    ValueError
        If the points are not (n, 3), or `stop` is not part of the field.
    """
    from patternsim.fields import kernel  # heavy: not needed to list or check a job

    if points.ndim != 2 or points.shape[1] != 3:
        raise ValueError(f"points must have the shape (n, 3), not {points.shape}")
    out = np.array(points, dtype=np.float64, order="C")
    count = len(out)
    layers = np.empty(count, dtype=np.int32)
    depths = np.empty(count, dtype=np.float64)
    paths = np.empty(count, dtype=np.int64)
    at = _stop_number(program, stop)

    def band(start: int) -> None:
        part = slice(start, start + BAND)
        kernel.walk_band(program.arrays, at, out[part], layers[part], depths[part], paths[part])

    _in_bands(band, count, progress or Silent(), workers or os.cpu_count() or 1)
    return Hits(layers=layers, depths=depths, paths=paths, points=out)


def _stop_number(program: Program, stop: Node | None) -> int:
    if stop is None:
        return -1
    number = program.numbers.get(id(stop))
    if number is None:
        raise ValueError("the link to stop at is not part of this field, or was not kept apart")
    return number


def _in_bands(band: Callable[[int], None], count: int, progress: Progress, workers: int) -> None:
    starts = range(0, count, BAND)
    if len(starts) < 2 or workers < 2:
        for start in starts:
            band(start)
            progress.at(min(1.0, (start + BAND) / count), "walking back to the layers")
        return
    with ThreadPoolExecutor(max_workers=workers) as pool:
        jobs = [pool.submit(band, start) for start in starts]
        try:
            for done, job in enumerate(jobs, start=1):
                job.result()
                progress.at(done / len(jobs), "walking back to the layers")
        except BaseException:
            for job in jobs:
                job.cancel()
            raise


def carry_back(node: Node, points: Floats, *, stop: Node) -> Floats:
    """Return where `points` (n, 3) mm were at link `stop`; NaN rows where they lie outside."""
    hits = walk(lay_out(node, stop=stop), points, stop=stop, workers=1)
    return np.where(hits.inside[:, None], hits.points, np.nan)


def carry_forward(
    node: Node, points: Floats, *, stop: Node, guess: Floats, tolerance: float = 1e-6
) -> Floats:
    """Return where `points` (n, 3) mm at link `stop` came to lie after `node`.

    Fields lead backwards; a mark is followed forwards by Newton's method on the backward way.

    Parameters
    ----------
    node, stop : Node
        The links after and before.
    guess : (n, 3) float64, mm
        Where to start looking, from the even stretch of the step.
    tolerance : float, mm
        Accepted distance at `stop`.

    Raises
    ------
    PatternSimError
        If a point cannot be followed: it does not come out of the step, or the guess was far off.
    """
    program = lay_out(node, stop=stop)
    at = np.array(guess, dtype=np.float64)
    for _ in range(ROUNDS):
        around = np.concatenate([at, *(at + PROBE_MM * np.eye(3)[k] for k in range(3))])
        hits = walk(program, around, stop=stop, workers=1)
        back = hits.points.reshape(4, -1, 3)
        miss = points - back[0]
        if np.abs(miss).max(initial=0.0) < tolerance:
            if hits.inside[: len(at)].all():
                return at
            break
        slope = np.stack([(back[k + 1] - back[0]) / PROBE_MM for k in range(3)], axis=-1)
        try:
            at += np.linalg.solve(slope, miss[..., None])[..., 0]
        except np.linalg.LinAlgError:
            break
    raise PatternSimError("a point cannot be followed through this step: its way back leads nowhere")
