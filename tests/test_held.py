"""Values refuse figures that nothing can be made of, with findings, whoever builds them."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpath.errors import Refused
from cutpath.jobs import load_job
from cutpath.pieces import pieces_of
from cutpath.pipeline import Settings
from cutpath.values.held import Held
from cutpath.values.leadwork import CornerKind, CornerReturn
from cutpath.values.nest import Blank, Budget, NestProblem, OffcutRule, Roll
from cutpath.values.survey import BedJoint
from tests.nesting.shapes import plate, problem

JOBS = Path(__file__).parents[1] / "fixtures" / "jobs"
RING = ((0.0, 0.0), (100.0, 0.0), (100.0, 50.0))
NUMBERS = st.floats() | st.integers(-3, 3)


def refusal(build) -> list[str]:
    """Every figure that is refused, as it is named."""
    with pytest.raises(Refused) as caught:
        build()
    assert {f.code for f in caught.value.findings} == {"CP107"}
    assert all(f.remedy and f.accepted.startswith("needed: ") for f in caught.value.findings)
    return [f.where for f in caught.value.findings]


@pytest.mark.parametrize(
    ("build", "named"),
    [
        (lambda: Blank("A", 0, RING), ["Blank A: quantity"]),
        (lambda: Blank("A", -1, RING), ["Blank A: quantity"]),
        (lambda: Blank("A", 1.5, RING), ["Blank A: quantity"]),
        (lambda: Blank("A", 1, RING[:2]), ["Blank A: outline"]),
        (lambda: Blank("A", 1, (*RING, (math.nan, 0.0))), ["Blank A: outline"]),
        (lambda: Blank("A", 1, RING, ((*RING[:2], (0.0, math.inf)),)), ["Blank A: holes"]),
        (lambda: Blank("A", 1, RING, turns_deg=()), ["Blank A: turns_deg"]),
        (lambda: Blank("A", 0, RING, turns_deg=(math.nan,)), ["Blank A: quantity", "Blank A: turns_deg"]),
        (lambda: Roll(-300.0, 6000.0), ["Roll: width_mm"]),
        (lambda: Roll(0.0, math.inf, name="van"), ["Roll van: width_mm", "Roll van: length_mm"]),
        (lambda: Roll(300.0, 6000.0, -1), ["Roll: quantity"]),
        (lambda: OffcutRule(-1.0, math.nan, 1.5), ["OffcutRule: least_length_mm", "OffcutRule: least_width_mm",
                                                   "OffcutRule: worth"]),
        (lambda: replace(problem(plate("A", 300.0, 100.0)), gap_mm=math.nan, edge_trim_mm=-1.0),
         ["NestProblem: gap_mm", "NestProblem: edge_trim_mm"]),
        (Budget, ["Budget: work, seconds"]),
        (lambda: Budget(work=1, seconds=1.0), ["Budget: work, seconds"]),
        (lambda: Budget(work=-1), ["Budget: work"]),
        (lambda: Budget(seconds=math.nan), ["Budget: seconds"]),
        (lambda: Budget(seconds=-1.0), ["Budget: seconds"]),
        (lambda: Settings(gap_mm=-1.0, frame_mm=0.0, seed=-1), ["Settings: gap_mm", "Settings: seed",
                                                                "Settings: frame_mm"]),
    ],
)  # fmt: skip
def test_what_nothing_can_be_cut_with_is_refused(build, named):
    found = refusal(build)
    assert sorted(found) == sorted(named)


def test_a_whole_number_beyond_all_floats_is_held_like_any_other():
    assert CornerReturn(CornerKind.INTEGRAL, 120.0, 10**400, 0.0).joint == 10**400
    with pytest.raises(Refused):
        Roll(10**400, 6000.0)


def test_places_may_lie_on_either_side_and_sizes_may_not():
    assert BedJoint(1, -12.5, end_x_mm=-3.0).y_mm == -12.5
    assert refusal(lambda: BedJoint(1, math.nan)) == ["BedJoint: y_mm"]


def test_figures_of_a_survey_and_of_its_pieces_are_held_too():
    job, _ = load_job(JOBS / "chimney.toml")
    pieces, _ = pieces_of([job])
    assert refusal(lambda: replace(pieces[0], quantity=0)) == [f"Piece {pieces[0].id}: quantity"]
    looked_at = 0
    for detail in job.details:
        label = detail.head.label
        assert refusal(lambda head=detail.head: replace(head, quantity=0)) == [f"DetailHead {label}: quantity"]
        for name in (n for n in type(detail).__slots__ if n.endswith("_mm") and isinstance(getattr(detail, n), float)):
            assert refusal(lambda d=detail, n=name: replace(d, **{n: math.nan}))
            if name != "set_back_mm":
                assert refusal(lambda d=detail, n=name: replace(d, **{n: -1.0}))
                looked_at += 1
    assert looked_at > 10


@given(NUMBERS, NUMBERS, st.none() | NUMBERS)
def test_a_roll_is_refused_or_sound(width, length, quantity):
    try:
        roll = Roll(width, length, quantity)
    except Refused:
        return
    assert 0 < roll.width_mm < math.inf
    assert 0 < roll.length_mm < math.inf
    assert roll.quantity is None or (isinstance(roll.quantity, int) and roll.quantity >= 0)


def test_every_heir_is_a_frozen_value():
    assert {Blank, Roll, OffcutRule, NestProblem, Budget, Settings, BedJoint} <= set(Held.__subclasses__())
    for heir in Held.__subclasses__():
        assert heir.__dataclass_params__.frozen, heir
