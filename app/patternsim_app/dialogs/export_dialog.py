"""What picture is to be written, how large, and where."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import (
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

from patternsim_app.dialogs.lettered import LetteredDialog
from patternsim_app.dialogs.picture_preview import PicturePreview
from patternsim_app.dialogs.picture_size import Choice, SizeChoice, fit_words, size_words
from patternsim_app.shown import Preview, Units
from patternsim_app.theme import em

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
    """Asks, shows how it will look, and tells how the writing goes."""

    wanted = Signal(object)
    preview_wanted = Signal(str, str)
    """What, and after which step: to be answered by `show_preview` or `show_no_preview`."""
    cancel_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Export pictures", parent)
        self._name = ""
        self._folder = ""
        self._paper = "A4"
        self._units: Units = "mm"
        self._preview: Preview | None = None
        self._touched = False
        self._busy = False
        self._written = ""
        self._what = Choice("What")
        self._large = SizeChoice()
        self._kind = Choice("Kind of file", KINDS)
        self._look = PicturePreview()
        self._path = QLineEdit()
        self._path.setAccessibleName("File")
        self._comes_to = _faint()
        self._comes_to.setAccessibleName("What it comes to")
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
        self._what.currentIndexChanged.connect(self.ask_preview)
        self._kind.currentIndexChanged.connect(self._changed)
        self._large.changed.connect(self._tell_size)
        self._path.textEdited.connect(self._touch)
        self._rest()
        self.dress()

    def dress(self) -> None:
        """Take the measures from the letters as they are."""
        self._large.dress()
        self._path.setMinimumWidth(round(24 * em(self)))
        # Two lines, so that nothing moves when the words do.
        self._comes_to.setFixedHeight(round(2.1 * self._comes_to.fontMetrics().lineSpacing()))
        super().dress()

    # --- what is handed in ---------------------------------------------------------------

    def set_job(
        self,
        *,
        name: str,
        step: tuple[str, str],
        has_blade: bool,
        folder: str,
        dpi: float,
        paper: str,
        units: Units,
    ) -> None:
        """Say what there is to be written; `step`: id of the chosen step and what it is called."""
        self._name, self._folder = name, folder
        self._paper, self._units, self._preview = paper, units, None
        chosen = self._what.currentData()
        self._what.blockSignals(True)
        self._what.clear()
        key, called = step
        if has_blade:
            self._what.addItem("Mark side of the blade, etched", ("mark-side", ""))
            self._what.addItem("Off side of the blade, etched", ("off-side", ""))
        if key:
            self._what.addItem(f"Section after {called}", ("section", key))
            self._what.addItem(f"Piece after {called}, from the mark side", ("blank", key))
        self._what.addItem("Section of the last piece", ("section", ""))
        self._what.addItem("Last piece, from the mark side", ("blank", ""))
        again = self._what.findData(chosen)
        self._what.setCurrentIndex(max(again, 0))
        self._what.blockSignals(False)
        self._large.set_dpi(dpi)
        self._touched = False
        # What is being written goes on, and can still be called off here.
        if not self._busy:
            self._rest()
        self._changed()
        self.ask_preview()

    def ask_preview(self, *_: object) -> None:
        """Ask how the chosen picture will look."""
        chosen = self._what.currentData()
        if chosen is not None:
            self._look.show_words("Drawing how it will look", keep=True)
            self.preview_wanted.emit(*chosen)

    def show_preview(self, preview: Preview) -> None:
        """Show how it will look; one that is not of what is chosen now is passed over."""
        if (preview.what, preview.after) == self._what.currentData():
            self._preview = preview
            self._look.show_picture(preview.picture, self._what.currentText())
            self._tell_size()

    def show_no_preview(self, reason: str) -> None:
        """Say why there is no such picture."""
        self._preview = None
        self._look.show_words(reason[:1].upper() + reason[1:])
        self._tell_size()

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
        path = Path(self._path.text().strip()).expanduser()
        if not self._path.text().strip() or not path.name or path.is_dir():
            return "Give the file a name."
        if not path.parent.is_dir():
            return f"There is no folder {path.parent}; choose one that is there."
        if path.suffix.lower() not in ENDINGS:
            path = path.with_name(path.name + self._kind.currentData())
        path = free_name(path)
        asked = self._large.asked()
        if isinstance(asked, str):
            return asked
        return ExportWish(what=what, path=str(path), after=after, dpi=asked[0], width=asked[1])

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
        if not self._touched and self._what.currentData() is not None:
            what, after = self._what.currentData()
            stem = file_stem(self._name, f"{what}-{after}" if after else what, date.today())
            self._path.setText(str(free_name(Path(self._folder) / (stem + self._kind.currentData()))))
        elif Path(self._path.text()).suffix.lower() in ENDINGS:
            # Only an ending that says a kind is changed: "feather-2.5" keeps its name.
            self._path.setText(str(Path(self._path.text()).with_suffix(self._kind.currentData())))
        self._tell_size()

    def _tell_size(self, *_: object) -> None:
        preview, asked = self._preview, self._large.asked()
        if preview is None or isinstance(asked, str):
            self._comes_to.setText(asked if isinstance(asked, str) else "")
            return
        self._comes_to.setText(
            f"{size_words(preview.size_mm, asked, self._units)}.\n"
            f"{fit_words(preview.size_mm, self._paper, self._units)}"
        )

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

    def _lay_out(self) -> None:
        place = QHBoxLayout()
        place.setSpacing(round(0.4 * em()))
        place.addWidget(self._path, 1)
        place.addWidget(_button("Choose...", self._browse))
        form = QFormLayout()
        form.setVerticalSpacing(round(0.5 * em()))
        form.addRow("What", self._what)
        form.addRow("How large", self._large)
        form.addRow("", self._comes_to)
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
        whole.addWidget(self._look, 1)
        whole.addLayout(form)
        whole.addWidget(self._bar)
        whole.addWidget(self._state)
        whole.addLayout(foot)


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
