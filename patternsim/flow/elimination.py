"""Equations of a section solved directly: once a pattern is known, its values are factored quickly.

For symmetric matrices that part into L D L' in any order: positive definite ones, and those with a
positive block of velocities and a small negative block of pressures (quasi-definite: Vanderbei, SIAM J.
Optim. 5, 1995). Nothing is exchanged for the sake of its size; the digits are kept because the late
unknowns of a front, the pressures, are eliminated after the velocities that they hold together.
Heavy: what is compiled is imported here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from patternsim.flow.compiled import factor as compiled
from patternsim.flow.compiled import fronts
from patternsim.flow.ordering import ordered

__all__ = ["Elimination", "Factor"]

Floats = NDArray[np.float64]


class Elimination:
    """How a pattern is eliminated: worked out once, and used for all values of it."""

    def __init__(
        self,
        pointers: NDArray[np.int32],
        rows: NDArray[np.int32],
        places: Floats,
        late: NDArray[np.bool_],
    ) -> None:
        """Take the full symmetric pattern by columns, where each unknown lies, and which come late."""
        if not np.isfinite(places).all():
            raise ValueError("an unknown lies nowhere")
        order = ordered(pointers, rows, places, late)
        rank, of, up, sizes = fronts.fronts(order.sequence, order.links, order.others, order.starts)
        first, turn = fronts.placed(order.sequence, of, order.starts, order.unknowns, late, sizes)
        starts, below = fronts.handed_on(
            first, turn, order.at, rank, of, up, sizes, order.links, order.others
        )
        there, taken = fronts.shifted(first, up, starts, below)
        columns, lengths, stacked, stack, most = fronts.room(up, sizes)
        read, to, diagonal = fronts.entered(pointers, rows, first, turn, starts, below, columns, lengths)
        self.entries = len(rows)
        self._factoring = (
            read, to, diagonal, first, up, starts, there, taken, columns, lengths, stacked, stack, most,
        )  # fmt: skip
        self._solving = (turn, first, starts, below, columns, lengths)
        self._turn = turn

    def factor(self, values: Floats) -> Factor:
        """Return the factors of the matrix with these values, in the order of the pattern."""
        values = np.ascontiguousarray(values, dtype=np.float64)
        if values.shape != (self.entries,):
            raise ValueError(f"{self.entries} values are needed, not {values.shape}")
        panel, pivots, done = compiled.factored(values, *self._factoring)
        if done < len(self._turn):
            raise ArithmeticError(
                f"the equations have no single answer: nothing holds unknown {self._turn[done]}"
            )
        return Factor(panel, pivots, self._solving)


class Factor:
    """A matrix parted into its factors, ready to solve with."""

    def __init__(self, panel: Floats, pivots: Floats, solving: tuple[NDArray[np.int64], ...]) -> None:
        self._panel = panel
        self._pivots = pivots
        self._solving = solving

    def solve(self, right: Floats) -> Floats:
        """Return the answer to one right side, or to each column of several."""
        rights = np.ascontiguousarray(np.atleast_2d(right.T), dtype=np.float64)
        answers = compiled.solved(self._panel, self._pivots, rights, *self._solving)
        return answers[0] if right.ndim == 1 else np.ascontiguousarray(answers.T)
