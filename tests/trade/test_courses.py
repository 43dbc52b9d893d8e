"""Courses held against the masonry and each other: uneven walls pass, one slip in them does not."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cutpath.errors import Severity
from cutpath.profiles import masonry
from cutpath.trade.courses import (
    Band,
    course_of,
    digit_slip,
    gaps_of,
    matched,
    odd_gaps,
    odd_multiple,
    odd_start,
    odd_tilt,
)
from cutpath.values.survey import BedJoint

BANDS = [Band(m.name, m.course_least_mm, m.course_most_mm) for m in masonry().values()]


@st.composite
def walls(draw, uneven: float = 0.06) -> list[float]:
    """Heights of the joints of a brick wall, each course a little higher or lower than the last."""
    course = draw(st.floats(58, 88))
    heights, y = [], draw(st.floats(60, 140))
    for _ in range(draw(st.integers(6, 40))):
        heights.append(round(y))
        y += course * (1 + draw(st.floats(-uneven, uneven)))
    return heights


def joints(heights: list[float], slope: float = 0.0) -> list[BedJoint]:
    return [BedJoint(number, y, slope) for number, y in enumerate(heights, start=1)]


def odd(heights: list[float]) -> list[tuple[int, Severity]]:
    wall = joints(heights)
    return [(item.joint, item.severity) for item in odd_gaps(wall, course_of(gaps_of(wall), BANDS))]


@given(walls())
def test_an_uneven_brick_wall_is_not_doubted(heights: list[float]) -> None:
    assert odd(heights) == []


@given(walls(), st.data())
def test_a_joint_left_out_is_a_fault_at_the_one_above_it(heights: list[float], data: st.DataObject) -> None:
    place = data.draw(st.integers(1, len(heights) - 2))
    assert odd(heights[:place] + heights[place + 1 :]) == [(place + 1, Severity.FAULT)]


@given(walls(0.03), st.data())
def test_a_joint_misread_by_half_a_course_is_a_fault(heights: list[float], data: st.DataObject) -> None:
    place = data.draw(st.integers(2, len(heights) - 3))
    off = data.draw(st.sampled_from([-0.55, 0.55])) * (heights[-1] - heights[0]) / (len(heights) - 1)
    changed = [y + off if at == place else y for at, y in enumerate(heights)]
    assert [item for item in odd(changed) if item[1] is Severity.FAULT] == [(place + 1, Severity.FAULT)]


@given(walls(), st.integers(2, 6))
def test_a_wall_that_is_measured_too_high_up_lacks_its_first_joints(heights: list[float], lacking: int) -> None:
    wall = joints(heights)
    course = course_of(gaps_of(wall), BANDS)
    water = heights[0] - lacking * course.mm
    (found,) = odd_start(wall, course, water - 1)
    assert found.joint == 1
    assert list(odd_start(wall, course, heights[0] - course.mm)) == []


@given(walls(), st.integers(-20, 20), st.data())
def test_one_second_reading_that_strays_is_found(heights: list[float], fall: int, data: st.DataObject) -> None:
    wall = joints(heights, fall / 1000)
    assert list(odd_tilt(wall, 2000, 75)) == []
    place = data.draw(st.integers(0, len(wall) - 1))
    wall[place] = BedJoint(place + 1, heights[place], fall / 1000 + 30 / 2000)
    assert [(item.joint, item.severity) for item in odd_tilt(wall, 2000, 75)] == [(place + 1, Severity.FAULT)]


@given(walls(), st.integers(-20, 20), st.data())
def test_a_shorter_second_reading_is_matched_to_its_joints(heights: list[float], fall: int, data) -> None:
    first = data.draw(st.integers(1, len(heights) - 1))
    count = data.draw(st.integers(1, len(heights) - first))
    again = [y + fall for y in heights[first - 1 : first - 1 + count]]
    assert matched(heights, again, 75) == [first] or min(gaps_of(joints(heights))) - abs(fall) < 75 / 2


@given(st.integers(100, 2000), st.data())
def test_a_digit_too_many_is_told(value: int, data: st.DataObject) -> None:
    digits = str(value)
    place = data.draw(st.integers(0, len(digits)))
    typed = int(digits[:place] + data.draw(st.sampled_from("123456789")) + digits[place:])
    assume(abs(typed - value) > 15)
    assert digit_slip(typed, value, 15).endswith(f" for {typed}")


@pytest.mark.parametrize(
    ("value", "wanted", "slip"),
    [
        (2805, 280, "280 for 2805"),
        (420, 120, "120 for 420"),
        (459, 495, "495 for 459"),
        (28, 280, "280 for 28"),
        (540, 495, ""),
        (280.5, 280, ""),
        (-5, 5, ""),
    ],
)
def test_slips_of_a_digit(value: float, wanted: float, slip: str) -> None:
    assert digit_slip(value, wanted, 15) == slip


@pytest.mark.parametrize(
    ("gaps", "name", "course"),
    [
        ([75, 75, 150, 75], "metric brick", 75),
        ([80, 82, 81, 16, 63], "imperial brick", 81),
        ([60, 62, 66], "thin brick", 62),
        ([225, 225], "concrete block", 225),
        ([121, 112, 123, 116], None, 116),
        ([8], None, 8),
    ],
)
def test_the_course_is_told_by_the_masonry_that_most_gaps_fit(gaps: list[float], name: str | None, course) -> None:
    found = course_of(gaps, BANDS)
    assert (found.band.name if found.band else None, found.mm) == (name, course)


@pytest.mark.parametrize(("gap", "times"), [(150, "2 courses of metric brick"), (116, ""), (225, ""), (75, "")])
def test_courses_that_are_several_of_a_brick(gap: float, times: str) -> None:
    assert odd_multiple(course_of([gap], BANDS), BANDS) == times


def test_masonry_that_is_named_is_held_to_its_own_courses() -> None:
    stone = next(band for band in BANDS if band.name == "squared stone")
    assert course_of([140, 260, 180], BANDS, stone).mm == 180
    assert course_of([30, 31], BANDS, stone).mm == 270
