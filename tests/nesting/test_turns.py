"""Quarter turns: used wherever they serve, made only where they can, and known to the bound."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import random
from dataclasses import replace

import pytest

from cutpath.nesting import bound_mm2, judge, nest, one_after_another
from cutpath.nesting.shapes import forms
from cutpath.nesting.stretches import in_stretches, onto_whole_rolls
from cutpath.values.nest import QUARTER_TURNS, Blank, Budget, NestProblem, Roll
from tests.gate import gate
from tests.nesting.shapes import LADDER, plate, problem, skyline, stepped

pytestmark = pytest.mark.nests


def any_way(blank: Blank) -> Blank:
    return replace(blank, turns_deg=QUARTER_TURNS)


def soakers(quantity: int = 48) -> NestProblem:
    return problem(any_way(plate("K", 190.0, 175.0, quantity)), rolls=(Roll(600.0, 6000.0),))


def test_soakers_lie_whichever_way_draws_less():
    found = nest(soakers(), Budget(work=100_000), seed=1)
    assert found.drawn_mm2 == pytest.approx(600.0 * 2800.0)
    assert found.optimal
    straight = replace(soakers(), blanks=(plate("K", 190.0, 175.0, 48),))
    assert nest(straight, Budget(work=100_000), seed=1).drawn_mm2 == pytest.approx(600.0 * 3040.0)


def test_the_ceiling_of_yield_holds_for_every_turn_that_is_allowed():
    straight = replace(soakers(), blanks=(plate("K", 190.0, 175.0, 48),))
    assert bound_mm2(straight) == pytest.approx(600.0 * 3040.0)
    assert bound_mm2(soakers()) == pytest.approx(600.0 * 2800.0)


@pytest.mark.parametrize("seed", gate(range(12), 0, 3, 5, 9))
def test_no_nest_of_turned_plates_draws_less_than_the_bound(seed):
    rng = random.Random(seed)
    blanks = [
        any_way(plate(f"P{i}", rng.uniform(120, 590), rng.uniform(100, 400), rng.randint(1, 4))) for i in range(3)
    ]
    task = problem(*blanks, rolls=(*rng.sample(LADDER, 3), Roll(600.0, 3000.0)))
    found = nest(task, Budget(work=150_000), seed=seed)
    assert judge(task, found) == ()
    least = bound_mm2(task)
    assert least <= found.drawn_mm2 * (1 + 1e-9)
    fixed = [bound_mm2(replace(task, blanks=tuple(replace(b, turns_deg=(turn, turn + 180.0)) for b in blanks)))
             for turn in (0.0, 90.0)]  # fmt: skip
    assert least <= min(fixed) * (1 + 1e-9)


def test_a_plate_that_goes_across_the_roll_only_keeps_its_bound():
    task = problem(any_way(plate("P", 1000.0, 310.0, 3)))
    assert bound_mm2(task) == pytest.approx(3 * 330.0 * 1000.0)


def test_a_slate_is_not_refused_for_a_width_that_a_quarter_turn_does_without():
    task = problem(any_way(plate("F", 470.0, 646.0)), rolls=(Roll(480.0, 6000.0),))
    assert nest(task, Budget(work=150_000), seed=1).drawn_mm2 == pytest.approx(480.0 * 646.0)
    assert one_after_another(task).drawn_mm2 == pytest.approx(480.0 * 646.0)


def test_common_practice_turns_a_piece_to_draw_least_of_the_narrowest_roll():
    assert one_after_another(soakers(2)).drawn_mm2 == pytest.approx(600.0 * 2 * 175.0)


def test_no_forms_are_made_that_go_on_no_roll():
    long, short = any_way(stepped("S", 9)), any_way(plate("K", 190.0, 175.0))
    ways = forms(problem(long, short))
    assert [form.turn_deg for form in ways if form.blank == 0] == [0.0, 180.0]
    assert [form.turn_deg for form in ways if form.blank == 1] == [0.0, 90.0]


def test_a_long_piece_stands_across_where_frames_are_short():
    task = problem(any_way(plate("L", 550.0, 100.0, 4)), rolls=(Roll(600.0, 6000.0),))
    short = nest(in_stretches(task, 420.0), Budget(work=150_000), seed=1)
    found = onto_whole_rolls(task, short, 420.0)
    assert {p.turn_deg % 180.0 for roll in found.rolls for p in roll.placements} == {90.0}


@pytest.mark.parametrize("seed", gate(range(3), 1))
def test_mixed_lists_in_all_turns_satisfy_the_judge(seed):
    rng = random.Random(seed)
    blanks = [any_way(skyline(rng, f"K{i}")) for i in range(5)] + [any_way(stepped("S", 7, quantity=2))]
    task = problem(*blanks, gap=2.0, trim=4.0)
    found = nest(task, Budget(work=100_000), seed=seed)
    assert judge(task, found) == ()
