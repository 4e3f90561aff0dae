"""How far a split drags its layers over depth and distance from the cut: measured, and as tabled.

All lengths are over the width of the block, in the block as it was before it was closed: what closing
stretches evenly is taken out.
"""

import json
from pathlib import Path

import numpy as np
from skimage.measure import points_in_poly

from engine.press.lags import SHUT, before, block, shut_half

TALL, ANGLES, FRICTIONS = (1.5, 2.0, 2.5), (35.0, 45.0, 60.0), (0.4, 0.8)
NOSE = 0.08
DISTANCES = (0.04, 0.06, 0.1, 0.15, 0.2, 0.3, 0.4)
EDGE = 0.45
"""Drags are told against the layer at this distance: at the edge itself the heel has no steel."""
DEPTHS = (0.1, 0.2, 0.3, 0.4, 0.55, 0.7)
HEIGHTS = (0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.25, 0.2)
"""Below the entry and above the far end."""
FACTOR_AT = 2
"""Which of the distances the start and end factors are taken at."""
FILE = Path(__file__).with_name("drags.json")


def places(tall):
    """Return the depths below the entry at which drags are told."""
    return np.array([*DEPTHS, *(tall - height for height in HEIGHTS)])


def drags(back, depths):
    """Return (depths, distances) drags from a backward map of (depth, distance); nan without steel."""
    columns = np.array([*DISTANCES, EDGE])
    grid = np.stack([g.ravel() for g in np.meshgrid(depths, columns, indexing="ij")], axis=1)
    moved = (grid - back(grid))[:, 0].reshape(len(depths), -1)
    return moved[:, :-1] - moved[:, -1:]


def of_flow(tall, included, friction, *, level="fine", nose=NOSE):
    """Return the drags of a split worked out, at `places`."""
    half = shut_half(block(tall, included, nose, friction), level)

    def back(points):
        there = np.stack([points[:, 1] * SHUT, (tall - points[:, 0]) / SHUT], axis=1)
        found = before(half, there)
        found[~points_in_poly(there, half.outline)] = np.nan
        return np.stack([tall - found[:, 1], found[:, 0]], axis=1)

    return drags(back, places(tall))


def factors(table, tall):
    """Return the drag at every depth over the largest of the middle: start and end factors."""
    column = np.asarray(table)[:, FACTOR_AT]
    depths = places(tall)
    middle = (depths >= 0.7) & (depths <= tall - 0.7)
    return column / np.nanmax(column[middle])


def name(tall, included, friction):
    return f"{tall:g} {included:g} {friction:g}"


def worked_out():
    """Return the whole table anew, ready to be written."""
    return {
        name(tall, included, friction): [
            [None if np.isnan(v) else round(float(v), 3) for v in row]
            for row in of_flow(tall, included, friction)
        ]
        for tall in TALL
        for included in ANGLES
        for friction in FRICTIONS
    }


def written(table):
    """Return the table as the file holds it."""
    blocks = []
    for key, rows in table.items():
        lines = ",\n    ".join(json.dumps(row) for row in rows)
        blocks.append(f'  "{key}": [\n    {lines}\n  ]')
    return "{\n" + ",\n".join(blocks) + "\n}\n"


def tabled():
    """Return the table: name to (depths, distances), nan without steel."""
    kept = json.loads(FILE.read_text(encoding="utf-8"))
    return {key: np.array(rows, dtype=float) for key, rows in kept.items()}
