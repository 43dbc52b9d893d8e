"""Registration marks: in sheet that is still whole when they are read, as far apart as it allows."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import strategies as st

from cutpath.drawing.paths import tool_paths
from cutpath.drawing.registration import cross, placed
from cutpath.errors import Severity
from cutpath.values.drawing import Drawing, Role, Stroke
from tests.drawing.machines import made
from tests.properties.surveys import for_all

WIDTH, INSET = 600.0, 15.0
BAND = (1000.0, 1100.0)
OPPOSITE = (pytest.approx((1005.0, 15.0)), pytest.approx((1095.0, 585.0)))

boxes = st.lists(
    st.tuples(st.floats(950, 1150), st.floats(0, 560), st.floats(5, 120), st.floats(5, 300)).map(
        lambda b: shapely.box(b[0], b[1], b[0] + b[2], min(WIDTH, b[1] + b[3]))
    ),
    max_size=6,
)


def arms(middle):
    return shapely.MultiLineString(cross(middle))


GRID = np.array([(x, y) for x in range(1005, 1096, 15) for y in range(15, 586, 30)], dtype=float)
ENVELOPES = np.array([arms(middle).envelope for middle in GRID.tolist()])


def test_on_an_empty_sheet_they_stand_in_opposite_corners_of_the_band() -> None:
    assert placed(BAND, WIDTH, INSET, [], []) == OPPOSITE


@for_all(boxes, boxes)
def test_they_keep_off_all_that_was_cut(cut, whole) -> None:
    for middle in placed(BAND, WIDTH, INSET, cut, whole):
        assert all(arms(middle).distance(piece) >= 2.0 - 1e-6 for piece in cut)
        low, bottom, high, top = arms(middle).bounds
        assert BAND[0] - 1e-6 <= low <= high <= BAND[1] + 1e-6
        assert INSET - 5 - 1e-6 <= bottom <= top <= WIDTH - INSET + 5 + 1e-6


@for_all(boxes)
def test_no_pair_of_places_on_a_grid_is_farther_apart(cut) -> None:
    free = GRID[(shapely.distance(ENVELOPES[:, None], np.array(cut, dtype=object)) > 2.01).all(axis=1)]
    far = max((np.hypot(*(free - a).T).max() for a in free), default=0.0)
    found = placed(BAND, WIDTH, INSET, cut, [])
    assert (math.dist(*found) if found else WIDTH / 3) >= far - 1e-6


def test_waste_is_taken_before_a_piece_that_is_still_whole() -> None:
    piece = shapely.box(1000, 0, 1100, 60)
    marks = placed(BAND, WIDTH, INSET, [], [piece])
    assert min(arms(m).distance(piece) for m in marks) >= 2.0
    nearly_all = shapely.box(1000, 0, 1100, 590)
    assert placed(BAND, WIDTH, INSET, [], [nearly_all]) == OPPOSITE


def test_where_all_is_cut_there_is_no_place() -> None:
    assert placed(BAND, WIDTH, INSET, [shapely.box(900, 0, 1200, 600)], []) == ()
    assert placed(BAND, WIDTH, INSET, [shapely.box(900, 0, 1200, 500)], []) == ()


def plate(x, size, piece, low=0.0, high=600.0):
    return Stroke(Role.OUTER, ((x, low), (x + size, low), (x + size, high), (x, high)), True, piece, "outline")


def paths_of(*strokes, length=3000.0, **changes):
    return tool_paths(Drawing("roll", length, 600.0, tuple(strokes)), made("flatbed-knife", **changes))


def loose_at(paths, number):
    """Everything that was cut, wholly or partly, in the frames up to ``number``."""
    return {p.piece for f in paths.frames[:number] for p in f.passes if p.role is Role.OUTER}


def test_a_seam_is_moved_where_it_would_leave_no_place_for_marks() -> None:
    """A plate of full width ends just where the reach ends: cut in the first frame, it would take all places."""
    roll = [plate(0, 500, "A"), plate(500, 1100, "B"), plate(1600, 1200, "C")]
    paths = paths_of(*roll, length=2800.0)
    assert loose_at(paths, 1) == {"A"}
    shapes = {s.piece: shapely.Polygon(s.points) for s in roll}
    for k, frame in enumerate(paths.frames):
        assert (math.dist(*frame.register) > 500) if k else not frame.register
        assert all(arms(m).distance(shapes[name]) >= 2.0 - 1e-6 for m in frame.register for name in loose_at(paths, k))


def test_where_nothing_is_left_whole_the_finding_says_so_and_no_mark_is_drawn() -> None:
    paths = paths_of(plate(0, 3000, "A"), length=3000.0)
    assert [f.register for f in paths.frames] == [()] * len(paths.frames)
    assert not [p for f in paths.frames for p in f.passes if p.name == "registration mark"]
    (said,) = [f for f in paths.findings if "nothing is left whole" in f.found]
    assert said.severity is Severity.WARNING
    assert "edge trim" in said.remedy


@pytest.mark.parametrize("seed", range(6))
def test_over_many_rolls_no_mark_that_is_read_lies_in_cut_lead(seed) -> None:
    """Rows of random plates across a roll that is fed on several times."""
    import random

    rng = random.Random(seed)  # noqa: S311 - drawn sheets, no secrets
    strokes, number = [], 0
    for low, high in ((0.0, 200.0), (200.0, 450.0), (450.0, 600.0)):
        x = 0.0
        while x < 5000:
            size = rng.uniform(150, 1400)
            number += 1
            strokes.append(plate(x, size, f"P{number}", low, high))
            x += size + rng.choice([0.0, 0.0, 30.0])
    length = max(x for s in strokes for x, _ in s.points)
    paths = paths_of(*strokes, length=length)
    shapes = {s.piece: shapely.Polygon(s.points) for s in strokes}
    read = [(k, m) for k, f in enumerate(paths.frames) for m in f.register]
    assert read
    for number_of_frame, mark in read:
        for name in loose_at(paths, number_of_frame):
            assert arms(mark).distance(shapes[name]) >= 2.0 - 1e-6


def test_a_machine_without_a_pen_lists_the_places_and_draws_nothing() -> None:
    knife = made("flatbed-knife")
    bare = replace(knife, heads=knife.heads[1:], tasks=tuple(t for t in knife.tasks if t.head == "knife"))
    paths = tool_paths(Drawing("roll", 3000.0, 600.0, (plate(0, 500, "A"), plate(500, 900, "B"))), bare)
    assert paths.frames[1].register
    assert not [p for f in paths.frames for p in f.passes if p.role is Role.MARK]


def test_where_pens_alone_work_marks_may_stand_in_what_is_drawn_already() -> None:
    marker = made("pen-marker", bed={"length_mm": 1000.0})
    drawing = Drawing("roll", 1500.0, 600.0, (plate(0, 1500, "A"),))
    first, second = tool_paths(drawing, marker).frames
    assert len(second.register) == 2
    assert math.dist(*second.register) > 560
    assert all(second.start_mm < x < first.end_mm for x, _ in second.register)
    knife = made("flatbed-knife", bed={"length_mm": 1000.0})
    assert tool_paths(drawing, knife).frames[1].register == ()
