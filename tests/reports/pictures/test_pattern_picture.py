"""Flat patterns as drawn: true to scale, every size given once and where it belongs, figures clear of each other."""

import math
import re
from functools import cache
from itertools import combinations, pairwise
from xml.etree import ElementTree as ET

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from cutpath import pipeline
from cutpath.paper.dimensions import FIGURE, between, readable_deg, running, spread
from cutpath.paper.ink import Contours, Words
from cutpath.paper.text import millimetres
from cutpath.plane import bounds_mm
from cutpath.reports.account.setting_out import running_dimensions
from cutpath.reports.pictures.pattern_picture import angle_words, fold_groups, pattern_picture
from cutpath.values.pattern import FoldUse, StationUse
from cutpath.values.survey import Hand
from tests.families.test_step_views import filled, planned
from tests.properties.surveys import for_all

FILES = ("chimney", "abutment", "barn-abutment", "whole-chimney", "garden-room", "counter-order", "twin-stack")


@cache
def pieces():
    return [piece for file in FILES for piece in planned(file)[1]]


def read(piece):
    svg, scale, _ = pattern_picture(piece.pattern, piece.id, piece.fixings)
    root = ET.fromstring(svg)  # noqa: S314 - our own text
    group = next(node for node in root if node.get("data-origin"))
    origin = tuple(map(float, group.get("data-origin").split()))
    return root, group, origin, scale


@pytest.mark.parametrize("file", FILES)
def test_outline_is_true_to_scale_and_dimensions_reach_the_whole_blank(file):
    for piece in planned(file)[1]:
        root, group, (x0, y0), scale = read(piece)
        outline = next(node for node in group if node.get("class") == "piece")
        contour = re.findall(r"M([^MZ]*)", outline.get("d"))[0]
        drawn = [tuple(map(float, p.split())) for p in contour.split("L")]
        for (x, y), (px, py) in zip(drawn, piece.pattern.outline, strict=True):
            assert ((x - x0) * scale, (y0 - y) * scale) == pytest.approx((px, py), abs=0.1)
        _, _, length, width = bounds_mm(piece.pattern.outline)
        words = [node.text for node in group if node.tag.endswith("text")]
        assert millimetres(length) in words
        assert millimetres(width) in words
        _, _, wide, high = map(float, root.get("viewBox").split())
        pairs = [p for n in group if n.get("d") for p in re.findall(r"(-?[\d.]+) (-?[\d.]+)", n.get("d"))]
        assert all(0 <= float(x) <= wide and 0 <= float(y) <= high for x, y in pairs)
        assert wide <= 186.0


@pytest.mark.parametrize("file", FILES)
def test_figures_keep_clear_of_each_other_of_edges_and_of_signs(file):
    for piece in planned(file)[1]:
        _, group, _, _ = read(piece)
        boxes = [(n.text, filled(n)) for n in group if n.get("class") == "figure"]
        assert boxes
        for (a, first), (b, second) in combinations(boxes, 2):
            assert first.intersection(second).area < 0.35 * FIGURE**2, (piece.id, a, b)
        solid = [n for n in group if n.get("class") == "piece" or (n.get("class") or "").startswith("fixing")]
        contours = [c for node in solid for c in re.findall(r"M([^MZ]*)", node.get("d"))]
        points = [[tuple(map(float, p.split())) for p in c.split("L")] for c in contours]
        lines = [shapely.LineString([*line, line[0]]) for line in points]
        for text, box in boxes:
            assert all(line.intersection(box).length < 0.5 for line in lines), (piece.id, text)


@pytest.mark.parametrize("file", [*FILES, "chapel", "old-gable"])
def test_a_letter_hides_no_sign(file):
    """A wedge stands in the middle of its fold, where the letter of the fold would stand too."""
    for piece in planned(file)[1]:
        group = read(piece)[1]
        signs = [n.get("d") for n in group if (n.get("class") or "").startswith("fixing")]
        corners = [tuple(map(float, xy)) for d in signs for xy in re.findall(r"([-\d.]+) ([-\d.]+)", d)]
        for box in (filled(n) for n in group if n.get("class") == "letter"):
            assert not box.intersects(shapely.MultiPoint(corners)), piece.id


def test_feet_below_and_heads_above_run_from_the_lower_end():
    for piece in pieces():
        if piece.pattern.family != "step flashing":
            continue
        _, group, _, _ = read(piece)
        upright = [
            n for n in group if n.get("class") == "figure" and (n.get("transform") or "").startswith("rotate(-90")
        ]
        below = {n.text for n in upright if n.get("text-anchor") == "end"}
        above = {n.text for n in upright if n.get("text-anchor") == "start"}
        stations = running_dimensions(piece.pattern)
        assert {millimetres(at[0]) for station, at in stations if station.use is StationUse.RISER_FOOT} <= below
        assert {
            millimetres(at[0])
            for station, at in stations
            if station.use is StationUse.START and station.fold is FoldUse.STEP_TURN_IN
        } <= above


def test_depth_of_askew_turn_ins_is_given_and_joints_and_risers_have_their_angles():
    """Joints stand at the pitch to the straight edge, plumb risers at 90 less the pitch."""
    piece = next(p for p in planned("chimney")[1] if p.pattern.family == "step flashing" and p.hand is Hand.RIGHT)
    words = [n.text for n in read(piece)[1] if n.get("class") == "figure"]
    assert "25" in words
    assert angle_words(piece.pattern) == "joints at 40° to the straight edge, risers at 50° to the straight edge"
    apron = next(p for p in planned("chimney")[1] if p.pattern.family == "apron")
    assert angle_words(apron.pattern) == ""
    uneven = next(p for p in planned("abutment")[1] if p.pattern.family == "step flashing")
    assert re.match(r"joints at [\d.]+° to [\d.]+° to", angle_words(uneven.pattern))


def test_every_fold_carries_the_letter_of_its_legend():
    for piece in pieces():
        letters = [n.text for n in read(piece)[1] if n.get("class") == "letter"]
        groups = fold_groups(piece.pattern)
        assert sorted(letters) == sorted(g.letter for g in groups for _ in g.folds)
        assert all(f"{g.way} " in g.words for g in groups)


@for_all(st.lists(st.floats(0, 100), min_size=1, max_size=20), st.floats(0.5, 5))
def test_spread_keeps_apart_in_order_and_moves_nothing_without_need(places, apart):
    places = sorted(places)
    moved = spread(places, apart)
    assert all(b - a >= apart - 1e-6 for a, b in pairwise(moved))
    assert sum(moved) == pytest.approx(sum(places), abs=1e-6)
    if all(b - a >= apart for a, b in pairwise(places)):
        assert moved == pytest.approx(places, abs=1e-6)


@given(st.floats(-360, 360))
def test_figures_are_never_upside_down(turn):
    shown = readable_deg(turn)
    assert -90.0 - 1e-6 <= shown < 90.0
    assert math.isclose(math.sin(math.radians(2 * (shown - turn))), 0.0, abs_tol=1e-6)


@given(st.floats(2, 80), st.floats(-180, 180))
def test_a_dimension_stands_off_and_ends_at_its_points(size, turn):
    a = (10.0, 20.0)
    d = (math.cos(math.radians(turn)), math.sin(math.radians(turn)))
    b = (a[0] + size * d[0], a[1] + size * d[1])
    off = (-d[1] * 6.0, d[0] * 6.0)
    inks = between(a, b, off, "123")
    tips = [ink.points[0] for ink in inks if isinstance(ink, Contours) and ink.class_ == "arrow"]
    assert tips == [pytest.approx((p[0] + off[0], p[1] + off[1])) for p in (a, b)]
    (dimension,) = [ink for ink in inks if isinstance(ink, Contours) and ink.class_ == "dimension"]
    line = shapely.LineString(dimension.points)
    assert all(line.distance(shapely.Point(tip)) < 1e-6 for tip in tips)
    (figure,) = [ink for ink in inks if isinstance(ink, Words)]
    assert not Polygon(figure.points).buffer(-0.05).intersects(line)


def test_running_dimensions_begin_with_a_circle_and_point_away_from_it():
    inks = running((0.0, 0.0), (1.0, 0.0), (0.0, 1.0), [((10.0, -5.0), "100"), ((30.0, -8.0), "300")])
    assert sum(isinstance(i, Contours) and i.class_ == "origin" for i in inks) == 1
    arrows = [i.points for i in inks if isinstance(i, Contours) and i.class_ == "arrow"]
    assert [points[0] for points in arrows] == [(10.0, 0.0), (30.0, 0.0)]
    assert all(points[1][0] < points[0][0] for points in arrows)
    assert [i.text for i in inks if isinstance(i, Words)] == ["0", "100", "300"]


def test_a_plain_outline_is_figured_at_every_corner_and_round_its_holes():
    """The trapezium of the counter order has its upper corners at 40 and 260, the plate its hole from 145 to 265 up."""
    found = {
        p.id: [n.text for n in read(p)[1] if n.get("class") == "figure"]
        for p in pieces()
        if p.pattern.family == "plain shape"
    }
    assert {"40", "260", "300", "180"} <= set(found["C4-P2-1"])
    assert {"170", "290", "450", "145", "265", "350", "400"} <= set(found["C4-P1-1"])


def test_a_lead_slate_is_figured_up_to_its_hole_and_a_sleeve_at_its_lowest_and_highest():
    for piece in pieces():
        words = {n.text for n in read(piece)[1] if n.get("class") == "figure"}
        stations = {s.use: s.at[1] for s in piece.pattern.stations}
        if StationUse.HOLE_LOW in stations:
            assert {millimetres(stations[use]) for use in (StationUse.HOLE_LOW, StationUse.HOLE_HIGH)} <= words
        feet = [s.at[1] for s in piece.pattern.stations if s.use is StationUse.SLEEVE_FOOT]
        assert {millimetres(end) for end in (min(feet), max(feet))} <= words if feet else True


@pytest.mark.parametrize("detail", [{"kind": "back gutter", "width": 1090}, {"kind": "valley gutter", "length": 1216}])
def test_letters_of_folds_that_lie_close_do_not_run_into_each_other(detail):
    """Foot and crest of a fillet are 35 mm apart: 1.8 mm on paper at 1 : 20."""
    for piece in pipeline.plan([{"name": "Close", "pitch": 45, "detail": [detail]}]).pieces:
        boxes = [filled(n) for n in read(piece)[1] if n.get("class") == "letter"]
        assert boxes
        assert all(one.disjoint(other) for one, other in combinations(boxes, 2)), piece.id
