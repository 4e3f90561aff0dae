"""Pictures of a worked job, as arrays and as files."""

from __future__ import annotations

from patternsim.pictures.picture import KINDS, Picture, picture
from patternsim.pictures.saving import refuse_unknown_ending, save_picture

__all__ = ["KINDS", "Picture", "picture", "refuse_unknown_ending", "save_picture"]
