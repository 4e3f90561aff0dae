"""How large a picture is to be, and what that comes to: dots, pixels, millimetres, paper."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLineEdit, QWidget

from patternsim.sizes import SizeError, format_length, parse_number
from patternsim_app.shown import Units
from patternsim_app.theme import em

PAPERS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4), "A3": (297.0, 420.0)}
EDGE_MM = 10.0
"""What printers leave free round a sheet."""
INCH_MM = 25.4
SIZES = (
    ("300", "True size, 300 dots an inch"),
    ("150", "True size, 150 dots an inch"),
    ("600", "True size, 600 dots an inch"),
    ("dpi", "True size, other"),
    ("px", "So many pixels wide"),
)
LEAST_DPI, MOST_DPI = 10, 2400
LEAST_PX, MOST_PX = 64, 40000

Asked = tuple[float, int | None]
"""Dots an inch; width in pixels, from which the dots then follow, or None."""


class Choice(QComboBox):
    """A box that the wheel does not turn unnoticed."""

    def __init__(self, name: str, rows: tuple[tuple[str, str], ...] = ()) -> None:
        super().__init__()
        self.setAccessibleName(name)
        self.setMinimumHeight(24)
        for key, words in rows:
            self.addItem(words, key)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel alone."""
        event.ignore()


class SizeChoice(QWidget):
    """True size at so many dots, or so many pixels wide."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._how = Choice("How large", SIZES)
        self._number = QLineEdit("300")
        self._number.setAccessibleName("Dots an inch, or pixels")
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.addWidget(self._how, 1)
        self._row.addWidget(self._number)
        self._how.currentIndexChanged.connect(self._chosen)
        self._number.textChanged.connect(self.changed)
        self._chosen()

    def dress(self) -> None:
        """Take the measures from the letters as they are."""
        self._number.setFixedWidth(round(5 * em(self)))
        self._row.setSpacing(round(0.4 * em(self)))

    def set_dpi(self, dpi: float) -> None:
        """Choose true size at so many dots an inch."""
        known = self._how.findData(f"{dpi:g}")
        self._how.setCurrentIndex(known if known >= 0 else self._how.findData("dpi"))
        if known < 0:
            self._number.setText(f"{dpi:g}")

    def asked(self) -> Asked | str:
        """Return what is asked for, or a sentence that says why that cannot be."""
        how = self._how.currentData()
        if how not in ("dpi", "px"):
            return float(how), None
        try:
            number = float(parse_number(self._number.text(), ""))
        except SizeError as error:
            return str(error)
        if how == "px":
            if not LEAST_PX <= number <= MOST_PX:
                return f"{number:g} pixels cannot be; {LEAST_PX} to {MOST_PX} can."
            return 300.0, round(number)
        if not LEAST_DPI <= number <= MOST_DPI:
            return f"{number:g} dots an inch cannot be; {LEAST_DPI} to {MOST_DPI} can."
        return number, None

    def _chosen(self, *_: object) -> None:
        how = self._how.currentData()
        self._number.setVisible(how in ("dpi", "px"))
        if how == "px" and self._number.text() == "300":
            self._number.setText("2400")
        self.changed.emit()


def size_words(size_mm: tuple[float, float], asked: Asked, units: Units) -> str:
    """Return what a picture comes to: '279 x 91 mm, about 3300 x 1070 pixels, 300 dots an inch'.

    Parameters
    ----------
    size_mm : (width, height)
        Of the picture at true size, measured on a preview: pixels are told to the ten.
    asked : (dpi, width)
    units : str

    >>> size_words((279.4, 90.6), (300.0, None), "mm")
    '279 × 91 mm, about 3300 × 1070 pixels, 300 dots an inch'
    """
    dpi, width = asked
    dots = dpi if width is None else width / (size_mm[0] / INCH_MM)
    wide, high = (side / INCH_MM * dots for side in size_mm)
    pixels = f"about {_ten(wide)} × {_ten(high)} pixels"
    if width is not None:
        pixels = f"{width} pixels wide, about {_ten(high)} high"
    return f"{_sides(size_mm, units)}, {pixels}, {dots:.0f} dots an inch"


def fit_words(size_mm: tuple[float, float], paper: str, units: Units) -> str:
    """Return whether a picture, laid along the sheet, fits on it at true size."""
    room = sorted(side - 2 * EDGE_MM for side in PAPERS_MM[paper])
    if all(side <= most for side, most in zip(sorted(size_mm), room, strict=True)):
        return f"Printed at true size it fits on {paper}."
    takes = _sides((room[1], room[0]), units)
    return f"Printed at true size it does not fit on {paper}, which takes {takes}."


def _sides(size_mm: tuple[float, float], units: Units) -> str:
    wide, high = (round(side) if units == "mm" else side for side in size_mm)
    return f"{format_length(wide, units, with_unit=units == 'in')} × {format_length(high, units)}"


def _ten(pixels: float) -> int:
    """Round to tens, small numbers to ones."""
    return 10 * round(pixels / 10) if pixels >= 500 else round(pixels)
