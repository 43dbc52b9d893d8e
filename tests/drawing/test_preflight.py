from dataclasses import replace

import pytest
from hypothesis import given, settings

from cutpath.drawing.preflight import common_cuts, preflight, shared_cuts
from cutpath.drawing.sheet import draw
from cutpath.errors import Severity, faults
from cutpath.values.drawing import Drawing, Role, Stroke
from tests.drawing.specimens import PIECES, full_sheet, place, sheet, sheets

SQUARE = Stroke(
    Role.OUTER, ((0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (0.0, 50.0)), closed=True, piece="A", name="outline"
)


def _counted(*drawings):
    return {made.title: common_cuts(made) for made in drawings}


def drawing(*strokes):
    return Drawing("code4-01", 1000.0, 450.0, strokes)


def line(*points, role=Role.FOLD, piece="A", name="line"):
    return Stroke(role, tuple((float(x), float(y)) for x, y in points), closed=False, piece=piece, name=name)


def closed(*points, role=Role.OUTER, piece="A"):
    return Stroke(role, tuple((float(x), float(y)) for x, y in points), closed=True, piece=piece, name="outline")


@pytest.mark.parametrize(
    ("stroke", "words"),
    [
        (line((0, 0), (float("nan"), 5)), "not a number"),
        (line((0, 0), (float("inf"), 5)), "not a number"),
        (line((5, 5)), "1 point"),
        (line(), "0 point"),
        (line((5, 5), (5, 5)), "no length"),
        (line((5, 5), (9, 9), (9, 9 + 1e-9)), "no length"),
        (closed((0, 0), (50, 0)), "2 point"),
        (closed((0, 0), (50, 0), (50, 50), (0, 0)), "first point is repeated"),
        (closed((0, 0), (50, 50), (50, 0), (0, 50)), "crosses or touches itself"),
        (closed((0, 0), (50, 0), (25, 0)), "crosses or touches itself"),
        (line((0, 100), (50, 100), (50, 150), (25, 80), role=Role.INNER), "crosses itself"),
        (closed((0, 0), (1001, 0), (1000, 50)), "outside the sheet"),
        (line((0, 0), (0, -0.01), role=Role.MARK), "outside the sheet"),
        (line((0, 440), (0, 451)), "outside the sheet"),
    ],
)
def test_a_stroke_that_no_machine_should_be_given(stroke, words):
    (fault,) = preflight(drawing(stroke))
    assert fault.code == "CP601"
    assert fault.severity is Severity.FAULT
    assert fault.where == "code4-01"
    assert words in fault.found
    assert stroke.name in fault.found


@pytest.mark.parametrize(
    "strokes",
    [
        (SQUARE, SQUARE),
        (SQUARE, line((0, 0), (50, 0))),
        (SQUARE, line((10, 0), (30, 0), role=Role.MARK)),
        (SQUARE, line((5, 5), (45, 5)), line((45, 5), (5, 5), role=Role.MARK)),
        (line((0, 0), (100, 0), role=Role.REFERENCE, piece=""), line((20, 0), (30, 0), role=Role.REFERENCE, piece="")),
    ],
)
def test_a_line_drawn_twice(strokes):
    found = preflight(drawing(*strokes))
    assert found
    assert all(f.code == "CP601" and "lie on" in f.found for f in found)


def test_reference_lines_may_stand_outside_and_run_on_cuts():
    edge = line((0, 0), (1100, 0), role=Role.REFERENCE, piece="")
    assert preflight(drawing(SQUARE, edge)) == ()


def test_touching_and_crossing_lines_are_fine():
    assert preflight(drawing(SQUARE, line((0, 20), (50, 20)), line((25, 0), (25, 50), role=Role.INNER))) == ()


def test_neighbours_that_share_a_cut_are_counted_and_noted():
    roll = sheet([place("A-K1-1", 1), place("A-K1-1", 2, left=190.0), place("A-K1-1", 3, left=95.0, low=175.0)])
    made = draw(roll, PIECES)
    count, length = common_cuts(made)
    assert (count, length) == (3, pytest.approx(175.0 + 95.0 + 95.0))
    assert preflight(made) == ()
    (note,) = shared_cuts(_counted(made))
    assert (note.code, note.severity, note.where) == ("CP602", Severity.NOTE, made.title)
    assert shared_cuts({made.title: (1, 40.0)}) == (), "said as 0.0 m"
    assert "3 pair" in note.found
    assert "0.4 m" in note.found
    assert "in the file" not in note.found  # there is none where nobody asked for one


def test_shared_cuts_of_many_rolls_make_one_note():
    touching = draw(sheet([place("A-K1-1", 1), place("A-K1-1", 2, left=190.0)]), PIECES)
    alone = draw(sheet([place("A-K1-1", 3)]), PIECES)
    others = [replace(touching, title="code4-02"), replace(alone, title="code4-03")]
    (note,) = shared_cuts(_counted(touching, *others))
    assert note.where == "2 rolls"
    assert "2 pair" in note.found
    assert shared_cuts(_counted(alone)) == ()


def test_a_narrow_slit_in_one_piece_is_not_shared():
    slit = line((5, 5e-5), (45, 5e-5), role=Role.INNER)
    assert common_cuts(drawing(SQUARE, slit)) == (0, 0.0)
    assert common_cuts(drawing(SQUARE, replace(slit, piece="B"))) == (1, pytest.approx(40.0))


def test_a_gap_leaves_nothing_shared():
    roll = sheet([place("A-K1-1", 1), place("A-K1-1", 2, left=190.5)])
    assert common_cuts(draw(roll, PIECES)) == (0, 0.0)


def test_the_full_sheet_passes():
    assert faults(preflight(draw(full_sheet(), PIECES, caution="Never score a fold."))) == ()


@given(sheets())
@settings(max_examples=15)
def test_every_roll_of_specimens_passes_and_none_passes_when_a_piece_sticks_out(roll):
    made = draw(roll, PIECES)
    assert faults(preflight(made)) == ()
    right = max(x for s in made.strokes if s.role is Role.OUTER for x, _ in s.points)
    assert faults(preflight(replace(made, length_mm=right - 1.0)))
