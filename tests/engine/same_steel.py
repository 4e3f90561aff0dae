"""Whether two results hold the same steel: sizes, marks, losses, and what a walk finds."""

import numpy as np

from patternsim.fields import lay_out, walk

POINTS = 60


def seen(result):
    """Return all that can be told of a result, as plain values to compare."""
    return {
        "job": result.job,
        "level": result.level,
        "steps": [step_seen(row) for row in result.steps],
        "bars": {name: [piece_seen(piece) for piece in pieces] for name, pieces in result.bars.items()},
    }


def step_seen(row):
    outcome = row.outcome
    return (
        row.bar, row.step, row.before_kg, outcome.losses, outcome.source, outcome.rough,
        dict(outcome.measures), outcome.force_kn,
        [piece_seen(piece) for piece in (*outcome.pieces, *outcome.offcuts)],
    )  # fmt: skip


def piece_seen(piece):
    low, high = (np.array(corner) for corner in piece.box())
    points = np.random.default_rng(1).uniform(low, high, (POINTS, 3))
    program = lay_out(piece.solid())
    hits = walk(program, points, workers=1)
    steels = [program.steels[k] if k >= 0 else int(k) for k in hits.layers]
    return (
        piece.name, piece.size, piece.volume_mm3, piece.density, piece.layers, piece.lips,
        piece.notch_mm, piece.loose, piece.open_cut, piece.shaped, piece.marks, piece.limits,
        len(piece.cuts), steels, hits.depths.tolist(), hits.paths.tolist(), hits.points.tolist(),
    )  # fmt: skip
