"""What a step adds up while it presses piece after piece: steel lost, force, damage, source."""

from __future__ import annotations

from dataclasses import dataclass, field

from patternsim.fields import Leaf
from patternsim.forming import Losses
from patternsim.hot_strength import Strength, strength
from patternsim.piece import Piece
from patternsim.press import Level, Load, PressAnswer
from patternsim.steels import find_steel
from patternsim.step import Context, HotStep, Outcome

CARBON = (0.07, 1.2)
"""wt % for which the flow stress was measured; nickel and iron are taken as the mildest steel."""
STANDS_IN = "the flow worked out last, stretched to the new sizes"
AS_PRISM = "rounded in another plane before; worked as if its middle were all of it"
UNSETTLED_MOST = 0.1
"""Share of steps that did not settle from which on a flow is told to be rough; by experience."""
LEAST_STRAIN = 0.05
"""A light pass still has to bring the steel to yield."""


@dataclass(slots=True)
class Tally:
    """Sums over the pieces of a step.

    Attributes
    ----------
    step : HotStep
    context : Context
    bite : float or None, mm
        Length of steel under the die; None: half the width of the piece, as with drawing dies.
    """

    step: HotStep
    context: Context
    bite: float | None = None
    done: list[Piece] = field(default_factory=list)
    scale: float = 0.0
    source: str = "exact"
    damage: float = 0.0
    force: Strength = field(default_factory=lambda: Strength(low=0.0, likely=0.0, high=0.0))
    heaviest_bite: float = 0.0
    remembered: list[object] = field(default_factory=list)
    stood_in: bool = False
    as_prism: bool = False
    unsettled: float = 0.0

    def add(self, before: Piece, after: Piece, lost: float, answer: PressAnswer) -> None:
        """Add a piece that was pressed across its length, bite by bite."""
        bite = min(self.bite or before.size[1] / 2, before.size[0])
        self._add(before, after, lost, answer, bite)

    def add_on_end(self, before: Piece, after: Piece, lost: float, answer: PressAnswer) -> None:
        """Add a piece that was pressed on end: all of its thickness lies under the die."""
        self._add(before, after, lost, answer, before.size[2])

    def add_on_edge(self, before: Piece, after: Piece, lost: float, answer: PressAnswer) -> None:
        """Add a piece that was pressed along its thickness with a die across all of its width."""
        self._add(before, after, lost, answer, before.size[1])

    def _add(self, before: Piece, after: Piece, lost: float, answer: PressAnswer, bite: float) -> None:
        self.done.append(after)
        self.scale += lost
        self.source = answer.source
        self.damage = max(self.damage, answer.damage or 0.0)
        self.as_prism |= answer.as_prism
        self.unsettled = max(self.unsettled, answer.unsettled)
        self.remember(answer, stands_in=answer.outline is not None and answer.source == Level.QUICK)
        self.load(answer.loads, bite, carbon_of(before))

    def load(self, loads: tuple[Load, ...], bite: float, carbon: float) -> None:
        """Add what passes ask of the press, each over `bite` mm of steel."""
        for one in loads:
            stress = strength(
                carbon=carbon,
                celsius=self.step.temperature_c,
                strain=max(one.strain, LEAST_STRAIN),
                rate=self.context.shop.press_speed_mm_s / one.height,
            )
            area = one.width * bite / 1000.0
            if area * stress.likely > self.force.likely:
                self.force = Strength(
                    low=area * stress.low, likely=area * stress.likely, high=area * stress.high
                )
                self.heaviest_bite = bite

    def remember(self, answer: object, *, stands_in: bool = False) -> None:
        """Keep what was answered for the next piece: it stands in while numbers are changed."""
        self.remembered.append(answer)
        self.stood_in |= stands_in

    def like(self) -> object | None:
        """Return what this step answered for the piece that is next, when it was worked out before."""
        known = self.context.like.get(self.step.id, ())
        place = len(self.done)
        return known[place] if place < len(known) else None

    def like_press(self) -> PressAnswer | None:
        """Return that answer if it is a press's."""
        known = self.like()
        return known if isinstance(known, PressAnswer) else None

    def _rough(self) -> str:
        """Return why the pieces must not be read closely; empty where nothing speaks against it."""
        if self.stood_in:
            return STANDS_IN
        if self.unsettled > UNSETTLED_MOST:
            return "the flow did not come to rest in many of its steps"
        return AS_PRISM if self.as_prism else ""

    def outcome(self, *, rough: str = "", measures: dict[str, float] | None = None) -> Outcome:
        """Return all of it as what the step gives."""
        told = dict(measures or {})
        pressed = self.force.likely > 0.0
        if pressed:
            told |= {
                "force_low_kn": self.force.low,
                "force_high_kn": self.force.high,
                "force_bite_mm": self.heaviest_bite,
                "damage": self.damage,
            }
        return Outcome(
            pieces=tuple(self.done),
            losses=Losses(scale=self.scale),
            source=self.source,
            rough=self._rough() or rough,
            remembered=tuple(self.remembered),
            measures=told,
            force_kn=self.force.likely if pressed else None,
        )


def carbon_of(piece: Piece) -> float:
    """Return the mean carbon of the stacks a piece was made of, wt %, within what was measured."""
    seen, waiting, total, weight = set(), [piece.field], 0.0, 0.0
    while waiting:
        node = waiting.pop()
        if id(node) in seen:
            continue
        seen.add(id(node))
        waiting.extend(node.children())
        if isinstance(node, Leaf):
            for steel, thick in zip(node.steels, node.edges[1:] - node.edges[:-1], strict=True):
                total += find_steel(steel).carbon * float(thick)
                weight += float(thick)
    mean = total / weight if weight else CARBON[0]
    return min(max(mean, CARBON[0]), CARBON[1])
