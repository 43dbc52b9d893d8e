"""Lines on their way to a machine: stretches, shared lines, perforations, nesting of contours."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from cutpath.drawing.containment import depths, round_each
from cutpath.drawing.perforation import perforated
from cutpath.drawing.shared import without_shared
from cutpath.drawing.toolline import ToolLine, between, from_corner
from cutpath.values.drawing import Role, Stroke
from cutpath.values.machine import Perforation
from tests.properties.surveys import for_all


def length(line):
    return math.fsum(math.dist(a, b) for a, b in pairwise(line))


hundredths = st.integers(-30_000, 30_000).map(lambda n: n / 100)  # of 1e-201 mm shapely makes no buffer
lines = st.lists(st.tuples(hundredths, hundredths), min_size=2, max_size=8).filter(
    lambda p: all(math.dist(a, b) > 0.1 for a, b in pairwise(p))
)


@for_all(lines, st.floats(0, 1), st.floats(0, 1))
def test_a_stretch_has_its_length_and_lies_on_the_line(line, a, b) -> None:
    low, high = sorted((a * length(line), b * length(line)))
    part = between(line, low, high)
    if high - low > 1e-3:
        assert length(part) == pytest.approx(high - low, abs=1e-6)
        assert shapely.LineString(line).buffer(1e-6).covers(shapely.LineString(part))


@given(st.floats(1, 500), st.floats(1, 10), st.floats(1, 10))
def test_perforations_are_cuts_of_their_length_between_bridges_of_at_least_theirs(long, cut, bridge) -> None:
    line = ((10.0, 20.0), (10.0 + long * 0.6, 20.0 + long * 0.8))
    parts = perforated(line, Perforation(cut, bridge))
    assert all(length(p) == pytest.approx(cut) for p in parts)
    ends = [line[0], *(e for p in parts for e in p), line[1]]
    gaps = [math.dist(ends[k], ends[k + 1]) for k in range(0, len(ends), 2)]
    if parts:
        assert min(gaps) >= bridge - 1e-6
        assert max(gaps) - min(gaps) < 1e-6
        assert max(gaps) < cut + 2 * bridge + 1e-6
    else:
        assert long < cut + 2 * bridge + 1e-6


def box(x, y, wide, high, name):
    points = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
    return ToolLine(Role.OUTER, "knife", name, "outline", points, closed=True)


@for_all(
    st.lists(
        st.tuples(st.integers(0, 3), st.integers(0, 2), st.integers(0, 3)),
        min_size=1,
        max_size=9,
        unique_by=lambda c: c[:2],
    )
)
def test_shared_lines_are_run_once_and_nothing_is_lost(cells) -> None:
    boxes = [box(100.0 * c, 50.0 * r, 100.0, 50.0, f"{c},{r}") for c, r, _ in cells]
    boxes = [ToolLine(b.role, b.head, b.piece, b.name, from_corner(b.points, k), closed=True)
             for b, (_, _, k) in zip(boxes, cells, strict=True)]  # fmt: skip
    run = [line for parts in without_shared(boxes) for line in parts]
    union = shapely.union_all([shapely.LineString(b.ring) for b in boxes])
    assert math.fsum(line.length_mm for line in run) == pytest.approx(union.length)
    assert shapely.union_all([shapely.LineString(line.ring) for line in run]).symmetric_difference(union).length < 1e-6


def test_the_first_comer_keeps_its_line_whole() -> None:
    (first,), (rest,) = without_shared([box(0, 0, 100, 50, "a"), box(100, 10, 100, 20, "b")])
    assert first.closed
    assert rest.points == ((100.0, 10.0), (200.0, 10.0), (200.0, 30.0), (100.0, 30.0))


def stroke(points, piece, role=Role.OUTER, *, closed=True):
    return Stroke(role, tuple(points), closed, piece, "line")


def test_depth_counts_the_cuts_round_each() -> None:
    big, hole, small = (box(k, k, 100 - 2 * k, 100 - 2 * k, "x").points for k in (0, 10, 20))
    assert [len(r) for r in round_each([big, hole, small])] == [0, 1, 2]
    assert round_each([]) == []
    strokes = [
        stroke(big, "big"),
        stroke(hole, "big", Role.INNER),
        stroke(small, "small"),
        stroke(((20.0, 20.0), (30.0, 30.0)), "small", Role.INNER, closed=False),
        stroke(((0.0, 0.0), (5.0, 5.0)), "big", Role.MARK, closed=False),
    ]
    assert depths(strokes) == {0: 0, 1: 1, 2: 2, 3: 3}
