"""Pressure and friction of tools on the nodes of a border, compiled.

A node may not run into a tool: penetration at the end of the step costs a steep penalty, which repays
at the next step. Friction follows the smaller of the Coulomb and the Tresca limit, smoothed about
standstill.
"""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
# ruff: noqa: ANN001, ANN201

from __future__ import annotations

import numpy as np

from patternsim.fields.compiler import njit

FIRM = 2.0
"""Friction over pressure at most, where no coefficient is given: else a node that barely touches would
be held by all of the friction at once, and come and go without end."""
MIXED = 0.4
"""Share of the secant in the slope of friction: the exact slope alone overshoots and oscillates."""


@njit(cache=True, nogil=True)
def touch(
    node, tool, gap, normal, share, speed, shear, coulomb, sticks, before, velocity, step, penalty, slip,
    secant, fixed, blocks, values, residual, forced, active, pressure, forces, mode,
):  # fmt: skip
    """Return the energy of all contacts; fill active (c,), pressure (c,).

    mode 0: the energy alone. 1: also residual (n,) and forces (tools, 2). 2: also the values of the
    equations. `before` (c,) is the pressure the Coulomb limit goes by; < 0: the pressure now. A node
    that is `forced` (c,) counts as touching even if it does not.
    """
    total = 0.0
    for c in range(node.shape[0]):
        n, t = node[c], tool[c]
        nx, ny = normal[c, 0], normal[c, 1]
        vx, vy = velocity[n, 0] - speed[t, 0], velocity[n, 1] - speed[t, 1]
        along = vx * nx + vy * ny
        deep = -(gap[c] / step + along)
        w = share[c]
        pushes = deep > 0.0 or forced[c]
        active[c] = pushes
        if not pushes:
            pressure[c] = 0.0
            continue
        pressure[c] = penalty * max(deep, 0.0)
        total += 0.5 * penalty * w * deep * deep
        tx, ty = vx - along * nx, vy - along * ny
        slide = tx * tx + ty * ty
        if sticks[t]:
            total += 0.5 * penalty * w * slide
            drag = penalty
            slope = penalty
        else:
            by = before[c] if before[c] >= 0.0 else pressure[c]
            limit = min(shear[t], (coulomb[t] if coulomb[t] >= 0.0 else FIRM) * by)
            speed_now = np.sqrt(slide + slip * slip)
            total += w * limit * (speed_now - slip)
            drag = limit / speed_now
            slope = drag
            if not secant:
                slope = MIXED * drag + (1.0 - MIXED) * limit * slip * slip / speed_now**3
        if mode == 0:
            continue
        fx = -w * penalty * deep * nx + w * drag * tx
        fy = -w * penalty * deep * ny + w * drag * ty
        forces[t, 0] += fx
        forces[t, 1] += fy
        if not fixed[2 * n]:
            residual[2 * n] += fx
        if not fixed[2 * n + 1]:
            residual[2 * n + 1] += fy
        if mode == 1:
            continue
        kn, kt = w * penalty, w * slope
        if not fixed[2 * n]:
            values[blocks[n, 0]] += kn * nx * nx + kt * ny * ny
        if not fixed[2 * n + 1]:
            values[blocks[n, 3]] += kn * ny * ny + kt * nx * nx
        if not (fixed[2 * n] or fixed[2 * n + 1]):
            values[blocks[n, 1]] += (kn - kt) * nx * ny
            values[blocks[n, 2]] += (kn - kt) * nx * ny
    return total
