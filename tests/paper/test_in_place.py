"""What is told of sizes as they are written on a wall."""

from itertools import pairwise

import pytest

from cutpath.paper.in_place import OnWall, notes_on_rounding
from tests.families.test_step_views import planned

ROUNDED = ["each length and each lap is rounded by itself"]


@pytest.mark.parametrize(
    ("ends", "notes"),
    [
        ([(0.0, 1467.0), (1367.0, 2834.0), (2734.0, 4200.0)], []),
        ([(0.0, 1466.7), (1366.7, 2833.4), (2733.4, 4200.0)], ROUNDED),  # 1467 three times, less 200, is 4201
        ([(0.0, 1328.0), (1226.4, 2554.4)], []),  # 1328 twice, less 102: 2554
        ([(0.0, 1328.0), (1226.4, 2554.4), (2452.8, 3780.8)], ROUNDED),  # less 102 once more: 3780 for 3781
        ([(0.0, 1417.4)], []),
        ([], []),
    ],
)
def test_it_is_said_where_lengths_and_laps_do_not_come_to_the_run(ends, notes):
    (piece, *_) = planned("counter-order")[1]
    placed = [OnWall(piece, None, (), *of) for of in ends]
    assert all(low.end_mm > high.start_mm for low, high in pairwise(placed))
    assert notes_on_rounding(placed) == notes
