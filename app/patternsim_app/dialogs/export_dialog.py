"""What picture is to be written, how large, and where."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QDesktopServices, QWheelEvent
from PySide6.QtWidgets import (
    QComboBox,
    QFileDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from patternsim.sizes import SizeError, format_length, parse_number
from patternsim_app.dialogs.lettered import LetteredDialog
from patternsim_app.shown import Units
from patternsim_app.theme import em

PAPERS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4), "A3": (297.0, 420.0)}
EDGE_MM = 10.0
"""What printers leave free round a sheet."""
SIZES = (
    ("300", "True size, 300 dots an inch"),
    ("150", "True size, 150 dots an inch"),
    ("600", "True size, 600 dots an inch"),
    ("dpi", "True size, other"),
    ("px", "So many pixels wide"),
)
KINDS = ((".png", "PNG"), (".jpg", "JPEG"), (".tif", "TIFF"))
ENDINGS = (".png", ".jpg", ".jpeg", ".tif", ".tiff")


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportWish:
    """A picture that is wanted.

    Attributes
    ----------
    what : str
        'mark-side', 'off-side', 'section' or 'blank'.
    path : str
        Where it goes.
    after : str
        Id of a step, for sections and blanks; empty for the last.
    dpi : float
    width : int or None
        Pixels; the resolution then follows.
    """

    what: str
    path: str
    after: str
    dpi: float
    width: int | None


class ExportDialog(LetteredDialog):
    """Asks, and tells how the writing goes."""

    wanted = Signal(object)
    cancel_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Export pictures", parent)
        self._name = ""
        self._step = ""
        self._folder = ""
        self._paper = "A4"
        self._units: Units = "mm"
        self._size: tuple[float, float] | None = None
        self._touched = False
        self._busy = False
        self._written = ""
        self._what = self._choice("What")
        self._how = self._choice("How large", SIZES)
        self._kind = self._choice("Kind of file", KINDS)
        self._number = QLineEdit("300")
        self._number.setAccessibleName("Dots an inch, or pixels")
        self._path = QLineEdit()
        self._path.setAccessibleName("File")
        self._fits = _faint()
        self._fits.setWordWrap(False)
        self._state = _faint()
        self._state.setAccessibleName("How it went")
        self._bar = QProgressBar()
        self._bar.setAccessibleName("Writing")
        self._bar.setRange(0, 1000)
        self._go = _button("Write", self._start, default=True)
        self._cancel = _button("Cancel the writing", self.cancel_wanted.emit)
        self._show = _button("Show the folder", self._show_folder)
        self._lay_out()
        self._what.currentIndexChanged.connect(self._changed)
        self._how.currentIndexChanged.connect(self._changed)
        self._kind.currentIndexChanged.connect(self._changed)
        self._number.textChanged.connect(self._tell_fit)
        self._path.textEdited.connect(self._touch)
        self._rest()
        self.dress()

    def dress(self) -> None:
        """Take the measures from the letters as they are."""
        self._number.setFixedWidth(round(5 * em(self)))
        self._path.setMinimumWidth(round(24 * em(self)))
        super().dress()

    # --- what is handed in ---------------------------------------------------------------

    def set_job(
        self,
        *,
        name: str,
        step: str,
        has_blade: bool,
        folder: str,
        dpi: float,
        paper: str,
        units: Units,
        size_mm: tuple[float, float] | None,
    ) -> None:
        """Say what there is to be written; `size_mm`: length and width of the bar."""
        self._name, self._step, self._folder = name, step, folder
        self._paper, self._units, self._size = paper, units, size_mm
        chosen = self._what.currentData()
        self._what.clear()
        if has_blade:
            self._what.addItem("Mark side of the blade, etched", ("mark-side", ""))
            self._what.addItem("Off side of the blade, etched", ("off-side", ""))
        if step:
            self._what.addItem(f"Section after {step}", ("section", step))
            self._what.addItem(f"Piece after {step}, from the mark side", ("blank", step))
        self._what.addItem("Section of the last piece", ("section", ""))
        self._what.addItem("Last piece, from the mark side", ("blank", ""))
        again = self._what.findData(chosen)
        self._what.setCurrentIndex(max(again, 0))
        known = self._how.findData(f"{dpi:g}")
        self._how.setCurrentIndex(known if known >= 0 else self._how.findData("dpi"))
        if known < 0:
            self._number.setText(f"{dpi:g}")
        self._touched = False
        # What is being written goes on, and can still be called off here.
        if not self._busy:
            self._rest()
        self._changed()

    def set_progress(self, share: float, text: str) -> None:
        """Show how far the writing is."""
        self._bar.setValue(round(1000 * share))
        self._state.setText(text[:1].upper() + text[1:])

    def set_written(self, path: str) -> None:
        """Tell that it is done."""
        self._written = path
        self._rest()
        self._state.setText(f"Written: {path}")
        self._show.show()
        self._touched = False
        self._changed()

    def set_failed(self, reason: str) -> None:
        """Tell that it could not be done."""
        self._rest()
        self._state.setText(reason[:1].upper() + reason[1:])

    # --- the wish ------------------------------------------------------------------------

    def wish(self) -> ExportWish | str:
        """Return what is wanted, or a sentence that says what is missing.

        The file gets the ending of its kind where it has none, and a number where one of its name is
        there already.
        """
        what, after = self._what.currentData()
        how = self._how.currentData()
        path = Path(self._path.text().strip()).expanduser()
        if not self._path.text().strip() or not path.name or path.is_dir():
            return "Give the file a name."
        if not path.parent.is_dir():
            return f"There is no folder {path.parent}; choose one that is there."
        if path.suffix.lower() not in ENDINGS:
            path = path.with_name(path.name + self._kind.currentData())
        path = free_name(path)
        if how in ("dpi", "px"):
            try:
                number = float(parse_number(self._number.text(), ""))
            except SizeError as error:
                return str(error)
            if how == "px":
                if not 64 <= number <= 40000:
                    return f"{number:g} pixels cannot be; 64 to 40000 can."
                return ExportWish(what=what, path=str(path), after=after, dpi=300.0, width=round(number))
            if not 10 <= number <= 2400:
                return f"{number:g} dots an inch cannot be; 10 to 2400 can."
            return ExportWish(what=what, path=str(path), after=after, dpi=number, width=None)
        return ExportWish(what=what, path=str(path), after=after, dpi=float(how), width=None)

    def _start(self) -> None:
        wish = self.wish()
        if isinstance(wish, str):
            self._state.setText(wish)
            return
        self._busy = True
        self._go.setEnabled(False)
        self._bar.setValue(0)
        self._bar.show()
        self._cancel.show()
        self._show.hide()
        self._state.setText("Drawing")
        self.wanted.emit(wish)

    def _rest(self) -> None:
        self._busy = False
        self._go.setEnabled(True)
        self._bar.hide()
        self._cancel.hide()
        self._show.hide()
        self._state.setText("")

    # --- names and sizes -----------------------------------------------------------------

    def _changed(self, *_: object) -> None:
        how = self._how.currentData()
        self._number.setVisible(how in ("dpi", "px"))
        if how == "px" and self._number.text() == "300":
            self._number.setText("2400")
        if not self._touched and self._what.currentData() is not None:
            what, after = self._what.currentData()
            stem = file_stem(self._name, f"{what}-{after}" if after else what, date.today())
            self._path.setText(str(free_name(Path(self._folder) / (stem + self._kind.currentData()))))
        elif Path(self._path.text()).suffix.lower() in ENDINGS:
            # Only an ending that says a kind is changed: "feather-2.5" keeps its name.
            self._path.setText(str(Path(self._path.text()).with_suffix(self._kind.currentData())))
        self._tell_fit()

    def _tell_fit(self, *_: object) -> None:
        data, how = self._what.currentData(), self._how.currentData()
        if self._size is None or data is None or data[0] == "section" or how == "px":
            self._fits.setText("")
            return
        long, wide = self._size
        paper = PAPERS_MM[self._paper]
        room = (max(paper) - 2 * EDGE_MM, min(paper) - 2 * EDGE_MM)
        size = f"a bar {format_length(round(long), self._units)} long"
        fits = "fits" if long <= room[0] and wide <= room[1] else "does not fit"
        self._fits.setText(f"Printed at true size {size} {fits} on {self._paper}.")

    def _touch(self, _text: str) -> None:
        self._touched = True

    def _browse(self) -> None:
        name, _ = QFileDialog.getSaveFileName(
            self, "Write the picture to", self._path.text(), "Pictures (*.png *.jpg *.tif)",
            # Nothing is written over, so there is nothing to ask.
            options=QFileDialog.Option.DontConfirmOverwrite,
        )  # fmt: skip
        if name:
            self._touched = True
            self._path.setText(name)

    def _show_folder(self) -> None:
        QDesktopServices.openUrl(QUrl.fromLocalFile(str(Path(self._written).parent)))

    # --- layout --------------------------------------------------------------------------

    def _choice(self, name: str, rows: tuple[tuple[str, str], ...] = ()) -> QComboBox:
        box = _Choice()
        box.setAccessibleName(name)
        box.setMinimumHeight(24)
        for key, words in rows:
            box.addItem(words, key)
        return box

    def _lay_out(self) -> None:
        size = QHBoxLayout()
        size.addWidget(self._how, 1)
        size.addWidget(self._number)
        size.setSpacing(round(0.4 * em()))
        place = QHBoxLayout()
        place.setSpacing(round(0.4 * em()))
        place.addWidget(self._path, 1)
        place.addWidget(_button("Choose...", self._browse))
        form = QFormLayout()
        form.setVerticalSpacing(round(0.5 * em()))
        form.addRow("What", self._what)
        form.addRow("How large", size)
        form.addRow("", self._fits)
        form.addRow("Kind", self._kind)
        form.addRow("File", place)
        foot = QHBoxLayout()
        foot.addWidget(self._show)
        foot.addStretch(1)
        foot.addWidget(self._cancel)
        foot.addWidget(_button("Close", self.close))
        foot.addWidget(self._go)
        foot.setSpacing(round(0.5 * em()))
        whole = QVBoxLayout(self)
        edge = round(0.9 * em())
        whole.setContentsMargins(edge, edge, edge, edge)
        whole.setSpacing(round(0.7 * em()))
        whole.addLayout(form)
        whole.addWidget(self._bar)
        whole.addWidget(self._state)
        whole.addLayout(foot)


class _Choice(QComboBox):
    """A box that the wheel does not turn unnoticed."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel alone."""
        event.ignore()


def file_stem(job: str, what: str, day: date) -> str:
    """Return a file name without its ending: job, what and date, fit for every system.

    >>> file_stem("Feather: 2/3", "mark-side", date(2026, 11, 25))
    'feather-2-3-mark-side-2026-11-25'
    """
    plain = re.sub(r"[^\w]+", "-", job.lower(), flags=re.UNICODE).strip("-") or "job"
    return f"{plain[:60]}-{what}-{day:%Y-%m-%d}"


def free_name(path: Path) -> Path:
    """Return the path, with a number where there is such a file already: nothing is written over."""
    if not path.exists():
        return path
    for number in range(2, 10_000):
        other = path.with_name(f"{path.stem}-{number}{path.suffix}")
        if not other.exists():
            return other
    return path


def _button(text: str, done: object, *, default: bool = False) -> QPushButton:
    button = QPushButton(text)
    button.setAccessibleName(text)
    button.setAutoDefault(default)
    button.setDefault(default)
    button.clicked.connect(done)
    return button


def _faint() -> QLabel:
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    label.setForegroundRole(label.palette().ColorRole.PlaceholderText)
    return label
