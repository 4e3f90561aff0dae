"""Letters the window is set in, and where its files lie."""

from __future__ import annotations

from PySide6.QtGui import QFont, QFontDatabase
from PySide6.QtWidgets import QApplication

from patternsim.data import resource

FAMILY = "Roboto"
LEAST_PT, USUAL_PT, MOST_PT = 9, 10, 20
"""Text sizes the window offers, points."""


def load_fonts() -> None:
    """Bring in the letters shipped with the program: the same on every system."""
    for name in ("Roboto-Regular", "Roboto-Medium"):
        QFontDatabase.addApplicationFontFromData(resource(f"fonts/{name}.ttf").read_bytes())


def use_font(application: QApplication, points: float) -> None:
    """Set all letters of the window `points` large."""
    font = QFont(FAMILY)
    font.setPointSizeF(points)
    application.setFont(font)
