"""Corners of step flashings that random trials found: each was once let through, or drawn wrong."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import pairwise

import pytest
from shapely import LineString, Polygon, box
from shapely.affinity import rotate

from cutpath.errors import Finding, Refused, Severity, faults
from cutpath.families.apron.pattern import apron_length, return_reach_mm
from cutpath.families.registry import develop
from cutpath.families.step_flashing.pattern import length_between, whole
from cutpath.families.step_flashing.run import to_strip
from cutpath.pieces import split
from cutpath.pieces.division import divide_evenly
from cutpath.pipeline import plan
from cutpath.values.leadwork import Apron, CornerKind, CornerReturn, CornerWork, CoverFlashing, EndCut
from cutpath.values.pattern import EdgeUse, MarkKind, MarkUse
from cutpath.values.survey import BedJoint, Hand, Job, Origin
from tests.families.specimens import courses, head, steps
from tests.properties.measure import to_run, to_wall

HEAD = head(Hand.RIGHT)
UNEVEN = tuple(BedJoint(k, h) for k, h in enumerate((90, 165, 240, 250, 325, 400, 475), 1))
WAVY = tuple(BedJoint(k, 75.0 * k + 3.0 * (k * k % 5)) for k in range(1, 30))
RUN = steps(joints=courses(19), corner=CornerReturn(CornerKind.INTEGRAL, 150.0, None, 0.0))


def codes(survey):
    run, findings = develop(survey)
    assert (run is None) == bool(faults(findings))
    return {f.code for f in faults(findings)}


def test_setting_out_names_the_mitred_corner_where_the_return_shares_the_joint():
    run, _ = develop(RUN)
    pattern = whole(run)
    number = run.steps[0].joint.number
    places = {s.name: s.at for s in pattern.stations}
    mitres = [
        at
        for at, before, after in zip(pattern.outline, (pattern.edges[-1], *pattern.edges), pattern.edges, strict=False)
        if EdgeUse.MITRE in (before.use, after.use)
    ]
    assert places[f"turn-in {number} top, start"] in mitres
    assert places["return turn-in top, inner"] in mitres


def test_the_top_of_a_lower_return_starts_at_the_arris():
    low = tuple(BedJoint(k, 10 + 75.0 * k) for k in range(1, 20))  # joint 1 leaves a fold of 8 mm: no step
    run, _ = develop(replace(RUN, joints=low, corner=replace(RUN.corner, joint=1)))
    assert run.steps[0].joint.number == 2
    pattern = whole(run)
    places = {s.name: s.at for s in pattern.stations}
    assert places["return turn-in top, inner"] == pytest.approx(pattern.snips[0].points[0])


def test_a_return_that_is_turned_in_a_hair_below_the_water_line_is_told_by_how_much():
    """The water line is 65 / cos 35 = 79.4 mm up at the arris."""
    low = tuple(BedJoint(k, 4.2 + 75.0 * k) for k in range(1, 20))
    _, (fault, *_) = develop(replace(RUN, joints=low, corner=replace(RUN.corner, joint=1)))
    assert "stands 79 mm up" in fault.found
    assert "at least 80 mm up" in fault.accepted


def test_a_return_is_not_turned_in_below_the_water_line():
    """At the arris the water line stands 65 / cos 35 = 79 mm up, above joint 1 at 75."""
    assert codes(replace(RUN, corner=replace(RUN.corner, joint=1))) == {"CP408"}


def test_a_return_foot_below_the_roof_or_above_its_joint_is_refused():
    assert codes(replace(RUN, corner=replace(RUN.corner, foot_mm=-5.0))) == {"CP408"}
    heights = (149.5, 150.0, 1000.0)  # joint 2 stands 150 up
    found = [codes(replace(RUN, corner=replace(RUN.corner, foot_mm=height))) for height in heights]
    assert found == [set(), {"CP408"}, {"CP408"}]


def test_a_return_at_an_end_that_is_set_back_is_refused():
    assert codes(replace(RUN, set_back_mm=40.0)) == {"CP408"}


def test_a_run_whose_set_back_leaves_no_room_for_a_fold_is_refused():
    """Derived: 430 cos 45 = 304 mm level, less 300 for the set back."""
    assert codes(steps(pitch_deg=45.0, slope_mm=430.0, set_back_mm=300.0)) == {"CP410"}
    assert codes(steps(pitch_deg=45.0, slope_mm=930.0, set_back_mm=300.0)) == set()


@pytest.mark.parametrize("set_back", [0.0, 60.0])
def test_the_joint_that_is_lacking_at_the_upper_end_is_told_by_its_height(set_back):
    short = steps(joints=courses(5), set_back_mm=set_back)
    (found,) = faults(develop(short)[1])
    high = int(re.search(r"at least (\d+) mm above the lower corner", found.accepted)[1])
    for more, left in ((-1, {"CP402"}), (1, set())):
        assert codes(replace(short, joints=(*short.joints, BedJoint(6, high + more)))) == left


def test_a_gauge_that_makes_more_joints_than_any_run_has_says_how_many():
    """Derived: 40 m at 70 deg rise 37,588 mm, 835 courses of 45 mm."""
    gauge = {"gauge": 45, "first_joint": 120}
    detail = {"kind": "step flashing", "hands": "right", "length": 40_000, "coursing": gauge}
    with pytest.raises(Refused) as refused:
        plan([{"name": "Spire", "pitch": 70, "detail": [detail]}])
    (told,) = faults(refused.value.findings)
    assert told.found == "a gauge of 45 mm makes 835 joints in this run"


def test_steps_that_end_before_the_run_does_are_refused():
    """The step ends 120 mm along, 84 mm up on the roof: 106 mm of wall above it, the water line at 79."""
    plain = CornerReturn(CornerKind.NONE, 0.0, None, 0.0)
    assert codes(replace(RUN, corner=plain, joints=(BedJoint(1, 190.0, end_x_mm=120.0),))) == {"CP402"}


def test_the_joint_below_the_last_makes_room_for_a_fold_that_is_too_short():
    """920 / 950 mm up the slope: the fold on joint 9 would be 10 mm long, or 35, which is enough."""
    plain = CornerReturn(CornerKind.NONE, 0.0, None, 0.0)
    runs = [develop(replace(RUN, corner=plain, skip_short=True, slope_mm=slope))[0] for slope in (920.0, 950.0)]
    assert [[step.joint.number for step in run.steps] for run in runs] == [[2, 3, 4, 5, 6, 7, 9], list(range(2, 10))]


def steep_and_square(slope_mm):
    plain = CornerReturn(CornerKind.NONE, 0.0, None, 0.0)
    return replace(RUN, pitch_deg=55.0, slope_mm=slope_mm, upper_end=EndCut.SQUARE, corner=plain)


def test_no_turn_in_runs_out_under_a_square_end():
    """At 55 degrees a square end leans back by 25 tan 55 = 36 mm over the turn-in, more than the last fold has."""
    run, findings = develop(steep_and_square(1580.0))
    assert "joint 18 lies beyond the end" in findings[0].found
    assert run.steps[-1].tab_toe[0] > run.steps[-1].tab_head[0]
    only = steep_and_square(150.0)  # one step, and no bed below it to leave out
    assert codes(only) == {"CP406"}
    assert codes(steep_and_square(1600.0)) == set()


@pytest.mark.parametrize(
    ("changed", "found", "way_out"),
    [  # 75 (cot 35 - cot 40) = 17.7 mm of each joint; the last fold reaches the end; 10 (cot 35 - 0) = 14 mm
        (
            {"riser_deg": 40.0, "slope_mm": 1200.0},
            "the folds on bed joints 3 and 4 are 18 mm long",
            "skip joints (skip_joints = [...]), or make the risers steeper",
        ),
        (
            {"riser_deg": 60.0, "slope_mm": 1240.0},
            "the fold on bed joint 11 is 15 mm long",
            "13 mm farther up the slope",
        ),
        (
            {"joints": WAVY, "riser_deg": 41.0, "slope_mm": 1250.0},
            "the folds on bed joints 3 to 7 are 18 to 23 mm long",
            "steeper",
        ),
        (
            {"joints": UNEVEN, "slope_mm": 500.0},
            "the fold on bed joint 4 is 14 mm long",
            "skip a joint (skip_joints = [...]).",
        ),
    ],
)
def test_short_folds_are_told_at_once_with_a_way_out_that_helps_them(changed, found, way_out):
    _, findings = develop(replace(RUN, **changed, corner=CornerReturn(CornerKind.NONE, 0.0, None, 0.0)))
    (short,) = (f for f in findings if f.code == "CP406" and f.severity is Severity.WARNING)
    assert short.found == found
    assert short.remedy.endswith(way_out if way_out.endswith(".") else f"{way_out}.")


@pytest.mark.parametrize(
    ("changed", "farther_mm"),
    [  # Derived: a fold grows by cos 35 of what a plumb end goes up the slope, by 1 / cos 35 of a square one
        ({"slope_mm": 1180.0}, 20),  # 9.1 mm long: 15.9 / cos 35 = 19.4
        ({"slope_mm": 1240.0, "riser_deg": 60.0}, 13),  # 14.6 mm: 10.4 / cos 35 = 12.7
        ({"slope_mm": 1258.0, "riser_deg": 100.0, "upper_end": EndCut.SQUARE}, 10),  # 13.9 mm: 11.1 cos 35 = 9.1
        # 19.4 mm on a bed that rises by 1 in 5 up the slope: 5.6 / (cos 35 + sin 35 / 5) = 6.0
        ({"slope_mm": 1194.0, "upper_end": EndCut.SQUARE, "joints": courses(29, slope=0.2)}, 6),
    ],
)
def test_a_run_that_ends_so_much_farther_up_has_a_last_fold_to_dress(changed, farther_mm):
    run = replace(RUN, **changed, corner=CornerReturn(CornerKind.NONE, 0.0, None, 0.0))
    _, (short,) = develop(run)
    assert short.remedy.endswith(f"let the run end {farther_mm} mm farther up the slope.")
    for more, found in ((farther_mm - 1, 1), (farther_mm, 0)):
        _, findings = develop(replace(run, slope_mm=run.slope_mm + more))
        assert len(findings) == found


def test_a_short_last_fold_is_told_apart_from_a_short_one_below_it():
    """What helps the one does nothing for the other."""
    below, last = (f for f in develop(steps(joints=UNEVEN, slope_mm=450.0))[1] if f.code == "CP406")
    assert (below.found, last.found) == (
        "the fold on bed joint 4 is 14 mm long", "the fold on bed joint 6 is 18 mm long",
    )  # fmt: skip
    assert ("skip" in below.remedy, "9 mm farther up" in last.remedy) == (True, True)


STONE = tuple(BedJoint(n, y) for n, y in enumerate((142.0, 318.0, 471.0, 655.0, 812.0, 974.0), 1))


@pytest.mark.parametrize(("path", "farther"), [("detail[1]", True), ("detail[1].step_flashing", False)])
def test_a_last_fold_too_short_names_the_joint_to_skip_and_of_a_stack_no_other_end(path, farther):
    """Skipping joint 5, whose fold it is, helps nothing: the riser to it has to begin farther down."""
    origin = Origin("job.toml", path)
    run = replace(
        RUN,
        head=replace(RUN.head, origin=origin),
        pitch_deg=42.0,
        slope_mm=610.0 / math.cos(math.radians(42.0)),
        joints=STONE,
        water_line_mm=80.0,
        corner=CornerReturn(CornerKind.NONE, 0.0, None, 0.0),
    )
    _, (short,) = develop(run)
    assert short.found == "the fold on bed joint 5 is 2 mm long"
    skip = f"Skip joint 4 ({'' if farther else 'step_flashing.'}skip_joints = [4])"
    assert short.remedy == (f"{skip}, or let the run end 31 mm farther up the slope." if farther else f"{skip}.")
    for number, codes_left in ((4, 0), (5, 1)):
        _, left = develop(replace(run, joints=tuple(j for j in STONE if j.number != number)))
        assert len(left) == codes_left
    _, (near,) = develop(replace(run, slope_mm=run.slope_mm + 20.0))
    assert near.remedy.startswith("Dress it with care, or skip joint 4"), "17 mm can be dressed, 2 mm cannot"


@pytest.mark.parametrize(("joint", "advice"), [(1, "Skip joint 2 (skip_joints = [2]), or let"), (2, "Let")])
def test_the_joint_of_a_return_is_not_named_to_be_skipped(joint, advice):
    """It was, and who did so had the return refused."""
    stone = tuple(BedJoint(n, y) for n, y in enumerate((94.0, 245.0, 386.0, 539.0), 1))
    run = replace(RUN, pitch_deg=45.0, slope_mm=218.0, joints=stone, water_line_mm=65.0)
    _, (told,) = develop(replace(run, corner=CornerReturn(CornerKind.INTEGRAL, 150.0, joint, 0.0)))
    assert told.found == "the fold on bed joint 3 is 1 mm long"
    assert told.remedy == f"{advice} the run end 34 mm farther up the slope."


def test_a_step_without_a_fold_on_a_stack_names_no_other_end_of_it():
    """The sides of a stack end where that does."""
    joints = tuple(BedJoint(n, y) for n, y in enumerate((144.0, 327.0, 439.0), 1))
    run = replace(RUN, pitch_deg=35.0, slope_mm=214.0, riser_deg=70.0, joints=joints, upper_end=EndCut.SQUARE)
    run = replace(run, water_line_mm=65.0, corner=CornerReturn(CornerKind.NONE, 0.0, None, 0.0))
    for path, farther in (("detail[1]", True), ("detail[1].step_flashing", False)):
        own = replace(run, head=replace(RUN.head, origin=Origin("job.toml", path)))
        (told,) = (f for f in develop(own)[1] if f.code == "CP406")
        assert ("farther down the slope" in told.remedy) is farther


@pytest.mark.parametrize("riser", [60.0, 90.0, 100.0])
def test_a_corner_piece_laps_by_its_least_distance(riser):
    """Raked risers lean away from the plumb arris: at the roof edge they stand nearer to it."""
    run, _ = develop(replace(RUN, riser_deg=riser, slope_mm=1550.0))
    for last in range(1, len(run.steps)):
        ring = length_between(run, 0, last, lap_below=None, lap_above=None, with_return=False).outline
        roof = sorted(x for x, y in ring if abs(y) < 1e-9)
        assert run.lap_mm(0, last) <= min(roof[-1] - roof[0], run.along_mm(0, last)) + 1e-9
    assert (run.lap_mm(0, 3) < run.along_mm(0, 3) - 1) == (riser != 90.0)
    assert run.lap_mm(2, 4) == pytest.approx(run.along_mm(2, 4))


def test_one_mark_where_the_length_below_ends_and_the_length_above_begins():
    run, _ = develop(replace(RUN, corner=CornerReturn(CornerKind.NONE, 0.0, None, 0.0)))
    both = length_between(run, 2, 8, lap_below=5, lap_above=5)
    apart = length_between(run, 2, 8, lap_below=4, lap_above=6)
    assert [m.name for m in both.marks if m.kind is MarkKind.LAP] == [
        "lap: end of the length below, start of the length above"
    ]
    assert len([m for m in apart.marks if m.kind is MarkKind.LAP]) == 2


def test_a_return_that_just_meets_its_joint_has_no_corner_twice():
    for pitch in (20.0, 25.0, 33.5, 41.0, 52.0):
        detail = Apron(HEAD, pitch, 600.0, 0.0, 100.0, 150.0, 25.0, CornerWork.WELDED)
        detail = replace(detail, side_mm=100.0 / math.tan(math.radians(pitch)))
        assert return_reach_mm(detail) == pytest.approx(detail.side_mm)
        ring = apron_length(detail, -detail.side_mm, 600.0 + detail.side_mm, None, None).outline
        assert min(math.dist(a, b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)) > 1.0


def test_even_lengths_never_exceed_the_limit_by_rounding_the_count():
    """Half a thousandth of a millimetre too long for two lengths makes three."""
    total = 2 * 1500.0 - 100.0
    assert len(divide_evenly(0.0, total, 1500.0, 100.0)) == 2
    cuts = divide_evenly(0.0, total + 5e-4, 1500.0, 100.0)
    assert len(cuts) == 3
    assert max(b - a for a, b in cuts) <= 1500.0


def test_lengths_never_begin_on_a_riser_whose_foot_lies_below_the_lower_end():
    survey = replace(
        RUN,
        head=replace(HEAD, longest_mm=620.0, lap_mm=100.0),
        riser_deg=62.0,
        corner=CornerReturn(CornerKind.NONE, 0.0, None, 0.0),
    )
    run, _ = develop(survey)
    pieces, _ = split(Job("J", "J", "job.toml", "", "moderate", (survey,)), survey, run)
    assert len(pieces) > 1
    assert all(p.pattern.run_offset[0] > 0 for p in pieces[1:])


def test_a_raking_cover_is_cut_into_lengths_that_lap_square_to_nothing():
    """Plumb ends keep the lap at every height, since all of them lean alike."""
    detail = CoverFlashing(replace(HEAD, lap_mm=100.0), 3200.0, 30.0, 150.0, 25.0)
    run, _ = develop(detail)
    pieces, _ = split(Job("J", "J", "job.toml", "", "moderate", (detail,)), detail, run)
    starts = [p.pattern.run_offset[0] for p in pieces]
    assert [b - a for a, b in pairwise(starts)] == [1034, 1034]  # a third of 3100, up to the next millimetre


@pytest.mark.parametrize("pitch", [30, 35, 40, 45, 50])
def test_risers_may_lean_back_as_far_as_is_said_and_no_farther(pitch: int) -> None:
    wall = {"kind": "step flashing", "length": 1800, "coursing": {"gauge": 75, "first_joint": 120}}

    def faults_at(riser: int) -> list[Finding]:
        keys = {"riser": riser, "riser_from": "water line", "confirmed": ["riser"]}
        try:
            plan([{"name": "J", "pitch": pitch, "detail": [wall | keys]}])
        except Refused as refused:
            return list(faults(refused.findings))
        return []

    (finding,) = faults_at(100 if pitch < 45 else 85)
    assert (finding.code, finding.where.partition(": ")[2]) == ("CP422", "detail[1].riser")
    most = int(re.findall(r"(\d+) from the water line", finding.accepted)[0])
    assert faults_at(most) == []
    assert [f.code for f in faults_at(most + 1)] == ["CP422"]


@pytest.mark.parametrize(("foot", "joint", "warned"), [(46, None, 1), (45, None, 0), (121, 2, 1), (120, 2, 0)])
def test_a_return_covers_what_is_on_the_next_face_by_its_height(foot, joint, warned):
    """Source: common practice, no source (75 mm over an upstand); joints at 120 and 195."""
    detail = {
        "kind": "step flashing", "hands": "right", "length": 1200, "coursing": {"gauge": 75, "first_joint": 120},
        "skip_joints": [1] if joint else [], "return": {"length": 150, "foot": foot, "joint": joint} if joint else
        {"length": 150, "foot": foot},
    }  # fmt: skip
    planned = plan([{"name": "Cheek", "pitch": 30, "detail": [detail]}])
    found = [(f.code, f.severity, f.where) for f in planned.findings if "return" in f.where]
    assert found == [("CP306", Severity.WARNING, "job: detail[1].return.foot")] * warned


@pytest.mark.parametrize("kind", ["integral", "separate"])
def test_a_return_of_a_chimney_that_laps_too_little_is_told_once(kind):
    side = {"return": {"length": 99, "kind": kind}}
    stack = {
        "kind": "chimney", "width": 600, "depth": 600, "coursing": {"gauge": 75, "first_joint": 120},
        "step_flashing": side,
    }  # fmt: skip
    found = plan([{"name": "S", "pitch": 30, "covering": "plain tile 265", "detail": [stack]}]).findings
    where = "job: detail[1].step_flashing.return.length"
    assert [(f.code, f.severity) for f in found if f.where == where] == [("CP303", Severity.WARNING)]


@pytest.mark.parametrize(("reach", "kind", "warned"), [(99, "integral", 1), (99, "separate", 1), (100, "integral", 0)])
def test_a_return_covers_what_is_on_the_next_face_by_a_level_lap(reach, kind, warned):
    """Source: common practice, no source (100 mm of lap between lengths)."""
    detail = {
        "kind": "step flashing", "hands": "right", "length": 1200, "coursing": {"gauge": 75, "first_joint": 120},
        "return": {"length": reach, "kind": kind},
    }  # fmt: skip
    planned = plan([{"name": "Cheek", "pitch": 30, "detail": [detail]}])
    found = [(f.code, f.severity, f.where) for f in planned.findings]
    assert found == [("CP303", Severity.WARNING, "job: detail[1].return.length")] * warned


@pytest.mark.parametrize("corner", ["integral", "separate"])
@pytest.mark.parametrize(("pitch", "riser"), [(15.3, 70.2), (24.4, 64.6), (33.4, 88.5), (50.0, 80.0)])
def test_with_a_mitre_a_length_is_as_long_as_its_lead_reaches(pitch, riser, corner):
    """Risers that lean up the roof reach farthest at the top, where the mitre takes the turn-in away at the arris."""
    first = 80 / math.cos(math.radians(pitch)) + 35 * math.tan(math.radians(pitch))
    detail = {
        "kind": "step flashing", "hands": "right", "length": 1730, "longest": 1000, "riser": riser, "water_line": 80,
        "turn_in": 29.5, "coursing": {"gauge": 75, "first_joint": first}, "return": {"length": 150, "kind": corner},
    }  # fmt: skip
    pieces = plan([{"name": "Cheek", "pitch": pitch, "detail": [detail]}]).pieces
    assert len(pieces) > 2 - (corner == "integral")
    lead = Polygon(to_run(pieces[0].pattern, pieces[0].pattern.outline))
    sin, cos = math.sin(math.radians(pitch)), math.cos(math.radians(pitch))
    wall = lead.intersection(Polygon([(0, 0), (3000, 0), (3000, 900), (900 * sin / cos, 900)]))
    heights = {v for _, v in wall.exterior.coords}
    rows = [wall.intersection(LineString([(-1, v), (3000, v)])).bounds for v in heights]
    assert pieces[0].pattern.length_mm == pytest.approx(max(row[2] - row[0] for row in rows) + 150)


@pytest.mark.parametrize("last", [1, 3])
def test_a_length_with_a_mitre_is_held_to_the_limit_as_long_as_it_is_cut(last):
    """The first fold is short and its riser leans: without the mitre it would reach 3 mm farther."""
    run, _ = develop(replace(RUN, pitch_deg=20.0, riser_deg=60.0, joints=courses(29, lowest_mm=10.0)))
    cut = length_between(run, 0, last, lap_below=None, lap_above=None)
    assert run.length_mm(0, last) == pytest.approx(cut.length_mm) != run.along_mm(0, last) + RUN.corner.length_mm


@pytest.mark.parametrize(("riser", "joints"), [(80.0, courses(29)), (100.0, WAVY), (75.0, WAVY)])
def test_any_length_reaches_and_laps_as_far_as_its_lead_does(riser, joints):
    """Against the pattern laid back along the slope: the most that it takes at one height, and the least."""
    run, _ = develop(steps(riser_deg=riser, joints=joints, least_fold_mm=5.0))
    ends = len(run.steps)
    for first, last in ((0, 2), (1, 4), (2, 3), (4, 7), (ends - 2, ends), (0, ends)):
        length = length_between(run, first, last, lap_below=None, lap_above=None)
        lead = Polygon(to_run(length, length.outline))
        begin, end = run.steps[first].tab_head, run.steps[last - 1].tab_toe
        both = min(v for _, v in (to_strip(point, run.survey.pitch_deg) for point in (begin, end)))
        heights = {max(v, 1e-7) for _, v in lead.exterior.coords} | {both - 1e-7}
        rows = {v: lead.intersection(LineString([(-3000, v), (3000, v)])).bounds for v in heights}
        wide = {v: row[2] - row[0] for v, row in rows.items() if row}
        assert run.length_mm(first, last) == pytest.approx(max(wide.values()), abs=1e-5)
        assert run.lap_mm(first, last) == pytest.approx(min(wide[v] for v in wide if v < both), abs=1e-5)


@pytest.mark.parametrize("upper_end", ["plumb", "square"])
def test_a_corner_piece_may_go_all_the_way_up_a_short_run(upper_end):
    """One step is 93 mm along the roof (derived): the corner piece needs the second, which ends at the upper end."""
    detail = {
        "kind": "step flashing", "hands": "right", "length": 560, "upper_end": upper_end, "water_line": 80,
        "coursing": {"joints": [108, 263, 415, 564], "masonry": "squared stone"},
        "return": {"length": 135, "kind": "separate"},
    }  # fmt: skip
    corner, length = plan([{"name": "Cheek", "pitch": 15.6, "detail": [detail]}]).pieces
    assert [len(piece.pattern.folds) for piece in (corner, length)] == [4, 2]


def test_a_mitre_under_a_riser_that_leans_back_is_said_to_take_more_than_its_turn_in():
    """Derived: the riser leans back by 30 tan 15 over the turn-in, so the fold has to be 30 + 8.04 mm long or more."""
    detail = {
        "kind": "step flashing", "hands": "right", "length": 1200, "riser": 105, "turn_in": 30, "water_line": 80,
        "coursing": {"gauge": 75, "first_joint": 80 / math.cos(math.pi / 4) + 35}, "return": {"length": 150},
    }  # fmt: skip
    with pytest.raises(Refused) as refused:
        plan([{"name": "Cheek", "pitch": 45, "detail": [detail]}])
    (found,) = faults(refused.value.findings)
    assert (found.code, found.found) == (
        "CP408",
        "at the arris a fold of 35 mm is too short for the mitre of its turn-in",
    )
    assert found.accepted.startswith("more than 38 mm")


@pytest.mark.parametrize(
    ("first", "length", "advice"),
    [
        (97.0, 150, "Skip joint 1 (skip_joints = [1]) or take a shallower turn-in."),
        (150.0, 30, "Lengthen the return or take a shallower turn-in."),
    ],
)
def test_a_mitre_with_no_room_names_what_would_give_it_some(first, length, advice):
    """A fold of 97 / tan 35 less 65 / sin 35 is 25 mm, whatever the return's length."""
    detail = {
        "kind": "step flashing", "hands": "right", "length": 1200, "turn_in": 34, "water_line": 65,
        "coursing": {"gauge": 75, "first_joint": first}, "return": {"length": length},
    }  # fmt: skip
    with pytest.raises(Refused) as refused:
        plan([{"name": "Cheek", "pitch": 35, "detail": [detail]}])
    assert advice in {fault.remedy for fault in faults(refused.value.findings)}
    mended = {"skip_joints": [1]} if length > 34 else {"return": {"length": 150}}
    assert plan([{"name": "Cheek", "pitch": 35, "detail": [{**detail, **mended}]}]).pieces


def test_a_corner_piece_under_the_first_length_has_no_mark_of_a_tongue_above_that():
    detail = {
        "kind": "step and cover", "hands": "right", "length": 600, "water_line": 75, "longest": 1000,
        "coursing": {"gauge": 100, "first_joint": 105}, "return": {"length": 200, "kind": "separate"},
        "above": [{"length": 900, "pitch": 60}],
    }  # fmt: skip
    planned = plan([{"name": "Cheek", "pitch": 20, "covering": "interlocking tile", "detail": [detail]}])
    corner, length = planned.pieces[:2]
    assert [MarkUse.TONGUE_ABOVE in {mark.use for mark in p.pattern.marks} for p in (corner, length)] == [False, True]


@pytest.mark.parametrize(("riser", "pitch"), [(80, 40), (90, 40), (103, 40), (110, 52.5)])
def test_a_length_with_a_tongue_is_as_long_as_its_lead_reaches_on_both_roofs(riser, pitch):
    """Derived: a tongue that leans back reaches farthest with the top of a turn-in, be it of a tooth above its end."""
    detail = {
        "kind": "step flashing", "hands": "right", "length": 900, "riser": riser, "water_line": 80,
        "coursing": {"gauge": 75, "first_joint": 131}, "above": [{"length": 900, "pitch": 50}],
    }  # fmt: skip
    pieces = plan([{"name": "Cheek", "pitch": pitch, "detail": [detail]}]).pieces
    above = next(piece.pattern for piece in pieces if piece.detail == "S2")
    wall = Polygon(to_wall(above, above.outline, 50))
    upper = rotate(wall.intersection(box(0, -2000, 2000, 2000)), -50, (0, 0))
    rows = [upper.intersection(LineString([(-2000, v), (2000, v)])).bounds for _, v in upper.exterior.coords]
    reach = max(row[2] - row[0] for row in rows if row) - wall.bounds[0] / math.cos(math.radians(pitch))
    assert above.length_mm == pytest.approx(reach)


@pytest.mark.parametrize("cover", [False, True])
def test_a_riser_that_leans_back_over_a_change_of_pitch_is_counted_on_both_roofs_and_not_refused(cover):
    """Such a length is said to be up to a riser longer than its lead reaches, which is on the safe side."""
    detail = {
        "kind": "step and cover" if cover else "step flashing", "hands": "left", "length": 901, "riser": 110,
        "water_line": 65, "coursing": {"gauge": 75, "first_joint": 166}, "above": [{"length": 685, "pitch": 52}],
    }  # fmt: skip
    planned = plan([{"name": "J", "pitch": 40, "covering": "interlocking tile", "detail": [detail]}])
    above = next(piece.pattern for piece in planned.pieces if piece.detail == "S2")
    assert 685 < above.length_mm < 685 + 300


@pytest.mark.parametrize(("length", "ends_mm"), [(221, 221.0), (230, 229.2)])
def test_no_length_ends_on_a_riser_that_leans_out_over_the_upper_end(length, ends_mm):
    """Derived: the riser from joint 2's dip, 191 mm away, leans back by 6.6 deg, down to 229.2 mm up the slope."""
    detail = {
        "kind": "step flashing", "hands": "right", "length": length, "riser": 96.6, "water_line": 55.4, "lap": 122.1,
        "coursing": {"joints": [82.0, 158.2, 235.7, 310.1, 381.8]}, "return": {"length": 156.4, "kind": "separate"},
    }  # fmt: skip
    corner, _ = plan([{"name": "Cheek", "pitch": 45.9, "detail": [detail]}]).pieces
    on_roof = (x for x, y in to_run(corner.pattern, corner.pattern.outline) if abs(y) < 1e-6)
    assert max(on_roof) == pytest.approx(ends_mm, abs=0.1)


@pytest.mark.parametrize("length", [410, 470])
def test_risers_raked_as_far_as_is_said_do_not_lean_past_the_end_by_another_step(length):
    """Less raked, the last riser of a square end goes up to a higher bed, where it leans back farther."""
    detail = {
        "kind": "step flashing", "hands": "right", "length": length, "riser": 117, "turn_in": 28, "upper_end": "square",
        "coursing": {"gauge": 100, "first_joint": 119, "masonry": "squared stone"},
    }  # fmt: skip
    with pytest.raises(Refused) as refused:
        plan([{"name": "Cheek", "pitch": 58, "detail": [detail]}])
    (found,) = faults(refused.value.findings)
    assert found.code == "CP422"
    raked = detail | {"riser": int(re.search(r"up to (\d+) deg", found.accepted)[1])}
    assert plan([{"name": "Cheek", "pitch": 58, "detail": [raked]}]).pieces


def test_no_end_is_offered_that_leaves_no_run():
    """The step below the last ends where the roof changes: ended there, by whole millimetres, nothing is left of it."""
    joints = [*range(63, 631, 63), *range(688, 1559, 58)]
    detail = {
        "kind": "step and cover", "hands": "right", "length": 415.5, "water_line": 72.5, "cover": 150, "turn_in": 12,
        "coursing": {"joints": joints}, "riser": 85, "upper_end": "square", "short_steps": "skip",
        "above": [{"length": 400.5, "pitch": 61.4}],
    }  # fmt: skip
    with pytest.raises(Refused) as refused:
        plan([{"name": "Cheek", "pitch": 60, "covering": "plain tile 265", "detail": [detail]}])
    assert sorted({f.code for f in faults(refused.value.findings)}) == ["CP304", "CP406"]


@pytest.mark.parametrize(("above", "doubts"), [(40, 1), (40.4, 1), (39.5, 1), (41, 0), (35, 0)])
def test_a_change_of_pitch_that_is_none_is_doubted(above, doubts):
    detail = {
        "kind": "step flashing", "hands": "right", "length": 1200, "coursing": {"gauge": 75, "first_joint": 120},
        "above": [{"length": 900, "pitch": above}],
    }  # fmt: skip
    found = [f for f in plan([{"name": "J", "pitch": 40, "detail": [detail]}]).findings if f.code == "CP112"]
    assert [(f.where, f.severity) for f in found] == [("job: detail[1].above[1].pitch", Severity.WARNING)] * doubts
