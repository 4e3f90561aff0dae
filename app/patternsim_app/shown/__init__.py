"""What the views show, as plain frozen values: no steel, no job, no Qt in them.

Controllers make them from what the engine worked out; views only draw them. Pictures are arrays with
transparency, so that light and dark ground show through alike. All lengths are millimetres: how they are
written (mm or inch) is the view's business, through `patternsim.sizes`.
"""

from __future__ import annotations

from patternsim_app.shown.basics import Grade, Points, Pose, Rgba, Units, Value
from patternsim_app.shown.bench import (
    BarbsShown,
    BilletShown,
    FacePicture,
    FaceShown,
    Legend,
    MarkShown,
    OutlineShown,
    Patch,
    StationShown,
    TipShown,
)
from patternsim_app.shown.card import AnswerTile, Findable, State, StepKind, StepRow, Token
from patternsim_app.shown.export import Preview
from patternsim_app.shown.sheet import FieldRow, FindingNote, Sheet, SteelColumn, SteelShown

__all__ = [
    "AnswerTile",
    "BarbsShown",
    "BilletShown",
    "FacePicture",
    "FaceShown",
    "FieldRow",
    "Findable",
    "FindingNote",
    "Grade",
    "Legend",
    "MarkShown",
    "OutlineShown",
    "Patch",
    "Points",
    "Pose",
    "Preview",
    "Rgba",
    "Sheet",
    "State",
    "StationShown",
    "SteelColumn",
    "SteelShown",
    "StepKind",
    "StepRow",
    "TipShown",
    "Token",
    "Units",
    "Value",
]
