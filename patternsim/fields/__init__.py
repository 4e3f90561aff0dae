"""Backward maps: links, their layout, the walk."""

from __future__ import annotations

from patternsim.fields.codes import IN_GAP, OUTSIDE, REACHED
from patternsim.fields.grid import Grid, PlaneFlow, sample_flow
from patternsim.fields.nodes import (
    PLANES,
    Affine,
    Bend,
    Clip,
    Domain,
    Gap,
    Halve,
    Leaf,
    Node,
    Pick,
    PlaneMap,
    Rigid,
    Taper,
    moved,
    scaled,
)
from patternsim.fields.program import Program, lay_out
from patternsim.fields.walk import Hits, carry_back, carry_forward, walk

__all__ = [
    "IN_GAP",
    "OUTSIDE",
    "PLANES",
    "REACHED",
    "Affine",
    "Bend",
    "Clip",
    "Domain",
    "Gap",
    "Grid",
    "Halve",
    "Hits",
    "Leaf",
    "Node",
    "Pick",
    "PlaneFlow",
    "PlaneMap",
    "Program",
    "Rigid",
    "Taper",
    "carry_back",
    "carry_forward",
    "lay_out",
    "moved",
    "sample_flow",
    "scaled",
    "walk",
]
