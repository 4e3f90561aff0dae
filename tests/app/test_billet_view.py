import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPointF, QRectF

from patternsim_app.painting import array_of
from patternsim_app.shown import BilletShown, MarkShown, OutlineShown
from patternsim_app.theme import DARK, LIGHT, use_theme
from patternsim_app.views.billet_marks import mark_words, noted
from patternsim_app.views.billet_shape import LEAST_SHARE, SEEN, laid, onto
from patternsim_app.views.billet_sizes import size_words
from patternsim_app.views.billet_view import LIGHTS, BilletView

LIGHT_OF = dict(zip(SEEN["lying"], LIGHTS, strict=True))
ROOM = QRectF(60, 30, 600, 300)
BLOCK = (86.4, 53.0, 50.6)
BAR = (325.2, 48.2, 26.0)
BLANK = (317.0, 56.0, 4.5)


def plain(height, width, tone=(180, 180, 180)):
    return np.full((height, width, 4), (*tone, 255), dtype=np.uint8)


def billet(size=BLOCK, marks=(), pieces=1, notes=(), tones=((200, 0, 0), (0, 200, 0), (0, 0, 200))):
    top, side, end = (plain(60, 80, tone) for tone in tones)
    return BilletShown(
        size=size,
        top=top,
        side=side,
        end=end,
        marks=marks,
        pieces=pieces,
        words="86.4 x 53 x 50.6 mm, 288 layers",
        spoken="A block 86.4 by 53 by 50.6 mm.",
        notes=notes,
    )


def mark(name="nick", at=(70.0, 10.0, 25.3), face="mark-side", lost=False):
    return MarkShown(name=name, at=at, face=face, lost=lost)


def around(seen, place, reach=10):
    """Return the pixels round a point."""
    row, column = round(place.y()), round(place.x())
    return seen[row - reach : row + reach + 1, column - reach : column + reach + 1]


@pytest.fixture
def view(qtbot):
    made = BilletView()
    qtbot.addWidget(made)
    made.resize(900, 480)
    made.show()
    return made


def pixels(view):
    return array_of(view.grab().toImage())


# --- how it lies -------------------------------------------------------------------------


@given(
    x=st.floats(20.0, 900.0),
    y=st.floats(3.0, 120.0),
    z=st.floats(2.0, 120.0),
    wide=st.floats(120.0, 1400.0),
    high=st.floats(80.0, 700.0),
    copies=st.integers(0, 2),
)
def test_any_piece_keeps_inside_its_room(x, y, z, wide, high, copies):
    room = QRectF(50.0, 20.0, wide, high)
    lie = laid((x, y, z), room, readable=70.0, copies=copies)
    whole = lie.hull().boundingRect().united(lie.hull(copies).boundingRect())
    assert room.adjusted(-0.01, -0.01, 0.01, 0.01).contains(whole)
    assert LEAST_SHARE <= lie.share <= 1.0
    # It fills the room one way, or it could be larger.
    assert whole.width() > 0.985 * wide or whole.height() > 0.985 * high


def test_a_block_is_drawn_in_proportion():
    lie = laid(BLOCK, ROOM, readable=70.0)
    assert lie.is_whole
    assert lie.share == 1.0


def test_a_long_bar_in_a_small_room_is_drawn_shorter_to_stay_readable():
    small = QRectF(60, 30, 300, 160)
    lie = laid(BAR, small, readable=60.0)
    true = laid(BAR, small, readable=1.0)
    assert not lie.is_whole
    assert lie.scale > true.scale
    assert true.is_whole


def test_parallel_edges_stay_parallel():
    lie = laid(BAR, ROOM, readable=60.0)
    x, y, z = lie.size[0], lie.size[1] / 2, lie.size[2] / 2
    ways = {
        (round((end - start).x(), 6), round((end - start).y(), 6))
        for start, end in ((lie.at(0, b, c), lie.at(x, b, c)) for b in (-y, y) for c in (-z, z))
    }
    assert len(ways) == 1


def test_seen_faces_meet_in_one_corner():
    lie = laid(BLOCK, ROOM, readable=60.0)
    x, y, z = lie.size[0], lie.size[1] / 2, lie.size[2] / 2
    corner = lie.at(x, -y, z)
    for face, place in (("mark-side", 2), ("low-edge", 1), ("far-end", 0)):
        gap = lie.face(face)[place] - corner
        assert math.hypot(gap.x(), gap.y()) < 1e-9


def test_a_picture_lies_with_its_corners_on_the_face():
    lie = laid(BLOCK, ROOM, readable=60.0)
    corners = lie.face("mark-side")
    lying = onto(corners, 80.0, 60.0)
    for point, corner in zip(((0, 0), (80, 0), (80, 60), (0, 60)), corners, strict=True):
        gap = lying.map(QPointF(*point)) - corner
        assert math.hypot(gap.x(), gap.y()) < 1e-6


# --- what is seen ------------------------------------------------------------------------


def test_each_face_shows_its_picture_shaded(view):
    view.set_shown(billet())
    seen, lie = pixels(view).astype(int), view.lie()
    for face, channel in (("mark-side", 0), ("low-edge", 1), ("far-end", 2)):
        corners = lie.face(face)
        middle = (corners[0] + corners[2]) / 2
        # Clear of the words that may lie over the middle of an edge.
        tone = seen[round(middle.y()), round(middle.x()), :3]
        assert tone.argmax() == channel
        assert tone[channel] == pytest.approx(200 * LIGHT_OF[face], abs=2)


def test_pictures_are_the_right_way_round(view):
    def cornered(height, width):
        picture = plain(height, width, (60, 60, 60))
        picture[: height // 4, : width // 4, :3] = 250
        return picture

    shown = billet()
    shown = BilletShown(
        size=shown.size, top=cornered(60, 80), side=cornered(60, 80), end=cornered(60, 80), marks=(),
        pieces=1, words=shown.words, spoken=shown.spoken,
    )  # fmt: skip
    view.set_shown(shown)
    seen, lie = pixels(view).astype(int), view.lie()
    for face in LIGHT_OF:
        first, second, _, fourth = lie.face(face)
        near_first = first + (second - first) * 0.2 + (fourth - first) * 0.2
        far_off = first + (second - first) * 0.8 + (fourth - first) * 0.6
        light = [seen[round(p.y()), round(p.x()), 0] for p in (near_first, far_off)]
        assert light[0] > light[1] + 60


def test_the_caption_says_when_the_length_is_shorter(view):
    view.resize(600, 260)
    view.set_shown(billet(BAR))
    assert not view.lie().is_whole
    short = pixels(view)
    view.resize(1400, 700)
    view.set_shown(billet(BAR))
    assert view.lie().is_whole
    assert short.shape != pixels(view).shape


def test_captions_notes_and_sentence(view):
    view.set_shown(billet())
    plain_notes = pixels(view)
    view.set_shown(billet(notes=("Rough: corners.",)))
    assert not np.array_equal(plain_notes, pixels(view))
    assert view.accessibleDescription() == "A block 86.4 by 53 by 50.6 mm."
    view.set_shown(None)
    assert "no steel" in view.accessibleDescription().lower()
    assert view.lie() is None
    assert pixels(view).size


def test_pieces_alike_lie_behind(view):
    view.set_shown(billet())
    one = view.lie()
    view.set_shown(billet(pieces=6))
    six = view.lie()
    assert (one.copies, six.copies > 0) == (0, True)
    assert six.hull(1).boundingRect().top() < six.hull().boundingRect().top()


def test_sizes_follow_the_units(view):
    view.set_shown(billet())
    in_mm = pixels(view)
    view.set_units("in")
    assert not np.array_equal(in_mm, pixels(view))
    assert size_words((76.2, 50.8, 25.4), "in") == ('3"', '2"', '1"')
    assert size_words((325.1857, 48.2387, 26.0), "mm") == ("325.2 mm", "48.2 mm", "26 mm")


# --- marks -------------------------------------------------------------------------------


def test_marks_say_their_face_and_what_became_of_them():
    assert mark_words(mark()) == "nick, mark side"
    assert mark_words(mark(face="off-side")) == "nick, off side, behind"
    assert mark_words(mark(lost=True)) == "nick, mark side, lost"
    assert mark_words(mark(face="low-edge")) == "nick, low edge"


FACES = ("mark-side", "off-side", "low-edge", "high-edge", "near-end", "far-end")


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("lost", [False, True])
def test_a_mark_shows_where_it_is(view, face, lost):
    x, y, z = BLOCK[0], BLOCK[1] / 2, BLOCK[2] / 2
    at = {
        "mark-side": (50.0, 0.0, z), "off-side": (50.0, 0.0, -z), "low-edge": (50.0, -y, 8.0),
        "high-edge": (50.0, y, 8.0), "near-end": (0.0, 5.0, 8.0), "far-end": (x, 5.0, 8.0),
    }[face]  # fmt: skip
    given_marks = (mark(at=at, face=face, lost=lost),)
    view.set_shown(billet(marks=given_marks))
    place = view.lie().at(*at)
    marked = pixels(view)
    # The same room, but with the mark elsewhere: what differs there is the mark.
    away = tuple(c * 0.5 if n == 0 else c for n, c in enumerate((at[0] or 30.0, at[1], at[2])))
    view.set_shown(billet(marks=(mark(at=away, face=face, lost=lost),)))
    other = pixels(view)
    near = np.s_[
        round(place.y()) - 8 : round(place.y()) + 9, round(place.x()) - 8 : round(place.x()) + 9
    ]
    assert (marked[near] != other[near]).any()


def test_hidden_lost_and_seen_marks_look_different(view):
    looks = []
    for face, lost in (("mark-side", False), ("mark-side", True), ("off-side", False)):
        view.set_shown(billet(marks=(mark(at=(40.0, 0.0, 25.3), face=face, lost=lost),)))
        place = view.lie().at(40.0, 0.0, 25.3)
        looks.append(around(pixels(view), place))
    assert not np.array_equal(looks[0], looks[1])
    assert not np.array_equal(looks[0], looks[2])
    assert not np.array_equal(looks[1], looks[2])


def test_words_of_many_marks_do_not_overlap_and_keep_inside(view):
    marks = tuple(mark(f"nick {n}", at=(5.0 + 9.0 * n, 0.0, 25.3), face=FACES[n % 3]) for n in range(9))
    lie = laid(BLOCK, ROOM, readable=60.0)
    room = QRectF(5.0, 0.0, 700.0, 400.0)
    notes = noted(marks, lie, room, view.font(), over=20.0, under=380.0)
    assert len(notes) == len(marks)
    for index, note in enumerate(notes):
        assert room.left() <= note.box.left()
        assert note.box.right() <= room.right()
        assert not any(note.box.intersects(other.box) for other in notes[index + 1 :])


def test_a_void_is_dark_and_not_the_wall_behind(view):
    shown = billet()
    hollow = shown.end.copy()
    hollow[20:40, 20:60] = 0
    view.set_shown(
        BilletShown(
            size=shown.size, top=shown.top, side=shown.side, end=hollow, marks=(), pieces=1,
            words=shown.words, spoken=shown.spoken,
        )
    )  # fmt: skip
    corners = view.lie().face("far-end")
    middle = (corners[0] + corners[2]) / 2
    assert pixels(view)[round(middle.y()), round(middle.x()), :3].max() < 110


@pytest.mark.parametrize("size", [(600, 260), (900, 480), (1400, 700)])
@pytest.mark.parametrize("piece", [BLOCK, BAR, BLANK, (20.0, 120.0, 90.0)])
def test_any_piece_fits_any_bench(view, size, piece):
    view.resize(*size)
    view.set_shown(billet(piece, marks=(mark(at=(10.0, 0.0, piece[2] / 2)),), pieces=3))
    whole = view.lie().hull().boundingRect()
    assert view.rect().contains(whole.toAlignedRect())
    assert whole.height() > 0.12 * size[1]
    assert pixels(view).shape[:2] == size[::-1]


def test_double_letters_leave_room_for_the_piece(qtbot, large_text):
    view = BilletView()
    qtbot.addWidget(view)
    view.resize(1000, 560)
    view.set_shown(billet(BAR, notes=("Rough: corners.",)))
    assert view.lie().hull().boundingRect().width() > 350


# --- as it stands ------------------------------------------------------------------------


def test_a_standing_block_is_upright_with_its_mark_side_in_front(view):
    view.set_shown(dataclasses.replace(billet(), pose="standing"))
    lie = view.lie()
    foot, head = lie.at(0.0, 0.0, 0.0), lie.at(BLOCK[0], 0.0, 0.0)
    assert head.x() == pytest.approx(foot.x())
    assert head.y() < foot.y() - 60, "the far end is on top"
    seen = pixels(view).astype(int)
    for face, channel, light in zip(
        ("far-end", "mark-side", "low-edge"), (2, 0, 1), LIGHTS, strict=True
    ):
        corners = lie.face(face)
        middle = (corners[0] + corners[2]) / 2
        tone = seen[round(middle.y()), round(middle.x()), :3]
        assert tone.argmax() == channel
        assert tone[channel] == pytest.approx(200 * light, abs=2)
    assert mark_words(mark(face="near-end"), "standing").endswith("behind")


def test_nothing_is_mirrored_by_standing_up():
    for pose in ("lying", "standing", "head-down"):
        lie = laid(BLOCK, ROOM, readable=70.0, pose=pose)
        ways = [lie.turned(*axis) for axis in np.eye(3)]
        assert np.linalg.det(np.array(ways)) == pytest.approx(lie.share)


def test_pieces_alike_are_drawn_as_whole_pieces(view):
    view.set_shown(billet(pieces=6))
    seen, lie = pixels(view).astype(int), view.lie()
    corners = lie.face("mark-side")
    # The far half of the piece behind, clear of the one in front and of the words.
    behind = (corners[0] + corners[1]) / 2 * 0.85 + (corners[2] + corners[3]) / 2 * 0.15 + lie.behind(1)
    tone = seen[round(behind.y()), round(behind.x()), :3]
    assert tone.argmax() == 0
    assert tone[0] == pytest.approx(200, abs=2)


def bent_billet():
    """A quarter of a ring, 60 mm outside and 40 mm inside, 20 mm thick."""
    turn = np.linspace(0.0, np.pi / 2, 40)
    outer = [(60.0 * np.cos(t), 60.0 * np.sin(t) - 30.0) for t in turn]
    inner = [(40.0 * np.cos(t), 40.0 * np.sin(t) - 30.0) for t in turn[::-1]]
    points = tuple((float(x), float(y)) for x, y in [*outer, *inner, outer[0]])
    wall = plain(20, 80, (0, 200, 0))
    return dataclasses.replace(
        billet((78.0, 20.0, 20.0)), outlines=(OutlineShown(points=points, wall=wall),),
        box=((0.0, -30.0, -10.0), (60.0, 30.0, 10.0)), profile=((0.0, 10.0), (60.0, 10.0)), shape="bent",
    )  # fmt: skip


@pytest.mark.parametrize("theme", [LIGHT, DARK])
def test_a_bent_bar_is_drawn_in_its_own_outline(view, qapp, theme):
    use_theme(theme, qapp)
    view.set_shown(bent_billet())
    seen, lie = pixels(view).astype(int), view.lie()
    view.set_shown(None)
    on_steel, beside = lie.at(35.4, 5.4, 10.0), lie.at(4.0, -26.0, 10.0)
    assert seen[round(on_steel.y()), round(on_steel.x()), 0] == pytest.approx(200, abs=3)
    corner = seen[round(beside.y()), round(beside.x()), :3]
    # Die, shadow or ground: never a slab of black, nor steel.
    assert not (corner.argmax() == 0 and corner[0] > corner[1] + 60)
    if not theme.dark:
        assert corner.min() > 120


def test_the_rim_of_a_piece_stands_out_on_the_dark_ground(view, qapp):
    use_theme(DARK, qapp)
    view.set_shown(billet(tones=((30, 32, 35),) * 3))
    seen, lie = pixels(view).astype(int), view.lie()
    edge = (lie.at(0.0, -BLOCK[1] / 2, -BLOCK[2] / 2) + lie.at(0.0, -BLOCK[1] / 2, BLOCK[2] / 2)) / 2
    assert around(seen, edge, 2)[..., :3].max() > 120


def test_the_ground_changes_with_the_theme(view, qapp):
    view.set_shown(billet())
    light = pixels(view)
    use_theme(DARK, qapp)
    assert pixels(view)[5, 5, 0] < light[5, 5, 0]
