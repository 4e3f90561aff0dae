"""Sizes as smiths type them, in mm and inch: read exactly, written so that they read back the same."""

from __future__ import annotations

from patternsim.sizes.reading import SizeError, parse_length, parse_number
from patternsim.sizes.signs import Units
from patternsim.sizes.telling import told_in
from patternsim.sizes.writing import (
    both,
    format_exact,
    format_exact_number,
    format_length,
    format_number,
    format_off,
    format_value,
)

__all__ = [
    "SizeError",
    "Units",
    "both",
    "format_exact",
    "format_exact_number",
    "format_length",
    "format_number",
    "format_off",
    "format_value",
    "parse_length",
    "parse_number",
    "told_in",
]
