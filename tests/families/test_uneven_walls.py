"""Roofs that change their pitch, steps of the user's own choice, and joints missed out because a step is too short."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import assume
from hypothesis import strategies as st
from shapely import LinearRing, Point, Polygon
from shapely.affinity import translate

from cutpath.errors import Severity, faults
from cutpath.families.registry import develop
from cutpath.families.step_flashing.pattern import whole
from cutpath.jobs import load_job
from cutpath.pieces import pieces_of as cut_up
from cutpath.pipeline import plan
from cutpath.trade.coursing import joints_from_points, joints_from_steps, seen_from
from cutpath.values.leadwork import CornerKind, EndCut
from cutpath.values.pattern import MarkKind
from cutpath.values.survey import BedJoint
from tests.families.changes import change_of, face_on_wall, last_tooth, must_be_covered, of_one_hand, upper_reaches
from tests.families.specimens import steps
from tests.properties.measure import NEAR_MM, across_slope, gap, to_wall
from tests.properties.surveys import figures, for_all, run_of, step_flashings

JOBS = Path(__file__).resolve().parents[2] / "fixtures" / "jobs"


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


@pytest.mark.parametrize(
    ("upper_end", "high", "found"),
    [
        (EndCut.PLUMB, 201, []),
        (EndCut.PLUMB, 200, ["CP417"]),
        (EndCut.SQUARE, 176, []),
        (EndCut.SQUARE, 175, ["CP417"]),
    ],
)
def test_a_bed_that_goes_on_past_the_end_stands_above_the_water_line_there(upper_end, high, found):
    """Derived: at the end the water line stands 200 sin 30 + 87 / cos 30 = 200.5 high, or 200 sin 30 + 87 cos 30."""
    points = joints_from_points([(60, 140), (400, high)])
    run = steps(pitch_deg=30.0, slope_mm=200.0, joints=points, water_line_mm=87.0, upper_end=upper_end)
    laid, findings = develop(run)
    assert [finding.code for finding in faults(findings)] == found
    assert (laid is None) is bool(found)


def test_every_step_below_the_water_line_is_told_at_once():
    """Derived: at 30 deg a step 100 along has to stand 100 tan 30 + 80 / cos 30 = 150.1 high, and so on by 57.7."""
    points = joints_from_points([(100, 151), (200, 205), (300, 266), (400, 320), (500, 378), (900, 700)])
    _, (found,) = develop(steps(pitch_deg=30.0, slope_mm=1000.0, joints=points, water_line_mm=80.0))
    assert found.found == "step 2 ends 78 mm above the roof line, square to it; too low as well: 4 and 5"
    assert found.remedy == "End each farther down the slope, choose a higher bed for it, or lower the water line."


def test_a_tongue_laps_at_the_foot_of_a_riser_that_stands_above_the_water_line():
    """Derived: step 1 ends 80 mm short of the change, level, 60 mm above the water line; its riser, drawn on down to
    that, would pass 115 mm from the change, which is more than the lap of 100 cos 20 = 94 mm."""
    steps = [[672, 386.5], [800, 480], [950, 640], [1200, 900]]
    detail = {
        "kind": "step flashing", "hands": "right", "length": 800, "water_line": 77, "riser": 60,
        "coursing": {"step_points": steps}, "above": [{"length": 500, "pitch": 40}],
    }  # fmt: skip
    below, above = plan([{"name": "Stone", "pitch": 20, "detail": [detail]}]).pieces  # proved: nothing lies bare
    assert [sorted(fold.joint for fold in piece.pattern.folds) for piece in (below, above)] == [[1, 2], [1, 2, 3, 4]]


@pytest.mark.parametrize(("pitch", "length"), [(58, 1000), (60, 560)])
def test_a_second_length_may_lean_back_over_a_change_of_pitch(pitch, length):
    """There the wall goes on below, and the lead that leans over it counts in its length."""
    detail = {
        "kind": "step flashing", "hands": "right", "length": 500, "water_line": 120, "riser": 108, "longest": 640,
        "coursing": {"gauge": 100, "first_joint": 270, "masonry": "squared stone"},
        "above": [{"length": length, "pitch": pitch}],
    }  # fmt: skip
    pieces = plan([{"name": "Stone", "pitch": 55, "detail": [detail]}]).pieces
    second = next(piece for piece in pieces if piece.id == "S-S2-R2").pattern
    heads = to_wall(second, [fold.start for fold in second.folds], pitch)
    assert min(x for x, _ in heads) < -10


@pytest.mark.parametrize("short_mm", [0.0, 0.0001, 0.0009])
def test_a_step_of_ones_own_may_end_at_the_change_of_pitch_to_a_thousandth(short_mm):
    """A thousandth short of it was a step more, which the proof did not count: a sound wall was refused as ours."""
    steps = [[400, 300], [800 * math.cos(math.radians(20)) - short_mm, 420], [950, 640], [1200, 900]]
    detail = {
        "kind": "step flashing", "hands": "right", "length": 800, "water_line": 77,
        "coursing": {"step_points": steps}, "above": [{"length": 500, "pitch": 40}],
    }  # fmt: skip
    below, above = plan([{"name": "Stone", "pitch": 20, "detail": [detail]}]).pieces
    assert [[fold.joint for fold in piece.pattern.folds] for piece in (below, above)] == [[1, 2], [2, 3, 4]]


def test_a_tongue_on_risers_that_lean_back_ends_on_a_tooth_whose_joint_is_out_of_level():
    """Its end is that of the proof, which works it out from the joint's height at the change of pitch."""
    heights = [110 + 75 * k for k in range(30)]
    detail = {
        "kind": "step flashing", "hands": "right", "length": 900, "water_line": 120, "riser": 100,
        "coursing": {"joints": heights, "second_reading": {"at": 1000, "joints": [y + 10 for y in heights]}},
        "above": [{"length": 700, "pitch": 58}],
    }  # fmt: skip
    assert plan([{"name": "Stone", "pitch": 55, "detail": [detail]}]).pieces


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


@for_all(st.one_of(upper_reaches(), upper_reaches(cover=True)))
def test_a_tongue_covers_the_last_tooth_below_and_laps_at_every_height(survey):
    low, hand = survey.tongue.below, survey.head.hands[0]
    under = of_one_hand(low, hand)
    (x, y), first = change_of(low), of_one_hand(survey, hand)[0]
    high = translate(face_on_wall(survey, first), x, y)
    faces = [face_on_wall(low, piece) for piece in under]
    for wanted in (must_be_covered(low, faces), last_tooth(low, under[-1])):
        assert wanted.area > 0
        assert wanted.difference(high.buffer(NEAR_MM)).area <= 1e-3
    assert first.pattern.length_mm <= survey.head.longest_mm + NEAR_MM
    turned_in = {f.name for f in first.pattern.folds}
    assert {f.name for f in under[-1].pattern.folds if f.name.startswith("turn-in ")} & turned_in


@for_all(st.one_of(upper_reaches(), upper_reaches(cover=True)))
def test_a_tongue_has_no_fold_too_short_to_dress_that_the_run_below_has_not(survey):
    low, hand = survey.tongue.below, survey.head.hands[0]
    first, under = of_one_hand(survey, hand)[0].pattern, of_one_hand(low, hand)
    below = {f.name: gap(f.start, f.end) for piece in under for f in piece.pattern.folds}
    for fold in first.folds:
        if min(x for x, _ in to_wall(first, (fold.start, fold.end), survey.pitch_deg)) < -NEAR_MM:
            shortest = min(survey.least_fold_mm, below.get(fold.name, math.inf))
            assert gap(fold.start, fold.end) >= shortest - NEAR_MM


@for_all(upper_reaches())
def test_the_length_under_a_tongue_is_marked_where_it_ends(survey):
    low, hand = survey.tongue.below, survey.head.hands[0]
    x, y = change_of(low)
    first = of_one_hand(survey, hand)[0].pattern
    ring = [(a + x, b + y) for a, b in to_wall(first, first.outline, survey.pitch_deg)]
    marks = [
        (piece, mark)
        for piece in of_one_hand(low, hand)
        for mark in piece.pattern.marks
        if mark.name == "lap: end of the tongue above"
    ]
    assert marks
    for piece, mark in marks:
        assert mark.kind is MarkKind.LAP
        foot, head = to_wall(piece.pattern, mark.points, low.pitch_deg)
        assert across_slope(foot, low.pitch_deg) == pytest.approx(0.0, abs=NEAR_MM)
        for at in (foot, head):
            assert LinearRing(ring).distance(Point(at)) <= NEAR_MM or at is head  # the head is a fold's end
        assert min(foot[0], head[0]) <= (low.slope_mm - low.lapped_mm) * math.cos(math.radians(low.pitch_deg)) + NEAR_MM


def test_at_the_chapel_the_upper_length_covers_the_tooth_below_it():
    """Both turned into joint 4 and met there plumb, over 83 mm of bare brick."""
    job, _ = load_job(JOBS / "chapel.toml")
    low, top = job.details[0], job.details[1]
    pieces, _ = cut_up([job])
    under, first = (next(p for p in pieces if p.detail == detail.head.label) for detail in (low, top))
    (x, y), joint = change_of(low), low.joints[3]
    assert joint.y_mm - low.water_line_mm / math.cos(math.radians(28)) - y == pytest.approx(83, abs=0.5)
    ring = Polygon([(a + x, b + y) for a, b in to_wall(first.pattern, first.pattern.outline, 45)])
    assert last_tooth(low, under).difference(ring).area <= 1e-3
    (fold,) = [f for f in first.pattern.folds if f.name == "turn-in 4"]
    (x0, _), (x1, _) = sorted(to_wall(first.pattern, (fold.start, fold.end), 45))
    riser_4 = (low.joints[2].y_mm - low.water_line_mm / math.cos(math.radians(28))) / math.tan(math.radians(28))
    assert x0 + x == pytest.approx(riser_4, abs=NEAR_MM)
    assert x1 > 0  # one fold on both sides of the change


def test_a_tongue_over_a_short_part_has_a_fold_where_it_begins(tmp_path):
    """Risers that lean back leave no turn-in on the first step of the middle part, which its own sheet begins lower."""
    path = tmp_path / "leaning.toml"
    path.write_text(
        'name = "J"\npitch = 38.46\n[[detail]]\nkind = "step flashing"\nlength = 649.6\nhands = "right"\n'
        'water_line = 80\nriser = 70\nriser_from = "water line"\ncoursing = { gauge = 75.5, first_joint = 73 }\n'
        "above = [{ length = 158.8, pitch = 44.81 }, { length = 854.5, pitch = 49.82 }]\n",
        encoding="utf-8",
    )
    job, _ = load_job(path)
    found = [develop(detail)[1] for detail in job.details]
    assert [[(f.code, f.where.partition(": ")[2]) for f in faults(findings)] for findings in found[:2]] == [[], []]
    assert [(f.code, f.where.partition(": ")[2]) for f in faults(found[2])] == [("CP406", "detail[1].above[2].pitch")]


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
