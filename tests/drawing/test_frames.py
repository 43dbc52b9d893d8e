"""Frames of a long roll: windows that reach every piece, seams where none stands, lines cut off and taken up."""

from __future__ import annotations

from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from cutpath.drawing.frames import clipped, frame_count, windows
from tests.properties.surveys import for_all


def endless(length):
    return [(0.0, length)]


@given(st.floats(100, 20000), st.floats(300, 3000), st.floats(0, 200))
def test_without_a_clear_place_windows_step_evenly(length, frame, overlap) -> None:
    laid = windows(length, frame, overlap, endless(length))
    assert len(laid) == frame_count(length, frame, overlap)


@given(
    st.floats(500, 12000),
    st.floats(600, 2000),
    st.floats(10, 100),
    st.lists(st.tuples(st.floats(0, 10000), st.floats(50, 900)), max_size=25),
)
def test_windows_cover_the_roll_and_meet_at_seams_that_both_reach(length, frame, overlap, stretches) -> None:
    spans = [(a, min(length, a + b)) for a, b in stretches if a < length]
    laid = windows(length, frame, overlap, spans)
    assert laid[0].start_mm == laid[0].from_mm == 0
    assert laid[-1].to_mm == length
    assert all(w.end_mm - w.start_mm <= frame + 1e-6 for w in laid)
    for a, b in pairwise(laid):
        assert a.to_mm == b.from_mm
        assert a.to_mm + overlap / 2 <= a.end_mm + 1e-6
        assert b.start_mm + overlap / 2 == pytest.approx(b.from_mm)
        assert b.start_mm > a.start_mm, "the roll goes on, and never back beyond its end"


def test_a_piece_that_no_window_holds_draws_no_seam_to_it() -> None:
    """It is cut at the seams in any case; a seam at its beginning wastes a setting, off the sheet at worst."""
    laid = windows(1700.0, 800.0, 40.0, [(2.0, 805.0), (300.0, 790.0), (790.0, 1500.0)])
    assert [w.to_mm for w in laid] == [780.0, 1540.0, 1700.0]


def test_a_seam_is_laid_where_no_piece_stands() -> None:
    spans = [(0.0, 700.0), (100.0, 900.0), (900.0, 1500.0), (950.0, 1700.0)]
    laid = windows(1700.0, 1250.0, 50.0, spans)
    assert [w.to_mm for w in laid] == [900.0, 1700.0]


@for_all(st.lists(st.tuples(st.floats(0, 1000), st.floats(0, 200)), min_size=2, max_size=12, unique=True),
       st.floats(50, 950))  # fmt: skip
def test_the_two_sides_of_a_seam_make_the_whole_line(points, seam) -> None:
    line = tuple(points)
    parts = [*clipped(line, float("-inf"), seam), *clipped(line, seam, float("inf"))]
    whole = shapely.LineString(line)
    assert sum(shapely.LineString(p).length for p in parts) == pytest.approx(whole.length, abs=1e-3)
    for part in clipped(line, float("-inf"), seam):
        assert max(x for x, _ in part) <= seam + 1e-6


def test_a_ring_across_a_seam_comes_in_one_part_on_either_side() -> None:
    ring = ((0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0), (0.0, 0.0))
    assert len(clipped(ring, float("-inf"), 60.0)) == 1
    assert len(clipped(ring, 60.0, float("inf"))) == 1


def test_an_edge_on_the_seam_is_taken_once() -> None:
    ring = ((0.0, 0.0), (60.0, 0.0), (60.0, 50.0), (0.0, 50.0), (0.0, 0.0))
    assert clipped(ring, float("-inf"), 60.0) != [ring]
    assert clipped(ring, 60.0, float("inf")) == [((60.0, 0.0), (60.0, 50.0))]
