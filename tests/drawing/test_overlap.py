import math

import pytest
from hypothesis import strategies as st

from cutpath.drawing.overlap import merged, overlaps
from tests.properties.surveys import for_all

coordinate = st.integers(-20, 20).map(float)
segment = st.tuples(st.tuples(coordinate, coordinate), st.tuples(coordinate, coordinate)).filter(lambda s: s[0] != s[1])


def shared(a, b):
    found = overlaps([a, b], 1e-6)
    return found[0].length_mm if found else 0.0


@pytest.mark.parametrize(
    ("other", "length"),
    [
        (((0, 0), (10, 0)), 10.0),
        (((10, 0), (0, 0)), 10.0),
        (((4, 0), (30, 0)), 6.0),
        (((-5, 0), (2, 0)), 2.0),
        (((3, 0), (5, 0)), 2.0),
        (((10, 0), (20, 0)), 0.0),  # end to end
        (((5, -5), (5, 5)), 0.0),  # crossing
        (((0, 1), (10, 1)), 0.0),  # beside
        (((0, 0), (10, 1e-3)), 0.0),  # almost along
        (((0, 0), (10, 1e-7)), 10.0),
    ],
)
def test_known_pairs(other, length):
    assert shared(((0, 0), (10, 0)), other) == pytest.approx(length, abs=1e-9)
    assert shared(other, ((0, 0), (10, 0))) == pytest.approx(length, abs=1e-9)


def test_the_longer_segment_is_the_line_that_the_shorter_keeps_to():
    assert shared(((0, 0), (1, 0)), ((0, 0), (10_000, 1e-3))) == pytest.approx(1.0)
    assert shared(((0, 0), (1000, 0)), ((0, 0), (10_000, 1e-3))) == 0


def test_the_stretch_is_told_along_the_second():
    (found,) = overlaps([((0, 0), (10, 0)), ((14, 0), (4, 0))], 1e-6)
    assert (found.first, found.second) == (0, 1)
    assert (found.start_mm, found.end_mm) == pytest.approx((4.0, 10.0))


def exact(a, b):
    """Length shared by two segments on whole numbers, without any tolerance."""
    (ax, ay), (bx, by) = a
    dx, dy = bx - ax, by - ay
    if any(dx * (y - ay) - dy * (x - ax) for x, y in b):
        return 0.0
    along = sorted((dx * (x - ax) + dy * (y - ay)) for x, y in b)
    square = dx * dx + dy * dy
    return max(0.0, min(square, along[1]) - max(0.0, along[0])) / math.sqrt(square)


@for_all(segment, segment, gate=40)
def test_agrees_with_exact_arithmetic(a, b):
    assert shared(a, b) == pytest.approx(exact(a, b), abs=1e-9)


def test_intervals_that_touch_are_joined():
    assert merged([(5, 6), (0, 2), (2, 3), (1, 1.5)]) == [(0, 3), (5, 6)]
