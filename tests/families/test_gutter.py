"""Back gutters: the sheet's section stands on the roof and over the fillet; welded parts meet edge to edge."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume
from shapely import LineString, Polygon

from cutpath.errors import faults
from cutpath.families.back_gutter.pattern import lengths_mm
from cutpath.families.registry import develop
from cutpath.families.runs import PatternSet
from cutpath.values.leadwork import CornerWork
from cutpath.values.pattern import FoldWay, MarkKind
from tests.families.back_gutter import back_gutters
from tests.properties.measure import NEAR_MM, edges_of, gap, to_run
from tests.properties.surveys import for_all, pieces_of, run_of


def section(survey):
    """Walk down the middle of the sheet from the top of the upstand; give the points in the plumb section.

    z is level away from the stack, y up; a bend that comes forward turns the walk towards the upper side.
    """
    patterns = [p for p, _ in run_of(survey).patterns if p.family == "back gutter"]
    folds = [f for f in patterns[0].folds if not f.name.endswith("arris")]
    levels = sorted((to_run(patterns[0], (f.start,))[0][1], f) for f in folds)[::-1]
    (z, y), heading = (0.0, survey.upstand_mm), -90.0
    at, points = survey.upstand_mm, [(0.0, survey.upstand_mm)]
    for level, fold in [*levels, (-survey.sole_mm - survey.up_roof_mm, None)]:
        z += (at - level) * math.cos(math.radians(heading))
        y += (at - level) * math.sin(math.radians(heading))
        at = level
        points.append((z, y))
        if fold is not None:
            heading += fold.angle_deg if fold.way is FoldWay.FORWARD else -fold.angle_deg
    return points


@for_all(back_gutters())
def test_the_section_follows_wall_sole_roof_and_fillet(survey):
    points = section(survey)
    p = math.radians(survey.pitch_deg)
    assert points[1] == pytest.approx((0, 0), abs=NEAR_MM)
    assert points[2] == pytest.approx((survey.sole_mm, 0), abs=NEAR_MM)

    def on_roof(z, y):
        z -= survey.sole_mm
        return z * math.cos(p) + y * math.sin(p), -z * math.sin(p) + y * math.cos(p)

    rest = [on_roof(*point) for point in points[3:]]
    if survey.fillet is None:
        assert rest == [pytest.approx((survey.up_roof_mm, 0), abs=NEAR_MM)]
        return
    f = survey.fillet
    assert rest[0] == pytest.approx((f.foot_mm, 0), abs=NEAR_MM)
    crest = (f.foot_mm + f.height_mm / math.tan(math.radians(f.face_deg)), f.height_mm)
    assert rest[1] == pytest.approx(crest, abs=NEAR_MM)
    assert gap(rest[1], rest[2]) > NEAR_MM
    if len(rest) == 4:  # the sheet reaches over the whole fillet and lies on the roof behind it
        assert rest[2] == pytest.approx((f.foot_mm + f.width_mm, 0), abs=NEAR_MM)
        assert rest[3][1] == pytest.approx(0, abs=NEAR_MM)
    assert all(height >= -NEAR_MM for _, height in rest)


def weld(pattern, name):
    ring = edges_of(pattern.outline)
    (edge,) = [e for e, edge_ in zip(ring, pattern.edges, strict=True) if edge_.name == name]
    return edge


@for_all(back_gutters(corners=(CornerWork.WELDED,)))
def test_gussets_fill_what_the_cuts_open(survey):
    assume(survey.side_mm > 0)
    patterns = [p for p, _ in run_of(survey).patterns]
    right, left = [p for p in patterns if p.family == "gusset"]
    assert left.mirrored is not right.mirrored
    p = math.radians(survey.pitch_deg)
    for gusset in (right, left):
        assert gap(*weld(gusset, "weld to the sole")) == pytest.approx(survey.sole_mm, abs=NEAR_MM)
        assert gap(*weld(gusset, "weld to the return")) == pytest.approx(survey.side_mm, abs=NEAR_MM)
        assert gap(*weld(gusset, "weld to the wing")) == pytest.approx(survey.sole_mm, abs=NEAR_MM)
        assert gap(*weld(gusset, "weld to the end of the wing")) == pytest.approx(survey.side_mm, abs=NEAR_MM)
        # The triangle drops from the sole's edge to the roof at the end of the return.
        drop = (survey.sole_mm + survey.side_mm) * math.tan(p)
        assert gap(*weld(gusset, "return end")) == pytest.approx(drop, abs=NEAR_MM)
        fold = gusset.folds[0]
        assert (fold.angle_deg, fold.way) == (90.0, FoldWay.FORWARD)
        along = (survey.sole_mm + survey.side_mm) / math.cos(p) - survey.sole_mm
        assert gap(fold.start, fold.end) == pytest.approx(along, abs=NEAR_MM)
        roof = along * survey.side_mm
        triangle = (survey.sole_mm + survey.side_mm) * drop / 2
        assert Polygon(gusset.outline).area == pytest.approx(roof + triangle, abs=1e-3)


@for_all(back_gutters())
def test_cuts_free_the_wing_and_nothing_else(survey):
    for piece in pieces_of(survey):
        if piece.pattern.family != "back gutter":
            continue
        welded = survey.corners is CornerWork.WELDED and survey.side_mm > 0
        corners = [f for f in piece.pattern.folds if f.name.endswith("arris")]
        assert len(piece.pattern.snips) == (len(corners) if welded else 0)
        for snip in piece.pattern.snips:
            outer, arris, foot = to_run(piece.pattern, snip.points)
            assert gap(outer, arris) == pytest.approx(survey.side_mm, abs=NEAR_MM)
            assert arris[1] == pytest.approx(0.0, abs=NEAR_MM)
            assert foot[1] == pytest.approx(-survey.sole_mm, abs=NEAR_MM)
            assert arris[0] == pytest.approx(foot[0], abs=NEAR_MM)
            assert min(abs(arris[0]), abs(arris[0] - survey.width_mm)) <= NEAR_MM


@for_all(back_gutters())
def test_a_sole_too_long_is_divided_once_at_a_roll_in_the_middle(survey):
    lengths = lengths_mm(survey)
    total = survey.width_mm + 2 * survey.side_mm
    assert (len(lengths) == 1) == (total <= survey.head.longest_mm + NEAR_MM)
    run, findings = develop(survey)
    if any(end - start > survey.head.longest_mm + NEAR_MM for start, end in lengths):
        assert run is None
        assert "CP309" in {f.code for f in findings}
        return
    assume(isinstance(run, PatternSet))
    sheets = [p for p, _ in run.patterns if p.family == "back gutter"]
    assert len(sheets) == len(lengths)
    if len(sheets) == 2:
        for sheet, reach in zip(sheets, (survey.roll_under_mm, -survey.roll_over_mm), strict=True):
            (roll,) = [m for m in sheet.marks if m.kind is MarkKind.ROLL]
            assert roll.points[0] in [s.at for s in sheet.stations if s.name == "foot of the roll"]
            foot = to_run(sheet, roll.points)[0][0]
            assert abs(foot - survey.width_mm / 2) == pytest.approx(survey.roll_core_mm / 2, abs=NEAR_MM)
            ends = [x for x, _ in to_run(sheet, sheet.outline)]
            assert (max(ends) if reach > 0 else min(ends)) == pytest.approx(foot + reach, abs=NEAR_MM)
            assert LineString(roll.points).length == pytest.approx(
                survey.upstand_mm + survey.sole_mm + survey.up_roof_mm, abs=NEAR_MM
            )


@for_all(back_gutters())
def test_a_fillet_that_is_no_triangle_or_out_of_reach_is_refused(survey):
    assume(survey.fillet is not None)
    low = replace(survey.fillet, width_mm=survey.fillet.height_mm / math.tan(math.radians(survey.fillet.face_deg)) / 2)
    if low.width_mm > NEAR_MM:
        run, findings = develop(replace(survey, fillet=low))
        assert run is None
        assert "CP412" in {f.code for f in findings}
    crest = survey.fillet.crest_mm
    run, findings = develop(replace(survey, up_roof_mm=crest - 1))
    assert run is None
    assert "CP412" in {f.code for f in faults(findings)}
