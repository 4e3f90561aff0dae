"""The face: millimetres stay what they are, grips can be caught, the hand's work comes out in mm."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QFontMetricsF, QWheelEvent
from PySide6.QtTest import QTest

from patternsim_app.painting import array_of
from patternsim_app.shown import FacePicture, FaceShown
from patternsim_app.views import face_paint
from patternsim_app.views.face_frame import FaceFrame, fitting
from patternsim_app.views.face_view import FaceView

OUTLINE = ((100.0, 20.0), (300.0, 0.0), (200.0, -20.0), (100.0, -20.0))
SHOWN = FaceShown(
    box=(0.0, -28.0, 315.0, 28.0),
    outline=OUTLINE,
    silhouette=OUTLINE,
    tip=(300.0, 0.0),
    heel=(100.0, -20.0),
    belly=(200.0, -20.0),
    line=((0.0, 0.0), (315.0, 0.0)),
    allowance_mm=2.0,
    length_mm=200.0,
    spoken="200 mm blade, mark side",
)


@pytest.fixture
def face(qtbot):
    view = FaceView()
    qtbot.addWidget(view)
    view.resize(640, 240)
    view.show()
    view.set_shown(SHOWN)
    return view


def drag(view, start, end):
    QTest.mousePress(view, Qt.MouseButton.LeftButton, pos=start.toPoint())
    for share in (0.3, 0.7, 1.0):
        QTest.mouseMove(view, (start + (end - start) * share).toPoint())
    QTest.mouseRelease(view, Qt.MouseButton.LeftButton, pos=end.toPoint())


def turn_wheel(view, at, notches):
    event = QWheelEvent(
        QPointF(at), QPointF(view.mapToGlobal(at.toPoint())), QPoint(), QPoint(0, 120 * notches),
        Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    view.wheelEvent(event)


frames = st.builds(
    FaceFrame,
    middle=st.tuples(st.floats(-500, 500), st.floats(-100, 100)),
    scale=st.floats(0.3, 50.0),
    width=st.just(640.0),
    height=st.just(240.0),
    mirrored=st.booleans(),
)


@given(frame=frames, x=st.floats(0, 640), y=st.floats(0, 240), notches=st.integers(-6, 6))
def test_what_is_under_the_pointer_stays_there_when_zooming(frame, x, y, notches):
    at = QPointF(x, y)
    before = frame.bar(at)
    after = frame.zoomed(1.2**notches, at).point(*before)
    assert abs(after.x() - x) < 1e-6 * max(1.0, abs(x))
    assert abs(after.y() - y) < 1e-6 * max(1.0, abs(y))


@given(frame=frames, x=st.floats(-300, 600), y=st.floats(-100, 100))
def test_points_and_the_transform_agree_and_lead_back(frame, x, y):
    point = frame.point(x, y)
    mapped = frame.transform().map(QPointF(x, y))
    assert point.x() == pytest.approx(mapped.x(), abs=1e-6)
    assert point.y() == pytest.approx(mapped.y(), abs=1e-6)
    assert frame.bar(point) == pytest.approx((x, y), abs=1e-6)


@given(frame=frames, ratio=st.sampled_from([1.0, 1.25, 1.5, 2.0]))
def test_a_patch_lies_where_it_was_asked_for(frame, ratio):
    patch = frame.patch(ratio)
    place = frame.place(patch)
    assert place.left() <= 0 <= 640 <= place.right()
    assert place.top() <= 0 <= 240 <= place.bottom()
    assert place.width() * ratio == pytest.approx(patch.width, rel=1e-9)
    # Whole pixels of a grid fixed to the bar.
    assert patch.left_mm * patch.pixels_per_mm == pytest.approx(
        round(patch.left_mm * patch.pixels_per_mm), abs=1e-6
    )


def test_a_fitting_frame_holds_the_whole_box():
    frame = fitting((0.0, -28.0, 315.0, 28.0), 640, 240, mirrored=True, margins=(20, 15, 40))
    for x, y in ((0.0, -28.0), (315.0, 28.0)):
        point = frame.point(x, y)
        assert 0 <= point.x() <= 640
        assert 0 <= point.y() <= 240


def test_panning_and_zooming_leave_the_outline_bit_for_bit(face):
    turn_wheel(face, QPointF(200, 100), 3)
    drag(face, QPointF(10, 10), QPointF(80, 60))
    face.fit()
    assert face._shown is SHOWN
    assert face._shown.outline == OUTLINE


def test_a_notch_of_the_wheel_is_a_fifth_more_about_the_pointer(face):
    at = QPointF(200, 100)
    scale, under = face.frame.scale, face.frame.bar(at)
    turn_wheel(face, at, 1)
    assert face.frame.scale == pytest.approx(1.2 * scale)
    moved = face.frame.point(*under)
    assert abs(moved.x() - 200) < 1
    assert abs(moved.y() - 100) < 1


@pytest.mark.parametrize("grip", ["tip", "heel", "belly"])
@pytest.mark.parametrize("off", [(11, 0), (0, -11), (-7, 7)])
def test_a_grip_is_caught_eleven_points_beside_it(face, grip, off):
    at = face.frame.point(*getattr(SHOWN, grip)) + QPointF(*off)
    assert face._what_is_at(at) == grip


def test_pushing_the_outline_tells_how_far_in_mm_and_drops_once(face, qtbot):
    start = face.frame.point(200.0, 0.0)
    end = start + QPointF(40.0, -20.0)
    seen, dropped = [], []
    face.outline_moved.connect(lambda dx, dy: seen.append((dx, dy)))
    face.outline_dropped.connect(lambda: dropped.append(1))
    drag(face, start, end)
    scale = face.frame.scale
    assert seen[-1] == pytest.approx((40 / scale, 20 / scale), abs=1.0 / scale)
    assert dropped == [1]


def test_on_the_off_side_right_is_towards_the_near_end(face):
    face.set_mirrored(True)
    face.fit()
    seen = []
    face.outline_moved.connect(lambda dx, dy: seen.append((dx, dy)))
    start = face.frame.point(200.0, 0.0)
    drag(face, start, start + QPointF(30.0, 0.0))
    assert seen[-1][0] == pytest.approx(-30.0 / face.frame.scale, abs=1.0 / face.frame.scale)


def test_the_tip_is_aimed_and_the_outline_follows_the_hand_at_once(face):
    seen = []
    face.tip_aimed.connect(lambda x, y: seen.append((x, y)))
    start = face.frame.point(*SHOWN.tip)
    QTest.mousePress(face, Qt.MouseButton.LeftButton, pos=start.toPoint())
    QTest.mouseMove(face, (start + QPointF(0, -25)).toPoint())
    tip = face._grips()["tip"]
    assert tip.y() == pytest.approx(start.y() - 25, abs=2.0)
    assert face._grips()["heel"] == face.frame.point(*SHOWN.heel)
    QTest.mouseRelease(face, Qt.MouseButton.LeftButton, pos=(start + QPointF(0, -25)).toPoint())
    assert seen


def test_esc_puts_the_outline_back(face):
    left, dropped = [], []
    face.outline_left.connect(lambda: left.append(1))
    face.outline_dropped.connect(lambda: dropped.append(1))
    start = face.frame.point(200.0, 0.0)
    QTest.mousePress(face, Qt.MouseButton.LeftButton, pos=start.toPoint())
    QTest.mouseMove(face, (start + QPointF(30, 0)).toPoint())
    QTest.keyClick(face, Qt.Key.Key_Escape)
    QTest.mouseRelease(face, Qt.MouseButton.LeftButton, pos=(start + QPointF(30, 0)).toPoint())
    assert (left, dropped) == ([1], [])
    assert face._grips()["tip"] == face.frame.point(*SHOWN.tip)


@pytest.mark.parametrize(
    ("modifier", "far"),
    [
        (Qt.KeyboardModifier.NoModifier, 0.5),
        (Qt.KeyboardModifier.ShiftModifier, 5.0),
        (Qt.KeyboardModifier.ControlModifier, 0.1),
    ],
)
def test_arrow_keys_push_by_what_is_promised(face, modifier, far):
    seen = []
    face.outline_pushed.connect(lambda dx, dy: seen.append((dx, dy)))
    QTest.keyClick(face, Qt.Key.Key_Right, modifier)
    QTest.keyClick(face, Qt.Key.Key_Up, modifier)
    assert seen == [pytest.approx((far, 0.0)), pytest.approx((0.0, far))]


def test_it_asks_for_a_picture_when_it_is_moved_or_sized(face, qtbot):
    with qtbot.waitSignal(face.patch_wanted, timeout=1000):
        turn_wheel(face, QPointF(50, 50), 2)
    with qtbot.waitSignal(face.patch_wanted, timeout=1000) as asked:
        face.resize(500, 260)
    assert asked.args[0].width >= 500


def test_the_picture_shows_through_and_the_bar_is_fainter_than_the_blade(face):
    face.fit()  # the whole bar
    patch = face.frame.patch(1.0)
    bar = np.zeros((patch.height, patch.width, 4), dtype=np.uint8)
    bar[..., 3] = 255
    face.set_picture(FacePicture(patch=patch, bar=bar, blade=bar))
    grabbed = face.grab().toImage()
    inside = face.frame.point(220.0, -8.0).toPoint()
    beside = face.frame.point(20.0, 20.0).toPoint()
    assert grabbed.pixelColor(inside).lightness() < 10
    assert grabbed.pixelColor(beside).lightness() > 120


def test_it_tells_in_a_sentence_what_it_shows(face):
    assert face.accessibleName()
    assert face.accessibleDescription() == SHOWN.spoken


def test_without_a_bar_it_says_so(qtbot):
    view = FaceView()
    qtbot.addWidget(view)
    view.set_shown(None)
    view.resize(300, 100)
    view.grab()
    assert "no bar" in view.accessibleDescription()


@pytest.mark.parametrize("size", [(640, 240), (1400, 180), (300, 500), (200, 90)])
def test_a_bar_that_is_shown_again_asks_for_no_new_picture(face, qtbot, size):
    """Or a picture would ask for the next one without an end."""
    face.resize(*size)
    face.fit()
    qtbot.wait(60)
    asked = []
    face.patch_wanted.connect(asked.append)
    for _ in range(5):
        face.set_shown(SHOWN)
        qtbot.wait(30)
    assert asked == []


def seen_mm(view):
    """Return how much of the bar is in sight: x0, y0, x1, y1 mm."""
    x0, y0 = view.frame.bar(QPointF(0, view.height()))
    x1, y1 = view.frame.bar(QPointF(view.width(), 0))
    return x0, y0, x1, y1


@pytest.mark.parametrize("size", [(640, 240), (640, 170), (420, 120), (900, 500)])
def test_the_knife_is_as_large_as_it_goes_with_five_millimetres_round_it(face, size):
    face.resize(*size)
    x0, y0, x1, y1 = seen_mm(face)
    assert x0 <= 95.0 + 1e-6
    assert x1 >= 305.0 - 1e-6
    assert y0 <= -25.0 + 1e-6
    assert y1 >= 25.0 - 1e-6
    # One of the two ways has nothing to spare but the room of the ruler.
    spare = (x1 - x0 - 210.0) * face.frame.scale, (y1 - y0 - 50.0) * face.frame.scale
    assert min(spare[0] - 11.0, spare[1] - 2.5 * 17.5) < 1.0


def test_fit_asked_for_again_shows_the_whole_bar(face):
    face.fit()
    assert seen_mm(face)[0] <= 0.0
    assert seen_mm(face)[2] >= 315.0
    face.fit()
    assert seen_mm(face)[0] > 50.0
    turn_wheel(face, QPointF(200, 100), 3)
    face.fit()  # from anywhere else it is the knife first
    assert 50.0 < seen_mm(face)[0] <= 95.0


def test_the_face_stays_where_it_is_while_the_hand_holds_the_outline(face):
    """A view that jumped under the hand would move what it holds."""
    before = face.frame
    start = face.frame.point(200.0, 0.0)
    QTest.mousePress(face, Qt.MouseButton.LeftButton, pos=start.toPoint())
    far = tuple((x + 60.0, y) for x, y in OUTLINE)
    face.set_shown(dataclasses.replace(SHOWN, outline=far, silhouette=far))
    assert face.frame == before
    QTest.mouseRelease(face, Qt.MouseButton.LeftButton, pos=start.toPoint())
    face.set_shown(dataclasses.replace(SHOWN, outline=far, silhouette=far))
    assert seen_mm(face)[2] >= 365.0 - 1e-6


def test_the_ruler_can_be_read_where_the_bar_goes_on_under_it(face):
    wide = dataclasses.replace(SHOWN, box=(0.0, -90.0, 315.0, 90.0))
    face.set_shown(wide)
    patch = face.frame.patch(1.0)
    bar = np.zeros((patch.height, patch.width, 4), dtype=np.uint8)
    bar[..., 3] = 255
    face.set_picture(FacePicture(patch=patch, bar=bar, blade=None))
    row = face.grab().toImage()
    at = round(face.frame.point(150.0, 0.0).x()) + 30
    assert row.pixelColor(at, face.height() - 12).lightness() > 240


# --- missing steel ------------------------------------------------------------------------

HIGH = tuple((x, y + 18.0) for x, y in OUTLINE)
MISSING = dataclasses.replace(
    SHOWN, outline=HIGH, silhouette=HIGH, lacking=((0, 1, 12.0),), allowance_mm=4.0
)


def purple(view):
    """Where something has the tone of missing steel."""
    seen = array_of(view.grab().toImage()).astype(int)
    return np.abs(seen[..., :3] - (0x5E, 0x10, 0x49)).max(axis=2) < 40


def test_steel_that_is_not_there_is_hatched_and_only_that(face):
    face.set_shown(MISSING)
    tone = purple(face)
    inside, beyond = (
        face.frame.point(130.0, y).toPoint() for y in (20.0, 31.0)
    )  # the bar ends at 28 mm
    assert tone[beyond.y() - 4 : beyond.y() + 5, beyond.x() - 8 : beyond.x() + 9].mean() > 0.05
    assert not tone[inside.y() - 4 : inside.y() + 5, inside.x() - 8 : inside.x() + 9].any()


def labels_of(view, units="mm"):
    """Return the words of the labels and where they stand."""
    room, letters = view.rect().toRectF(), QFontMetricsF(view.font())
    return face_paint.missing_labels(view._shown, view.frame.transform(), units, room, letters)


@pytest.mark.parametrize("size", [(640, 240), (420, 150), (900, 260)])
def test_labels_of_missing_steel_never_crowd(face, size):
    face.resize(*size)
    corners = tuple((100.0 + 2.0 * k, 20.0 + (k % 2)) for k in range(90))
    runs = tuple((first, first + 6, 1.0 + first / 10) for first in range(0, 80, 8))
    face.set_shown(dataclasses.replace(SHOWN, outline=corners, silhouette=corners, lacking=runs))
    told = labels_of(face)
    assert len(told) >= 2
    assert told[0][0] == "8.2 mm missing"  # the most first
    places = [place for _, place in told]
    for index, place in enumerate(places):
        assert face.rect().toRectF().contains(place)
        assert not any(place.adjusted(-6, -6, 6, 6).intersects(other) for other in places[index + 1 :])


def test_a_stretch_over_the_seam_of_the_outline_has_one_label(face):
    closed = (*OUTLINE, OUTLINE[0])
    runs = ((0, 1, 4.0), (3, 4, 4.0))
    face.set_shown(dataclasses.replace(SHOWN, outline=closed, silhouette=closed, lacking=runs))
    assert [words for words, _ in labels_of(face)] == ["4 mm missing"]
    assert [words for words, _ in labels_of(face, "in")] == ['5/32" missing']
