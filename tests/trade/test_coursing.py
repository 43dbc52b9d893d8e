"""Bed joints from heights, tape readings and gauges."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import strategies as st

from cutpath.trade.coursing import (
    joints_from_gauge,
    joints_from_heights,
    joints_from_line,
    joints_from_steps,
    order_fault,
    out_of_order,
    point_faults,
    point_on_line,
    seen_from,
)
from cutpath.values.survey import BedJoint
from tests.properties.surveys import for_all

PITCHES = st.floats(5.0, 75.0)


def tape_to(joint: BedJoint, line_mm: float, pitch_deg: float) -> float:
    """Where a tape from the corner along a line meets a joint: solved from the two lines, apart from the code."""
    pitch = math.radians(pitch_deg)
    x = (joint.y_mm - line_mm / math.cos(pitch)) / (math.tan(pitch) - joint.slope)
    return x / math.cos(pitch)


def test_level_joints_keep_their_heights() -> None:
    assert joints_from_heights([110, 190]) == (BedJoint(1, 110), BedJoint(2, 190))


def test_a_second_reading_gives_the_fall() -> None:
    joint = joints_from_heights([110], [90], 1000)[0]
    assert joint.height_mm(0) == 110
    assert joint.height_mm(1000) == pytest.approx(90)


def test_readings_must_match() -> None:
    with pytest.raises(ValueError, match="joints 2 to 3 of 2"):
        joints_from_heights([110, 190], [90, 170], 1000, 2)


def test_joints_that_are_read_once_run_as_the_nearest_that_was_read_twice() -> None:
    low, second, third, top = joints_from_heights([110, 190, 270, 350], [200, 275], 1000, 2)
    assert (second.slope, third.slope) == (pytest.approx(0.010), pytest.approx(0.005))
    assert (low.slope, top.slope) == (second.slope, third.slope)
    assert (low.y_mm, top.y_mm) == (110, 350)


@for_all(PITCHES, st.floats(0, 3000), st.floats(0, 200), gate=25)
def test_a_point_on_a_line_lies_on_it(pitch_deg: float, tape_mm: float, line_mm: float) -> None:
    x, y = point_on_line(tape_mm, line_mm, pitch_deg)
    pitch = math.radians(pitch_deg)
    assert -x * math.sin(pitch) + y * math.cos(pitch) == pytest.approx(line_mm, abs=1e-6)
    assert math.hypot(x, y - line_mm / math.cos(pitch)) == pytest.approx(tape_mm, abs=1e-6)


@for_all(
    PITCHES, st.lists(st.floats(-0.02, 0.02), min_size=1, max_size=6), st.floats(20, 120), st.floats(20, 120), gate=25
)
def test_joints_taped_along_two_lines_come_back(
    pitch_deg: float, slopes: list[float], line_mm: float, apart_mm: float
) -> None:
    joints = [BedJoint(k, 150 + 80.0 * k, slope) for k, slope in enumerate(slopes, start=1)]
    second_mm = line_mm + apart_mm
    back = joints_from_line(
        [tape_to(joint, line_mm, pitch_deg) for joint in joints],
        line_mm,
        pitch_deg,
        [tape_to(joint, second_mm, pitch_deg) for joint in joints],
        second_mm,
    )
    for joint, again in zip(joints, back, strict=True):
        assert again.number == joint.number
        assert again.y_mm == pytest.approx(joint.y_mm, abs=1e-5)
        assert again.slope == pytest.approx(joint.slope, abs=1e-7)


@for_all(PITCHES, st.floats(100, 900), st.floats(20, 120), gate=25)
def test_a_level_joint_needs_one_reading(pitch_deg: float, height_mm: float, line_mm: float) -> None:
    joint = BedJoint(1, height_mm)
    (back,) = joints_from_line([tape_to(joint, line_mm, pitch_deg)], line_mm, pitch_deg)
    assert back.y_mm == pytest.approx(height_mm, abs=1e-6)
    assert back.slope == 0


def test_readings_plumb_above_each_other_say_nothing() -> None:
    with pytest.raises(ValueError, match="joint 1"):
        joints_from_line([100], 65, 40, [100], 165)


@for_all(PITCHES, st.floats(-50, 400), st.floats(40, 200), st.floats(100, 6000), st.floats(20, 120), gate=25)
def test_a_gauge_reaches_the_end_and_one_over(
    pitch_deg: float, first_mm: float, gauge_mm: float, slope_mm: float, line_mm: float
) -> None:
    joints = joints_from_gauge(first_mm, gauge_mm, pitch_deg=pitch_deg, slope_mm=slope_mm, water_line_mm=line_mm)
    pitch = math.radians(pitch_deg)
    u = [(joint.y_mm - line_mm * math.cos(pitch)) / math.sin(pitch) for joint in joints]
    plumb_end = slope_mm + line_mm * math.tan(pitch)  # where a plumb upper end leaves the water line
    assert u[-2] >= plumb_end - 1e-3
    assert len(u) == 2 or u[-3] < plumb_end + 1e-3
    assert all(b.y_mm - a.y_mm == pytest.approx(gauge_mm) for a, b in pairwise(joints))


def test_order_is_looked_at_along_the_whole_run() -> None:
    rising = (BedJoint(1, 100, 0.05), BedJoint(2, 150))
    assert out_of_order(rising, 900) is None
    assert out_of_order(rising, 1100) == (1, 2)
    assert out_of_order((BedJoint(1, 100), BedJoint(2, 200), BedJoint(3, 200)), 900) == (2, 3)
    assert out_of_order((BedJoint(1, 100), BedJoint(2, 100, 0.01)), 900) == (1, 2), "they meet at the corner"


def test_out_of_order_names_both_joints_and_what_to_do() -> None:
    fault = order_fault((2, 3), "job.toml: detail[1].coursing.joints")
    assert (fault.code, fault.found) == ("CP401", "joint 3 does not lie above joint 2 all along the run")
    assert fault.remedy == "Measure joints 2 and 3 again, or put them in order."
    assert order_fault((2, 3), "", "As it was read.").remedy == "As it was read."


def test_steps_of_ones_own_are_added_up() -> None:
    assert joints_from_steps([(100, 75), (110, 80)]) == (BedJoint(1, 75, 0.0, 100), BedJoint(2, 155, 0.0, 210))


def test_joints_seen_from_another_origin() -> None:
    """From 200 along and 50 up: a bed that rises by 1 in 100 is 2 higher there, and ends 200 nearer."""
    rising, ends = BedJoint(1, 150, 0.01), BedJoint(2, 225, 0.0, 500)
    assert seen_from((rising, ends), 200, 50) == (BedJoint(1, 102, 0.01), BedJoint(2, 175, 0.0, 300))


def test_each_step_ends_farther_along_and_higher() -> None:
    points = [(100, 75), (100, 150), (210, 150), (320, 230)]
    first, second = point_faults(points, "steps")
    assert (first.where, first.found) == ("steps[2]", "100 mm along and 150 mm up, after 100 mm and 75 mm")
    assert first.remedy == "Measure steps 1 and 2 again, or put them in order."
    assert second.where == "steps[3]"


def test_a_second_line_may_be_the_roof_line_itself() -> None:
    joint = BedJoint(1, 150, 0.01)
    tapes = [[tape_to(joint, line, 40)] for line in (65, 0)]
    (back,) = joints_from_line(tapes[0], 65, 40, tapes[1])
    assert (back.y_mm, back.slope) == (pytest.approx(150), pytest.approx(0.01))
