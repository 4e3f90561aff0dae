"""Published problems worked out by the flow of this program, beside what is published of them."""

from __future__ import annotations

from patternsim.verify.check import Check, Row, row_line
from patternsim.verify.table import CHECKS, rows

__all__ = ["CHECKS", "Check", "Row", "row_line", "rows"]
