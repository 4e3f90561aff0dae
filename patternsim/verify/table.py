"""The published problems, in the order of the list."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from patternsim.progress import Progress, Silent
from patternsim.verify import pressing, slip_lines, wedges
from patternsim.verify.check import Check, Row, worked

HILL = "Hill, The Mathematical Theory of Plasticity, 1950"
WEDGE = "Hill, Lee and Tupper, Proc. R. Soc. A 188, 1947"


def _platens() -> Iterator[Check]:
    for ratio in (1.0, 2.0, 4.0):
        exact = slip_lines.platen_pressure(ratio) if ratio < 3.6 else slip_lines.wide_platens(ratio)
        yield Check(
            name=f"rough platens, width over height {ratio:g}, rate exponent 0.02: pressure / 2k",
            source=HILL,
            published=exact,
            tolerance=0.04,
            compute=partial(pressing.platens, ratio, 0.02),
        )
        yield Check(
            name=f"rough platens, width over height {ratio:g}, rigid: pressure / 2k",
            source=HILL,
            published=exact,
            tolerance=0.015,
            compute=partial(pressing.rigid, partial(pressing.platens, ratio)),
        )
    yield Check(
        name="rough platens, width over height 8, rigid: pressure / 2k",
        source=HILL,
        published=slip_lines.wide_platens(8.0),
        tolerance=0.03,
        compute=partial(pressing.rigid, partial(pressing.platens, 8.0)),
    )


def _wedges() -> Iterator[Check]:
    for degrees in (30.0, 45.0, 60.0):
        theory = slip_lines.indentation(degrees)
        for what, published, tolerance in (
            ("force", theory.force, 0.06),
            ("contact", theory.contact, 0.05),
            ("lip", theory.lip, 0.12),
        ):
            yield Check(
                name=f"smooth wedge of semi-angle {degrees:g} degrees pressed in: {what} / depth",
                source=WEDGE,
                published=published,
                tolerance=tolerance,
                compute=partial(_of_wedge, degrees, what),
                slow=True,
            )
    for degrees in (22.5, 30.0):
        yield Check(
            name=f"smooth sharp wedge of semi-angle {degrees:g} degrees parts a block: force / 2k width",
            source="upper bound, sliding halves: Drucker, Prager and Greenberg 1952",
            published=slip_lines.splitting(degrees),
            tolerance=0.08,
            compute=partial(pressing.rigid, partial(wedges.parted, degrees)),
        )


def _of_wedge(degrees: float, what: str) -> float:
    return float(getattr(wedges.pressed_in(degrees), what))


CHECKS: tuple[Check, ...] = (
    Check(
        name="frictionless squeeze by 60 %: largest error of the map / side",
        source="exact: every point moves in proportion",
        published=0.0,
        tolerance=2e-3,
        compute=pressing.affine,
        absolute=True,
    ),
    Check(
        name="flat punch on a confined block: pressure / k",
        source="Prandtl 1920; " + HILL,
        published=slip_lines.PUNCH,
        tolerance=0.02,
        compute=partial(pressing.punch, 0.02),
    ),
    *_platens(),
    Check(
        name="narrow dies: height over die width beyond which a free block no longer splits",
        source=HILL,
        published=8.7,
        tolerance=0.05,
        compute=pressing.split_threshold,
    ),
    *_wedges(),
)


def rows(progress: Progress | None = None, *, checks: tuple[Check, ...] = CHECKS) -> Iterator[Row]:
    """Work the checks out, one after another.

    Raises
    ------
    Cancelled
        From `progress`.
    """
    progress = progress or Silent()
    for place, check in enumerate(checks):
        progress.at(place / len(checks), check.name)
        yield worked(check)
