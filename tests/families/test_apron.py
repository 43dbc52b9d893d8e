"""Aprons: each face has its turn-in, mitred at the arrises, and no strip of it goes on where the roof has no wall."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume
from shapely import LineString

from cutpath.families.registry import develop
from cutpath.values.leadwork import CornerWork
from cutpath.values.pattern import EdgeUse, FoldWay, MarkKind
from tests.properties.measure import NEAR_MM, edges_of, gap, shape_on_run, to_run
from tests.properties.surveys import aprons, for_all, pieces_of


def lengths_of(survey):
    return [piece.pattern for piece in pieces_of(survey) if piece.pattern.family == "apron"]


def reach(survey):
    """How far back along its joint the side of the stack stands out of the roof, and not beyond the lead's end."""
    return min(survey.side_mm, survey.upstand_mm / math.tan(math.radians(survey.pitch_deg)))


@for_all(aprons())
def test_each_face_has_its_own_turn_in(survey):
    assume(survey.side_mm > 0)
    w, up = survey.width_mm, survey.upstand_mm
    spans = {"turn-in": [], "return turn-in": []}
    for pattern in lengths_of(survey):
        for fold in pattern.folds:
            if fold.name in spans:
                (x0, y0), (x1, y1) = to_run(pattern, (fold.start, fold.end))
                assert (y0, y1) == pytest.approx((up, up), abs=NEAR_MM)
                assert (fold.angle_deg, fold.way) == (90.0, FoldWay.BACK)
                spans[fold.name].append((min(x0, x1), max(x0, x1)))
    assert min(a for a, _ in spans["turn-in"]) == pytest.approx(0.0, abs=NEAR_MM)
    assert max(b for _, b in spans["turn-in"]) == pytest.approx(w, abs=NEAR_MM)
    sides = sorted(spans["return turn-in"])
    assert sides == [pytest.approx((-reach(survey), 0.0)), pytest.approx((w, w + reach(survey)))]


@for_all(aprons(corners=(CornerWork.BOSSED,)))
def test_a_bossed_apron_is_cut_at_its_turn_ins_only(survey):
    """Of the rectangle are cut away: two triangles to an arris, and the strip beyond where the roof meets the joint."""
    t, beyond = survey.turn_in_mm, survey.side_mm - reach(survey)
    for pattern in lengths_of(survey):
        shape = shape_on_run(pattern)
        x0, y0, x1, y1 = shape.bounds
        corners = sum(f.name.endswith("arris") for f in pattern.folds)
        assert (x1 - x0) * (y1 - y0) - shape.area == pytest.approx(corners * (t * t + t * beyond), abs=1e-3)
        assert shape.bounds[1] == pytest.approx(-survey.cover_mm, abs=NEAR_MM)
        mitres = [
            e for e, edge in zip(edges_of(pattern.outline), pattern.edges, strict=True) if edge.use is EdgeUse.MITRE
        ]
        assert len(mitres) == 2 * corners
        assert not pattern.snips
        for (ax, ay), (bx, by) in mitres:
            assert abs(bx - ax) == pytest.approx(abs(by - ay), abs=NEAR_MM)


@for_all(aprons(corners=(CornerWork.BOSSED,)))
def test_bossing_follows_the_roof_line_from_the_arris_to_the_end_of_the_turn_in(survey):
    for pattern in lengths_of(survey):
        outline = LineString((*pattern.outline, pattern.outline[0]))
        marks = [m for m in pattern.marks if m.kind is MarkKind.BOSSING]
        assert len(marks) == sum(f.name.endswith("arris") for f in pattern.folds)
        for mark in marks:
            foot, head = to_run(pattern, mark.points)
            rise = abs(head[0] - foot[0]) * math.tan(math.radians(survey.pitch_deg))
            assert foot[1] == pytest.approx(0.0, abs=NEAR_MM)
            assert head[1] == pytest.approx(rise, abs=NEAR_MM)
            assert outline.distance(LineString([mark.points[1], mark.points[1]])) <= NEAR_MM
            if reach(survey) < survey.side_mm:
                assert any(gap(mark.points[1], p) <= NEAR_MM for p in pattern.outline)


@for_all(aprons())
def test_an_apron_without_room_for_its_mitres_is_refused(survey):
    assume(survey.side_mm > 0)
    for tight in (replace(survey, side_mm=survey.turn_in_mm), replace(survey, width_mm=2 * survey.turn_in_mm)):
        run, findings = develop(tight)
        assert run is None
        assert [f.code for f in findings] == ["CP408"]
