import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from cutpath.drawing.label import HEIGHTS_MM, label_findings, label_place, label_words
from cutpath.drawing.label import label_strokes as strokes_at
from cutpath.drawing.lettering import letter
from cutpath.drawing.sheet import copy_name, draw
from cutpath.errors import Severity
from cutpath.values.drawing import LETTERING
from cutpath.values.pattern import Fold, FoldUse, FoldWay, LabelBox, Mark, MarkKind, Snip
from cutpath.values.survey import Hand
from tests.drawing.specimens import PIECES, gusset, holed, piece, place, sheet, sheets, soaker, stepped
from tests.drawing.test_sheet import moved
from tests.properties.surveys import for_all


def label_strokes(part, copy, *, flipped):
    return strokes_at(part, copy, label_place(part), flipped=flipped)


def height(strokes):
    """Span of a label square to its box, for a box along x."""
    ys = [y for s in strokes for _, y in s]
    return max(ys) - min(ys)


def with_box(pattern, **box):
    return replace(pattern, label=replace(pattern.label, **box))


def test_the_words_are_number_hand_and_copy():
    assert label_words(piece(soaker(), "A-1", 3, Hand.LEFT), 2) == ("A-1", "left", "2/3")
    assert label_words(piece(soaker(), "A-1", 3, Hand.LEFT), 2, flipped=True) == ("A-1", "left", "face down", "2/3")
    assert label_words(piece(soaker(), "A-1"), 1) == ("A-1",)
    assert label_words(piece(replace(soaker(), folds=()), "A-1"), 1, flipped=True) == ("A-1",)


def test_one_line_of_full_height_where_there_is_room():
    part = piece(with_box(holed(), corner=(20.0, 235.0)), "A-1", 2, Hand.RIGHT)
    strokes = label_strokes(part, 1, flipped=False)
    assert len(strokes) == len(letter("A-1 right 1/2", 10.0))
    assert height(strokes) == pytest.approx(11.2)  # the stroke of the fraction is longer than a capital


@pytest.mark.parametrize(("box_height", "capital"), [(12.0, 10.0), (9.0, 7.0), (6.0, 5.0)])
def test_lettering_shrinks_to_a_low_box(box_height, capital):
    part = piece(with_box(holed(), corner=(20.0, 240.0), width_mm=500.0, height_mm=box_height), "H-1")
    assert height(label_strokes(part, 1, flipped=False)) == pytest.approx(capital)


@pytest.mark.parametrize(("box_width", "capital", "lines"), [(60.0, 10.0, 2), (50.0, 10.0, 3), (30.0, 7.0, 3)])
def test_lettering_takes_more_lines_before_it_shrinks(box_width, capital, lines):
    part = piece(with_box(soaker(190.0, 300.0), corner=(5.0, 5.0), width_mm=box_width), "AH1", 8, Hand.LEFT)
    strokes = label_strokes(part, 8, flipped=False)
    # the last of several lines holds the fraction, which reaches 0.06 of the height above and below
    assert height(strokes) == pytest.approx(capital * (1 + 1.6 * (lines - 1) + 0.06), abs=1e-9)


def test_nothing_fits_and_a_note_says_so_once():
    tiny = piece(plate(12.0, 12.0), "B-A1-G1", 2)
    pieces = {**PIECES, tiny.id: tiny}
    (note,) = label_findings(["B-A1-G1", "B-A1-G1"], pieces)
    assert note.code == "CP411"
    assert note.severity is Severity.NOTE
    assert note.where == tiny.where
    assert "B-A1-G1" in note.found
    assert label_place(tiny) is None


def plate(wide, high):
    outline = ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))
    return replace(
        soaker(), outline=outline, folds=(), label=LabelBox((8.0, 8.0), 0.0, max(wide - 16, 4), max(high - 16, 4))
    )


@pytest.mark.parametrize(
    ("pattern", "quantity", "height_mm", "counted"),
    [
        (plate(60.0, 25.0), 40, 5.0, True),
        (plate(20.0, 20.0), 3, 3.5, True),
        (plate(60.0, 6.0), 40, 3.5, True),
        (plate(32.0, 6.0), 40, 3.5, False),
        (gusset(), 2, 3.5, True),
    ],
)
def test_small_pieces_get_their_number_smaller_or_without_that_of_the_copy(pattern, quantity, height_mm, counted):
    part = piece(pattern, "P-P1-1", quantity)
    found = label_place(part)
    assert (found.height_mm, found.counted) == (height_mm, counted)
    sheet_ = shapely.Polygon(pattern.outline)
    for copy in (1, quantity):
        letters = shapely.MultiLineString(list(label_strokes(part, copy, flipped=False)))
        assert sheet_.buffer(-0.5).covers(letters)
    assert label_words(part, quantity, counted=counted)[0] == "P-P1-1"


@for_all(sheets())
def test_lettering_lies_in_its_box_clear_of_every_line(roll):
    drawing = draw(roll, PIECES)
    for placement in roll.nested.placements:
        part = PIECES[placement.id]
        mine = [s for s in drawing.strokes if s.piece == copy_name(part, placement.copy)]
        inked = [shapely.LineString(s.points) for s in mine if s.name == LETTERING]
        ink = shapely.union_all(inked)
        lines = shapely.union_all(
            [
                shapely.LineString((*s.points, s.points[0]) if s.closed else s.points)
                for s in mine
                if s.name != LETTERING
            ]
        )
        if part.id != "B-A1-G1":
            assert not ink.is_empty
            assert ink.distance(lines) >= 1.0
            b = part.pattern.label
            box = moved(
                shapely.box(b.corner[0], b.corner[1], b.corner[0] + b.width_mm, b.corner[1] + b.height_mm), placement
            )
            count = len(strokes_at(part, placement.copy, label_place(part), flipped=placement.flipped))
            assert box.buffer(1.0).covers(shapely.union_all(inked[-count:]))  # letters of folds come before
            assert moved(shapely.Polygon(part.pattern.outline, part.pattern.holes), placement).covers(ink)


def spin(text_strokes, drawn):
    """Fit drawn = a * text + b over complex numbers, so without a mirror; give a and the largest misfit."""
    z = np.array([complex(*p) for s in text_strokes for p in s])
    w = np.array([complex(*p) for s in drawn for p in s])
    a, b = np.linalg.lstsq(np.stack([z, np.ones_like(z)], axis=1), w, rcond=None)[0]
    return a, np.abs(a * z + b - w).max()


@pytest.mark.parametrize("turn", [0.0, 180.0, 90.0, 17.25])
@pytest.mark.parametrize("flipped", [False, True])
def test_lettering_is_never_mirrored(turn, flipped):
    roll = sheet([place("B-P1-1", 1, turn=turn, flipped=flipped)], width=900.0)
    drawn = [
        (*s.points, s.points[0]) if s.closed else s.points
        for s in draw(roll, PIECES).strokes
        if s.name == LETTERING and s.piece
    ]
    factor, misfit = spin(letter("B-P1-1", 10.0), drawn)
    assert misfit < 1e-5
    assert abs(factor) == pytest.approx(1.0)
    assert math.degrees(np.angle(factor)) % 360 == pytest.approx(turn)  # as if the sheet had not been turned over


def test_a_slanting_box_slants_its_lettering():
    pattern = replace(soaker(400.0, 300.0), folds=(), label=LabelBox((100.0, 50.0), 30.0, 200.0, 40.0))
    factor, misfit = spin(letter("A-1", 10.0), label_strokes(piece(pattern, "A-1"), 1, flipped=False))
    assert misfit < 1e-9
    assert math.degrees(np.angle(factor)) == pytest.approx(30.0)


@pytest.mark.parametrize("kind", ["fold", "snip", "mark", "hole"])
def test_lettering_moves_aside_for_a_line_through_the_middle_of_its_box(kind):
    pattern = replace(soaker(300.0, 100.0), folds=(), label=LabelBox((10.0, 10.0), 0.0, 280.0, 80.0))
    line = ((150.0, 0.0), (150.0, 100.0))
    crossed = {
        "fold": replace(pattern, folds=(Fold("f", FoldUse.OWN, *line, 90.0, FoldWay.BACK),)),
        "snip": replace(pattern, snips=(Snip("s", line),)),
        "mark": replace(pattern, marks=(Mark("m", MarkKind.LAP, line),)),
        "hole": replace(pattern, holes=(((149.0, 30.0), (149.0, 70.0), (151.0, 70.0), (151.0, 30.0)),)),
    }[kind]
    middle = shapely.LineString([(150.0, 30.0), (150.0, 70.0)])
    plain = shapely.MultiLineString(list(label_strokes(piece(pattern), 1, flipped=False)))
    aside = shapely.MultiLineString(list(label_strokes(piece(crossed), 1, flipped=False)))
    assert shapely.box(*plain.bounds).intersects(middle)
    assert shapely.box(*aside.bounds).distance(middle) > 1.0


def test_heights_go_down():
    assert HEIGHTS_MM == (10.0, 7.0, 5.0)


def test_a_step_flashings_letters_stand_below_its_water_line():
    ys = [y for s in label_strokes(piece(stepped()), 1, flipped=False) for _, y in s]
    assert min(ys) > 0
    assert max(ys) < 65


def test_every_copy_is_lettered_on_as_many_lines_at_the_same_height():
    pattern = replace(soaker(300.0, 300.0), folds=(), label=LabelBox((5.0, 5.0), 0.0, 110.0, 200.0))
    part = piece(pattern, "A-K1", 12, Hand.LEFT)  # "left 1/12" fits beside the number, "left 12/12" does not
    strokes = [label_strokes(part, copy, flipped=False) for copy in (1, 9, 10, 12)]
    assert len({round(height(s), 6) for s in strokes}) == 1
    assert all(5.0 <= x <= 115.0 for s in strokes for stroke in s for x, _ in stroke)


def test_the_number_stands_above_what_follows():
    part = piece(with_box(soaker(190.0, 300.0), width_mm=60.0, height_mm=200.0), "AH1", 8, Hand.LEFT)
    strokes = label_strokes(part, 8, flipped=False)
    number = strokes[: len(letter("AH1", 10.0))]
    rest = strokes[len(number) :]
    assert min(y for s in number for _, y in s) > max(y for s in rest for _, y in s)
