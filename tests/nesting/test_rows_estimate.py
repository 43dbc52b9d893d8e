"""What endless rows could give: cases that can be worked out by hand."""

import pytest

from cutpath.nesting.bound import bound_mm2, least_area_mm2
from cutpath.nesting.rows import boxes_mm2, rows_mm2
from cutpath.values.nest import Blank, NestProblem, Roll
from tests.nesting.shapes import plate, problem, stepped

pytestmark = pytest.mark.nests

ROLLS = (Roll(300.0, 6000.0), Roll(450.0, 3000.0))


def wedge(name: str, quantity: int) -> Blank:
    """Two of them, one turned over, make a rectangle of 400 x 100."""
    return Blank(name, quantity, ((0.0, 0.0), (400.0, 0.0), (400.0, 20.0), (0.0, 80.0)))


def test_plates_fill_their_lanes_whole():
    task = NestProblem((plate("A", 300.0, 100.0, 3), plate("B", 500.0, 150.0, 2)), ROLLS)
    assert rows_mm2(task) == pytest.approx(least_area_mm2(task), rel=1e-6)


def test_rows_take_no_more_than_boxes_and_less_where_shapes_pair():
    plates = NestProblem((plate("A", 300.0, 100.0, 3), plate("B", 500.0, 150.0, 2)), ROLLS)
    assert rows_mm2(plates) == pytest.approx(boxes_mm2(plates), rel=1e-6)
    assert boxes_mm2(plates) == 3 * 300.0 * 100.0 + 2 * 500.0 * 150.0
    wedges = NestProblem((wedge("W", 4),), ROLLS)
    assert rows_mm2(wedges) < 0.7 * boxes_mm2(wedges)


def test_a_gap_counts_all_round_each_piece():
    task = NestProblem((plate("A", 300.0, 100.0, 3),), ROLLS, 5.0)
    assert rows_mm2(task) == pytest.approx(3 * 305.0 * 105.0 * 300.0 / 305.0, rel=1e-4)


@pytest.mark.parametrize("too_narrow_mm", [20.0, 10.0, 1.0])
def test_rolls_that_the_trim_leaves_nothing_of_change_nothing(too_narrow_mm):
    """The best rows across 130 mm that are left of 150, and no better bound by a width of nought or less."""
    task = NestProblem((plate("A", 300.0, 60.0, 3), wedge("W", 2)), (Roll(150.0, 6000.0),), edge_trim_mm=10.0)
    more = NestProblem(task.blanks, (Roll(too_narrow_mm, 6000.0), *task.rolls), edge_trim_mm=10.0)
    assert rows_mm2(more) == pytest.approx(rows_mm2(task))
    assert bound_mm2(more) == bound_mm2(task)


def test_wedges_are_paired_into_rectangles():
    task = NestProblem((wedge("W", 4),), ROLLS)
    assert rows_mm2(task) == pytest.approx(2 * 400.0 * 100.0, rel=1e-3)


def test_unlike_pieces_are_mixed_as_is_cheapest():
    """Bars of 60 mm fill a notch of 60 mm exactly: one beside each pair of hooks is less than three apart."""
    hook = Blank("H", 2, ((0.0, 0.0), (400.0, 0.0), (400.0, 60.0), (100.0, 60.0), (100.0, 120.0), (0.0, 120.0)))
    bars = plate("B", 300.0, 60.0, 2)
    together = rows_mm2(NestProblem((hook, bars), ROLLS))
    assert together <= rows_mm2(NestProblem((hook,), ROLLS)) + rows_mm2(NestProblem((bars,), ROLLS)) + 1e-6
    assert together >= least_area_mm2(NestProblem((hook, bars), ROLLS)) - 1e-6


def test_teeth_that_cannot_fill_their_notches_cost_what_the_area_does_not_tell():
    """The bound is the area; a comb with notches narrower than its teeth is no better than its box."""
    teeth = [(x + dx, y) for x in range(0, 600, 100) for dx, y in ((0, 100.0), (70, 100.0), (70, 40.0), (100, 40.0))]
    comb = Blank("C", 10, ((0.0, 0.0), *((float(x), y) for x, y in ((600.0, 0.0), *reversed(teeth[:-2])))))
    task = NestProblem((comb,), ROLLS)
    area = least_area_mm2(task)
    assert rows_mm2(task) >= 1.03 * max(area, bound_mm2(task))


def test_a_real_nest_of_step_flashings_draws_no_less():
    from cutpath.nesting import nest
    from cutpath.values.nest import Budget

    task = problem(stepped("S", 6, quantity=8), stepped("L", 7, pitch_deg=42.5, left=True, quantity=6))
    found = nest(task, Budget(work=50_000))
    assert least_area_mm2(task) < rows_mm2(task) < found.drawn_mm2


def test_nothing_to_cut():
    assert rows_mm2(NestProblem((), ROLLS)) is None
