"""Cuts right across a roll, on a nest laid by hand."""

import pytest

from cutpath.reports.account.square_cuts import square_cuts
from cutpath.values.nest import NestedRoll, Offcut, Placement, Roll
from tests.nesting.shapes import plate


@pytest.mark.parametrize(("drawn_mm", "cuts"), [(900.0, (400.0, 900.0)), (3000.0, (400.0,))])
def test_cuts_right_across_part_no_piece(drawn_mm, cuts):
    blanks = {b.id: b for b in (plate("A", 400.0, 100.0), plate("B", 250.0, 100.0), plate("C", 500.0, 300.0))}
    places = (
        Placement("A", 1, 0.0, False, 0.0, 0.0),
        Placement("B", 1, 0.0, False, 0.0, 100.0),
        Placement("B", 2, 0.0, False, 150.0, 200.0),
        Placement("C", 1, 0.0, False, 400.0, 0.0),
    )
    assert square_cuts(NestedRoll(Roll(300.0, 3000.0), drawn_mm, places, ()), blanks) == cuts


def test_cuts_right_across_part_no_offcut_that_is_kept():
    blanks = {b.id: b for b in (plate("A", 400.0, 100.0), plate("B", 300.0, 100.0))}
    places = (Placement("A", 1, 0.0, False, 0.0, 0.0), Placement("B", 1, 0.0, False, 400.0, 0.0))
    kept = (Offcut(250.0, 100.0, 300.0, 150.0),)
    nested = NestedRoll(Roll(300.0, 3000.0), 700.0, places, ())
    assert square_cuts(nested, blanks) == (400.0, 700.0)
    assert square_cuts(NestedRoll(Roll(300.0, 3000.0), 700.0, places, kept), blanks) == (700.0,)
