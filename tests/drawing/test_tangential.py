"""A knife that the file turns is lifted at corners, and never put down for less than can be run."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from cutpath.drawing.tangential import lifted_at_corners
from cutpath.tolerances import LEAST_STROKE_MM

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0), (0.0, 0.0))


def length_mm(way):
    return math.fsum(math.dist(a, b) for a, b in pairwise(way))


def test_each_edge_between_sharp_corners_is_cut_by_itself():
    assert [way for way, _ in lifted_at_corners([(SQUARE, SQUARE)], 30.0)] == list(pairwise(SQUARE))
    assert lifted_at_corners([(SQUARE, SQUARE)], 90.5) == [(SQUARE, SQUARE)]


@pytest.mark.parametrize("stub_mm", [1e-6, 1e-4, 0.009])
@pytest.mark.parametrize("at", [0, 1, 2, 4])
def test_a_stub_at_a_corner_is_no_stretch_of_its_own(at, stub_mm):
    """Where a shared line ends at a corner, arithmetic leaves such stubs; the knife would be stabbed in on the spot."""
    x, y = SQUARE[at]
    way = (*SQUARE[:at], (x - stub_mm, y), *SQUARE[at:]) if at else ((x, y), (x - stub_mm, y), *SQUARE[1:])
    found = lifted_at_corners([(way, way)], 30.0)
    assert len(found) == 4
    assert all(length_mm(part) > LEAST_STROKE_MM for pair in found for part in pair)
    assert (found[0][0][0], found[-1][0][-1]) == (way[0], way[-1])
    assert all(math.dist(a[-1], b[0]) == 0 for (a, _), (b, _) in pairwise(found))


def test_what_is_shorter_than_a_stroke_as_a_whole_stays():
    tiny = ((0.0, 0.0), (0.001, 0.0))
    assert lifted_at_corners([(tiny, tiny)], 30.0) == [(tiny, tiny)]


def test_a_way_that_ends_where_it_came_by_keeps_its_corners():
    past = (*SQUARE, (100.0, 0.0))
    found = [way for way, _ in lifted_at_corners([(past, past)], 30.0)]
    assert found == list(pairwise(past))
