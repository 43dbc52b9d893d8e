"""Nests that keep every piece inside a frame, put end to end on whole rolls."""

from __future__ import annotations

import pytest
from hypothesis import strategies as st

from cutpath.drawing.frames import windows
from cutpath.errors import Refused
from cutpath.nesting.common_practice import one_after_another
from cutpath.nesting.judge import judge
from cutpath.nesting.stretches import in_stretches, onto_whole_rolls
from cutpath.values.nest import Blank, NestProblem, Roll
from tests.properties.surveys import for_all

pytestmark = pytest.mark.nests

FRAME, OVERLAP = 1250.0, 50.0


def plate(name, long, wide, quantity=1):
    return Blank(name, quantity, ((0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide)))


def nested(problem):
    short = one_after_another(in_stretches(problem, FRAME - OVERLAP))
    return onto_whole_rolls(problem, short, FRAME - OVERLAP)


sizes = st.lists(st.tuples(st.floats(50, 1150), st.floats(50, 300)), min_size=1, max_size=12)


@for_all(sizes, st.sampled_from([0.0, 4.0, 12.0]), st.sampled_from([0.0, 3.0]))
def test_no_piece_stands_across_two_frames(sizes, gap, trim) -> None:
    blanks = tuple(plate(f"p{k}", long, wide) for k, (long, wide) in enumerate(sizes))
    rolls = (Roll(320.0, 3000.0), Roll(320.0, 6000.0), Roll(450.0, 1000.0))
    problem = NestProblem(blanks, rolls, gap, trim)
    nest = nested(problem)
    assert judge(problem, nest) == ()
    lengths = {b.id: b.outline[1][0] for b in blanks}
    for roll in nest.rolls:
        spans = []
        for p in roll.placements:
            ends = sorted((p.x_mm, p.x_mm + lengths[p.id] * (1 if p.turn_deg == 0 else -1)))
            spans.append((ends[0], ends[1]))
        laid = windows(roll.drawn_mm, FRAME, OVERLAP, spans)
        for low, high in spans:
            assert any(w.start_mm - 1e-6 <= low and high <= w.end_mm + 1e-6 for w in laid)


def test_stretches_share_a_roll() -> None:
    problem = NestProblem((plate("a", 1100.0, 200.0, 8),), (Roll(210.0, 6000.0),))
    nest = nested(problem)
    assert sorted(len(r.placements) for r in nest.rolls) == [3, 5]
    assert nest.drawn_mm2 == pytest.approx(8 * 1100.0 * 210.0)


def test_finite_rolls_give_the_stretches_that_they_hold() -> None:
    problem = NestProblem((plate("a", 1100.0, 200.0, 4),), (Roll(210.0, 2500.0, quantity=2),))
    assert sum(len(r.placements) for r in nested(problem).rolls) == 4
    more = NestProblem((plate("a", 1100.0, 200.0, 5),), (Roll(210.0, 2500.0, quantity=2),))
    with pytest.raises(Refused, match="CP502"):
        nested(more)


def test_a_piece_longer_than_a_frame_is_refused() -> None:
    problem = NestProblem((plate("a", 1300.0, 200.0),), (Roll(210.0, 6000.0),))
    with pytest.raises(Refused, match="CP501"):
        nested(problem)
