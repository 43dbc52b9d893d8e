"""Roofs that change their pitch, steps of the user's own choice, and joints missed out because a step is too short."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import assume
from hypothesis import strategies as st
from shapely import Polygon

from cutpath.errors import Severity, faults
from cutpath.patterns import develop
from cutpath.patterns.step import whole
from cutpath.trade.coursing import joints_from_points, joints_from_steps, seen_from
from cutpath.values.pattern import MarkKind
from cutpath.values.survey import BedJoint, CornerKind, EndCut, Tongue
from tests.properties.measure import NEAR_MM, across_slope, gap, to_wall
from tests.properties.surveys import figures, for_all, pieces_of, run_of, step_flashings


@st.composite
def own_steps(draw):
    """Points at or above the water line, each farther and higher; the last bed goes past the upper end."""
    survey = draw(step_flashings(corners=(CornerKind.NONE,), risers=st.just(90.0)))
    p = math.radians(survey.pitch_deg)
    end = survey.slope_mm * math.cos(p)
    x, y, points = survey.set_back_mm, -1e9, []
    while x < end:
        x += draw(figures(60, 250))
        y = max(x * math.tan(p) + survey.water_line_mm / math.cos(p), y + 20) + draw(figures(0, 60))
        points.append((x, y))
    return replace(survey, joints=joints_from_points(points), upper_end=EndCut.PLUMB)


@for_all(own_steps())
def test_own_steps_end_where_they_were_chosen(survey):
    run = run_of(survey)
    pattern = whole(run)
    folds = {f.name: to_wall(pattern, (f.start, f.end), survey.pitch_deg) for f in pattern.folds}
    end = survey.slope_mm * math.cos(math.radians(survey.pitch_deg))
    used = [joint for joint in survey.joints if f"turn-in {joint.number}" in folds]
    assert used == list(survey.joints)[: len(used)]  # none is passed over
    at = survey.set_back_mm
    for joint in used:
        (x0, y0), (x1, y1) = folds[f"turn-in {joint.number}"]
        assert (y0, y1) == pytest.approx((joint.y_mm, joint.y_mm), abs=NEAR_MM)
        assert x0 == pytest.approx(at, abs=NEAR_MM)
        at = min(joint.end_x_mm, end)
        assert x1 == pytest.approx(at, abs=NEAR_MM)
        assert across_slope((x1, y1), survey.pitch_deg) >= survey.water_line_mm - NEAR_MM or x1 == pytest.approx(end)


@for_all(own_steps(), st.integers(0, 50))
def test_a_step_below_the_water_line_is_refused_by_its_number(survey, pick):
    assume(len(survey.joints) > 2)
    joint = survey.joints[pick % (len(survey.joints) - 1)]
    p = math.radians(survey.pitch_deg)
    low = joint.end_x_mm * math.tan(p) + survey.water_line_mm / math.cos(p) - 5
    before = [j for j in survey.joints if j.number < joint.number]
    assume(joint.end_x_mm < survey.slope_mm * math.cos(p) and all(j.y_mm < low for j in before))
    joints = tuple(replace(j, y_mm=low) if j is joint else j for j in survey.joints)
    run, findings = develop(replace(survey, joints=joints))
    assert run is None
    (found,) = faults(findings)
    assert found.code == "CP417"
    assert f"step {joint.number} " in found.found


def test_steps_by_rise_and_run_are_the_same_points():
    assert joints_from_steps([(100, 170), (120, 90)]) == joints_from_points([(100, 170), (220, 260)])


@for_all(step_flashings())
def test_joints_seen_from_elsewhere_are_the_same_lines(survey):
    x0, y0 = 300.0, 170.0
    for before, after in zip(survey.joints, seen_from(survey.joints, x0, y0), strict=True):
        assert after.number == before.number
        for x in (0.0, 500.0):
            assert after.height_mm(x) + y0 == pytest.approx(before.height_mm(x + x0), abs=NEAR_MM)


# --- change of pitch -------------------------------------------------------------------------------------------------


@st.composite
def upper_reaches(draw):
    survey = draw(step_flashings(corners=(CornerKind.NONE,)))
    below = draw(st.integers(150, 600)) / 10
    return replace(survey, set_back_mm=0.0, tongue=Tongue(below, draw(figures(100, 250))))


@for_all(upper_reaches())
def test_a_tongue_follows_the_lower_roof_and_is_no_higher_than_either_water_line(survey):
    first = pieces_of(survey)[0].pattern
    plain = whole(run_of(replace(survey, tongue=None)))
    wall = Polygon(to_wall(first, first.outline, survey.pitch_deg))
    beyond = wall.difference(Polygon([(0, -1e4), (1e4, -1e4), (1e4, 1e4), (0, 1e4)]))
    below, lap = math.radians(survey.tongue.pitch_deg), survey.tongue.lap_mm
    corners = [(x, y) for x, y in to_wall(first, first.outline, survey.pitch_deg) if x < -NEAR_MM]
    assert len(corners) == 2
    feet = [(x * math.cos(below) + y * math.sin(below), y * math.cos(below) - x * math.sin(below)) for x, y in corners]
    assert sorted(u for u, _ in feet) == pytest.approx([-lap, -lap], abs=NEAR_MM)
    heights = sorted(v for _, v in feet)
    assert heights[0] == pytest.approx(0.0, abs=NEAR_MM)
    at_change = heights[1] / math.cos(below)
    lower = survey.water_line_mm / math.cos(below)
    upper = survey.water_line_mm / math.cos(math.radians(survey.pitch_deg))
    assert at_change == pytest.approx(min(lower, upper), abs=NEAR_MM)
    # A parallelogram with one end square: lap at the foot, more at the top.
    area = heights[1] * (lap + lap + heights[1] * math.tan(below)) / 2
    assert beyond.area == pytest.approx(area, abs=1e-2)
    assert len(first.folds) <= len(plain.folds)
    assert first.length_mm <= survey.head.longest_mm + NEAR_MM


@for_all(step_flashings(corners=(CornerKind.NONE,)))
def test_the_length_under_a_tongue_is_marked_by_the_lap(survey):
    survey = replace(survey, upper_end=EndCut.PLUMB, lapped_mm=min(150.0, survey.slope_mm))
    last = [p for p in pieces_of(survey) if p.hand is pieces_of(survey)[0].hand][-1].pattern
    (mark,) = [m for m in last.marks if m.name == "lap: end of the tongue above"]
    assert mark.kind is MarkKind.LAP
    (x0, y0), (x1, y1) = sorted(
        to_wall(last, mark.points, survey.pitch_deg), key=lambda q: across_slope(q, survey.pitch_deg)
    )
    assert math.hypot(x0, y0) == pytest.approx(survey.slope_mm - survey.lapped_mm, abs=NEAR_MM)
    assert gap((x0, y0), (x1, y1)) == pytest.approx(survey.water_line_mm, abs=NEAR_MM)
    assert across_slope((x1, y1), survey.pitch_deg) == pytest.approx(survey.water_line_mm, abs=NEAR_MM)


# --- steps too short -------------------------------------------------------------------------------------------------


@st.composite
def crowded(draw):
    """Runs with a joint or two so near the one below that the fold there is short, or the turn-in runs past it."""
    survey = draw(step_flashings(risers=st.just(90.0)))
    assume(len(survey.joints) > 8)
    close = draw(st.lists(st.integers(3, len(survey.joints) - 4), min_size=1, max_size=2, unique=True))
    joints = list(survey.joints)
    for place in close:
        joints[place] = BedJoint(
            joints[place].number, joints[place - 1].y_mm + draw(figures(5, 20)), joints[place].slope
        )
    return replace(survey, joints=tuple(joints))


@for_all(crowded())
def test_short_steps_are_said_by_their_joint_and_left_out_when_asked(survey):
    _, kept = develop(survey)
    bad = {f.code for f in kept} & {"CP405", "CP406"}
    assume(bad and not {"CP401", "CP402", "CP407", "CP408"} & {f.code for f in kept})
    run, findings = develop(replace(survey, skip_short=True))
    assume(run is not None)
    notes = [f for f in findings if f.severity is Severity.NOTE]
    left = {joint.number for joint in survey.joints} - {joint.number for joint in run.survey.joints}
    assert {int(f.found.split()[2]) for f in notes} == left
    assert all(f.code == "CP406" for f in notes)
    over = [f for f in findings if f.code in {"CP405", "CP406"} and f.severity is not Severity.NOTE]
    if left and not over:
        for step in run.steps:
            assert step.toe[0] - step.head[0] >= survey.least_fold_mm - NEAR_MM
        for low, high in pairwise(run.steps):
            assert gap(low.toe, high.head) > survey.turn_in_mm
    # Nothing is left out that need not be: each of them is bad where the joints below it stand as they are.
    assert left or over


def test_a_run_without_short_steps_keeps_every_joint():
    survey = replace(_even(), skip_short=True)
    run, findings = develop(survey)
    assert findings == ()
    assert run.survey.joints == survey.joints


def test_the_joint_that_is_too_near_is_the_one_left_out():
    joints = [BedJoint(k, 75.0 * k) for k in range(1, 20)]
    joints.insert(6, BedJoint(99, 75.0 * 6 + 12))
    survey = replace(_even(), joints=tuple(joints))
    run, findings = develop(survey)
    assert run is None or findings
    run, findings = develop(replace(survey, skip_short=True))
    (note,) = findings
    assert (note.code, note.severity) == ("CP406", Severity.NOTE)
    assert note.found.startswith("bed joint 99 is left out")
    assert [j.number for j in run.survey.joints] == list(range(1, 20))


def _even():
    from tests.trade.test_limits import STEP

    return replace(STEP, joints=tuple(BedJoint(k, 75.0 * k) for k in range(1, 20)))
