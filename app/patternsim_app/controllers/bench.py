"""The bench: which face is looked at, and how; asks for pictures and shows them when they come."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from patternsim_app import tasks
from patternsim_app.controllers.result_words import face_note, spoken_face
from patternsim_app.controllers.telling import Telling
from patternsim_app.controllers.working import Working
from patternsim_app.jobs import Jobs
from patternsim_app.lay_tasks import LayDone
from patternsim_app.shown import FaceShown, Legend, Patch, Points, Rgba, Units
from patternsim_app.stored import Kept
from patternsim_app.tasks import FaceDone, FaceGiven, Look, Lying, WorkDone
from patternsim_app.views.bench_panel import BenchPanel

if TYPE_CHECKING:
    from patternsim.pictures.bench import Drawing
    from patternsim.shape.grind import Side

CLOSER = 1.6
"""Looked into closer than this, a picture from the last time is too coarse."""


class BenchController(QObject):
    """Knows the results and the bench.

    A picture of the face goes:

    1. the view asks for a patch, or a result comes with a rough face;
    2. `tasks.draw_face` draws it in full on the worker, newest wins;
    3. `controllers.tip` and `controllers.beside` follow with what stands around it.
    """

    side_changed = Signal()
    let_go = Signal()
    """The outline was held, and is shown again where the job has it."""
    look_changed = Signal(str)
    """'etched', 'layers' or 'die'."""
    face_drawn = Signal(object, object)
    """`FaceShown` and `FacePicture` of a face that was drawn in full, of a job that is worked out."""

    def __init__(
        self,
        panel: BenchPanel,
        working: Working,
        jobs: Jobs,
        telling: Telling,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._panel = panel
        self._working = working
        self._jobs = jobs
        self._telling = telling
        self.units: Units = "mm"
        self._look = "etched"
        self._side: Side = "mark-side"
        self._patch: Patch | None = None
        self._drawn: FaceDone | None = None
        self._kept_scale = 0.0
        self.lying: Lying | None = None
        working.look_from(self.look)
        panel.face.patch_wanted.connect(self._patch_wanted)
        panel.look_chosen.connect(self.set_look)
        panel.side_chosen.connect(self.set_side)
        working.worked.connect(self._worked)
        working.lasting.connect(self._ask_face)

    def look(self) -> Look | None:
        """Return how the face is looked at now; None before the window has a size."""
        drawing: Drawing = "layers" if self._look == "layers" else "etched"
        patch = self._patch
        return None if patch is None else Look(patch=patch, side=self._side, drawing=drawing)

    @property
    def look_name(self) -> str:
        """'etched', 'layers' or 'die'."""
        return self._look

    @property
    def side(self) -> Side:
        """'mark-side' or 'off-side'."""
        return self._side

    def is_usual_look(self) -> bool:
        """Tell whether the etched mark side is shown."""
        return self._look == "etched" and self._side == "mark-side"

    def bar_picture(self) -> Rgba | None:
        """Return the picture of the bar's skin if it is the one for `look`."""
        done = self._drawn
        if done is None or self.lying is None or done.look != self.look():
            return None
        return done.picture.bar if done.lying.piece is self.lying.piece else None

    def line(self) -> Points:
        """Return the centre line on the face as it was drawn last; empty where there is none."""
        return () if self._drawn is None else self._drawn.shown.line

    def tip_right(self) -> bool:
        """Tell whether the tip points right on the face."""
        spec = self.lying.spec if self.lying is not None else None
        far = spec is None or spec.place.tip_end == "far"
        return far != (self._side == "off-side")

    def set_look(self, look: str) -> None:
        """Show the face 'etched' or as 'layers', or the billet on the 'die'."""
        self._look = look
        self._panel.set_look(look)
        self.look_changed.emit(look)
        if look != "die":
            self._ask_face(draft=True)

    def set_side(self, side: str) -> None:
        """Show the mark side or the off side."""
        if side != self._side:
            self._side = "off-side" if side == "off-side" else "mark-side"
            self._panel.side.set_chosen(side)
            # The view asks for its patch; everything else follows from that.
            self._panel.face.set_mirrored(side == "off-side")
            self.side_changed.emit()

    def turn_over(self) -> None:
        """Show the other side."""
        self.set_side("off-side" if self._side == "mark-side" else "mark-side")

    def set_units(self, units: Units) -> None:
        """Write lengths in mm or inch."""
        self.units = units
        for part in (self._panel.face, self._panel.billet, self._panel.stations):
            part.set_units(units)
        self.tell()

    def tell(self) -> None:
        """Say the face in a sentence again: the unit, or what stands around it, has changed."""
        if self._drawn is not None:
            self._panel.face.setAccessibleDescription(self._spoken(self._drawn.shown).spoken)

    def begin_anew(self) -> None:
        """Another job is open: the next face is shown whole."""
        self._drawn, self._kept_scale = None, 0.0
        self._panel.face.set_shown(None)
        self._panel.face.set_fitted()
        self._panel.set_caption("")

    def show_kept(self, kept: Kept) -> None:
        """Show the picture from the last time until a fresh one comes."""
        self._panel.face.set_shown(kept.shown)
        self._panel.face.set_picture(kept.picture)
        self._kept_scale = kept.picture.patch.pixels_per_mm

    def _worked(self, done: WorkDone) -> None:
        self.lying = tasks.lying_on_bench(done.worked.result)
        if not done.is_rough or done.worked.refused is not None or not self._panel.note:
            # Of a rough result the caption tells; a note that comes and goes would move the face.
            self._panel.set_note(face_note(done))
        self._panel.set_has_blade(done.job.blade is not None)
        if self._working.keeps_shown:
            return
        if done.face is not None:
            self._show(done.face)
        if self.lying is None:
            self._panel.face.set_shown(None)
        elif done.face is None and self._drawn is None and not self._kept_scale:
            # The view has not asked yet: it does once it knows what lies there.
            low, high = self.lying.piece.box()
            self._panel.face.set_shown(FaceShown(box=(low[0], low[1], high[0], high[1])))
        if not (done.is_rough or self._working.dragging):
            self._ask_face()

    def _patch_wanted(self, patch: Patch) -> None:
        self._patch = patch
        self._ask_face(draft=True)

    def _ask_face(self, *, draft: bool = False) -> None:
        look = self.look()
        if self.lying is None or look is None or self._look == "die" or self._kept_will_do():
            return
        given = FaceGiven(
            lying=self.lying, look=look, draft=draft, bar=None if draft else self._full_bar()
        )
        self._jobs.start(
            "face", tasks.draw_face, given, done=self._face_drawn, failed=self._telling.failed,
            priority=1,
        )  # fmt: skip

    def _kept_will_do(self) -> bool:
        """Tell whether the picture from the last time may stay; let go of it where it is looked into."""
        if not self._working.keeps_shown:
            return False
        near = self._patch is not None and self._patch.pixels_per_mm > CLOSER * self._kept_scale
        if self.is_usual_look() and not near:
            return True
        self._working.let_kept_go()
        return False

    def _full_bar(self) -> Rgba | None:
        done = self._drawn
        return None if done is None or done.picture.draft else self.bar_picture()

    def _face_drawn(self, done: FaceDone) -> None:
        if done.look != self.look():
            return
        self._show(done)
        if done.picture.draft:
            self._ask_face()
        else:
            self._tell_drawn(done)

    def _tell_drawn(self, done: FaceDone) -> None:
        if not self._working.is_rough:
            self.face_drawn.emit(self._spoken(done.shown), done.picture)

    def _show(self, done: FaceDone) -> None:
        if done.look != self.look():
            return
        if self._drawn is None or not (done.picture.draft and self._drawn.has_skin_of(done)):
            self._drawn = done
        self._panel.face.set_shown(self._spoken(done.shown))
        self._panel.face.set_picture(done.picture)
        if self._look == "layers":
            from patternsim.pictures.bench import layer_legend

            self._panel.set_legend(Legend(steels=layer_legend(done.lying.piece)))

    def _spoken(self, shown: FaceShown) -> FaceShown:
        beside = (self._panel.tip, self._panel.barbs)
        told = [part.accessibleDescription() for part in beside]
        return replace(shown, spoken=spoken_face(shown, self._side, self.units, told))

    def show_held(self, done: LayDone) -> None:
        """Show the outline while the hand holds it."""
        if done.face is not None and done.face.look == self.look():
            self._panel.face.set_shown(done.face.shown)
            self._panel.face.set_picture(done.face.picture)
        if done.tip is not None:
            self._panel.tip.set_shown(done.tip)

    def show_again(self) -> None:
        """Show the outline where the job has it: the hand has let go of it."""
        self._ask_face(draft=True)
        self.let_go.emit()
