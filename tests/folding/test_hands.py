"""A piece is of the hand that was ordered, its mirror image line by line, and its lettering stands on its lead."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from cutpath.families.registry import develop
from cutpath.folding.hands import box_corners, hand_gaps, mirror_gaps
from cutpath.pieces import split
from cutpath.values.leadwork import CornerKind, CornerReturn
from cutpath.values.pattern import FoldWay, LabelBox
from cutpath.values.survey import Hand
from tests.families.specimens import head, steps
from tests.properties.surveys import job_of

RETURN = CornerReturn(CornerKind.INTEGRAL, 120.0, None, 0.0)
HOLE = ((60.0, 20.0), (70.0, 20.0), (65.0, 30.0))


@pytest.fixture(scope="module")
def hands():
    """A right hand and a left one, each with a hole."""
    survey = steps(head=head(Hand.RIGHT, Hand.LEFT, longest_mm=2000.0), corner=RETURN)
    (right, left), _ = split(job_of(survey), survey, develop(survey)[0])
    width = max(x for x, _ in right.pattern.outline)
    mirrored = tuple((width - x, y) for x, y in HOLE)
    return (
        replace(right, pattern=replace(right.pattern, holes=(HOLE,))),
        replace(left, pattern=replace(left.pattern, holes=(mirrored,))),
    )


def out(gaps):
    return {gap.what: gap.mm for gap in gaps if gap.mm > 1e-6}


def first_moved(things, by=2.0):
    """A row of points with the first a little further up."""
    (x, y), *rest = things
    return ((x, y + by), *rest)


def test_a_left_hand_is_the_mirror_image_of_the_right(hands):
    right, left = (piece.pattern for piece in hands)
    gaps = mirror_gaps(right, left)
    assert out(gaps) == {}
    assert {"its outline is no mirror image", "its hole 1 is no mirror image", "its lettering is no mirror image"} < {
        gap.what for gap in gaps
    }


def with_first(pattern, name, **changes):
    """A pattern with the first of its folds, snips, stations or marks another."""
    first, *rest = getattr(pattern, name)
    changed = {key: change(getattr(first, key)) for key, change in changes.items()}
    return replace(pattern, **{name: (replace(first, **changed), *rest)})


WIDTH = "its folds, snips and points are not those of the right hand"


@pytest.mark.parametrize(
    ("spoil", "told", "mm"),
    [
        (lambda p: replace(p, outline=first_moved(p.outline)), "its outline is no mirror image", 2.0),
        (lambda p: replace(p, holes=(first_moved(p.holes[0]),)), "its hole 1 is no mirror image", 2.0),
        (lambda p: replace(p, holes=()), "its holes are not those of the right hand", None),
        (
            lambda p: replace(p, label=replace(p.label, corner=(p.label.corner[0] + 3.0, p.label.corner[1]))),
            "its lettering is no mirror image",
            3.0,
        ),
        (
            lambda p: with_first(p, "folds", angle_deg=lambda a: a - 1),
            "its folds bend differently from the right hand's",
            None,
        ),
        (
            lambda p: with_first(p, "folds", way=lambda w: FoldWay.BACK if w is FoldWay.FORWARD else FoldWay.FORWARD),
            "its folds bend differently from the right hand's",
            None,
        ),
        (lambda p: replace(p, folds=p.folds[1:]), WIDTH, None),
        (lambda p: replace(p, stations=p.stations[:-1]), WIDTH, None),
    ],
)
def test_what_is_no_mirror_image_is_named_with_how_far_it_is_out(hands, spoil, told, mm):
    right, left = (piece.pattern for piece in hands)
    width = max(x for x, _ in right.outline)
    assert out(mirror_gaps(right, spoil(left)))[told] == pytest.approx(width if mm is None else mm)


@pytest.mark.parametrize("name", ["folds", "snips", "stations"])
def test_a_line_that_is_no_mirror_image_is_named(hands, name):
    right, left = (piece.pattern for piece in hands)
    first = getattr(left, name)[0]
    key = {"folds": "start", "snips": "points", "stations": "at"}[name]
    spoilt = with_first(left, name, **{key: lambda p: first_moved(p) if key == "points" else (p[0], p[1] - 2.0)})
    assert out(mirror_gaps(right, spoilt)) == {f"its '{first.name}' is no mirror image": pytest.approx(2.0)}


def test_lettering_may_stand_elsewhere_where_lap_marks_do(hands):
    right, left = (piece.pattern for piece in hands)
    elsewhere = replace(left, label=replace(left.label, corner=(0.0, 0.0)), marks=left.marks[1:])
    told = out(mirror_gaps(right, elsewhere))
    assert "its lettering is no mirror image" not in told
    moved = with_first(left, "marks", points=first_moved)
    assert "its lettering is no mirror image" not in {gap.what for gap in mirror_gaps(right, moved)}


def test_each_piece_is_of_the_hand_it_was_ordered_in(hands):
    size = max(max(p[k] for p in hands[0].pattern.outline) for k in (0, 1))
    for piece, other in (hands, hands[::-1]):
        assert out(hand_gaps(piece, second_gusset=False)) == {}
        wrong = hand_gaps(replace(piece, pattern=other.pattern), second_gusset=False)
        assert out(wrong) == {"it is made for the other hand": pytest.approx(size)}
        plain = replace(piece, hand=None)
        assert bool(out(hand_gaps(plain, second_gusset=False))) == piece.pattern.mirrored
        assert bool(out(hand_gaps(plain, second_gusset=True))) != piece.pattern.mirrored


def lettered(piece, corner, width=40.0, height=10.0, turn=0.0):
    label = LabelBox(corner, turn, width, height)
    return out(hand_gaps(replace(piece, pattern=replace(piece.pattern, label=label)), second_gusset=False))


def test_lettering_stands_on_lead_and_on_no_fold(hands):
    right = hands[0]
    off = {"its lettering stands off the lead": pytest.approx(20.0, abs=0.01)}
    assert lettered(right, (-41.0, 0.0)) == off  # 40 x 10 mm of it: a square of 20 mm
    assert lettered(right, (-41.0, 0.0), height=1.0) == {}
    assert lettered(right, (-41.0, 0.0), height=1.1) != {}
    assert lettered(right, HOLE[0], 10.0, 10.0) != {}
    fold = right.pattern.folds[0]
    length = math.dist(fold.start, fold.end)
    turn = math.degrees(math.atan2(fold.end[1] - fold.start[1], fold.end[0] - fold.start[0]))
    along = (fold.end[0] - fold.start[0]) / length, (fold.end[1] - fold.start[1]) / length
    corner = fold.start[0] + along[1] * 2.0, fold.start[1] - along[0] * 2.0
    assert lettered(right, corner, length, 4.0, turn)["its lettering stands on a fold"] == pytest.approx(
        length, abs=0.01
    )


def test_corners_of_lettering_that_is_turned():
    assert box_corners(LabelBox((5.0, 6.0), 0.0, 4.0, 3.0)) == ((5.0, 6.0), (9.0, 6.0), (9.0, 9.0), (5.0, 9.0))
    turned = box_corners(LabelBox((5.0, 6.0), 90.0, 4.0, 3.0))
    assert [pytest.approx(p) for p in ((5.0, 6.0), (5.0, 10.0), (2.0, 10.0), (2.0, 6.0))] == list(turned)
