"""Step and cover: the step flashing of the same run, with the roof's part joined on below the roof line."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import strategies as st
from shapely import Polygon

from cutpath.errors import Severity
from cutpath.families.registry import develop
from cutpath.families.step_flashing.pattern import whole
from cutpath.pipeline import plan
from cutpath.trade.fixings import weld_mm
from cutpath.values.pattern import FoldWay
from tests.families.changes import upper_reaches
from tests.families.step_flashing import step_and_covers
from tests.properties.measure import NEAR_MM, edges_of, gap, shape_on_run, to_run
from tests.properties.surveys import for_all, pieces_of, run_of


def edge_on_run(pattern, name):
    ring = edges_of(to_run(pattern, pattern.outline))
    (edge,) = [sorted(e) for e, edge_ in zip(ring, pattern.edges, strict=True) if edge_.name == name]
    return edge


@for_all(step_and_covers())
def test_the_cover_is_a_rectangle_below_the_steps_and_nothing_else_changes(survey):
    covered, plain = whole(run_of(survey)), whole(run_of(replace(survey, cover_mm=0.0)))
    (low, _), (high, _) = edge_on_run(plain, "roof edge")
    roof = Polygon([(low, 0), (high, 0), (high, -survey.cover_mm), (low, -survey.cover_mm)])
    steps = shape_on_run(plain)
    assert steps.intersection(roof).area <= 1e-3
    assert shape_on_run(covered).symmetric_difference(steps.union(roof)).area <= 1e-3
    assert [f for f in covered.folds if f.name != "roof line"] != []
    assert len(covered.folds) == len(plain.folds) + 1
    assert len(covered.snips) == len(plain.snips)


@for_all(step_and_covers())
def test_the_roof_line_is_folded_square_towards_the_roof_along_its_whole_length(survey):
    for piece in pieces_of(survey):
        (fold,) = [f for f in piece.pattern.folds if f.name == "roof line"]
        assert (fold.angle_deg, fold.way) == (90.0, FoldWay.FORWARD)
        ends = sorted(to_run(piece.pattern, (fold.start, fold.end)))
        edge = edge_on_run(piece.pattern, "cover edge")
        for (u, v), (below_u, below_v) in zip(ends, edge, strict=True):
            assert v == pytest.approx(0.0, abs=NEAR_MM)
            assert below_u == pytest.approx(u, abs=NEAR_MM)
            assert below_v == pytest.approx(-survey.cover_mm, abs=NEAR_MM)
        assert gap(*edge) > 0


@for_all(step_and_covers())
def test_lengths_cover_each_other_on_the_roof_by_the_lap(survey):
    pieces = pieces_of(survey)
    runs = [p.pattern for p in pieces if p.hand is pieces[0].hand and p.pattern.family == "step and cover flashing"]
    for low, high in pairwise(runs):
        (_, end), (start, _) = edge_on_run(low, "cover edge"), edge_on_run(high, "cover edge")
        assert end[0] - start[0] >= survey.head.lap_mm - NEAR_MM
    first, last = edge_on_run(runs[0], "cover edge")[0], edge_on_run(runs[-1], "cover edge")[1]
    assert last[0] == pytest.approx(survey.slope_mm, abs=NEAR_MM)
    assert first[0] >= -NEAR_MM


# --- change of pitch -------------------------------------------------------------------------------------------------


@for_all(upper_reaches(cover=True))
def test_a_cover_goes_on_over_the_lower_roof_and_parts_from_the_wall_by_the_change(survey):
    """Beside the tongue of a plain strip the cover goes straight on; the notch between them is the change of pitch."""
    first = pieces_of(survey)[0].pattern
    cover = survey.cover_mm
    wall_foot, change = edge_on_run(first, "weld to the tongue's cover")
    lap = gap(wall_foot, change)
    assert lap >= survey.tongue.lap_mm - NEAR_MM
    cover_end, same = edge_on_run(first, "weld to the tongue")
    assert change == same == pytest.approx((0.0, 0.0), abs=NEAR_MM)
    assert cover_end == pytest.approx((-lap, 0.0), abs=NEAR_MM)
    opening = math.degrees(math.atan2(wall_foot[1], -wall_foot[0]))
    assert opening == pytest.approx(survey.pitch_deg - survey.tongue.pitch_deg, abs=1e-6)
    (fold,) = [f for f in first.folds if f.name == "change of pitch"]
    assert (fold.angle_deg, fold.way) == (pytest.approx(opening, abs=1e-6), FoldWay.FORWARD)
    upper, lower = sorted(to_run(first, (fold.start, fold.end)), key=lambda at: -at[1])
    assert upper == pytest.approx((0.0, 0.0), abs=NEAR_MM)
    assert lower == pytest.approx((0.0, -cover), abs=NEAR_MM)
    below = Polygon([(-lap, -cover), (0, -cover), (0, 0), (-lap, 0)])
    assert below.difference(shape_on_run(first)).area <= 1e-3
    assert weld_mm(first) == pytest.approx(lap, abs=NEAR_MM)


@for_all(upper_reaches(cover=True), st.integers(0, 200))
def test_a_cover_under_a_flatter_roof_is_refused(survey, more):
    flatter = replace(survey, pitch_deg=survey.tongue.pitch_deg * (1 - more / 400))
    run, findings = develop(flatter)
    assert run is None
    assert [f.code for f in findings] == ["CP412"]


@pytest.mark.parametrize(
    ("covering", "kind", "warned"),
    [
        ("plain tile 265", "step and cover", 1), ("slate 500", "step and cover", 1),
        ("interlocking tile", "step and cover", 0), ({"name": "clay", "flatter_by": 3}, "step and cover", 0),
        ("plain tile 265", "step flashing", 0),
    ],
)  # fmt: skip
def test_a_cover_on_a_double_lap_covering_is_asked_about(covering, kind, warned):
    """Source: common practice, no source (soakers under slates and plain tiles)."""
    detail = {"kind": kind, "hands": "left", "length": 1200, "coursing": {"gauge": 75, "first_joint": 120}}
    planned = plan([{"name": "J", "pitch": 40, "covering": covering, "detail": [detail]}])
    found = [(f.where, f.severity) for f in planned.findings if f.code == "CP412"]
    assert found == [("job: detail[1]", Severity.WARNING)] * warned


@pytest.mark.parametrize("kind", ["soakers", "step flashing"])
def test_a_headlap_of_the_soakers_own_is_held_to_the_pitch(kind):
    own = {"headlap": 80, "length": 900} if kind == "soakers" else {"soakers": {"headlap": 80}, "length": 900}
    detail = {"kind": kind, "hands": "left", **own}
    if kind == "step flashing":
        detail["coursing"] = {"gauge": 75, "first_joint": 120}
    planned = plan([{"name": "J", "pitch": 25, "covering": "slate 500", "detail": [detail]}])
    assert ["a headlap of 80 mm at 25 deg" in f.found for f in planned.findings if f.code == "CP308"] == [True]


@pytest.mark.parametrize(
    ("covering", "least"),
    [({"name": "plain tile 265", "least_pitch": 31}, "31 deg"), ({"name": "plain tile 265", "least_pitch": 30}, None),
     ({"length": 265, "headlap": 0, "least_pitch": 31}, "31 deg")],
)  # fmt: skip
def test_a_covering_flatter_than_the_least_pitch_as_written_is_warned_of(covering, least):
    detail = {"kind": "soakers", "hands": "left", "length": 900}
    planned = plan([{"name": "J", "pitch": 30, "covering": covering, "detail": [detail]}])
    found = [f.accepted for f in planned.findings if f.code == "CP308"]
    assert [f"at least {least}" in words for words in found] == [True] * bool(least)


@pytest.mark.parametrize(
    ("exposure", "headlap", "asked"),
    [
        ("severe", 85, "90 mm from 35 deg"),
        ("severe", 90, None),
        ("severe", 60, "70 mm"),
        ("severe", 0, "70 mm"),
        ("moderate", 85, None),
    ],
)
def test_slates_lap_more_in_severe_exposure(exposure, headlap, asked):
    """Source: common practice, no source (headlaps as tabled by pitch and exposure)."""
    covering = {"name": "slate 500", "headlap": headlap}
    detail = {"kind": "soakers", "hands": "left", "length": 900}
    planned = plan([{"name": "J", "pitch": 35, "exposure": exposure, "covering": covering, "detail": [detail]}])
    found = [f.accepted for f in planned.findings if f.code == "CP308"]
    assert [asked in words for words in found] == [True] * bool(asked)
