"""Cover flashings that go round both arrises: the faces fold square to each other, and their turn-ins butt at 45."""

from __future__ import annotations

import pytest
from hypothesis import assume

from cutpath.families.registry import develop
from cutpath.pipeline import plan
from cutpath.values.pattern import EdgeUse, FoldWay
from tests.families.cover_flashing import returned_covers
from tests.properties.measure import NEAR_MM, edges_of, gap, shape_on_run, to_run
from tests.properties.surveys import for_all, pieces_of


@for_all(returned_covers())
def test_both_returns_are_there_and_the_arrises_fold_back(survey):
    pieces = pieces_of(survey)
    arrises = []
    for piece in pieces:
        for fold in piece.pattern.folds:
            (x0, y0), (x1, y1) = to_run(piece.pattern, (fold.start, fold.end))
            assert (fold.angle_deg, fold.way) == (90.0, FoldWay.BACK)
            if fold.name.endswith("arris"):
                assert sorted((y0, y1)) == pytest.approx([0, survey.cover_mm], abs=NEAR_MM)
                assert x0 == pytest.approx(x1, abs=NEAR_MM)
                arrises.append(round(x0, 6))
            else:
                assert (y0, y1) == pytest.approx((survey.cover_mm, survey.cover_mm), abs=NEAR_MM)
    assert sorted(arrises) == [0, survey.length_mm]
    xs = [x for piece in pieces for x, _ in to_run(piece.pattern, piece.pattern.outline)]
    assert (min(xs), max(xs)) == pytest.approx((-survey.return_mm, survey.length_mm + survey.return_mm), abs=NEAR_MM)


@for_all(returned_covers())
def test_turn_ins_are_mitred_and_nothing_else_is_cut_away(survey):
    pieces = pieces_of(survey)
    notch = survey.turn_in_mm**2  # two triangles of 45 degrees
    for piece in pieces:
        shape = shape_on_run(piece.pattern)
        x0, y0, x1, y1 = shape.bounds
        corners = sum(f.name.endswith("arris") for f in piece.pattern.folds)
        assert (x1 - x0) * (y1 - y0) - shape.area == pytest.approx(corners * notch, abs=1e-3)
        ring = edges_of(to_run(piece.pattern, piece.pattern.outline))
        mitres = [e for e, edge in zip(ring, piece.pattern.edges, strict=True) if edge.use is EdgeUse.MITRE]
        assert len(mitres) == 2 * corners
        for (ax, ay), (bx, by) in mitres:
            assert abs(bx - ax) == pytest.approx(abs(by - ay), abs=NEAR_MM)
            assert gap((ax, ay), (bx, by)) == pytest.approx(survey.turn_in_mm * 2**0.5, abs=NEAR_MM)


@for_all(returned_covers())
def test_a_return_shorter_than_its_turn_in_is_refused(survey):
    from dataclasses import replace

    assume(survey.turn_in_mm > 0)
    run, findings = develop(replace(survey, return_mm=survey.turn_in_mm / 2))
    assert run is None
    assert [f.code for f in findings] == ["CP408"]


@pytest.mark.parametrize(
    ("gutters", "length", "returns", "asked"),
    [
        ((650,), 670, 100, "Measure again: 650 mm?"),
        ((650,), 620, 100, "Measure again: 650 mm?"),
        ((650,), 681, 100, None),
        ((650,), 560, 100, "Measure again: 650 mm?"),
        ((650,), 650, 100, None),
        ((650, 670), 670, 100, None),
        ((650, 600), 622, 100, "Measure again: 600 mm?"),
        ((650,), 670, 0, None),
    ],
)
def test_a_cover_that_is_nearly_as_long_as_a_gutter_of_the_job_is_wide_is_doubted(gutters, length, returns, asked):
    """As one that was misread, or whose digits are changed over; over another stack it may be as long as that."""
    details = [{"kind": "back gutter", "width": width, "upstand": 150} for width in gutters]
    cover = {"kind": "cover flashing", "length": length, "returns": returns}
    found = plan([{"name": "J", "pitch": 35, "detail": [*details, cover]}]).findings
    told = [f.remedy for f in found if f.code == "CP112" and f.where == f"job: detail[{len(details) + 1}].length"]
    assert [remedy.partition(" Nothing")[0] for remedy in told] == [asked] * (asked is not None)
