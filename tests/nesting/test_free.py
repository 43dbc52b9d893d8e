"""Free placement: sound with every kind of roll and rule, never dearer than what it starts from."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import math
import random
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpath.nesting import judge, nest, one_after_another
from cutpath.nesting.free import Free, lane_like
from cutpath.nesting.guard import Guard
from cutpath.nesting.shapes import forms, rooms
from cutpath.values.nest import Blank, Budget, Nest, NestProblem, Objective, Roll
from tests.gate import gate
from tests.nesting.shapes import LADDER, plate, problem, stepped

pytestmark = pytest.mark.nests

QUARTERS = (0.0, 90.0, 180.0, 270.0)


def star(rng: random.Random, name: str, *, turns: tuple[float, ...] = QUARTERS, flip: bool = True) -> Blank:
    """A ragged piece round a middle, one in four with a hole."""
    corners, size = rng.randint(4, 9), rng.uniform(60.0, 240.0)
    rays = [size * rng.uniform(0.25, 0.5) for _ in range(corners)]
    ring = [
        (r * math.cos(2 * math.pi * i / corners), r * math.sin(2 * math.pi * i / corners)) for i, r in enumerate(rays)
    ]
    hole = tuple((x / 2, y / 2) for x, y in reversed(ring))
    return Blank(name, rng.randint(1, 3), tuple(ring), (hole,) if rng.random() < 0.25 else (), turns, flip)


def stars(seed: int, many: int, **how) -> tuple[Blank, ...]:
    rng = random.Random(seed)
    return tuple(star(rng, f"K{i}", **how) for i in range(many))


def disc(name: str, across: float, hole: float = 0.0) -> Blank:
    def ring(size: float) -> tuple[tuple[float, float], ...]:
        return tuple(
            (size / 2 * math.cos(math.tau * i / 12), size / 2 * math.sin(math.tau * i / 12)) for i in range(12)
        )

    return Blank(name, 1, ring(across), (tuple(reversed(ring(hole))),) if hole else (), (0.0,))


def placed(task: NestProblem, start: Nest, work: int = 400_000, seed: int = 1) -> Nest:
    return Free(task, forms(task), rooms(task), seed, 2).improve(start, work, Guard(), lambda _: None)


@pytest.mark.parametrize(("examples", "work"), [(7, 60_000), pytest.param(30, 300_000, marks=pytest.mark.slow)])
def test_random_outlines_on_random_rolls_satisfy_the_judge(examples, work):
    @settings(max_examples=examples)
    @given(
        seed=st.integers(0, 10**6),
        spaces=st.sampled_from([(0.0, 0.0), (3.3, 0.0), (2.0, 4.0)]),
        turns=st.sampled_from([QUARTERS, (0.0, 180.0), (0.0, 33.0)]),
        flip=st.booleans(),
        objective=st.sampled_from([Objective.DRAWN, Objective.BOUGHT]),
    )
    def sound(seed, spaces, turns, flip, objective):
        rng = random.Random(seed)
        blanks = stars(seed, rng.randint(1, 9), turns=turns, flip=flip)
        rolls = (*rng.sample(LADDER, 2), Roll(600.0, 3000.0))
        rolls += (Roll(rng.uniform(250, 500), rng.uniform(600, 2000), rng.randint(1, 3), offcut=rng.random() < 0.5),)
        task = replace(problem(*blanks, rolls=rolls, gap=spaces[0], trim=spaces[1]), objective=objective)
        found = nest(task, Budget(work=work), seed=seed)
        assert judge(task, found) == ()
        assert sum(len(r.placements) for r in found.rolls) == sum(b.quantity for b in blanks)

    sound()


def bought_mm2(nest):
    return sum(nested.roll.width_mm * nested.roll.length_mm for nested in nest.rolls)


@pytest.mark.parametrize(
    ("seed", "objective"), gate(product(range(3), Objective), (0, Objective.BOUGHT), (1, Objective.DRAWN))
)
def test_what_it_starts_from_is_never_made_dearer(seed, objective):
    task = replace(problem(*stars(seed, 10)), objective=objective)
    start = one_after_another(task)
    found = placed(task, start)
    assert judge(task, found) == ()
    unturned = replace(task, blanks=tuple(replace(b, turns_deg=b.turns_deg[:1], may_flip=False) for b in task.blanks))
    if objective is Objective.DRAWN:  # whole rolls cost in leaps, and common practice buys the shortest that do
        assert found.drawn_mm2 < 0.8 * one_after_another(unturned).drawn_mm2
    again = placed(task, found, work=80_000, seed=2)
    costs = [bought_mm2(nest) if objective is Objective.BOUGHT else nest.drawn_mm2 for nest in (start, found, again)]
    assert costs == sorted(costs, reverse=True)


def test_counted_rolls_are_kept_to_and_fewer_are_needed():
    rolls = (Roll(300.0, 700.0, 8), Roll(240.0, 600.0, 1, offcut=True))
    task = problem(*stars(4, 10), rolls=rolls, gap=2.0, trim=3.0)
    start = one_after_another(task)
    found = placed(task, start)
    assert judge(task, found) == ()
    assert len(found.rolls) < len(start.rolls)
    assert found.drawn_mm2 < start.drawn_mm2


def test_many_pieces_share_several_strips():
    blanks = tuple(replace(blank, quantity=12) for blank in stars(5, 10))
    task = problem(*blanks, rolls=(Roll(450.0, 3000.0),))
    found = placed(task, one_after_another(task))
    assert judge(task, found) == ()
    assert len(found.rolls) > 1
    assert max(r.drawn_mm for r in found.rolls) < 1.5 * min(r.drawn_mm for r in found.rolls)


def test_a_small_piece_lies_in_the_hole_of_a_large_one():
    task = problem(disc("ring", 300.0, 200.0), disc("core", 120.0), rolls=(Roll(300.0, 3000.0),))
    found = placed(task, one_after_another(task))
    assert judge(task, found) == ()
    assert found.rolls[0].drawn_mm == pytest.approx(300.0, abs=1e-3)


def test_a_piece_by_itself_is_turned_to_take_the_least():
    slim = Blank("slim", 1, ((0.0, 0.0), (250.0, 40.0), (260.0, 60.0), (20.0, 50.0)), (), QUARTERS)
    task = problem(slim, rolls=(Roll(300.0, 3000.0),))
    lengthwise = one_after_another(replace(task, blanks=(replace(slim, turns_deg=(0.0,)),)))
    found = placed(task, lengthwise)
    assert judge(task, found) == ()
    assert found.drawn_mm2 == pytest.approx(300.0 * 60.0, abs=1.0)


def test_a_piece_that_is_longer_than_the_strip_in_most_of_its_turns_is_turned():
    """Each time the strip is made shorter, it takes luck to find a turn in which the long piece fits at all."""
    slim = Blank("slim", 1, ((0.0, 0.0), (280.0, 30.0), (285.0, 60.0), (20.0, 50.0)), (), (0.0, 5.0, 10.0, 15.0, 90.0))
    task = problem(slim, *stars(2, 2), rolls=(Roll(330.0, 3000.0),))
    found = placed(task, one_after_another(task))
    assert judge(task, found) == ()
    assert found.rolls[0].drawn_mm < 285.0


def test_the_same_seed_gives_the_same_nest():
    task = problem(*stars(7, 8), gap=1.0)
    one, two = (nest(task, Budget(work=120_000), seed=5) for _ in range(2))
    assert one.rolls == two.rolls


def test_only_blanks_without_straight_sides_are_placed_freely():
    steps = problem(stepped("S", 8, quantity=4), stepped("L", 8, left=True, quantity=4), plate("C", 800.0, 100.0))
    assert lane_like(steps, forms(steps))
    ragged = problem(*stars(1, 8), plate("C", 200.0, 50.0))
    assert not lane_like(ragged, forms(ragged))


def test_an_interruption_gives_the_best_so_far():
    task = problem(*stars(8, 12))
    start = one_after_another(task)
    told = []

    def better(drawn_mm2: float) -> None:
        told.append(drawn_mm2)
        raise KeyboardInterrupt

    guard = Guard()
    found = Free(task, forms(task), rooms(task), 1, 2).improve(start, 1_200_000, guard, better)
    assert guard.stop.is_set()
    assert judge(task, found) == ()
    assert [found.drawn_mm2] == told


def test_a_gap_wider_than_any_roll_leaves_no_group_without_a_piece():
    task = problem(plate("A", 100.0, 50.0, 3), rolls=LADDER, gap=99_999.0)
    found = placed(task, one_after_another(task), 20_000)
    assert judge(task, found) == ()
