from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from cutpath.drawing.overlap import overlaps, segments_of
from cutpath.drawing.preflight import common_cuts
from cutpath.drawing.sheet import copy_name, draw, pattern_strokes, placer
from cutpath.values.drawing import LETTERING, Role
from cutpath.values.nest import Offcut, Placement
from cutpath.values.pattern import Fold, FoldUse, FoldWay, Mark, MarkKind, Snip
from tests.drawing.specimens import PIECES, full_sheet, holed, place, sheet, sheets, soaker, stepped
from tests.properties.surveys import for_all


def moved(geometry, placement):
    """Place a geometry by shapely's own transformations."""
    if placement.flipped:
        geometry = affinity.scale(geometry, -1, 1, origin=(0, 0))
    turned = affinity.rotate(geometry, placement.turn_deg, origin=(0, 0))
    return affinity.translate(turned, placement.x_mm, placement.y_mm)


def of(drawing, role, name=None):
    return [s for s in drawing.strokes if s.role is role and (name is None or s.piece == name)]


@given(
    st.sampled_from([0.0, 90.0, 180.0, 270.0, -90.0, 360.0, 17.25]),
    st.booleans(),
    st.floats(-1e4, 1e4),
    st.floats(-1e4, 1e4),
    st.tuples(st.floats(-1500, 1500), st.floats(-600, 600)),
)
def test_a_point_lands_where_shapely_puts_it(turn, flipped, x, y, point):
    placement = Placement("A", 1, turn, flipped, x, y)
    expected = moved(shapely.Point(point), placement)
    assert placer(placement)(point) == pytest.approx((expected.x, expected.y), abs=1e-9)


def test_half_turns_are_exact():
    place_180 = placer(Placement("A", 1, 180.0, False, 1000.0, 150.0))
    assert place_180((0.1, 65.0)) == (1000.0 - 0.1, 85.0)
    assert placer(Placement("A", 1, 180.0, True, 0.0, 0.0))((3.3, 0.0)) == (3.3, 0.0)


@for_all(sheets())
def test_every_outline_and_hole_is_where_it_belongs(roll):
    drawing = draw(roll, PIECES)
    for placement in roll.nested.placements:
        part = PIECES[placement.id]
        name = copy_name(part, placement.copy)
        (outer,) = of(drawing, Role.OUTER, name)
        holes = [s.points for s in of(drawing, Role.INNER, name) if s.closed]
        expected = moved(shapely.Polygon(part.pattern.outline, part.pattern.holes), placement)
        assert shapely.symmetric_difference(shapely.Polygon(outer.points, holes), expected).area < 1e-3
        assert shapely.LinearRing(outer.points).is_ccw
        assert not any(shapely.LinearRing(h).is_ccw for h in holes)


@given(sheets())
@settings(max_examples=15)
def test_folds_snips_and_marks_move_with_their_piece(roll):
    drawing = draw(roll, PIECES)
    for placement in roll.nested.placements:
        part = PIECES[placement.id]
        name = copy_name(part, placement.copy)
        for role, lines in (
            (Role.FOLD, [(f.start, f.end) for f in part.pattern.folds]),
            (Role.INNER, [s.points for s in part.pattern.snips]),
        ):
            drawn = [s.points for s in of(drawing, role, name) if not s.closed]
            assert len(drawn) == len(lines)
            for line, own in zip(drawn, lines, strict=True):
                expected = moved(shapely.LineString(own), placement)
                assert shapely.hausdorff_distance(shapely.LineString(line), expected) < 1e-6


def strokes_by_name(pattern):
    found = {}
    for stroke in pattern_strokes(pattern):
        found.setdefault(stroke.name, []).append(stroke.points)
    return found


def test_a_fold_on_the_outline_is_left_out_and_one_that_runs_on_it_is_shortened():
    pattern = replace(
        soaker(200.0, 100.0),
        folds=(
            Fold("on edge", FoldUse.OWN, (0.0, 0.0), (200.0, 0.0), 90.0, FoldWay.BACK),
            Fold("over", FoldUse.OWN, (0.0, 50.0), (200.0, 50.0), 90.0, FoldWay.BACK),
        ),
        snips=(Snip("snip", ((200.0, 50.0), (150.0, 50.0))),),
        marks=(Mark("lap", MarkKind.LAP, ((0.0, 100.0), (0.0, 50.0), (80.0, 50.0), (80.0, 20.0))),),
    )
    found = strokes_by_name(pattern)
    assert "on edge" not in found
    assert found["snip"] == [((200.0, 50.0), (150.0, 50.0))]
    assert found["over"] == [((0.0, 50.0), (150.0, 50.0))]
    assert found["lap"] == [((80.0, 50.0), (80.0, 20.0))]


def test_a_mark_with_a_fold_in_its_middle_falls_into_two_parts():
    pattern = replace(
        soaker(200.0, 100.0),
        folds=(Fold("f", FoldUse.OWN, (50.0, 40.0), (90.0, 40.0), 90.0, FoldWay.BACK),),
        marks=(Mark("w", MarkKind.WATER_LINE, ((10.0, 40.0), (120.0, 40.0), (120.0, 60.0))),),
    )
    assert strokes_by_name(pattern)["w"] == [
        ((10.0, 40.0), (50.0, 40.0)),
        ((90.0, 40.0), (120.0, 40.0), (120.0, 60.0)),
    ]


def test_closed_contours_stay_whole_even_where_they_meet():
    hole = ((0.0, 20.0), (0.0, 60.0), (30.0, 60.0), (30.0, 20.0))
    outline, kept, *_ = pattern_strokes(replace(soaker(), holes=(hole,)))
    assert (outline.closed, kept.closed, kept.points) == (True, True, hole)


@given(sheets())
@settings(max_examples=15)
def test_no_line_of_a_piece_is_drawn_twice(roll):
    drawing = draw(roll, PIECES)
    for name in {s.piece for s in drawing.strokes}:
        mine = [s for s in drawing.strokes if s.piece == name]
        assert overlaps([g for s in mine for g in segments_of(s.points, closed=s.closed)], 1e-6) == ()


def test_order_is_marks_folds_inner_outer_reference_along_the_roll():
    drawing = draw(full_sheet(), PIECES)
    roles = [s.role for s in drawing.strokes]
    assert roles == sorted(roles, key=list(Role).index)
    left = [min(x for x, _ in s.points) for s in of(drawing, Role.OUTER)]
    assert left == sorted(left)
    assert len(left) == len(full_sheet().nested.placements)


def test_a_piece_in_a_hole_is_cut_before_the_hole():
    roll = sheet([place("B-P1-1", 1), place("B-A1-G1", 1, left=80.0, low=80.0)])
    cuts = [(s.role, s.piece) for s in draw(roll, PIECES).strokes if s.role in (Role.INNER, Role.OUTER)]
    assert cuts.index((Role.OUTER, "B-A1-G1/1")) < cuts.index((Role.INNER, "B-P1-1"))
    assert cuts[-1] == (Role.OUTER, "B-P1-1")


def test_what_is_beside_the_roll_keeps_the_rolls_corner_the_drawings_corner():
    drawing = draw(full_sheet(), PIECES, caution="never score a fold")
    points = [p for s in drawing.strokes for p in s.points]
    assert (min(x for x, _ in points), min(y for _, y in points)) == (0.0, 0.0)
    assert (drawing.length_mm, drawing.width_mm) == (2650.0, 450.0)
    bar = max(
        (s for s in of(drawing, Role.REFERENCE) if s.name == "check bar"),
        key=lambda s: shapely.LineString(s.points).length,
    )
    assert shapely.LineString(bar.points).length == 100.0
    assert min(y for _, y in bar.points) > 450.0
    (cross,) = of(drawing, Role.CROSS)
    assert sorted(cross.points) == [(2650.0, 0.0), (2650.0, 450.0)]
    assert len(draw(full_sheet(), PIECES).strokes) < len(drawing.strokes)


def test_a_kept_offcut_is_marked_without_drawing_the_roll_twice():
    roll = sheet([place("A-K1-1", 1)], drawn=700.0, offcuts=[Offcut(190.0, 0.0, 510.0, 450.0)])
    (kept,) = of(draw(roll, PIECES), Role.KEPT)
    assert sorted(kept.points) == [(190.0, 0.0), (190.0, 450.0)]


def test_a_whole_roll_ends_at_its_cross_cut():
    drawing = draw(sheet([place("A-K1-1", 1)], length=500.0), PIECES)
    assert max(x for s in of(drawing, Role.REFERENCE) if s.name == "roll edge" for x, _ in s.points) == 500.0


def test_the_same_roll_gives_the_same_drawing():
    assert draw(full_sheet(), PIECES) == draw(full_sheet(), dict(reversed(PIECES.items())))


def test_an_empty_roll_has_only_what_stands_beside_it():
    assert {s.role for s in draw(sheet([], drawn=500.0), {}).strokes} == {
        Role.SQUARING,
        Role.CROSS,
        Role.REFERENCE,
    }


def test_a_piece_that_is_not_there_is_an_error():
    with pytest.raises(KeyError):
        draw(full_sheet(), {})


def test_coordinates_have_no_minus_zero():
    drawing = draw(sheet([Placement("A-K1-1", 1, 0.0, False, -1e-9, -1e-9)]), PIECES)
    assert not any(str(c) == "-0.0" for s in drawing.strokes for p in s.points for c in p)


def test_strokes_of_a_pattern_are_named():
    names = [s.name for s in pattern_strokes(holed())]
    assert names == ["outline", "hole 1", "hole 2", "corner A", "corner B"]
    assert {s.name for s in pattern_strokes(stepped(2))} == {
        "outline",
        "snip 1",
        "joint 1",
        "joint 2",
        "water line",
        "lap",
    }
    assert LETTERING not in names


@for_all(sheets())
def test_its_cuts_alone_are_those_of_the_whole_drawing(roll):
    whole, cuts = draw(roll, PIECES), draw(roll, PIECES, cuts_only=True)
    assert cuts.strokes == tuple(s for s in whole.strokes if s.role in (Role.INNER, Role.OUTER))
    assert cuts.unlettered == whole.unlettered
    assert common_cuts(cuts) == common_cuts(whole)
