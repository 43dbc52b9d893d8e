"""What holds for every flat pattern, whatever was measured."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest
from shapely import LineString, Point, Polygon
from shapely.geometry import LinearRing

from cutpath.families.frame import mirror_image
from cutpath.values.leadwork import CornerKind, EndCut
from cutpath.values.pattern import EdgeUse, MarkKind
from cutpath.values.survey import Hand
from tests.properties.measure import (
    NEAR_MM,
    across_slope,
    along_slope,
    edges_of,
    gap,
    head_on_wall,
    shared_length,
    to_wall,
    toe_on_wall,
)
from tests.properties.surveys import details, for_all, pieces_of, step_flashings


def joint_of(survey, name):
    number = int(name.rsplit(" ", 1)[1])
    return next(j for j in survey.joints if j.number == number)


def off_joint(joint, point):
    return abs(point[1] - joint.y_mm - joint.slope * point[0]) / math.hypot(1, joint.slope)


@for_all(step_flashings())
def test_every_turn_in_folds_on_its_bed_joint(survey):
    for piece in pieces_of(survey):
        folds = [f for f in piece.pattern.folds if f.name.startswith("turn-in")]
        assert folds
        for fold in folds:
            joint = joint_of(survey, fold.name)
            for point in to_wall(piece.pattern, (fold.start, fold.end), survey.pitch_deg):
                assert off_joint(joint, point) <= NEAR_MM
        for fold in piece.pattern.folds:
            if fold.name.startswith("return turn-in"):
                level = joint_of(survey, fold.name).y_mm  # the next face's joint is level
                for _, y in to_wall(piece.pattern, (fold.start, fold.end), survey.pitch_deg):
                    assert y == pytest.approx(level, abs=NEAR_MM)


def at_upper_end(survey, point):
    if survey.upper_end is EndCut.SQUARE:
        return abs(along_slope(point, survey.pitch_deg) - survey.slope_mm) <= NEAR_MM
    return abs(point[0] - survey.slope_mm * math.cos(math.radians(survey.pitch_deg))) <= NEAR_MM


@for_all(step_flashings())
def test_folds_reach_from_the_head_of_their_riser_to_the_water_line(survey):
    for piece in pieces_of(survey):
        folds = [f for f in piece.pattern.folds if f.name.startswith("turn-in")]
        ends = {f.name: to_wall(piece.pattern, (f.start, f.end), survey.pitch_deg) for f in folds}
        for fold in folds:
            joint = joint_of(survey, fold.name)
            toe = ends[fold.name][1]
            if gap(toe, toe_on_wall(survey, joint)) > NEAR_MM:  # only the upper end cuts a fold off sooner
                assert fold is folds[-1]
                assert at_upper_end(survey, toe)
            assert across_slope(toe, survey.pitch_deg) >= survey.water_line_mm - NEAR_MM
        for low, high in pairwise(folds):
            foot = toe_on_wall(survey, joint_of(survey, low.name))
            head = head_on_wall(survey, joint_of(survey, high.name), foot)
            assert gap(ends[high.name][0], head) <= NEAR_MM
        if piece.number == 1:
            assert ends[folds[0].name][0][0] == pytest.approx(survey.set_back_mm, abs=NEAR_MM)


@for_all(step_flashings())
def test_nothing_is_cut_below_the_water_line(survey):
    p, r = math.radians(survey.pitch_deg), math.radians(survey.riser_deg)
    for piece in pieces_of(survey):
        pattern = piece.pattern
        for snip in pattern.snips:
            for point in to_wall(pattern, snip.points, survey.pitch_deg):
                # A return that turns into a lower joint is freed by a cut down the arris, beyond the steps.
                at_arris = survey.corner.kind is not CornerKind.NONE and abs(point[0]) <= NEAR_MM
                assert at_arris or across_slope(point, survey.pitch_deg) >= survey.water_line_mm - NEAR_MM
        ring = to_wall(pattern, pattern.outline, survey.pitch_deg)
        roof = next(e for e, edge in zip(edges_of(ring), pattern.edges, strict=True) if edge.use is EdgeUse.ROOF_LINE)
        low, high = sorted(roof)
        plumb, riser = (0.0, 1.0), (math.cos(r), math.sin(r))
        square = (-math.sin(p), math.cos(p))
        starts = plumb if abs(low[0] - survey.set_back_mm) <= NEAR_MM else riser
        top = math.hypot(*high) >= survey.slope_mm - NEAR_MM
        ends = (plumb if survey.upper_end is EndCut.PLUMB else square) if top else riser

        def at_water(foot, way):
            t = survey.water_line_mm / across_slope(way, survey.pitch_deg)
            return (foot[0] + way[0] * t, foot[1] + way[1] * t)

        band = Polygon([low, high, at_water(high, ends), at_water(low, starts)])
        assert band.difference(Polygon(ring)).area <= 1e-3


@for_all(step_flashings())
def test_risers_stand_at_their_angle(survey):
    for piece in pieces_of(survey):
        ring = to_wall(piece.pattern, piece.pattern.outline, survey.pitch_deg)
        steps = sum(f.name.startswith("turn-in") for f in piece.pattern.folds)
        risers = [e for e, edge in zip(edges_of(ring), piece.pattern.edges, strict=True) if edge.use is EdgeUse.RISER]
        assert len(risers) == steps - 1
        for risen in risers:
            (x0, y0), (x1, y1) = sorted(risen, key=lambda point: point[1])
            assert math.degrees(math.atan2(y1 - y0, x1 - x0)) == pytest.approx(survey.riser_deg, abs=1e-5)


@for_all(details)
def test_the_outline_is_simple_and_everything_lies_inside_it(detail):
    for piece in pieces_of(detail):
        pattern = piece.pattern
        sheet = Polygon(pattern.outline, pattern.holes)
        assert sheet.is_valid
        assert LinearRing(pattern.outline).is_ccw
        assert not any(LinearRing(h).is_ccw for h in pattern.holes)
        assert len(pattern.edges) == len(pattern.outline)
        assert min(gap(a, b) for a, b in edges_of(pattern.outline)) > NEAR_MM
        assert min(x for x, _ in pattern.outline) == pytest.approx(0, abs=1e-9)
        assert min(y for _, y in pattern.outline) == pytest.approx(0, abs=1e-9)
        room = sheet.buffer(NEAR_MM)
        lines = [(f.start, f.end) for f in pattern.folds] + [m.points for m in pattern.marks]
        for line in [*lines, *(s.points for s in pattern.snips)]:
            assert LineString(line).length > NEAR_MM
            assert room.covers(LineString(line))
        for station in pattern.stations:
            assert room.covers(Point(station.at)), station.name
        for snip in pattern.snips:
            assert sheet.boundary.distance(Point(snip.points[0])) <= NEAR_MM
            assert sheet.boundary.distance(Point(snip.points[-1])) > NEAR_MM


@for_all(details)
def test_no_line_is_drawn_twice(detail):
    for piece in pieces_of(detail):
        pattern = piece.pattern
        lines = [edge for ring in (pattern.outline, *pattern.holes) for edge in edges_of(ring)]
        lines += [(f.start, f.end) for f in pattern.folds]
        lines += [pair for s in pattern.snips for pair in pairwise(s.points)]
        lines += [pair for m in pattern.marks for pair in pairwise(m.points)]
        for a, b in combinations(lines, 2):
            assert shared_length(a, b) <= 1e-3


@for_all(details)
def test_the_label_has_room_clear_of_cuts_and_folds(detail):
    for piece in pieces_of(detail):
        pattern, box = piece.pattern, piece.pattern.label
        c, s = math.cos(math.radians(box.turn_deg)), math.sin(math.radians(box.turn_deg))
        x, y = box.corner
        long, high = (box.width_mm * c, box.width_mm * s), (-box.height_mm * s, box.height_mm * c)
        corners = [(x, y), (x + long[0], y + long[1]), (x + long[0] + high[0], y + long[1] + high[1])]
        room = Polygon([*corners, (x + high[0], y + high[1])])
        assert Polygon(pattern.outline, pattern.holes).buffer(NEAR_MM).covers(room)
        for line in [(f.start, f.end) for f in pattern.folds] + [n.points for n in pattern.snips]:
            assert room.distance(LineString(line)) > 1.0
        for mark in pattern.marks:
            if mark.kind is not MarkKind.LAP:  # a short length keeps its label across the lap marks
                assert room.distance(LineString(mark.points)) > 1.0


def close(a, b):
    return len(a) == len(b) and all(gap(p, q) <= 1e-9 for p, q in zip(a, b, strict=True))


@for_all(details)
def test_the_other_hand_is_the_mirror_image(detail):
    for piece in pieces_of(detail):
        pattern = piece.pattern
        other = mirror_image(pattern)
        again = mirror_image(other)
        assert Polygon(other.outline).area == pytest.approx(Polygon(pattern.outline).area, abs=1e-6)
        width = max(x for x, _ in pattern.outline)
        assert {(round(width - x, 6), round(y, 6)) for x, y in pattern.outline} == {
            (round(x, 6), round(y, 6)) for x, y in other.outline
        }
        assert [(f.name, f.angle_deg, f.way) for f in other.folds] == [
            (f.name, f.angle_deg, f.way) for f in pattern.folds
        ]
        assert close(again.outline, pattern.outline)
        assert again.edges == pattern.edges
        assert other.mirrored is not pattern.mirrored
        assert again.mirrored is pattern.mirrored
        lengths = {name: gap(*e) for e, name in zip(edges_of(pattern.outline), pattern.edges, strict=True)}
        for edge, name in zip(edges_of(other.outline), other.edges, strict=True):
            if pattern.edges.count(name) == 1:
                assert gap(*edge) == pytest.approx(lengths[name], abs=1e-6)
        assert all(close(a.points, b.points) for a, b in zip(again.snips, pattern.snips, strict=True))
        assert all(close(a.points, b.points) for a, b in zip(again.marks, pattern.marks, strict=True))
        assert gap(again.label.corner, pattern.label.corner) <= 1e-9


@for_all(step_flashings())
def test_both_hands_of_a_piece_hold_the_same_lead(survey):
    pieces = pieces_of(survey)
    for piece in pieces:
        assert piece.pattern.mirrored is (piece.hand is Hand.LEFT)
    if len(survey.head.hands) == 2:
        right, left = ([p for p in pieces if p.hand is hand] for hand in (Hand.RIGHT, Hand.LEFT))
        for a, b in zip(right, left, strict=True):
            assert Polygon(a.pattern.outline).area == pytest.approx(Polygon(b.pattern.outline).area, abs=1e-6)
            assert a.pattern.length_mm == b.pattern.length_mm
