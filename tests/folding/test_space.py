"""Strips folded about parallel folds are their profile, walked along in the plane; faces cross where it does."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString

from cutpath.folding.sheet import open_sheet
from cutpath.folding.space import Folded, axes, carried, clashes, crosses, fold_up, still_face
from cutpath.values.pattern import Edge, EdgeUse, FlatPattern, Fold, FoldUse, FoldWay, LabelBox, PartKind, Snip

WIDTH = 40.0


def strip(lengths, angles):
    """A strip of so many lengths, folded between them by angles; forward where they are above 0."""
    ends = np.cumsum([0.0, *lengths]).tolist()
    ring = ((0.0, 0.0), (ends[-1], 0.0), (ends[-1], WIDTH), (0.0, WIDTH))
    folds = tuple(
        Fold(f"fold {k}", FoldUse.OWN, (x, 0.0), (x, WIDTH), abs(a), FoldWay.FORWARD if a > 0 else FoldWay.BACK)
        for k, (x, a) in enumerate(zip(ends[1:-1], angles, strict=True))
    )
    edges = tuple(Edge(f"edge {k}", EdgeUse.OWN) for k in range(4))
    return FlatPattern(
        "outline", PartKind.LENGTH, ring, edges, (), (), folds, (), (), LabelBox((0, 0), 0, 1, 1), ends[-1],
        (0.0, 0.0), False,
    )  # fmt: skip


def profile(lengths, angles):
    """The strip from its edge, level first: points along and up."""
    points, turn = [(0.0, 0.0)], 0.0
    for length, angle in zip(lengths, [*angles, 0.0], strict=True):
        x, z = points[-1]
        points.append((x + length * math.cos(turn), z + length * math.sin(turn)))
        turn += math.radians(angle)
    return points


def folded(lengths, angles):
    """The faces of a strip in their order along it, folded up from the first."""
    sheet = open_sheet(strip(lengths, angles))
    first = min(range(len(sheet.faces)), key=lambda k: sheet.faces[k].centroid.x)
    faces, gaps = fold_up(sheet, first, np.eye(4))
    assert gaps == []
    return sheet, sorted(faces, key=lambda face: sheet.faces[face.index].centroid.x)


LENGTHS = st.lists(st.floats(20, 200), min_size=2, max_size=5)
ANGLES = st.floats(10, 150) | st.floats(-150, -10)


@settings(max_examples=30)
@given(LENGTHS, st.data())
def test_a_folded_strip_is_its_profile(lengths, data):
    angles = [data.draw(ANGLES) for _ in lengths[1:]]
    _, faces = folded(lengths, angles)
    for face, ends in zip(faces, pairwise(profile(lengths, angles)), strict=True):
        wanted = np.array([(x, y, z) for x, z in ends for y in (0.0, WIDTH)])
        apart = np.linalg.norm(face.corners[:, None] - wanted[None], axis=2)
        assert max(apart.min(axis=0).max(), apart.min(axis=1).max()) < 1e-6


@settings(max_examples=30)
@given(LENGTHS, st.data())
def test_faces_cross_where_the_profile_does(lengths, data):
    angles = [data.draw(ANGLES) for _ in lengths[1:]]
    _, faces = folded(lengths, angles)
    parts = [LineString(ends) for ends in pairwise(profile(lengths, angles))]
    for i, one in enumerate(faces):
        for j, other in enumerate(faces):
            if abs(i - j) > 1:
                assume(LineString(parts[i].coords).distance(parts[j]) > 0.01 or parts[i].crosses(parts[j]))
                assert crosses(one, other) == parts[i].crosses(parts[j])


def test_faces_that_cross_are_told_but_not_where_lead_is_worked_between_them():
    """100, 50 and 100 long, folded by 120 deg twice: the third comes back through the first."""
    sheet, faces = folded((100.0, 50.0, 100.0), (120.0, 120.0))
    pairs = [{a.index, b.index} for a, b in clashes(faces, sheet)]
    first, middle, last = (face.index for face in faces)
    assert pairs == [{first, last}]
    for seams, told in (({(first, middle)}, 1), ({(first, last)}, 0), ({(first, middle), (middle, last)}, 0)):
        worked = replace(sheet, seams=frozenset(tuple(sorted(pair)) for pair in seams))
        assert len(list(clashes(faces, worked))) == told
    assert list(clashes(faces[:1], sheet)) == []
    _, apart = folded((100.0, 50.0, 100.0), (90.0, 90.0))
    assert list(clashes(apart, sheet)) == []


def test_faces_that_lie_on_one_another_are_told():
    """Folded back upon itself by 180 deg, which leaves no room between; touching along an edge is none."""
    sheet, faces = folded((100.0, 100.0), (179.9999999,))
    assert len(list(clashes(faces, sheet))) == 1
    sheet, faces = folded((100.0, 100.0), (90.0,))
    assert list(clashes(faces, sheet)) == []


def test_a_ring_that_does_not_close_gapes():
    """A square plate with a hole, folded along four lines that meet in the hole: bent about one alone, it gapes."""
    hole = ((40.0, 40.0), (40.0, 60.0), (60.0, 60.0), (60.0, 40.0))
    ring = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
    lines = [((50, 0), (50, 40)), ((100, 50), (60, 50)), ((50, 100), (50, 60)), ((0, 50), (40, 50))]

    def gaps(angles):
        folds = [
            Fold(f"fold {k}", FoldUse.OWN, *line, max(a, 1e-9), FoldWay.FORWARD)
            for k, (line, a) in enumerate(zip(lines, angles, strict=True))
        ]
        plate = replace(strip((50.0, 50.0), (90.0,)), outline=ring, holes=(hole,), folds=tuple(folds))
        sheet = open_sheet(plate)
        assert len(sheet.faces) == 4
        return fold_up(sheet, 0, np.eye(4))[1]

    ((_, flat),) = gaps((0, 0, 0, 0))
    assert flat < 1e-6
    ((_, straight),) = gaps((90, 0, 90, 0))
    assert straight < 1e-6
    ((_, once),) = gaps((90, 0, 0, 0))
    assert once == pytest.approx(50 * math.sqrt(2), rel=0.5), "half of the plate stands up against the other"


def test_the_face_that_stays_stands_on_most_of_the_roof_line():
    """50 and 150 long: the longer, but where only the first 60 count; and by its area where nothing stands there."""
    sheet = open_sheet(strip((50.0, 150.0), (90.0,)))

    def length(to_run, window):
        return sheet.faces[still_face(sheet, to_run, window)].area / WIDTH

    assert length(np.eye(4), (-math.inf, math.inf)) == pytest.approx(150)
    assert length(np.eye(4), (0.0, 60.0)) == pytest.approx(50)
    up = axes((1, 0, 0), (0, 1, 0), (0, 0, 1), (0, 10, 0))
    assert length(up, (0.0, 60.0)) == pytest.approx(150)
    mirrored = axes((-1, 0, 0), (0, 1, 0), (0, 0, 1), (200, 0, 0))
    assert length(mirrored, (140.0, 200.0)) == pytest.approx(50)


def test_a_face_is_carried_whole():
    _, (_, up) = folded((100.0, 50.0), (90.0,))
    there = carried(up, axes((0, 1, 0), (-1, 0, 0), (0, 0, 1), (5, 6, 7)))
    assert np.allclose(
        there.corners, np.column_stack([5 - up.corners[:, 1], 6 + up.corners[:, 0], 7 + up.corners[:, 2]])
    )
    assert np.allclose(there.axis, [[5, 106, 7], [5 - WIDTH, 106, 7]])


def test_a_snip_parts_faces_that_a_fold_ends_between():
    """Of a strip folded across, snipped open along its upper half of the fold: one hinge, on the lower half."""
    pattern = strip((100.0, 100.0), (90.0,))
    half = replace(pattern.folds[0], end=(100.0, WIDTH / 2))
    snipped = replace(pattern, folds=(half,), snips=(Snip("snip", ((100.0, WIDTH), (100.0, WIDTH / 2))),))
    sheet = open_sheet(snipped)
    assert (len(sheet.faces), len(sheet.hinges), sheet.seams, sheet.loose) == (2, 1, frozenset(), ())
    (hinge,) = sheet.hinges
    assert sheet.faces[hinge.left].centroid.x < 100 < sheet.faces[hinge.right].centroid.x, "its fold runs upwards"
    loose = open_sheet(replace(pattern, folds=(half,)))
    assert (len(loose.hinges), len(loose.seams), loose.loose) == (1, 1, ("fold 0",))


def rotated(pattern, turn_deg):
    """A pattern turned in its plane and put elsewhere, and the matrix that brings it back."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))

    def at(point):
        return (c * point[0] - s * point[1] + 7.0, s * point[0] + c * point[1] - 11.0)

    folds = tuple(replace(fold, start=at(fold.start), end=at(fold.end)) for fold in pattern.folds)
    back = np.linalg.inv(axes((c, s, 0), (-s, c, 0), (0, 0, 1), (7.0, -11.0, 0)))
    return replace(pattern, outline=tuple(map(at, pattern.outline)), folds=folds), back


@pytest.mark.parametrize("turn_deg", [30, 77, 141, 200, 290, 355])
def test_a_strip_folds_alike_whichever_way_it_lies(turn_deg):
    lengths, angles = (80.0, 50.0, 60.0), (40.0, -115.0)
    pattern, back = rotated(strip(lengths, angles), turn_deg)
    sheet = open_sheet(pattern)
    first = next(k for k, face in enumerate(sheet.faces) if abs(face.area - 80.0 * WIDTH) < 1e-3)
    faces, _ = fold_up(sheet, first, back)
    for ends in pairwise(profile(lengths, angles)):
        wanted = np.array([(x, y, z) for x, z in ends for y in (0.0, WIDTH)])
        apart = [np.linalg.norm(face.corners[:, None] - wanted[None], axis=2) for face in faces]
        assert min(max(one.min(axis=0).max(), one.min(axis=1).max()) for one in apart) < 1e-6
    for face in faces:
        assert np.allclose(face.place[:3, :3] @ face.place[:3, :3].T, np.eye(3)), "a face is moved, not bent"


U_SHAPE = [(0, 0), (90, 0), (90, 60), (60, 60), (60, 20), (30, 20), (30, 60), (0, 60)]
SOMEWHERE = axes((0.36, 0.48, -0.8), (-0.8, 0.6, 0), (0.48, 0.64, 0.6), (3, -4, 5))


def plate(points, place):
    flat = np.array(points, dtype=float)
    return Folded(0, None, None, place, flat @ place[:3, :2].T + place[:3, 3], np.empty((0, 3)))


@pytest.mark.parametrize(
    ("low", "high", "height", "through"),
    [
        (35.0, 55.0, 40.0, False),  # between the legs of the U
        (29.0, 55.0, 40.0, True),
        (35.0, 61.0, 40.0, True),
        (-20.0, -1.0, 40.0, False),
        (-20.0, 1.0, 40.0, True),
        (91.0, 120.0, 40.0, False),
        (-9.0, 200.0, 40.0, True),
        (35.0, 55.0, 10.0, True),  # through what joins them
        (35.0, 55.0, 70.0, False),
    ],
)
@pytest.mark.parametrize("place", [np.eye(4), SOMEWHERE], ids=["as drawn", "elsewhere"])
def test_a_plate_goes_through_lead_and_not_through_a_gap_in_it(low, high, height, through, place):
    """A plate that stands up across the U at a height, from one side to another, leaning."""
    upright = axes((1, 0, 0), (0, 0.6, 0.8), (0, -0.8, 0.6), (0, height, 0))
    one = plate(U_SHAPE, place)
    other = plate([(low, -15), (high, -15), (high, 25), (low, 25)], place @ upright)
    assert crosses(one, other) == crosses(other, one) == through
    beside = plate([(low, 0), (high, 0), (high, 25), (low, 25)], place @ upright)
    assert not crosses(one, beside), "they touch along a line"
