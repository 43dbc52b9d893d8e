"""Shapes of a shop's own whose points cannot have been meant: holes at the edge, folds on top of each other."""

from __future__ import annotations

import pytest

from cutpath.errors import Refused, Severity
from cutpath.pipeline import plan

SQUARE = [[0, 0], [400, 0], [400, 300], [0, 300]]
HOLE = [[100, 100], [200, 100], [200, 200], [100, 200]]


def findings_of(points=SQUARE, **more):
    detail = {"kind": "outline", "points": points, **more}
    try:
        return plan([{"name": "J", "detail": [detail]}]).findings
    except Refused as refused:
        return refused.findings


def moved(points, dx, dy):
    return [[x + dx, y + dy] for x, y in points]


def fold(start, end, angle=90):
    return {"from": list(start), "to": list(end), "angle": angle}


@pytest.mark.parametrize(
    ("holes", "says"),
    [
        ([[[0, 100], [50, 80], [50, 120]]], "hole 1 comes within 0 mm of the outline, at 0, 100"),
        ([moved(HOLE, 150, 0), moved(HOLE, -99.7, 0)], "hole 2 comes within 0.3 mm of the outline, at 0.3, 100"),
        ([HOLE, moved(HOLE, 100.2, 0)], "hole 1 comes within 0.2 mm of hole 2, at 200, 100"),
        ([moved(HOLE, 0, 99.51)], "hole 1 comes within 0.49 mm of the outline, at 200, 299.51"),
    ],
)
def test_a_hole_that_leaves_no_lead_beside_it_is_a_slip(holes, says):
    (found,) = findings_of(holes=holes)
    assert (found.code, found.severity, found.found) == ("CP409", Severity.FAULT, says)
    assert found.where.endswith("detail[1].holes")


def test_a_point_that_stands_twice_is_told_by_its_place():
    (found,) = findings_of([[0, 0], [400, 0], [400, 300], [400, 300], [0, 300]])
    assert (found.code, found.found) == ("CP409", "the point (400, 300) stands twice in a row")


def test_a_hole_may_stand_as_near_as_a_tape_can_tell():
    assert findings_of(holes=[moved(HOLE, 0, 99.4), moved(HOLE, 100.6, 99.4)]) == ()


@pytest.mark.parametrize(
    ("folds", "key", "says"),
    [
        ([fold((0, 0), (400, 0))], "folds[1]", "a fold along the edge"),
        ([fold((10, 299.7), (400, 299.9))], "folds[1]", "a fold along the edge"),
        ([fold((0, 100), (400, 100)), fold((400, 100), (0, 100), -90)], "folds[2]", "a fold on fold 1"),
        ([fold((0, 100), (400, 100)), fold((100, 100.2), (300, 100))], "folds[2]", "a fold on fold 1"),
        ([fold((100, 100), (300, 100)), fold((0, 100), (400, 100))], "folds[2]", "a fold on fold 1"),
    ],
)
def test_a_fold_that_folds_nothing_or_a_second_time_is_a_slip(folds, key, says):
    (found,) = (found for found in findings_of(folds=folds) if found.code == "CP409")
    assert (found.code, found.severity, found.found) == ("CP409", Severity.FAULT, says)
    assert found.where.endswith(f"detail[1].{key}")


@pytest.mark.parametrize(
    "folds",
    [
        [fold((0, 100), (400, 100)), fold((0, 101), (400, 101), -90)],
        [fold((0, 100), (200, 100)), fold((200, 100), (400, 100), -90)],
        [fold((0, 25), (400, 25))],
        [fold((0, 0), (400, 300))],
    ],
    ids=["beside", "after", "near the edge", "corner to corner"],
)
def test_other_folds_are_nobody_elses_business(folds):
    assert [found for found in findings_of(folds=folds) if found.code == "CP409"] == []


@pytest.mark.parametrize(
    ("folds", "odd"),
    [
        ([fold((0, 2.5), (400, 2.5)), fold((0, 10.5), (400, 10.5))], ["folds[1]", "folds[2]"]),
        ([fold((0, 50), (400, 50)), fold((0, 57.5), (400, 57.5))], ["folds[1]", "folds[2]"]),
        ([fold((0, 9.9), (400, 9.9)), fold((0, 150), (400, 150))], ["folds[1]"]),
        ([fold((0, 10), (400, 10)), fold((0, 20), (400, 20))], []),
        ([fold((0, 25), (400, 25)), fold((0, 100), (400, 100))], []),
        ([fold((0, 12), (12, 0))], []),
        ([fold((200, 0), (200, 300)), fold((0, 150), (400, 150))], []),
        ([fold((0, 30), (30, 0))], []),
    ],
)
def test_a_fold_that_leaves_no_part_to_dress_is_doubted(folds, odd):
    """As 2.5 written for 25."""
    found = [f for f in findings_of(folds=folds) if f.code == "CP112"]
    assert [(f.where, f.severity) for f in found] == [(f"job: detail[1].{key}", Severity.WARNING) for key in odd]


def test_a_fold_across_a_notch_is_not_along_the_edge():
    notched = [[0, 0], [400, 0], [400, 300], [300, 300], [300, 200], [100, 200], [100, 300], [0, 300]]
    (found,) = findings_of(notched, folds=[fold((100, 300), (300, 300))])
    assert found.found == "a fold that leaves the shape"


@pytest.mark.parametrize(
    ("more", "where"),
    [
        ({"points": [[0, 0], [400, 0], [0.4, 300], [0, 300]]}, "points[3][1]"),
        ({"points": moved(SQUARE, -50, -50), "holes": [[[100, 100], [200, 100], [100, 0.2]]]}, "holes[1][3][2]"),
        ({"cuts": [[[0, 100], [100, 0.1]]]}, "cuts[1][2][2]"),
    ],
)
def test_one_coordinate_in_metres_is_doubted_and_may_be_confirmed(more, where):
    (found,) = findings_of(**more)
    assert (found.code, found.severity, found.where) == ("CP112", Severity.WARNING, f"job: detail[1].{where}")
    (sure,) = findings_of(**more, confirmed=[where.partition("[")[0]])
    assert (sure.severity, sure.where) == (Severity.NOTE, found.where)
