"""The job as values: shop, bars of steps, blade. Frozen; a change gives a new one."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, StrictStr

from patternsim.shape import Grind
from patternsim.shop import Shop
from patternsim.step import Step, choice, number

FORMAT = 1
"""The format this release reads and writes."""
MOST_BARS = 100


class Frozen(BaseModel):
    """Base of the parts of a job."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Bar(Frozen):
    """One line of work: steps in forge order."""

    name: StrictStr = Field(min_length=1, max_length=60)
    step: tuple[Step, ...] = Field(min_length=1)


class GrindNumbers(Frozen):
    """The grind of the blade; what is left out follows the profile."""

    kind: Literal["flat", "dagger"] | None = choice(
        None, label="Grind", reason="flat bevels or four; left out, as usual for the profile"
    )
    spine_mm: float | None = number(
        None, label="Spine", unit="mm", above=0.0, high=30.0, reason="thickness at the heel"
    )
    spine_tip_mm: float | None = number(
        None, label="Spine at the tip", unit="mm", above=0.0, high=30.0,
        reason="10 mm from the tip; straight taper from the heel",
    )  # fmt: skip
    edge_mm: float | None = number(
        None, label="Edge", unit="mm", above=0.0, high=10.0, reason="before sharpening"
    )
    bevel_height_mm: float | None = number(
        None, label="Bevel height", unit="mm", above=0.0, high=200.0,
        reason="above the edge; left out, as usual for the profile, full for kitchen knives",
    )  # fmt: skip

    def over(self, usual: Grind) -> Grind:
        """Return the grind: these numbers, and the usual ones where none is given.

        Raises
        ------
        ValueError
            If the numbers do not make a grind.
        """
        kind = self.kind or usual.kind
        # The usual bevel belongs to the usual kind: four bevels have no height to give.
        bevel = usual.bevel_height_mm if kind == usual.kind else None
        return Grind(
            kind=kind,
            spine_mm=self.spine_mm or usual.spine_mm,
            spine_tip_mm=self.spine_tip_mm or usual.spine_tip_mm,
            edge_mm=self.edge_mm or usual.edge_mm,
            bevel_height_mm=self.bevel_height_mm or bevel,
        )


class Place(Frozen):
    """Where the blade lies in its bar."""

    tip: Literal["on-line", "by-numbers"] = choice(
        "on-line", label="Tip", reason="on the centre line of the feather, or where the numbers say"
    )
    tip_end: Literal["near", "far"] = choice(
        "far", label="Tip towards the", reason="end of the bar the tip points to"
    )
    from_end_mm: float = number(
        8.0, label="Tip from the end", unit="mm", low=0.0, high=2000.0,
        reason="sound steel beyond the tip; the end of a bar is not trusted",
    )  # fmt: skip
    off_middle_mm: float = number(
        0.0, label="Tip off the middle", unit="mm", low=-500.0, high=500.0,
        reason="of the bar's width, towards the spine; used where the tip is placed by numbers",
    )  # fmt: skip
    turn_deg: float = number(
        0.0, label="Turned", unit="deg", low=-45.0, high=45.0,
        reason="about the tip; positive lifts the heel towards the spine side",
    )  # fmt: skip


class Blade(Frozen):
    """The blade to be cut from a bar."""

    bar: StrictStr
    piece: int = number(
        1, label="Piece", unit="", low=1, high=1000, reason="which piece of the bar, first is 1"
    )
    profile: Literal["chef", "hunter", "dagger"] = choice(
        "chef", label="Profile", reason="chef's knife, drop-point hunter, dagger"
    )
    outline: dict[str, float] = choice(
        {}, label="Outline", reason="numbers of the profile; what is left out is as usual"
    )
    grind: GrindNumbers = Field(default_factory=GrindNumbers)
    place: Place = Field(default_factory=Place)
    allowance_mm: float = number(
        2.0, label="Allowance", unit="mm", low=0.0, high=20.0,
        reason="of the forged bar round the outline; ground off; common practice, no source",
    )  # fmt: skip
    barbs: Literal["tip", "handle", "none"] = choice(
        "tip", label="Barbs wanted", reason="end the outer ends of the barbs lean to"
    )


class Job(Frozen):
    """A whole job."""

    format: int
    name: StrictStr = Field(min_length=1, max_length=200)
    about: StrictStr = Field("", max_length=4000)
    shop: Shop = Field(default_factory=Shop)
    bar: tuple[Bar, ...] = Field(min_length=1, max_length=MOST_BARS)
    blade: Blade | None = None
    accept: tuple[StrictStr, ...] = Field((), max_length=200)
    """Codes of findings the smith has looked at and accepts."""

    def bar_named(self, name: str) -> Bar:
        """Return the bar called `name`; it exists in every job that was read."""
        return next(bar for bar in self.bar if bar.name == name)

    def find_step(self, step_id: str) -> tuple[Bar, int] | None:
        """Return the bar and the place in it of the step `step_id`, or None."""
        for bar in self.bar:
            for place, step in enumerate(bar.step):
                if step.id == step_id:
                    return bar, place
        return None
