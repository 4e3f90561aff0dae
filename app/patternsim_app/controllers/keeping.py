"""Keeps the last picture of a job and its answers, for the next time it is opened."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject

from patternsim_app import stored
from patternsim_app.controllers.answers import AnswersController
from patternsim_app.controllers.bench import BenchController
from patternsim_app.controllers.telling import Telling
from patternsim_app.jobs import Jobs
from patternsim_app.session import Document, Session
from patternsim_app.shown import FacePicture, FaceShown


class KeepingController(QObject):
    """Knows what is shown and where it is kept."""

    def __init__(
        self,
        folder: Path,
        session: Session,
        bench: BenchController,
        answers: AnswersController,
        jobs: Jobs,
        telling: Telling,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._folder = folder
        self._session = session
        self._bench = bench
        self._answers = answers
        self._jobs = jobs
        self._telling = telling
        self._face: tuple[FaceShown, FacePicture] | None = None
        session.changed.connect(self._changed)
        bench.face_drawn.connect(self._face_drawn)
        answers.shown.connect(self._keep)

    def kept(self) -> stored.Kept | None:
        """Return what the open job looked like the last time; None where nothing is kept."""
        return stored.load(self._folder, self._session.document.text)

    def _changed(self, _document: Document, _focus: str) -> None:
        self._face = None

    def _face_drawn(self, shown: FaceShown, picture: FacePicture) -> None:
        self._face = (shown, picture)
        self._keep()

    def _keep(self, *_: object) -> None:
        """Keep picture and answers, once both are there and of the same job."""
        tiles = self._answers.tiles
        if self._face is None or not tiles or not self._bench.is_usual_look():
            return
        kept = stored.Kept(shown=self._face[0], picture=self._face[1], tiles=tiles)
        given = (self._folder, self._session.document.text, kept)
        self._jobs.start(
            "keep", _kept, given, done=self._done, failed=self._telling.failed, background=True
        )

    def _done(self, _: object) -> None:
        """Nothing is to be told."""


def _kept(given: tuple[Path, str, stored.Kept], progress: object) -> None:
    stored.keep(*given)
