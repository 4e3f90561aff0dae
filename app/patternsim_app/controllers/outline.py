"""The outline: what the hand does with it on the face becomes numbers of the job."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer

from patternsim.errors import JobError
from patternsim.job import Place, changed_many
from patternsim.progress import Silent
from patternsim_app import lay_tasks
from patternsim_app.controllers.bench import BenchController
from patternsim_app.controllers.bench_mark import BLADE
from patternsim_app.controllers.result_words import refusal_words
from patternsim_app.controllers.telling import Telling
from patternsim_app.jobs import Jobs
from patternsim_app.lay_tasks import How, LayDone, LayGiven
from patternsim_app.session import Session
from patternsim_app.tasks import Lying
from patternsim_app.views.face_view import FaceView

TURN_DEG = 0.25
"""One press of a turning key."""
REST_MS = 800
"""Pushes that follow one another faster are undone together."""


class OutlineController(QObject):
    """Knows the job's blade and the outline on the face."""

    def __init__(
        self,
        face: FaceView,
        session: Session,
        bench: BenchController,
        jobs: Jobs,
        telling: Telling,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._bench = bench
        self._jobs = jobs
        self._telling = telling
        self._taken: Lying | None = None
        self._last: tuple[How, tuple[float, float]] | None = None
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(REST_MS)
        self._rest.timeout.connect(session.end_gesture)
        self._face = face
        session.changed.connect(self._changed_meanwhile)
        bench.side_changed.connect(self._turned_over)
        face.outline_moved.connect(self._moved)
        face.tip_aimed.connect(self._aimed)
        face.outline_dropped.connect(self._dropped)
        face.outline_left.connect(self._left)
        face.outline_pushed.connect(self._pushed)

    # --- by hand -------------------------------------------------------------------------

    def _moved(self, dx: float, dy: float) -> None:
        self._held("move", (dx, dy))

    def _aimed(self, x: float, y: float) -> None:
        self._held("aim", (x, y))

    def _held(self, how: How, by: tuple[float, float]) -> None:
        if self._taken is None:
            self._taken = self._bench.lying
        self._last = (how, by)
        self._lay(self._taken, how, by)

    def _dropped(self) -> None:
        taken, last = self._taken, self._last
        self._taken = self._last = None
        if taken is not None and last is not None:
            label = "Turn the outline" if last[0] == "aim" else "Move the outline"
            self._lay(taken, *last, final=True, label=label)

    def _left(self) -> None:
        self._taken = self._last = None
        self._jobs.cancel("lay")
        self._bench.show_again()

    def _changed_meanwhile(self, *_: object) -> None:
        """Let go of an outline that was taken before the job, or the side, became another."""
        self._jobs.cancel("lay")
        if self._taken is not None:
            self._taken = self._last = None
            self._face.let_go()

    def _turned_over(self) -> None:
        held = self._taken is not None
        self._changed_meanwhile()
        if held:
            self._telling.trouble("The piece was turned over: the outline lies where it lay before.")

    # --- by keys -------------------------------------------------------------------------

    def _pushed(self, dx: float, dy: float) -> None:
        self._lay(self._now(), "move", (dx, dy), final=True, label="Move the outline", merge="push")

    def turn(self, degrees: float) -> None:
        """Turn the outline about its tip; positive lifts the heel towards the spine side."""
        self._lay(
            self._now(), "turn", (degrees, 0.0), final=True, label="Turn the outline", merge="turn"
        )

    def to_the_line(self) -> None:
        """Lay the tip on the centre line and turn the outline along it."""
        self._lay(self._now(), "line", (0.0, 0.0), final=True, label="Tip on the centre line")

    def end_for_end(self) -> None:
        """Point the tip to the other end of the bar."""
        self._lay(self._now(), "end", (0.0, 0.0), final=True, label="Turn the outline end for end")

    def _now(self) -> Lying | None:
        """Return the piece with the blade as the job has it this moment, pushes just made included."""
        lying, spec = self._bench.lying, self._session.document.job.blade
        if lying is None or lying.spec is None or spec is None:
            return lying
        return Lying(piece=lying.piece, spec=spec, shaft_mm=lying.shaft_mm)

    # --- both ----------------------------------------------------------------------------

    def _lay(
        self,
        lying: Lying | None,
        how: How,
        by: tuple[float, float],
        *,
        final: bool = False,
        label: str = "",
        merge: str = "",
    ) -> None:
        look = self._bench.look()
        if lying is None or (look is None and not final):
            return
        if lying.spec is None:
            self._telling.trouble("There is no blade to lay: the job has none, or its bar is not done.")
            return
        given = LayGiven(
            lying=lying, how=how, by=by, look=look, bar=self._bench.bar_picture(),
            tip_right=self._bench.tip_right(), final=final, line=self._bench.line(), label=label,
            merge=merge, units=self._bench.units,
        )  # fmt: skip
        if final:
            # Numbers only, and at once: what is kept must not come late, after other changes.
            self._jobs.cancel("lay")
            self._laid(lay_tasks.lay(given, Silent()))
            return
        self._jobs.start(
            "lay", lay_tasks.lay, given, done=self._laid, failed=self._telling.failed,
            cancel_running=False, priority=0,
        )  # fmt: skip

    def _laid(self, done: LayDone) -> None:
        if not done.given.final:
            if self._taken is not None:
                self._bench.show_held(done)
            return
        document = self._session.document
        old = document.job.blade.place if document.job.blade is not None else Place()
        changes = [
            (("blade", "place", name), value)
            for name, value in done.place.model_dump().items()
            if value != getattr(old, name)
        ]
        if not changes:
            self._bench.show_again()
            return
        try:
            text = changed_many(document.text, changes)
            self._session.change(text, done.given.label, focus=BLADE, merge=done.given.merge)
            self._rest.start()
        except JobError as error:
            self._telling.trouble(refusal_words(error, document.job))
