"""Where flat sheet has too little or too much about a point: saddles on a ridge, stop ends in an inner corner."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume
from shapely import LineString, Polygon

import cutpath
from cutpath.errors import Refused, Severity
from cutpath.trade.fixings import weld_mm, welded_corners
from cutpath.values.leadwork import CornerWork
from cutpath.values.pattern import FoldWay, MarkKind
from tests.families.ridge_saddle import saddles
from tests.families.top_abutment import top_abutments
from tests.properties.measure import NEAR_MM, edges_of, gap, to_run
from tests.properties.surveys import for_all, pieces_of, run_of


def named(pattern, name):
    ring = edges_of(to_run(pattern, pattern.outline))
    return [e for e, edge_ in zip(ring, pattern.edges, strict=True) if edge_.name == name]


def angle_at(point, a, b):
    """The angle between the directions from ``point`` to a and b, in degrees."""
    ax, ay, bx, by = a[0] - point[0], a[1] - point[1], b[0] - point[0], b[1] - point[1]
    return math.degrees(abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))


@for_all(saddles(corners=(CornerWork.WELDED,)))
def test_a_welded_saddle_has_the_wall_s_full_angle_about_the_ridge(survey):
    """The wall over an inverted V of slope lines at the pitch takes up 180 + 2p; the sheet's two halves give 180."""
    (sheet, _), (gusset, _) = run_of(survey).patterns
    (cut,) = sheet.snips
    top, foot = to_run(sheet, cut.points)
    assert foot == pytest.approx((0, 0), abs=NEAR_MM)
    assert gap(top, foot) == pytest.approx(survey.upstand_mm, abs=NEAR_MM)
    one, other = named(gusset, "weld to the saddle")
    assert gap(*one) == pytest.approx(survey.upstand_mm, abs=NEAR_MM)
    assert gap(*other) == pytest.approx(survey.upstand_mm, abs=NEAR_MM)
    (apex,) = {(round(x, 6), round(y, 6)) for x, y in one} & {(round(x, 6), round(y, 6)) for x, y in other}
    ends = [e for edge in (one, other) for e in edge if gap(e, apex) > 1e-3]
    walls = [f for f in sheet.folds if f.name.startswith("wall")]
    about = sum(angle_at(foot, top, max(to_run(sheet, (f.start, f.end)), key=lambda q: abs(q[0]))) for f in walls)
    assert about + angle_at(apex, *ends) == pytest.approx(180 + 2 * survey.pitch_deg, abs=1e-4)


@for_all(saddles())
def test_a_saddle_is_folded_over_the_ridge_and_up_the_wall(survey):
    (sheet, _), *rest = run_of(survey).patterns
    folds = {f.name: f for f in sheet.folds}
    assert (folds["ridge"].angle_deg, folds["ridge"].way) == (2 * survey.pitch_deg, FoldWay.BACK)
    for side in ("left", "right"):
        fold = folds[f"wall, {side}"]
        assert (fold.angle_deg, fold.way) == (90.0, FoldWay.FORWARD)
        assert gap(fold.start, fold.end) == pytest.approx(survey.width_mm / 2, abs=NEAR_MM)
    down = gap(folds["ridge"].start, folds["ridge"].end)
    assert down == pytest.approx(survey.length_mm - survey.upstand_mm, abs=NEAR_MM)
    assert Polygon(sheet.outline).area == pytest.approx(survey.width_mm * survey.length_mm, abs=1e-3)
    assert bool(rest) == bool(sheet.snips) == (survey.corners is CornerWork.WELDED)
    assert bool(sheet.marks) == (survey.corners is CornerWork.BOSSED)


@for_all(top_abutments(corners=(CornerWork.WELDED,)))
def test_a_welded_stop_end_stands_plumb_against_the_end_of_the_upstand(survey):
    p = math.radians(survey.pitch_deg)
    heights = {-1: survey.stop_left_mm, 1: survey.stop_right_mm}
    seen = 0
    for piece in pieces_of(survey):
        seams = [gap(*seam) for seam in named(piece.pattern, "weld to the upstand")]
        assert weld_mm(piece.pattern) == pytest.approx(math.fsum(seams)), "no less is counted than is welded"
        assert welded_corners(piece.pattern) == len(seams)
        for (ax, ay), (bx, by) in named(piece.pattern, "weld to the upstand"):
            corner, far = sorted([(ax, ay), (bx, by)], key=lambda q: min(abs(q[0]), abs(q[0] - survey.length_mm)))
            assert corner[1] == pytest.approx(0.0, abs=NEAR_MM)
            way = 1 if corner[0] > survey.length_mm / 2 else -1
            square, up_slope = way * (far[0] - corner[0]), far[1]
            # Turned up against the end wall, x stands square to the roof and y runs up the slope.
            plumb = square * math.cos(p) + up_slope * math.sin(p)
            level = up_slope * math.cos(p) - square * math.sin(p)
            assert level == pytest.approx(0.0, abs=NEAR_MM)
            assert plumb == pytest.approx(min(survey.upstand_mm, heights[way] / math.cos(p)), abs=NEAR_MM)
            seen += 1
    assert seen == (survey.stop_left_mm > 0) + (survey.stop_right_mm > 0)


@for_all(top_abutments())
def test_an_abutment_folds_on_to_wall_roof_and_end_wall(survey):
    total = 0.0
    pieces = pieces_of(survey)
    for piece in pieces:
        folds = {f.name: f for f in piece.pattern.folds}
        front, turn_in = folds["front"], folds["turn-in"]
        assert (front.way, turn_in.way) == (FoldWay.FORWARD, FoldWay.BACK)
        assert front.angle_deg == pytest.approx(90 - survey.pitch_deg)
        assert gap(front.start, front.end) == pytest.approx(gap(turn_in.start, turn_in.end), abs=NEAR_MM)
        assert gap(front.start, turn_in.start) == pytest.approx(survey.upstand_mm, abs=NEAR_MM)
        for name in ("left stop end", "right stop end"):
            if name in folds:
                assert (folds[name].angle_deg, folds[name].way) == (90.0, FoldWay.FORWARD)
        total += gap(front.start, front.end)
    stops = {f.name for piece in pieces for f in piece.pattern.folds} & {"left stop end", "right stop end"}
    assert len(stops) == (survey.stop_left_mm > 0) + (survey.stop_right_mm > 0)
    laps = total - survey.length_mm
    assert laps == pytest.approx((len(pieces) - 1) * survey.head.lap_mm, abs=1e-5)


@for_all(top_abutments(corners=(CornerWork.BOSSED,)))
def test_a_bossed_stop_end_cuts_nothing_but_the_turn_in_beyond_the_wall(survey):
    assume(survey.stop_left_mm + survey.stop_right_mm > 0)
    pieces = pieces_of(survey)
    for piece in pieces:
        shape = Polygon(piece.pattern.outline)
        x0, y0, x1, y1 = shape.bounds
        stops = (piece.number == 1) * survey.stop_left_mm + (piece.number == piece.of) * survey.stop_right_mm
        assert (x1 - x0) * (y1 - y0) - shape.area == pytest.approx(stops * survey.turn_in_mm, abs=1e-3)
        for mark in piece.pattern.marks:
            if mark.kind is MarkKind.BOSSING:
                assert LineString(mark.points).length <= survey.upstand_mm + NEAR_MM


@pytest.mark.parametrize(("stop_ends", "height", "warned"), [("left", 74, 1), ("both", 74, 1), ("right", 75, 0)])
def test_a_stop_end_is_an_upstand_of_75_or_more(stop_ends, height, warned):
    """Source: common practice, no source (an upstand is 75 mm or higher)."""
    detail = {"kind": "top-edge abutment", "length": 1200, "stop_ends": stop_ends, "stop_height": height}
    planned = cutpath.plan([{"name": "Lean-to", "pitch": 20, "detail": [detail]}])
    found = [(f.code, f.severity, f.where) for f in planned.findings]
    assert found == [("CP305", Severity.WARNING, "job: detail[1].stop_height")] * warned


LEAN_TO = {"kind": "top-edge abutment", "length": 1200, "upstand": 150, "stop_ends": "both"}


def test_a_stop_end_is_made_as_high_in_the_corner_as_the_upstand():
    """150 mm plumb are 150 cos 20 deg = 140.95 mm square to the roof (derived); the proof works it out once more."""
    planned = cutpath.plan([{"name": "Lean-to", "pitch": 20, "detail": [LEAN_TO]}])
    (flashing,) = planned.jobs[0].details
    assert (flashing.stop_left_mm, flashing.stop_right_mm, planned.findings) == (141.0, 141.0, ())


@pytest.mark.parametrize(
    ("height", "own", "severity"),
    [(140, 75, Severity.WARNING), (60, 75, Severity.WARNING), (100, 120, Severity.FAULT), (141, 75, None)],
)
def test_a_stop_end_that_leaves_the_end_of_its_upstand_open_is_told_once_with_the_height_that_serves(
    height, own, severity, tmp_path
):
    rules = tmp_path / "own.toml"
    rules.write_text(f'[[fact]]\nname = "upstand"\nvalue = {own}\nsource = "the van"\n')
    job = {"name": "Lean-to", "pitch": 20, "detail": [{**LEAN_TO, "stop_height": height}]}
    try:
        findings = cutpath.plan([job], shop_rules=None if own == 75 else str(rules)).findings
    except cutpath.Refused as refused:
        findings = refused.findings
    assert [(f.severity, f.where, f.remedy) for f in findings if f.code == "CP305"] == [
        (severity, "job: detail[1].stop_height", "Make it 141 mm or more, or the upstand lower.")
    ] * (severity is not None)


@pytest.mark.parametrize("corners", ["bossed", "welded"])
@pytest.mark.parametrize("length", [300, 299])
def test_a_saddle_that_goes_up_the_wall_whole_is_refused(length, corners):
    detail = {"kind": "ridge saddle", "length": length, "upstand": 300, "corners": corners}
    with pytest.raises(Refused) as refused:
        cutpath.plan([{"name": "Lean-to", "pitch": 40, "detail": [detail]}])
    (found,) = [finding for finding in refused.value.findings if finding.severity is Severity.FAULT]
    assert (found.code, found.where) == ("CP412", "job: detail[1].upstand")
