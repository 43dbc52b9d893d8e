"""Which walls are drawn where only some of a job's pieces are cut."""

import pytest

from cutpath.reports.pictures.walls import elevations
from tests.families.test_step_views import planned

FRONT, SECTION = "A1: the front with its lead", "A1: section through the apron"
RIGHT, LEFT = (f"S1, {hand} hand: the wall with its lead" for hand in ("right", "left"))
BACK = ["G1: the back of the stack with its lead", "G1: section through the back gutter"]


@pytest.mark.parametrize(
    ("cut", "drawn"),
    [
        (["A1-1"], [FRONT, SECTION]),
        (["S1-R2"], [RIGHT]),
        (["S1-L1"], [FRONT, SECTION, LEFT]),  # its return goes over the apron
        (["K1-R1"], [RIGHT]),  # soakers are dashed behind their step flashing
        (["C1-1"], BACK),
        (["G2-2", "K1-L1"], [LEFT, *(title.replace("G1", "G2") for title in BACK)]),  # a gusset to the gutter
    ],
)
def test_walls_that_carry_nothing_of_what_is_cut_once_more_are_left_out(cut, drawn):
    job, pieces = planned("whole-chimney")
    own = [piece for piece in pieces if piece.id.removeprefix("RY-") in cut]
    assert len(own) == len(cut)
    assert [wall.title for wall in elevations(job, pieces, own)] == drawn


def test_all_walls_are_drawn_where_all_is_cut():
    job, pieces = planned("whole-chimney")
    assert elevations(job, pieces, pieces) == elevations(job, pieces)
