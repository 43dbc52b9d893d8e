"""Lead slates: the rolled sleeve stands with its foot on the edge of the hole, and chords stay within their sagitta."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from shapely import Point, Polygon

from cutpath.errors import Severity
from cutpath.families.registry import develop
from cutpath.pipeline import plan
from cutpath.profiles import lead_table
from cutpath.tolerances import CHORD_SAGITTA_MM
from cutpath.values.leadwork import PipeSlate
from cutpath.values.pattern import EdgeUse
from cutpath.values.survey import DetailHead, Origin
from tests.families.pipe_slate import pipe_slates
from tests.properties.measure import NEAR_MM, edges_of, gap, to_run
from tests.properties.surveys import for_all, run_of


def parts(survey):
    (base, _), (sleeve, _) = run_of(survey).patterns
    r = survey.pipe_mm / 2 + survey.clearance_mm
    return base, sleeve, r, math.radians(survey.pitch_deg)


@for_all(pipe_slates())
def test_the_rolled_sleeve_meets_the_hole_corner_to_corner(survey):
    base, sleeve, r, p = parts(survey)
    (hole,) = [to_run(base, h) for h in base.holes]
    top = r * math.tan(p) + survey.sleeve_mm
    foot = [q for q in to_run(sleeve, sleeve.outline) if q[1] > 0 and q[0] < 2 * math.pi * r - NEAR_MM]
    rolled = sorted((s, (r * math.sin(s / r), r * math.cos(s / r), top - h)) for s, h in foot)
    assert len(rolled) == len(hole)
    for (x, y), (_, at) in zip(hole, rolled, strict=True):
        on_roof = (x, y * math.cos(p), y * math.sin(p))
        assert at == pytest.approx(on_roof, abs=NEAR_MM)


@for_all(pipe_slates())
def test_chords_stand_off_by_no_more_than_the_tolerance(survey):
    base, sleeve, r, p = parts(survey)
    ring = Polygon(to_run(base, base.holes[0])).exterior
    for k in range(720):
        a = math.radians(k / 2)
        assert ring.distance(Point(r * math.sin(a), r * math.cos(a) / math.cos(p))) <= CHORD_SAGITTA_MM + 1e-9
    edge = Polygon(sleeve.outline).exterior
    for k in range(360):
        s = 2 * math.pi * r * k / 360
        foot = survey.sleeve_mm + r * math.tan(p) * (1 - math.cos(s / r))
        assert edge.distance(Point(s, foot)) <= CHORD_SAGITTA_MM + 1e-9


@for_all(pipe_slates())
def test_areas_and_sizes(survey):
    base, sleeve, r, p = parts(survey)
    sheet = Polygon(base.outline, base.holes)
    wide, long = 2 * (r + survey.side_mm), 2 * r / math.cos(p) + survey.below_mm + survey.above_mm
    ellipse = math.pi * r * r / math.cos(p)
    girth = 2 * math.pi * r
    assert sheet.area == pytest.approx(wide * long - ellipse, abs=CHORD_SAGITTA_MM * 2 * girth / math.cos(p))
    assert sleeve.length_mm == pytest.approx(girth + survey.seam_mm, abs=NEAR_MM)
    end = girth + survey.seam_mm
    # The integral of sleeve + r tan p (1 - cos(s / r)) from 0 to the end.
    full = (survey.sleeve_mm + r * math.tan(p)) * end - r * r * math.tan(p) * math.sin(end / r)
    assert Polygon(sleeve.outline).area == pytest.approx(full, abs=CHORD_SAGITTA_MM * end)


@for_all(pipe_slates())
def test_the_seam_laps_on_itself_and_is_on_the_shortest_side(survey):
    _, sleeve, r, p = parts(survey)
    (mark,) = sleeve.marks
    run = to_run(sleeve, mark.points)
    assert {round(x, 6) for x, _ in run} == {round(2 * math.pi * r, 6)}
    edges = dict(zip((e.use for e in sleeve.edges), edges_of(to_run(sleeve, sleeve.outline)), strict=False))
    assert gap(*edges[EdgeUse.SEAM_UNDER]) == pytest.approx(survey.sleeve_mm, abs=NEAR_MM)
    longest = max(y for _, y in to_run(sleeve, sleeve.outline))
    assert longest == pytest.approx(survey.sleeve_mm + 2 * r * math.tan(p), abs=CHORD_SAGITTA_MM)


@pytest.mark.parametrize(("code", "clearance_mm"), [(4, 0.95), (6, 1.4), (8, 1.8)])
def test_a_sleeve_of_thick_lead_goes_over_its_pipe_or_is_refused(code, clearance_mm):
    """Source: derived. The sleeve is cut as long as the middle of its sheet goes round, so half of it lies inside."""
    lead = lead_table()[code]
    slate = specimen(lead, clearance_mm)
    assert clearance_mm == pytest.approx(lead.thickness_mm / 2, abs=0.1)
    run, findings = develop(slate)
    assert findings == ()
    _, (sleeve, _) = run.patterns
    bore_mm = (sleeve.length_mm - slate.seam_mm) / math.pi - lead.thickness_mm
    assert bore_mm >= slate.pipe_mm
    run, (finding,) = develop(replace(slate, clearance_mm=lead.thickness_mm / 2 - 0.1))
    assert run is None
    assert (finding.code, finding.severity) == ("CP412", Severity.FAULT)
    assert finding.where.endswith(".clearance")


def specimen(lead, clearance_mm):
    head = DetailHead("P1", Origin("job.toml", "detail[1]"), lead, 1, (), 1500.0, 150.0)
    return PipeSlate(head, 35.0, 110.0, clearance_mm, 150.0, 25.0, 150.0, 150.0, 200.0)


@pytest.mark.parametrize(
    ("pitch", "own", "sizes", "found"),
    [
        (35, {}, (150, 150, 200), []),
        (30, {}, (150, 150, 200), []),
        (22.5, {}, (200, 200, 200), []),
        (15, {}, (200, 290, 290), []),
        (10, {}, (200, 395, 395), ["CP315 pitch"]),
        (15, {"below": 200}, (200, 200, 290), ["CP303 below"]),
        (22, {"above": 195, "side": 199}, (199, 205, 195), ["CP306 side", "CP303 above"]),
        (40, {"side": 149, "below": 149, "above": 151}, (149, 149, 151), ["CP306 side", "CP303 below"]),
    ],
)
def test_the_base_laps_by_the_pitch_of_the_roof(pitch, own, sizes, found):
    """Source: Roofconsult, "Tips 76": 150 all round at 35 deg; 200 beside the pipe at 22.5; a lap up and down.

    That lap grows to as much as 390, where tiles lie at the flattest on which lead may lap.
    """
    planned = plan([{"name": "J", "pitch": pitch, "detail": [{"kind": "lead slate", "pipe": 110, **own}]}])
    (slate,) = planned.jobs[0].details
    assert (slate.side_mm, slate.below_mm, slate.above_mm) == pytest.approx(sizes)
    assert [f"{f.code} {f.where.rpartition('.')[2]}" for f in planned.findings] == found
    assert {f.severity for f in planned.findings} <= {Severity.WARNING}


@pytest.mark.parametrize(
    ("pitch", "covering", "reach_mm", "codes"),
    [
        (35, "plain tile 265", 150, []),
        (22.5, "slate 500", 200, ["CP308"]),  # slates of 500 lap by more there, which is not for the lead to cure
        (35, "interlocking tile", 150, []),
        (22.5, "interlocking tile", 250, []),
        (17.5, {"name": "roll tile", "flatter_by": 1}, 265, []),
        (12.5, "interlocking tile", 395, ["CP315"]),
    ],
)
def test_the_base_laps_by_the_surface_of_tiles_in_single_lap(pitch, covering, reach_mm, codes):
    """Sources: Roofconsult, "Tips 76": 150 at 35 deg on slates and plain tiles, up to 390 on interlocking tiles.

    Their surface lies 5 deg flatter than the rafters ("Tips 4").
    """
    planned = plan(
        [{"name": "J", "pitch": pitch, "covering": covering, "detail": [{"kind": "lead slate", "pipe": 110}]}]
    )
    (slate,) = planned.jobs[0].details
    assert (slate.below_mm, slate.above_mm) == (reach_mm, max(200, reach_mm))
    assert [f.code for f in planned.findings] == codes


@pytest.mark.parametrize(("pitch", "pipe", "laps_mm", "sheet_mm"), [(35, 150, 150, 450), (22.5, 110, 190, 510)])
def test_a_base_with_the_laps_that_are_printed_is_as_wide_as_the_sheet_that_is(pitch, pipe, laps_mm, sheet_mm):
    """Source: Roofconsult, "Tips 76": a sheet of 450 at 35 deg, of 510 at 22.5, no clearance round the pipe."""
    detail = {"kind": "lead slate", "pipe": pipe, "below": laps_mm, "above": laps_mm}
    planned = plan([{"name": "J", "pitch": pitch, "detail": [detail]}])
    base = planned.pieces[0].pattern.outline
    (slate,) = planned.jobs[0].details
    assert max(x for x, _ in base) - 2 * slate.clearance_mm == pytest.approx(sheet_mm)
