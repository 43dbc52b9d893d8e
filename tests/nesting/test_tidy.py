"""A tidy nest: the same lead, like pieces the same way round, jobs together."""

# ruff: noqa: S311 - chance here makes cases, not secrets

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpath.nesting import judge, nest, one_after_another
from cutpath.nesting.tidy import tidy
from cutpath.values.nest import Budget, Nest, NestedRoll, Placement, Roll
from tests.nesting.shapes import plate, problem, skyline, stepped

ROLL = Roll(300.0, 3000.0)


def laid(*placements: Placement, drawn_mm: float = 1000.0) -> Nest:
    return Nest((NestedRoll(ROLL, drawn_mm, placements, ()),), 0.0, 0.0, 0.0, 0.0, optimal=False)


def test_a_piece_like_its_half_turn_lies_the_same_way_all_along():
    task = problem(plate("K", 190.0, 175.0, 2), stepped("S", 5))
    found = laid(
        Placement("K", 1, 180.0, False, 190.0, 175.0),
        Placement("K", 2, 0.0, False, 190.0, 0.0),
        Placement("S", 1, 180.0, False, 900.0, 200.0),
    )
    new = tidy(task, found).rolls[0].placements
    assert [(p.id, p.turn_deg, p.x_mm, p.y_mm) for p in new] == [
        ("K", 0.0, 0.0, 0.0), ("K", 0.0, 190.0, 0.0), ("S", 180.0, 900.0, 200.0),
    ]  # fmt: skip


def test_points_along_a_side_do_not_count():
    soaker = replace(plate("K", 190.0, 175.0), outline=((0, 0), (190, 0), (190, 100), (190, 175), (0, 175)))
    found = laid(Placement("K", 1, 180.0, False, 190.0, 175.0))
    assert tidy(problem(soaker), found).rolls[0].placements == (Placement("K", 1, 0.0, False, 0.0, 0.0),)


def test_a_half_turn_that_is_not_allowed_is_left():
    task = problem(replace(plate("K", 190.0, 175.0), turns_deg=(180.0,)))
    found = laid(Placement("K", 1, 180.0, False, 190.0, 175.0))
    assert tidy(task, found).rolls == found.rolls


def test_like_pieces_of_two_jobs_are_dealt_out_job_by_job():
    task = problem(plate("A1", 190.0, 175.0, 2), plate("B1", 190.0, 175.0, 2))
    mixed = [("A1", 1), ("B1", 2), ("A1", 2), ("B1", 1)]
    found = laid(*(Placement(n, c, 0.0, False, 190.0 * i, 0.0) for i, (n, c) in enumerate(mixed)))
    assert [(p.id, p.copy) for p in tidy(task, found).rolls[0].placements] == [
        ("A1", 1),
        ("A1", 2),
        ("B1", 1),
        ("B1", 2),
    ]


@settings(max_examples=20)
@given(st.integers(0, 10**6))
def test_nothing_moves_and_the_judge_agrees(seed):
    rng = random.Random(seed)
    like = plate("K", rng.uniform(100, 400), rng.uniform(100, 300), rng.randint(1, 4))
    blanks = [like, replace(like, id="L"), *(skyline(rng, f"S{i}") for i in range(3))]
    rng.shuffle(blanks)
    task = problem(*blanks)
    found = one_after_another(task)
    new = tidy(task, found)
    assert judge(task, new) == ()
    assert [(r.roll, r.drawn_mm) for r in new.rolls] == [(r.roll, r.drawn_mm) for r in found.rolls]


@pytest.mark.nests
def test_a_nest_of_soakers_lies_one_way_round_job_by_job():
    task = problem(*(plate(f"J{job}", 190.0, 175.0, 6) for job in range(3)), rolls=(Roll(360.0, 6000.0),))
    found = nest(task, Budget(work=100_000), seed=1)
    placed = [p for nested in found.rolls for p in nested.placements]
    assert {p.turn_deg for p in placed} == {0.0}
    assert [p.id for p in placed] == sorted(p.id for p in placed)
