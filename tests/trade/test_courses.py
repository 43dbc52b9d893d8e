"""Courses held against the masonry and each other: uneven walls pass, one slip in them does not."""

from __future__ import annotations

import pytest
from hypothesis import assume
from hypothesis import strategies as st

from cutpath.errors import Severity
from cutpath.profiles import masonry
from cutpath.trade.courses import (
    Band,
    Course,
    Tape,
    course_of,
    digit_slip,
    gaps_of,
    matched,
    odd_gaps,
    odd_multiple,
    odd_start,
    odd_steps,
    odd_tilt,
    slip_out_of_order,
    tilt_looks,
)
from cutpath.trade.coursing import joints_from_line
from cutpath.values.survey import BedJoint
from tests.properties.surveys import for_all

BANDS = [Band(m.name, m.course_least_mm, m.course_most_mm) for m in masonry().values()]


@st.composite
def walls(draw, uneven: float = 0.055) -> list[float]:
    """Heights of the joints of a brick wall, each course a little higher or lower than the last.

    No joint is 6 mm from midway between its neighbours, where one of an even wall would be doubted.
    """
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


@for_all(walls(), gate=25)
def test_an_uneven_brick_wall_is_not_doubted(heights: list[float]) -> None:
    assert odd(heights) == []


@for_all(walls(), st.data(), gate=25)
def test_a_joint_left_out_is_a_fault_at_the_one_above_it(heights: list[float], data: st.DataObject) -> None:
    place = data.draw(st.integers(1, len(heights) - 2))
    assert odd(heights[:place] + heights[place + 1 :]) == [(place + 1, Severity.FAULT)]


@for_all(walls(0.03), st.data(), gate=25)
def test_a_joint_misread_by_half_a_course_is_a_fault(heights: list[float], data: st.DataObject) -> None:
    place = data.draw(st.integers(2, len(heights) - 3))
    off = data.draw(st.sampled_from([-0.55, 0.55])) * (heights[-1] - heights[0]) / (len(heights) - 1)
    changed = [y + off if at == place else y for at, y in enumerate(heights)]
    assert [item for item in odd(changed) if item[1] is Severity.FAULT] == [(place + 1, Severity.FAULT)]


def test_two_thick_courses_are_no_misread_joint() -> None:
    """One that is misread is as far from the next as it is too near the one below, or the other way round."""
    assert odd([60, 234, 322, 409, 501, 593, 679, 763, 848]) == [(2, Severity.FAULT)]


def test_a_slip_along_a_line_is_told_as_it_was_read() -> None:
    """Every 116.7 mm along the slope of a roof at 40 deg: 572 for 527; the height of that, 435.1 mm, nobody wrote."""
    along = [60, 177, 293, 410, 572, 643, 760]
    wall = joints_from_line(along, 75, 40)
    (found,) = odd_gaps(wall, COURSE, Tape.of(wall, along))
    assert (found.joint, found.looks) == (5, "It looks misread: 527 for 572?")
    assert next(odd_gaps(wall, COURSE)).looks == "It looks misread."
    assert Tape.of(joints([100, 100]), [60, 70]).rise == 1.0, "readings of joints that do not rise"
    high = [660, 777, 893]
    start = joints_from_line(high, 75, 40)
    (first,) = odd_start(start, COURSE, 100.0, tape=Tape.of(start, high))
    assert first.looks.endswith("a slip of a digit: 66 for 660?")


@pytest.mark.parametrize(("off", "found"), [(5, []), (6, [(5, Severity.WARNING)]), (-6, [(5, Severity.WARNING)])])
def test_a_digit_misread_shows_in_a_wall_that_is_laid_true(off: int, found: list) -> None:
    """As 420 read for 426; where courses differ by some millimetres it is one of theirs."""
    assert odd([120 + 75 * n + off * (n == 4) for n in range(9)]) == found
    assert odd([120 + 75 * n + 3 * (n % 2) + off * (n == 4) for n in range(9)]) == []
    assert odd([120 + 75 * n + 1.5 * (n % 2) + 1.5 * abs(off) * (n == 4) for n in range(9)]) == []
    assert odd([120 + 75 * n + off * (n == 4) for n in range(6)]) == []


def test_digits_changed_over_show_in_stone_of_much_the_same_height() -> None:
    """As 293 for 239; where heights differ as much nothing can be told."""
    stone = [118, 239, 351, 474, 590, 706, 838, 951, 1077, 1190]
    assert odd(stone) == []
    assert odd([118, 293, *stone[2:]]) == [(2, Severity.WARNING)]
    assert odd([150, 320, 430, 640, 780, 960, 1200, 1380, 1560]) == []


@for_all(walls(), st.integers(2, 6), gate=25)
def test_a_wall_that_is_measured_too_high_up_lacks_its_first_joints(heights: list[float], lacking: int) -> None:
    wall = joints(heights)
    course = course_of(gaps_of(wall), BANDS)
    water = heights[0] - lacking * course.mm
    (found,) = odd_start(wall, course, water - 1)
    assert found.joint == 1
    assert list(odd_start(wall, course, heights[0] - course.mm)) == []


@for_all(walls(), st.integers(-20, 20), st.data(), gate=25)
def test_one_second_reading_that_strays_is_found(heights: list[float], fall: int, data: st.DataObject) -> None:
    wall = joints(heights, fall / 1000)
    assert list(odd_tilt(wall, 2000, 75)) == []
    place = data.draw(st.integers(0, len(wall) - 1))
    wall[place] = BedJoint(place + 1, heights[place], fall / 1000 + 30 / 2000)
    assert [(item.joint, item.severity) for item in odd_tilt(wall, 2000, 75)] == [(place + 1, Severity.FAULT)]


@for_all(walls(), st.integers(-20, 20), st.data(), gate=25)
def test_a_shorter_second_reading_is_matched_to_its_joints(heights: list[float], fall: int, data) -> None:
    first = data.draw(st.integers(1, len(heights) - 1))
    count = data.draw(st.integers(1, len(heights) - first))
    again = [y + fall for y in heights[first - 1 : first - 1 + count]]
    assert matched(heights, again, 75) == [first] or min(gaps_of(joints(heights))) - abs(fall) < 75 / 2


@for_all(st.integers(100, 2000), st.data(), gate=25)
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


BRICK = Band("brick", 75, 75)
STONE = Band("stone", 90, 450)
COURSE = Course(75, BRICK)


def told(*heights: float, course: Course = COURSE) -> list[tuple[int, str, Severity]]:
    return [(item.joint, item.looks, item.severity) for item in odd_gaps(joints(list(heights)), course)]


MADE_UP = "It looks like a course made up, or a slip of the tape."


@pytest.mark.parametrize(
    ("heights", "found"),
    [
        ((100, 175, 250, 325), []),
        ((100, 175, 325, 400), [(3, "It looks as if a joint was left out below it.", Severity.FAULT)]),
        ((100, 175, 625, 700), [(3, "It looks as if 5 joints were left out below it.", Severity.FAULT)]),
        ((100, 175, 700, 775), [(3, "It looks as if 6 joints were left out below it.", Severity.FAULT)]),
        ((100, 175, 774, 849), [(3, "It looks misread.", Severity.FAULT)]),  # seven at once are no slip of the pencil
        (
            (100, 175, 450, 525),
            [(3, "It looks as if 3 joints were left out below it, or like a slip: 250 for 450?", Severity.FAULT)],
        ),
        ((100, 175, 290, 365), [(3, "It looks like a slip of a digit: 250 for 290?", Severity.FAULT)]),
        ((100, 175, 295, 370), [(3, "It looks misread.", Severity.FAULT)]),  # 1.6 courses
        ((100, 175, 267, 342), [(3, MADE_UP, Severity.WARNING)]),  # 92 mm: more than a fifth over, no slip is told
        ((100, 175, 264, 339), []),  # 89 mm: less than a fifth
        ((100, 175, 233, 308), [(3, MADE_UP, Severity.WARNING)]),  # 58 mm
        ((100, 175, 236, 311), []),  # 61 mm
        ((100, 175, 270, 325), [(3, "It looks misread: 250 for 270?", Severity.WARNING)]),  # 95 and 55 mm
        ((100, 175, 295, 325), [(3, "It looks misread.", Severity.FAULT)]),  # 120 and 30: no courses
        ((100, 175, 236, 325), [(3, "It looks misread.", Severity.WARNING)]),  # 61 and 89: both 14 off
        ((100, 175, 242, 325), []),  # 67 and 83: both 8 off, as uneven work is
        (
            (100, 175, 190, 250, 325),
            [(3, "It looks as if a joint was read twice: take one of the two out.", Severity.FAULT)],
        ),
        (
            (100, 175, 190, 280, 355),  # 15 and 90: more than a course and a fifth together
            [(3, "It looks misread.", Severity.FAULT)],
        ),
        ((12, 195, 270), [(1, "It looks like a slip of a digit: 120 for 12?", Severity.FAULT)]),
        ((12, 195), [(2, "It looks like a slip of a digit: 95 for 195?", Severity.FAULT)]),  # nothing above tells which
        ((50, 175, 250), [(2, "It looks like a slip of a digit: 125 for 175?", Severity.FAULT)]),  # none makes it 100
        ((45, 195, 270), [(2, "It looks as if a joint was left out below it.", Severity.FAULT)]),
        ((100, 175, 190), [(3, "It looks misread.", Severity.FAULT)]),  # nothing above tells which
    ],
)
def test_what_a_gap_between_joints_looks_like(heights, found) -> None:
    """A wall in courses of 75: limits are those of the module, worked out by hand."""
    assert told(*heights) == found


def test_a_joint_after_a_misread_one_is_looked_at_again() -> None:
    assert [joint for joint, *_ in told(100, 175, 270, 325, 400, 550)] == [3, 6]
    assert [joint for joint, *_ in told(100, 175, 190, 250, 400)] == [3, 5]


def test_what_is_found_and_usual_gives_the_joints_and_the_course() -> None:
    (left_out,) = odd_gaps(joints([100, 175, 325]), COURSE)
    assert (left_out.found, left_out.usual) == ("joint 3 stands 150 mm above joint 2", "courses of about 75 mm (brick)")
    (misread,) = odd_gaps(joints([100, 175, 270, 325]), COURSE)
    assert misread.found == "joint 3 stands 95 mm above joint 2 and 55 mm below the next"
    assert misread.usual == "about 75 mm above joint 2, midway between them"
    (twice,) = odd_gaps(joints([100, 175, 190, 250]), COURSE)
    assert twice.found == "joint 3 stands 15 mm above joint 2, inside one course"
    assert str(Course(116, None)) == "courses of about 116 mm"


@pytest.mark.parametrize(
    ("gap", "course", "odd"),
    [
        (80, Course(116, None), False),
        (57, Course(116, None), True),
        (200, Course(116, STONE), False),
        (210, Course(116, STONE), True),
        (48, COURSE, True),
        (116, COURSE, True),
    ],
)
def test_stone_may_differ_more_than_brick(gap, course, odd) -> None:
    """Half to 1.8 of a course of stone, or of masonry that is not known; 0.65 to 1.5 of brick."""
    found = told(100, 100 + gap, course=course)
    assert [severity for *_, severity in found] == [Severity.FAULT] * odd


def test_what_is_laid_to_a_gauge() -> None:
    assert Band("as like as can be told", 80, 100).regular
    assert not Band("rougher", 80, 101).regular


def test_half_of_the_gaps_tell_the_masonry() -> None:
    assert course_of([75, 75, 150, 150], [BRICK]) == Course(75, BRICK)
    assert course_of([75, 150, 150], [BRICK]) == Course(150, None)


def start(first: float, water: float, fold: float = 0.0) -> list[tuple[str, str, str]]:
    return [(odd.found, odd.usual, odd.looks) for odd in odd_start(joints([first, first + 75]), COURSE, water, fold)]


def test_what_is_said_of_a_first_joint_that_stands_too_high() -> None:
    """Four courses of 75 above the water line at 100."""
    ((found, usual, looks),) = start(400, 100)
    assert found == "the first joint stands 400 mm up, and the water line 100 mm"
    assert usual == (
        "the first joint above the water line, or one below it; in courses of about 75 mm (brick) others must lie at "
        "325 mm and 250 mm and 175 mm and so on down"
    )
    assert looks == "It looks as if joints were left out at the bottom, or like a slip of a digit: 100 for 400?"
    ((_, usual, looks),) = start(365, 100)
    assert usual.endswith("others must lie at 290 mm and 215 mm and 140 mm")
    assert looks == "It looks as if joints were left out at the bottom."
    ((_, usual, looks),) = start(1765, 1500)  # 1540 would be right, 37 more is half a course
    assert looks == "It looks as if joints were left out at the bottom."
    ((_, usual, looks),) = start(1385, 100)
    assert looks.endswith("135 for 1385?"), "a digit too many, within half a course of 110"


@pytest.mark.parametrize(("above", "fold", "odd"), [(93, 0, 0), (95, 0, 1), (99, 20, 0), (101, 20, 1), (105, 25, 0)])
def test_a_first_joint_may_stand_one_course_and_a_fold_above_the_water_line(above, fold, odd) -> None:
    """A course and a quarter, 93.75 mm, or a course with uneven joints and the shortest fold, 80.25 mm and the fold."""
    assert len(start(200 + above, 200, fold)) == odd


@pytest.mark.parametrize(
    ("course", "several"),
    [(150, True), (154.5, True), (145.5, True), (156, False), (144, False), (225, True), (300, False), (75, True)],
)
def test_several_courses_of_a_brick_may_be_off_by_half_of_what_one_may(course, several) -> None:
    """Of brick in courses of 75: two or three of them within 3.5 %."""
    (name,) = {odd_multiple(Course(course, None), [BRICK])}
    assert bool(name) == (several and course != 75)
    assert odd_multiple(Course(150, BRICK), [BRICK]) == ""


def test_only_of_masonry_in_like_courses_can_several_be_told() -> None:
    assert odd_multiple(Course(120, None), [Band("thin", 57, 70)]) == ""
    assert odd_multiple(Course(120, None), [Band("like", 57, 65)]) == "2 courses of like"


@pytest.mark.parametrize(
    ("at", "off", "found"), [(5, 5.5, []), (5, 6, [5]), (5, -14, [5]), (5, 16, [5]), (1, 14, [1]), (11, -14, [11])]
)
def test_readings_that_stand_apart_as_no_neighbours_do_are_warned_of(at: int, off: float, found: list[int]) -> None:
    """Joints that fan out by a millimetre each, as old walls do; far from the others the second reading is named."""
    wall = [BedJoint(n, 75 * n, (-n + off * (n == at)) / 2000) for n in range(1, 12)]
    told = list(odd_tilt(wall, 2000, 75))
    assert [(odd.joint, odd.severity) for odd in told] == [(n, Severity.WARNING) for n in found]
    assert all(("the second reading" in odd.found) is (off > 15) for odd in told)


@pytest.mark.parametrize(("count", "each"), [(8, 3), (14, 4), (14, -5), (6, 5)])
def test_a_wall_whose_courses_are_thicker_at_one_end_is_not_misread(count: int, each: float) -> None:
    """Its joints fan out: of eight that rose by 3 mm each the first and the last were doubted, of 14 by 5 refused."""
    for slip, found in ((0, []), (16, [4])):
        wall = [BedJoint(n, 75 * n, (each * n + slip * (n == 4)) / 2000) for n in range(1, count + 1)]
        assert [odd.joint for odd in odd_tilt(wall, 2000, 75)] == found


def strayed(by_mm: float, heights: bool = True) -> list[tuple[str, str, Severity]]:
    """Joints of 75 that rise by 20 over 2 m, of which the third strays."""
    wall = [BedJoint(n, 25 + 75 * n, (20 + (by_mm if n == 3 else 0)) / 2000) for n in range(1, 6)]
    return [(odd.found, odd.looks, odd.severity) for odd in odd_tilt(wall, 2000, 75, heights=heights)]


def test_what_is_said_of_a_second_reading_that_strays() -> None:
    """Looked at from a fifth of a course on, 15 mm; refused from 0.35 of it, 26.25 mm."""
    high, low = "the second reading of joint 3 is 20 mm too high", "the second reading of joint 3 is 30 mm too low"
    assert strayed(14) == strayed(-14) == []
    assert strayed(20) == [(high, "It looks misread: 270 for 290?", Severity.WARNING)]
    assert strayed(20, heights=False) == [(high, "It looks misread.", Severity.WARNING)]
    assert strayed(-30) == [(low, "It looks misread: 270 for 240?", Severity.FAULT)]
    assert [severity for *_, severity in strayed(26)] == [Severity.WARNING]
    assert [severity for *_, severity in strayed(27)] == [Severity.FAULT]


TOP_DOWN = "They look as if they were written from the top down: write them from the bottom up."
FROM_ROOF = (
    "They look as if they were measured from the roof there, not from the level line through the corner: add 400 mm to "
    "each."
)


@pytest.mark.parametrize(
    ("second", "looks"),
    [
        ((240, 165, 90), TOP_DOWN),
        ((280, 205, 130), None),  # 30 off, more than a third of a course
        ((-290, -215, -140), FROM_ROOF),
        ((-330, -255, -180), "They look like readings of other joints, 6 joints farther down"),  # 30 off the roof's
        ((175, 250, 325), "They look like readings of other joints, 1 joint farther up: count them again from the"),
        ((-50, 25, 100), "They look like readings of other joints, 2 joints farther down: count them again from"),
        ((140, 215, 290), None),
        ((110, 185, 260), None),
    ],
)
def test_what_second_readings_that_tilt_look_like(second, looks) -> None:
    """Joints at 100, 175 and 250; at the second reading the roof has risen by 400."""
    found = tilt_looks((100, 175, 250), second, 400, 75)
    assert found is None if looks is None else (found or "").startswith(looks)


def test_two_readings_may_be_written_from_the_top_down_and_one_is_not() -> None:
    assert tilt_looks((100, 175), (165, 90), 400, 75) == TOP_DOWN
    assert tilt_looks((100,), (110,), 400, 75) is None


def test_a_reading_midway_between_two_joints_is_that_of_neither() -> None:
    assert matched((100, 175), (137.5,), 75) == []
    assert matched((100, 175), (138,), 75) == [2]


@pytest.mark.parametrize(
    ("heights", "place", "slip"),
    [
        ((100, 175, 520, 325, 400), 3, (3, "a digit: 250 for 520")),
        ((100, 175, 250, 32, 400), 3, (4, "a digit: 325 for 32")),
        ((520, 175, 250), 1, None),  # nothing below the first tells what it should be
        ((100, 175, 25), 2, (3, "a digit: 250 for 25")),  # the last, as high again as the course below it
        ((175, 26), 1, None),  # which there has to be
        ((100, 175, 2895, 325), 3, (3, "a digit: 285 for 2895")),  # within a quarter of the 150 between its neighbours
        ((100, 175, 2905, 325), 3, None),
        ((100, 300, 250, 400, 475), 2, (3, "a digit: 350 for 250")),
        ((100, 175, 0.252, 325), 2, (3, 'the unit: "0.252 m" for 0.252')),
        ((100, 175, 24.9, 325), 2, (3, 'the unit: "24.9 cm" for 24.9')),
        ((100, 175, 9.875, 325), 2, (3, 'the unit: "9.875 in" for 9.875')),
        ((100, 175, 0.33, 325), 2, None),
        ((950, 1025, 1, 100, 1, 175), 2, (3, "a comma: 1100 for 1,100")),
        ((1025, 1100, 1, 100, 1, 175), 2, None),  # 1100 once more
        ((950, 1025, 1, 200, 1, 275), 2, None),  # more than two courses above joint 2
        ((100, 175, 0.252), 2, (3, 'the unit: "0.252 m" for 0.252')),
    ],
)
def test_one_slip_may_explain_two_joints_out_of_order(heights, place, slip) -> None:
    assert slip_out_of_order(heights, place) == slip


def test_nothing_is_no_slip_of_a_digit() -> None:
    assert digit_slip(0, 2, 15) == ""
    assert digit_slip(112, 112, 15) == "111 for 112", "the figure itself is no slip of itself"


@pytest.mark.parametrize(
    ("over", "odd"),
    [
        ((0, 20, 50, 49), []),
        ((51, 20, 30, 0), [1]),
        ((20, 71, 60, 70), [2]),
        ((20, 80, 80, 131), [2, 4]),
        ((20, -60, 20, 30), []),  # where one dips below the water line, the next is measured from there
        ((20, -60, 51, 30), [3]),
    ],
)
def test_a_step_is_odd_that_ends_half_a_rise_higher_than_the_one_before(over, odd) -> None:
    """Rises of 100, so 50 mm; worked out by hand."""
    ends = joints([100, 200, 300, 400])
    assert [item.joint for item in odd_steps(ends, [100, 100, 100, 400], over)] == odd
