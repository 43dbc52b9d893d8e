"""Strips and their bends: valley gutters and gutters beside a wall; where lettering stands on lead of every kind."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from cutpath.families.frame import LABEL_CLEAR_MM
from cutpath.families.outline.pattern import outline
from cutpath.families.registry import develop
from cutpath.families.soakers.pattern import soaker
from cutpath.families.step_flashing.pattern import whole
from cutpath.families.strips import Bend, strip
from cutpath.pieces import split
from cutpath.pipeline import plan
from cutpath.values.leadwork import Apron, CornerWork, PlainOutline, Soakers
from cutpath.values.pattern import Course, FoldUse, FoldWay, Stance
from tests.families.abutment_gutter import abutment_gutters
from tests.families.specimens import head, steps
from tests.families.valley_gutter import valleys
from tests.properties.measure import NEAR_MM, gap, to_run
from tests.properties.surveys import for_all, job_of, pieces_of


def rising(pitch_deg):
    return math.tan(math.radians(pitch_deg))


@for_all(valleys())
def test_the_middle_of_a_valley_bends_by_the_angle_between_the_two_roofs(survey):
    """In space: one roof rises along x, the other along y; the valley runs where both are equally high."""
    a, b = rising(survey.pitch_deg), rising(survey.other_pitch_deg)
    valley = np.array([1 / a, 1 / b, 1.0])
    valley /= np.linalg.norm(valley)
    assert math.degrees(math.asin(valley[2])) == pytest.approx(survey.true_pitch_deg, abs=1e-9)
    sides = []
    for level in ([0.0, 1.0, 0.0], [1.0, 0.0, 0.0]):  # a level line lies in each roof
        line = np.array(level)
        out = line - valley * (line @ valley)
        sides.append(out / np.linalg.norm(out))
    between = math.degrees(math.acos(np.clip(sides[0] @ sides[1], -1, 1)))
    for piece in pieces_of(survey):
        (middle,) = [f for f in piece.pattern.folds if f.name == "middle"]
        assert middle.way is FoldWay.FORWARD
        # Both lines point off their own roof, so the angle between them is that between the roofs.
        assert 180 - middle.angle_deg == pytest.approx(between, abs=1e-6)
        for point in to_run(piece.pattern, (middle.start, middle.end)):
            assert point[1] == pytest.approx(0.0, abs=NEAR_MM)


@for_all(valleys())
def test_a_valley_is_the_same_on_both_roofs(survey):
    for piece in pieces_of(survey):
        found = [(round(to_run(piece.pattern, (f.start,))[0][1], 6), f.angle_deg, f.way) for f in piece.pattern.folds]
        assert {(-y, angle, way) for y, angle, way in found} == set(found)


@for_all(valleys())
def test_fillets_out_of_reach_are_refused(survey):
    if survey.fillet is not None:
        far = replace(survey, fillet=replace(survey.fillet, foot_mm=survey.width_mm / 2))
        run, findings = develop(far)
        assert run is None
        assert {f.code for f in findings} == {"CP412"}


@for_all(abutment_gutters())
def test_a_gutter_beside_a_wall_is_folded_up_on_both_sides_for_each_hand(survey):
    for piece in pieces_of(survey):
        folds = {f.name: f for f in piece.pattern.folds}
        assert set(folds) == {"wall", "outer edge"}
        assert {(f.angle_deg, f.way) for f in folds.values()} == {(90.0, FoldWay.FORWARD)}
        wall = to_run(piece.pattern, (folds["wall"].start,))[0][1]
        edge = to_run(piece.pattern, (folds["outer edge"].start,))[0][1]
        assert wall - edge == pytest.approx(survey.sole_mm, abs=NEAR_MM)
        ys = [y for _, y in to_run(piece.pattern, piece.pattern.outline)]
        assert max(ys) - wall == pytest.approx(survey.upstand_mm, abs=NEAR_MM)
        assert edge - min(ys) == pytest.approx(survey.edge_mm, abs=NEAR_MM)
        assert gap(folds["wall"].start, folds["wall"].end) == pytest.approx(piece.pattern.length_mm, abs=NEAR_MM)


def test_lettering_keeps_off_laps_where_they_leave_twice_the_height():
    """A strip of 150 by 1000: between laps at 300 and 700 there is room, between 400 and 650 there is not."""
    both, short, upper = (300.0, 700.0), (400.0, 650.0), (None, 400.0)
    for laps, room in ((both, 400.0), (short, 1000.0), (upper, 400.0), ((None, None), 1000.0)):
        label = strip("cover flashing", (0.0, 150.0), [], (0.0, 1000.0), laps, Stance.UPRIGHT).label
        assert label.width_mm == room - 2 * LABEL_CLEAR_MM


def test_lettering_of_a_soaker_stands_as_far_from_its_folds_as_from_its_edges():
    survey = Soakers(head(), 7, 190.0, 75.0, 100.0, 25.0, 100.0)
    label = soaker(survey).label
    room = (survey.length_mm - survey.turn_down_mm, survey.roof_mm)
    assert label.corner == (LABEL_CLEAR_MM, LABEL_CLEAR_MM)
    assert (label.width_mm, label.height_mm) == pytest.approx([size - 2 * LABEL_CLEAR_MM for size in room])


def test_lettering_of_steps_stands_between_their_plumb_ends_at_every_height_or_on_their_cover():
    """1500 mm at 35 degrees: the lower end leans in by 65 tan 35 = 45.5 mm on the way up to the water line."""
    label, lean = whole(develop(steps())[0]).label, 65.0 * rising(35.0)
    assert label.corner == pytest.approx((lean + LABEL_CLEAR_MM, LABEL_CLEAR_MM))
    assert label.width_mm == pytest.approx(1500.0 - lean - 2 * LABEL_CLEAR_MM)
    covered = whole(develop(steps(cover_mm=150.0, stock_widths_mm=(330.0,)))[0]).label
    assert covered.height_mm == pytest.approx(150.0 - 2 * LABEL_CLEAR_MM)


def test_lettering_of_a_shape_of_ones_own_may_stand_in_its_foot():
    """An L with more room in its foot, of 1200 by 300, than in its stem, of 100 by 900."""
    ring = ((0.0, 0.0), (1200.0, 0.0), (1200.0, 300.0), (100.0, 300.0), (100.0, 900.0), (0.0, 900.0))
    label = outline(PlainOutline(head(), ring, (), (), (), False)).label
    assert label.corner == (LABEL_CLEAR_MM, LABEL_CLEAR_MM)
    assert label.width_mm == pytest.approx(1200.0 - 2 * LABEL_CLEAR_MM)


def test_lettering_of_every_length_of_an_apron_stays_on_it():
    survey = Apron(head(), 35.0, 2800.0, 150.0, 100.0, 150.0, 25.0, CornerWork.BOSSED)
    lengths, _ = split(job_of(survey), survey, develop(survey)[0])
    assert len(lengths) == 3
    for label, ring in ((piece.pattern.label, piece.pattern.outline) for piece in lengths):
        assert label.corner[0] + label.width_mm < max(x for x, _ in ring)


@pytest.mark.parametrize(("right", "top"), [(130.0, 900.0), (430.0, 600.0)])
def test_a_shape_of_ones_own_is_as_long_as_its_longer_side_wherever_it_is_drawn(right, top):
    ring = ((30.0, 500.0), (right, 500.0), (right, top), (30.0, top))
    assert outline(PlainOutline(head(), ring, (), (), (), False)).length_mm == 400.0


@pytest.mark.parametrize(("bend_deg", "way"), [(0.5, FoldWay.FORWARD), (-0.5, FoldWay.BACK)])
def test_a_fold_of_half_a_degree_goes_its_own_way(bend_deg, way):
    fold = Bend("edge", FoldUse.OUTER_EDGE, 0.0, bend_deg).fold((0.0, 0.0), (100.0, 0.0))
    assert (fold.way, fold.angle_deg) == (way, 0.5)


@pytest.mark.parametrize(
    ("detail", "long_mm"),
    [  # Derived: the length and two laps of 200 and of 150, in three
        ({"kind": "valley gutter", "length": 3302, "other_pitch": 30}, 1234.0),
        ({"kind": "secret gutter", "length": 3300, "hands": "left"}, 1200.0),
    ],
)
def test_gutters_are_divided_into_even_lengths(detail, long_mm):
    pieces = plan([{"name": "Range", "pitch": 30, "detail": [detail]}]).pieces
    assert [piece.pattern.length_mm for piece in pieces] == pytest.approx([long_mm] * 3)


@pytest.mark.parametrize(("width", "found"), [(400, ["the lead reaches 200 mm, and the crest"]), (404, [])])
def test_each_half_of_a_valley_reaches_beyond_the_crest_of_its_fillet(width, found):
    """Source: from memory, unverified (25 mm beyond the crest, which lies 175 mm along the lead)."""
    valley = {"kind": "valley gutter", "length": 3000, "other_pitch": 30, "width": width}
    told = [f.found for f in plan([{"name": "Range", "pitch": 30, "detail": [valley]}]).findings if f.code == "CP412"]
    assert [text.partition(" of the")[0] for text in told] == found


@pytest.mark.parametrize(
    ("more", "course", "before", "after"),
    [
        ({"slope": 35, "hands": "right"}, Course.UP, "length below", "length above"),
        ({}, Course.LEVEL, "length on the left", "length on the right"),
    ],
)
def test_marks_of_a_cover_flashing_say_which_way_its_lengths_go_on(more, course, before, after):
    cover = {"kind": "cover flashing", "length": 3300, **more}
    pieces = plan([{"name": "Range", "pitch": 30, "detail": [cover]}]).pieces
    assert {piece.pattern.course for piece in pieces} == {course}
    ends, starts = f"lap: end of the {before}", f"lap: start of the {after}"
    assert [[mark.name for mark in piece.pattern.marks] for piece in pieces] == [[starts], [ends, starts], [ends]]
