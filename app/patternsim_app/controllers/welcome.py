"""The first start: three ways to begin and three questions, all of which may be passed over."""

from __future__ import annotations

from PySide6.QtCore import QObject

from patternsim_app.controllers.files import FilesController
from patternsim_app.controllers.looks import LooksController
from patternsim_app.session import Document, Session
from patternsim_app.views.strips import FirstRunStrip


class WelcomeController(QObject):
    """Knows the strip of the first start and the settings its questions set."""

    def __init__(
        self,
        strip: FirstRunStrip,
        looks: LooksController,
        files: FilesController,
        session: Session,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._strip = strip
        self._looks = looks
        self._session = session
        strip.change_wanted.connect(self.done)
        strip.bars_wanted.connect(files.new)
        strip.open_wanted.connect(files.open)
        strip.units_chosen.connect(looks.set_units)
        strip.press_chosen.connect(self._press)
        strip.paper_chosen.connect(self._paper)
        strip.closed.connect(self.done)

    def offer(self) -> None:
        """Show the strip if this is the first start."""
        if self._looks.settings.first_run_done:
            return
        self._strip.show()
        self._session.changed.connect(self._edited)

    def done(self) -> None:
        """Put the strip away for good."""
        self._strip.hide()
        if not self._looks.settings.first_run_done:
            self._looks.change(first_run_done=True)

    def _edited(self, document: Document, focus: str) -> None:
        if self._session.is_changed and self._strip.isVisible():
            self.done()

    def _press(self, force: object) -> None:
        self._looks.change(press_kn=force)

    def _paper(self, paper: str) -> None:
        self._looks.change(paper=paper)
