"""By how much something misses its place: each way of measuring says exactly that."""

from __future__ import annotations

import numpy as np
import pytest

from cutpath.errors import Severity
from cutpath.folding import gap
from cutpath.folding.space import Folded
from cutpath.tolerances import FOLD_DEVIATION_MM
from cutpath.values.pattern import FoldUse, Side

SQUARE = np.array([(0.0, 0.0, 0.0), (30.0, 0.0, 0.0), (30.0, 20.0, 0.0), (0.0, 20.0, 0.0)])


def face(corners):
    return Folded(0, None, None, np.eye(4), np.array(corners, dtype=float), np.zeros((0, 3)))


def moved(corner, axis, by):
    corners = SQUARE.copy()
    corners[corner, axis] += by
    return face(corners)


@pytest.mark.parametrize(
    ("corner", "axis", "by", "out"),
    [
        (0, 0, 0.25, [0.0, 0.0, 0.25]),
        (2, 0, -0.25, [0.0, 0.0, 0.25]),
        (0, 1, -0.25, [0.0, 0.25, 0.25]),
        (1, 1, 0.25, [0.0, 0.0, 0.25]),
        (2, 1, 0.25, [0.0, 0.25, 0.25]),
        (3, 2, 0.25, [0.25, 0.0, 0.25]),
    ],
)
def test_a_part_against_the_wall(corner, axis, by, out):
    assert [g.mm for g in gap.upstand(face(SQUARE), 20.0)] == [0.0, 0.0, 0.0]
    assert [g.mm for g in gap.upstand(moved(corner, axis, by), 20.0)] == pytest.approx(out)
    assert gap.upstand(face(SQUARE), 21.0)[1] == gap.Gap(1.0, "the upstand is not 21 mm high")


def test_values_on_a_place():
    assert gap.on(np.array([2.0, 5.0]), "", 3.0).mm == 2.0
    assert gap.on(np.array([2.0, -5.0]), "").mm == 5.0
    assert gap.on(np.array([]), "").mm == 0.0


def test_values_that_span():
    values = np.array([1.0, 4.0, 9.0])
    assert gap.from_to(values, 1.0, 9.0, "").mm == 0.0
    assert [
        gap.from_to(values, low, high, "").mm for low, high in ((0.5, 9.0), (1.5, 9.0), (1.0, 8.0), (1.0, 9.25))
    ] == [
        0.5,
        0.5,
        1.0,
        0.25,
    ]


def test_values_within():
    values = np.array([1.0, 9.0])
    assert [gap.within(values, low, high, "").mm for low, high in ((0.0, 10.0), (1.5, 10.0), (0.0, 8.0))] == [
        0.0,
        0.5,
        1.0,
    ]


@pytest.mark.parametrize(
    ("ends", "low", "high", "mm"),
    [
        ((True, True), 0.0, 10.0, 0.0),
        ((True, True), 0.5, 10.0, 0.5),
        ((True, True), 0.0, 9.0, 1.0),
        ((True, True), -0.5, 11.0, 1.0),
        ((False, True), 0.5, 10.0, 0.0),
        ((False, True), -0.5, 10.0, 0.5),
        ((True, False), 0.0, 9.0, 0.0),
        ((True, False), 0.0, 10.5, 0.5),
        ((False, False), 3.0, 5.0, 0.0),
        ((False, False), -3.0, 5.0, 3.0),
    ],
)
def test_values_reach_as_far_as_the_run_at_the_ends_that_are_there(ends, low, high, mm):
    assert gap.reach(np.array([low, 4.0, high]), (0.0, 10.0), ends, "").mm == mm


def test_edges_along_the_axes():
    assert gap.boxed(face(SQUARE), "").mm == gap.square_ends(face(SQUARE), "").mm == 0.0
    assert gap.boxed(moved(2, 2, 0.3), "").mm == pytest.approx(0.3)
    assert gap.boxed(moved(0, 1, -0.3), "").mm == pytest.approx(0.3)
    tilted = SQUARE @ np.array([[1, 0, 0], [0, 0.8, 0.6], [0, -0.6, 0.8]]).T
    assert gap.square_ends(face(tilted), "").mm == pytest.approx(0.0)
    assert gap.boxed(face(tilted), "").mm == pytest.approx(12.0)
    assert gap.square_ends(moved(3, 0, 0.4), "").mm == pytest.approx(0.4)


def test_edges_on_lines():
    corners = SQUARE[:, :2]
    lines = [((0, 0), (2, 0)), ((5, 20), (1, 0)), ((0, 3), (0, 1)), ((30, 0), (0, -4))]
    assert gap.edges_on(corners, lines, "").mm == pytest.approx(0.0)
    assert gap.edges_on(corners, lines[:3], "").mm == pytest.approx(20.0)
    assert gap.from_lines(np.array([[3.0, 4.0]]), [((0, 0), (1, 1)), ((1, 0), (3, 4))])[0] == pytest.approx(
        [0.5**0.5, 0.8]
    )


def test_corners_wherever_they_are_named():
    wanted = [(0, 20), (30, 20), (0, 0), (30, 0)]
    assert gap.corners_at(face(SQUARE), wanted, "").mm == 0.0
    assert gap.corners_at(face(SQUARE), wanted[:3], "").mm == 20.0
    assert gap.corners_at(face(SQUARE), [*wanted, (30, 26)], "").mm == 6.0


def test_a_turn_in_lies_in_its_joint_as_deep_as_the_chase():
    off, depth = np.zeros(4), np.array([0.0, 0.0, 25.0, 25.0])
    assert [g.mm for g in gap.in_joint("it", off, depth, 25.0)] == [0.0, 0.0]
    assert [g.mm for g in gap.in_joint("it", off - 0.5, depth, 25.0)] == [0.5, 0.0]
    assert gap.in_joint("it", off, np.array([0.0, 0.0, 25.0, 24.0]), 25.0)[1].mm == 1.0
    assert gap.in_joint("it", off, np.array([0.0, 2.0, 25.0, 25.0]), 25.0)[1].mm == 2.0
    assert gap.in_joint("it", off, depth * 1.2, 25.0)[1].mm == 5.0


def test_the_worst_is_told_and_how_many_more():
    near = gap.Gap(FOLD_DEVIATION_MM, "as near as arithmetic")
    assert gap.misses("here", "folded", [near]) == []
    (one,) = gap.misses("here", "folded", [near, gap.Gap(2.0, "it is off")])
    assert (one.code, one.where, one.severity) == ("CP413", "here", Severity.FAULT)
    assert one.found == "folded, it is off: out by 2.000 mm"
    (three,) = gap.misses("here", "folded", [gap.Gap(1.0, "a"), gap.Gap(3.0, "b"), gap.Gap(2.0, "c")], "CP418")
    assert (three.code, three.found) == ("CP418", "folded, b: out by 3.000 mm (and 2 more)")


def test_parts_that_must_be_there():
    wanted = {(FoldUse.UPSTAND, None): 75.0, (FoldUse.ARRIS, Side.LEFT): 100.0, (FoldUse.FRONT, None): 0.0}
    assert {g.what: g.mm for g in gap.missing([face(SQUARE)], wanted)} == {
        "the upstand is missing": 75.0,
        "the left arris is missing": 100.0,
    }
    assert gap.at_ends(FoldUse.ARRIS, (5.0, 7.0), (False, True)) == {(FoldUse.ARRIS, Side.RIGHT): 7.0}
    assert gap.at_ends(FoldUse.ARRIS, (5.0, 7.0), (True, False)) == {(FoldUse.ARRIS, Side.LEFT): 5.0}
    assert gap.unknown(face(SQUARE)).mm == 30.0
