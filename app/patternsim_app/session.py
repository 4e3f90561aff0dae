"""The open job: its text, where it is kept, what was done to it. No widgets, no threads.

A change, in order: `change` reads the new text, pushes a command, the command calls `_show`, and
`changed` tells everyone. What cannot be read never gets that far.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoStack

from patternsim.errors import JobError, NewerFormatError
from patternsim.job import FORMAT, Job, parse, read_text, save, starting_job
from patternsim.job.patching import put
from patternsim.job.reading import MOST_BYTES
from patternsim_app.commands import Content, Gesture, ReplaceJob

MOST_UNDOS = 200
FIRST = "feather-from-w"
"""The starting job that is open until another is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """The open job at one moment.

    Attributes
    ----------
    text : str
        As it would be saved, byte order mark and line ends included.
    job : Job
        What the text reads as.
    path : Path or None
        The file it is kept in; None before it is saved for the first time.
    saved_text : str
        What that file holds; of a starting job, what it started as.
    read_only : bool
        It can be looked at, not changed: `note` says why.
    name : str
        Of the file; of the job where there is none.
    note : str
        What is to be told about it when it is opened; mostly empty.
    """

    text: str
    job: Job
    path: Path | None
    saved_text: str
    read_only: bool
    name: str
    note: str = ""


class ChangedOutsideError(JobError):
    """The file of the open job was changed by another program; saving would write over that."""


class Session(QObject):
    """Holds the open job and the stack of its edits."""

    opened = Signal(object)
    """Another job is open: its Document. Followed by `changed`."""
    changed = Signal(object, str)
    """The Document as it is now, and the row of the card to look at; empty for none."""
    saved = Signal()
    clean_changed = Signal(bool)
    """True: everything is saved."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._stack = QUndoStack(self)
        self._stack.setUndoLimit(MOST_UNDOS)
        self._gesture = 0
        self._label = ""
        self._pushing = False
        text = starting_job(FIRST)
        self._document = _document(Content(text, parse(text)), path=None, saved_text=text)

    @property
    def document(self) -> Document:
        """The open job."""
        return self._document

    @property
    def is_changed(self) -> bool:
        """Whether there is something to save."""
        return self._document.text != self._document.saved_text

    @property
    def last_label(self) -> str:
        """What the edit that led to the open text is called; empty for none, as after opening."""
        return self._label

    @property
    def edits_since_save(self) -> int:
        """How many edits the file lacks; at least one where something is to be saved."""
        clean = self._stack.cleanIndex()
        steps = abs(self._stack.index() - clean) if clean >= 0 else self._stack.index()
        return max(steps, 1) if self.is_changed else 0

    @property
    def undo_stack(self) -> QUndoStack:
        """The edits; what its next undo is called is `undoText`."""
        return self._stack

    # --- opening -------------------------------------------------------------------------

    def start(self, name: str) -> None:
        """Open a starting job under no file name.

        Raises
        ------
        UsageError
            If there is none of that name.
        """
        self.open_text(starting_job(name))

    def open_text(self, text: str, path: Path | None = None) -> None:
        """Open a job from its text; what it was changed to before is dropped.

        Parameters
        ----------
        text : str
        path : Path or None
            The file that holds this text.

        Raises
        ------
        JobError
            If the text is no job; the open job then stays.
        """
        content = Content(text, parse(text, name="the job" if path is None else path.name))
        self._open(_document(content, path=path, saved_text=text))

    def open(self, path: Path) -> None:
        """Open a job file. One of a newer release is opened to be looked at, where it can be read.

        Raises
        ------
        JobError
            If it cannot be read; the open job and the file stay as they are.
        """
        text = read_text(path)
        try:
            content, note = Content(text, parse(text, name=path.name)), ""
        except NewerFormatError as error:
            content, note = _newer(text, path.name, error)
        self._open(_document(content, path=path, saved_text=text, note=note))

    def recover(self, text: str, path: Path | None) -> None:
        """Open what was not saved when the program was stopped; against the file there is now.

        Raises
        ------
        JobError
            If the text is no job; the open job then stays.
        """
        content = Content(text, parse(text, name="the recovered job"))
        try:
            on_disk = "" if path is None else read_text(path)
        except JobError:
            on_disk = ""  # the file is gone: all of the job is still to be saved
        self._open(_document(content, path=path, saved_text=on_disk))

    def _open(self, document: Document) -> None:
        self._document = document
        self._label = ""
        self._gesture += 1
        self._stack.clear()
        self.opened.emit(document)
        self.changed.emit(document, "")
        self.clean_changed.emit(not self.is_changed)

    # --- saving --------------------------------------------------------------------------

    def save(self, *, over: bool = False) -> None:
        """Write the job to its file.

        Parameters
        ----------
        over : bool
            Write over what another program put there in the meantime.

        Raises
        ------
        ChangedOutsideError
            If the file is no longer what was opened or saved here.
        JobError
            If it cannot be written; it then stays as it is.
        """
        document = self._document
        if document.path is None:
            raise JobError("the job has no file yet; choose where to save it")
        self._refuse_read_only()
        if not over:
            _refuse_changed_outside(document.path, document.saved_text)
        save(document.text, document.path)
        self._saved(document.path)

    def save_as(self, path: Path) -> None:
        """Write the job to another file, which is its file from then on; what can be undone stays.

        Raises
        ------
        JobError
            If it cannot be written.
        """
        save(self._document.text, path)
        self._saved(path)

    def _saved(self, path: Path) -> None:
        text = self._document.text
        self._document = replace(self._document, path=path, name=path.name, saved_text=text)
        self._stack.setClean()
        self.saved.emit()
        self.clean_changed.emit(True)

    # --- editing -------------------------------------------------------------------------

    def change(self, text: str, label: str, *, focus: str = "", merge: str = "") -> bool:
        """Make `text` the job's text; False where it is that already.

        Parameters
        ----------
        text : str
        label : str
            What undo calls the edit.
        focus : str
            Row of the card to look at.
        merge : str
            Edits with the same word that follow one another in one gesture become one.

        Raises
        ------
        JobError
            If the text is no job, or the job cannot be changed; nothing has changed then.
        """
        document = self._document
        if text == document.text:
            return False
        self._refuse_read_only()
        if len(text.encode("utf-8", "surrogatepass")) > MOST_BYTES:
            raise JobError(
                f"the job would be larger than {MOST_BYTES // 1000} kB and could not be opened again; "
                "shorten it"
            )
        after = Content(text, parse(text, name=document.name), label)
        command = ReplaceJob(
            Content(document.text, document.job, self._label),
            after,
            label=label,
            focus=focus,
            gesture=Gesture(merge, self._gesture) if merge else None,
            show=self._show,
        )
        self._pushing = True
        try:
            self._stack.push(command)
        finally:
            self._pushing = False
        return True

    def begin_gesture(self) -> None:
        """Say that a row of edits begins; only within it do edits become one."""
        self._gesture += 1

    def end_gesture(self) -> None:
        """Say that the row of edits is over."""
        self._gesture += 1

    def _show(self, content: Content, focus: str) -> None:
        """Open the content of a command: the one way a job's text changes while it is open."""
        if not self._pushing:
            self._gesture += 1  # what comes after an undo is another gesture
        was_changed = self.is_changed
        self._label = content.label
        self._document = replace(self._document, text=content.text, job=content.job)
        self.changed.emit(self._document, focus)
        if self.is_changed != was_changed:
            self.clean_changed.emit(not self.is_changed)

    def _refuse_read_only(self) -> None:
        if self._document.read_only:
            raise JobError(self._document.note)


def _document(content: Content, *, path: Path | None, saved_text: str, note: str = "") -> Document:
    return Document(
        text=content.text,
        job=content.job,
        path=path,
        saved_text=saved_text,
        read_only=bool(note),
        name=content.job.name if path is None else path.name,
        note=note,
    )


def _newer(text: str, name: str, error: NewerFormatError) -> tuple[Content, str]:
    """Read a job of a newer format as if it were of this one; return it and what to tell."""
    plain = text.removeprefix("\ufeff")
    found = tomllib.loads(plain)["format"]
    said = f"{name} was written by a newer release (format {found}; this one writes format {FORMAT})"
    end = "" if plain.endswith("\n") else "\n"
    try:
        job = parse(put(plain + end, ("format",), FORMAT), name=name)
    except JobError as fault:
        raise NewerFormatError(
            f"{said}; this one cannot read it ({fault}); the file is untouched, use a newer release"
        ) from error
    note = f"{said}; it is open to be looked at and cannot be changed here, use a newer release"
    return Content(text, job), note


def _refuse_changed_outside(path: Path, known: str) -> None:
    there = None  # what cannot be read is not what was opened or saved here
    try:
        there = read_text(path)
    except JobError as error:
        if isinstance(error.__cause__, FileNotFoundError):
            return
    if there != known:
        raise ChangedOutsideError(
            f"{path.name} was changed by another program since it was opened; save the job under "
            "another name, or over it"
        )
