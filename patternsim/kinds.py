"""The kinds of step in a smith's words: where each is done, what else it is called, what can hurt.

What a step does to the steel is told by `steps`; cautions here are the usual ones, no instructions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import patternsim.steps  # noqa: F401 - enters the step kinds in the registry
from patternsim.step import REGISTRY

STANDING = frozenset({"stack-tall", "split"})
"""Kinds of step that leave the steel standing on end."""
AS_IT_WAS = frozenset({"forge-weld", "check", "mark"})
"""Kinds that are done to steel as it stands or lies; all others are done to it lying."""

Group = Literal["Fire", "Hammer and press", "Saw and wedge", "Grinder", "Bench and tank"]

_FIRE = (
    "Welding heat burns, dazzles and gives off fumes: filtered eye protection, gloves, dry tools, fresh "
    "air. Keep to the data sheets of fuel and flux and to local codes; gas lines by licensed trades."
)
_PRESS = (
    "Hot steel can jump out of the dies and scale spits: hands out, eyes covered, nobody in line with "
    "the bar. Keep to the data sheet of press or hammer and to local codes; oil and mains by licensed "
    "trades."
)
_WEDGE = (
    "A wedge can spring out, and a cold one can crack: hold it with a handle or a holder, stand aside, "
    "cover the eyes. Keep to the data sheet of the press and to local codes."
)
_SAW = (
    "Clamp the steel, leave the guards on, cover eyes and ears; a fresh cut is hot and sharp. Keep to "
    "the data sheets of saw and cooling liquid and to local codes."
)
_GRIND = (
    "Grinding dust harms the lungs, and sparks set fire to it: mask or extraction, eyes and ears "
    "covered. Keep to the data sheets of steel and abrasive and to local codes."
)
_CHISEL = (
    "Chips fly off chisel and punch: cover the eyes, grind off a spread head. Keep to the tool's data "
    "sheet and to local codes."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class KindWords:
    """A kind of step in words.

    Attributes
    ----------
    kind, title : str
        As in a job file; as on the job card.
    group : str
        Where it is done.
    words : tuple of str
        Other words a smith may look for it by.
    about : str
        One line.
    caution : str
        What can hurt, in one or two sentences; empty where nothing much can.
    """

    kind: str
    title: str
    group: Group
    words: tuple[str, ...]
    about: str
    caution: str = ""


_Row = tuple[str, tuple[str, ...], str, str]
_ROWS: dict[Group, tuple[_Row, ...]] = {
    "Fire": (
        (
            "forge-weld",
            ("fire weld", "set the weld", "solid", "billet", "squeeze"),
            "The loose stack pressed solid at welding heat.",
            _FIRE,
        ),
        (
            "reweld",
            ("reweld", "close the split", "weld the halves", "shut"),
            "The halves of a split pressed together and welded.",
            _FIRE,
        ),
    ),
    "Hammer and press": (
        (
            "draw",
            ("draw down", "lengthen", "forge out", "stretch", "drawing dies"),
            "The bar made longer, to a width and a thickness.",
            _PRESS,
        ),
        (
            "flatten",
            ("flat bar", "thin out", "spread", "widen"),
            "The bar made thin and wide between flat dies.",
            _PRESS,
        ),
        (
            "square-up",
            ("square", "true up", "even the sides"),
            "The bar brought to a square section.",
            _PRESS,
        ),
        (
            "crush-corners",
            ("knock the corners in", "press on the bias", "corners", "octagon", "diamond"),
            "A square bar pressed corner to corner, so that the layers fold.",
            _PRESS,
        ),
        (
            "fuller",
            ("fullering", "grooves", "ladder", "dents", "random", "round dies"),
            "Grooves pressed across; ground flat they show as bands, hills and hollows.",
            _PRESS,
        ),
        (
            "press-on-edge",
            ("on edge", "edge press", "bow the layers", "upset on edge", "w"),
            "The bar laid on edge and pressed, so that the layers bow.",
            _PRESS,
        ),
        (
            "taper",
            ("point", "draw a point", "distal taper", "forge the tip", "draw the tang"),
            "One end drawn down over a length.",
            _PRESS,
        ),
        (
            "bend",
            ("curve", "sweep", "bend edgewise"),
            "The bar bent in its face on a radius.",
            _PRESS,
        ),
        (
            "upset",
            ("jump up", "shorten", "thicken", "on end"),
            "The bar pressed on end, shorter and thicker.",
            _PRESS,
        ),
    ),
    "Saw and wedge": (
        (
            "cut",
            ("cut", "part", "crop", "divide", "band saw", "off-cut", "guard"),
            "Ends cropped, off-cuts kept, the bar sawn into equal lengths.",
            _SAW,
        ),
        (
            "trim",
            ("trim", "cut off", "ends", "edges", "square the ends"),
            "Ends and edges taken off, each by itself.",
            _SAW,
        ),
        (
            "slice",
            ("resaw", "plates", "saw lengthwise", "two blades", "book"),
            "The block sawn lengthwise into plates.",
            _SAW,
        ),
        (
            "split",
            ("wedge", "feather", "cleave", "hot cut", "chop"),
            "A blunt wedge driven down the middle: it drags the layers into barbs.",
            _WEDGE,
        ),
    ),
    "Grinder": (
        (
            "grind-clean",
            ("grind", "clean", "bright", "descale", "mill scale", "skim"),
            "Faces, edges or ends ground to clean metal before a weld.",
            _GRIND,
        ),
    ),
    "Bench and tank": (
        (
            "stack",
            ("strips", "layers", "billet", "start", "new steel"),
            "Strips laid on one another: the steel a bar begins with.",
            "",
        ),
        (
            "restack",
            ("fold", "stack again", "four-way", "tile", "double the layers"),
            "Pieces of the bar laid together again, on and beside one another.",
            "",
        ),
        (
            "stack-tall",
            ("stack high", "tower", "end grain", "stand up"),
            "All pieces stacked and stood up, so that the end grain is on the face.",
            "",
        ),
        (
            "join",
            ("add a bar", "lay together", "composite", "core", "edge bar"),
            "Other bars of the job laid to this one.",
            "",
        ),
        (
            "turn",
            ("rotate", "roll", "flip", "quarter turn"),
            "The piece turned by quarters on the bench.",
            "",
        ),
        (
            "mark",
            ("nick", "chisel", "punch", "witness mark", "scribe"),
            "A chisel nick, followed through every later step.",
            _CHISEL,
        ),
        (
            "check",
            ("hold", "look", "inspect", "measure", "hold point"),
            "Stop and look; go on only if it is right.",
            "",
        ),
    ),
}


def step_kinds() -> tuple[KindWords, ...]:
    """Return every kind of step in words, by the places where they are done."""
    return tuple(
        KindWords(
            kind=kind,
            title=REGISTRY[kind].title,
            group=group,
            words=words,
            about=about,
            caution=caution,
        )
        for group, rows in _ROWS.items()
        for kind, words, about, caution in rows
    )


def leaves_standing(kinds: Sequence[str]) -> bool:
    """Tell whether steel stands on end after steps of these kinds.

    >>> leaves_standing(["stack", "stack-tall", "forge-weld"])
    True
    >>> leaves_standing(["stack-tall", "split", "reweld"])
    False
    """
    last = next((kind for kind in reversed(kinds) if kind not in AS_IT_WAS), "")
    return last in STANDING
