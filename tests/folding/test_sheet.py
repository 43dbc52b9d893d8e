"""A sheet falls into faces along cuts, folds, and what a loose fold or a bossing mark is drawn on to."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import Point

from cutpath.folding.sheet import open_sheet
from cutpath.values.pattern import Mark, MarkKind, MarkUse, Snip
from tests.folding.test_space import WIDTH, strip

PLAIN = strip([60.0, 40.0], [90.0])  # 100 x 40 mm with a fold at 60 mm


def areas(sheet):
    return sorted(round(face.area, 6) for face in sheet.faces)


def with_fold(start, end):
    return replace(PLAIN, folds=(replace(PLAIN.folds[0], start=start, end=end),))


def test_a_fold_from_edge_to_edge_parts_two_faces():
    sheet = open_sheet(PLAIN)
    assert areas(sheet) == [1600.0, 2400.0]
    assert (sheet.loose, sheet.seams) == ((), frozenset())
    (hinge,) = sheet.hinges
    left, right = (sheet.faces[k].centroid.x for k in (hinge.left, hinge.right))
    assert (left, right) == (30.0, 80.0)  # looking up the fold, from its start
    (turned,) = open_sheet(with_fold((60.0, WIDTH), (60.0, 0.0))).hinges
    assert (turned.left, turned.right) != (hinge.left, hinge.right)


@pytest.mark.parametrize(
    ("start", "end", "small"),
    [
        ((60.0, 0.0), (60.0, 25.0), 1600.0),
        ((60.0, 40.0), (60.0, 25.0), 1600.0),
        ((0.0, 10.0), (70.0, 24.0), 100 * (10 + 30) / 2),
        ((100.0, 30.0), (20.0, 14.0), 100 * (10 + 30) / 2),
        ((50.0, 0.0), (60.0, 20.0), 40 * (30 + 50) / 2),
        ((0.0, 35.0), (10.0, 30.0), 70 * 35 / 2),
    ],
)
def test_a_loose_end_is_drawn_on_the_way_the_fold_goes(start, end, small):
    sheet = open_sheet(with_fold(start, end))
    assert areas(sheet) == pytest.approx([small, 4000.0 - small])
    assert sheet.loose == (PLAIN.folds[0].name,)
    assert len(sheet.hinges) == 1


def test_a_fold_that_begins_and_ends_inside_is_drawn_on_both_ways():
    sheet = open_sheet(with_fold((60.0, 10.0), (60.0, 25.0)))
    assert areas(sheet) == [1600.0, 2400.0]
    assert sheet.loose == (PLAIN.folds[0].name,)


def test_what_is_drawn_on_ends_at_the_next_fold():
    second = replace(PLAIN.folds[0], start=(0.0, 20.0), end=(30.0, 20.0), name="second")
    sheet = open_sheet(replace(PLAIN, folds=(*PLAIN.folds, second)))
    assert areas(sheet) == [1200.0, 1200.0, 1600.0]
    assert sheet.loose == ("second",)


def bossed(*points):
    return replace(PLAIN, marks=(Mark("bossing", MarkKind.BOSSING, points, MarkUse.SEAM),))


def test_a_bossing_mark_is_drawn_on_from_its_free_ends_to_a_seam():
    sheet = open_sheet(bossed((80.0, 10.0), (80.0, 30.0)))
    assert areas(sheet) == [800.0, 800.0, 2400.0]
    (seam,) = sheet.seams
    assert {sheet.faces[k].centroid.x for k in seam} == {70.0, 90.0}
    assert sheet.loose == ()
    bent = open_sheet(bossed((80.0, 0.0), (80.0, 20.0), (90.0, 20.0)))
    assert areas(bent) == [400.0, 1200.0, 2400.0]


def test_across_a_cut_nothing_hangs_together():
    snip = Snip("snip", ((60.0, 0.0), (60.0, WIDTH)))
    sheet = open_sheet(replace(PLAIN, snips=(snip,), folds=()))
    assert areas(sheet) == [1600.0, 2400.0]
    assert (sheet.hinges, sheet.seams) == ((), frozenset())
    hole = ((70.0, 10.0), (70.0, 30.0), (90.0, 30.0), (90.0, 10.0))
    holed = open_sheet(replace(PLAIN, holes=(hole,)))
    assert areas(holed) == [1200.0, 2400.0]
    assert not any(face.covers(Point(80.0, 20.0)) for face in holed.faces)
